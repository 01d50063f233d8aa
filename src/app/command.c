#include "app/command.h"

#include "app/print.h"

#include <string.h>

// One a line, in the order of help.
// clang-format off
const fid_command *const fid_commands[] = {
    &fid_command_build,
    &fid_command_check,
    &fid_command_pose,
    &fid_command_export,
    &fid_command_show,
    &fid_command_rule,
    &fid_command_repl,
    &fid_command_time, &fid_command_diff,
    &fid_command_init,
    &fid_command_doctor,
    &fid_command_new,
    &fid_command_modules,
    &fid_command_test,
    &fid_command_doc,
    &fid_command_completion,
    &fid_command_version,
    &fid_command_help,
    NULL,
};
// clang-format on

const fid_command *fid_command_find(const char *name) {
    for (const fid_command *const *at = fid_commands; *at; at++) {
        if (strcmp((*at)->name, name) == 0) {
            return *at;
        }
    }
    return NULL;
}

fid_code fid_command_unknown(const char *name, fid_error *err) {
    const char *names[32];
    int32_t count = 0;
    for (; fid_commands[count] && count < 32; count++) {
        names[count] = fid_commands[count]->name;
    }
    const char *near = fid_text_nearest(name, names, count);
    return fid_fail(err, FID_UNKNOWN, "there is no command '%.64s'%s%s%s", name,
                    near ? "; did you mean '" : "; see 'fid help'", near ? near : "", near ? "'?" : "");
}

static void add_options(const fid_command *command, fid_text *out) {
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name; option++) {
            char left[64] = "";
            if (option->letter) {
                snprintf(left, sizeof left, "-%c, --%s%s%s", option->letter, option->name, option->argument ? " " : "",
                         option->argument ? option->argument : "");
            } else {
                snprintf(left, sizeof left, "--%s%s%s", option->name, option->argument ? " " : "",
                         option->argument ? option->argument : "");
            }
            fid_text_addf(out, "    %-28s  %s\n", left, option->doc);
        }
    }
}

void fid_command_add_help(const fid_command *command, fid_text *out) {
    if (command) {
        fid_text_addf(out, "%s\n\n%s: %s\nusage: fid %s%s%s\n\n", command->examples, command->name, command->summary,
                      command->name, command->usage[0] ? " " : "", command->usage);
        add_options(command, out);
        return;
    }
    fid_text_add(out, "    fid check recipes/hobrundle.lua                     try a rig\n"
                      "    fid build recipes/hobrundle.lua -o hobrundle.json   write its skeleton\n\n"
                      "fid builds character rigs from recipes in Lua.\n\n");
    for (const fid_command *const *at = fid_commands; *at; at++) {
        fid_text_addf(out, "    %-10s  %s\n", (*at)->name, (*at)->summary);
    }
    fid_text_add(
        out, "\n'fid help COMMAND' shows its options, 'fid help CALL' the arguments of a call in recipes ('fid help "
             "calls' lists them).\n"
             "Exit status: 0 fine, 1 findings, 2 wrong usage or content, 3 a file that cannot be read or written.\n");
}

static int fail(const fid_error *err) {
    fid_print_error(NULL, err);
    return FID_EXIT_UNUSABLE;
}

static int show_help(const fid_command *command) {
    fid_text text = {0};
    fid_command_add_help(command, &text);
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static bool asks_for_help(const char *word) { return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0; }

static int run_command(const fid_command *command, int count, char *const *words) {
    fid_arguments arguments = {0};
    fid_error err = {0};
    int status;
    fid_code code = fid_arguments_read(count, words, command->options, &arguments, &err);
    if (code) {
        status = fail(&err);
    } else if (fid_arguments_last(&arguments, "help")) {
        status = show_help(command);
    } else if (arguments.words.count < command->words_min || arguments.words.count > command->words_max) {
        fid_fail(&err, FID_INVALID, "%s: usage: fid %s%s%s",
                 arguments.words.count < command->words_min ? "a word is missing" : "there is a word too many",
                 command->name, command->usage[0] ? " " : "", command->usage);
        status = fail(&err);
    } else {
        status = command->run(&arguments);
    }
    fid_arguments_clear(&arguments);
    return status;
}

int fid_command_run(int count, char *const *words) {
    fid_error err = {0};
    if (count == 0) {
        fid_text text = {0};
        fid_command_add_help(NULL, &text);
        fputs(text.at ? text.at : "", stderr);
        fid_text_clear(&text);
        return FID_EXIT_UNUSABLE;
    }
    if (asks_for_help(words[0])) {
        return show_help(NULL);
    }
    const fid_command *command = fid_command_find(strcmp(words[0], "--version") == 0 ? "version" : words[0]);
    if (!command) {
        fid_command_unknown(words[0], &err);
        return fail(&err);
    }
    return run_command(command, count - 1, words + 1);
}
