#include "app/command.h"
#include "app/load.h"
#include "app/manual.h"
#include "app/print.h"
#include "script/help.h"

#include <string.h>

/// The word is neither a command nor a call: both lists are searched for the nearest.
static int refuse(const char *word) {
    const char *names[128];
    int32_t count = 0;
    for (int32_t i = 0; fid_commands[i] && count < 128; i++) {
        names[count++] = fid_commands[i]->name;
    }
    for (int32_t i = 0; fid_help_name(i) && count < 128; i++) {
        names[count++] = fid_help_name(i);
    }
    const char *colon = strchr(word, ':');
    const char *near = fid_text_nearest(colon && colon[1] ? colon + 1 : word, names, count);
    fid_error err = {0};
    fid_fail(&err, FID_UNKNOWN, "there is no command or call '%.64s'%s%s%s", word, near ? "; did you mean '" : "",
             near ? near : "", near ? "'?" : "");
    fid_print_error(NULL, &err);
    return FID_EXIT_UNUSABLE;
}

static int run(const fid_arguments *arguments) {
    const char *word = arguments->words.count > 0 ? arguments->words.at[0] : NULL;
    const fid_command *command = word ? fid_command_find(word) : NULL;
    fid_text text = {0};
    fid_error err = {0};
    if (fid_arguments_last(arguments, "man")) {
        fid_manual_write(&text);
    } else if (!word || command) {
        fid_command_add_help(command, &text);
        for (int32_t i = 0; command && fid_help_name(i); i++) {
            if (strcmp(fid_help_name(i), word) == 0) {
                fid_text_addf(&text, "\nrecipes have a call of that name, too: see 'fid help rig:%s'\n", word);
            }
        }
    } else if (fid_help_call(strcmp(word, "calls") == 0 ? NULL : word, &text, &err)) {
        fid_text_clear(&text);
        return refuse(word);
    }
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static const fid_option own[] = {
    {"man", 0, NULL, "the manual page of the program, as man -l reads it"},
    {NULL, 0, NULL, NULL},
};

static const fid_option *const tables[] = {own, fid_common_options, NULL};

const fid_command fid_command_help = {
    "help",
    "[COMMAND|CALL|calls]",
    "shows options of a command, or arguments of a call in recipes",
    "    fid help pose\n    fid help follow\n    fid help calls\n    fid help --man | man -l -\n",
    tables,
    0,
    1,
    run,
};
