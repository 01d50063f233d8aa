#include "app/completion.h"

#include "check/check.h"
#include "script/help.h"

#include <stdio.h>
#include <string.h>

const char *const fid_completion_shells[] = {"bash", "zsh", "fish", NULL};

/// What may stand in one place of a command line.
typedef enum kind {
    NOTHING, ///< what nobody can guess: numbers, names of channels
    FILES,
    FOLDERS,
    WORDS, ///< one of a list
} kind;

enum { LIST_SIZE = 4096 };

static void add_word(char list[LIST_SIZE], const char *word, size_t length) {
    size_t used = strlen(list);
    if (used + length + 2 < LIST_SIZE) {
        snprintf(list + used, LIST_SIZE - used, "%s%.*s", used > 0 ? " " : "", (int)length, word);
    }
}

static void add_commands(char list[LIST_SIZE]) {
    for (const fid_command *const *at = fid_commands; *at; at++) {
        add_word(list, (*at)->name, strlen((*at)->name));
    }
}

/// What the word that stands for a place in help says of it: "FILE.svg", "text|json[:FILE]", "[CODE]", "N". The words
/// of a list are put into `list`, with spaces between them.
static kind read_place(const char *shown, char list[LIST_SIZE]) {
    size_t length = strcspn(shown, " [");
    list[0] = '\0';
    if (strncmp(shown, "FILE", 4) == 0 || strncmp(shown, "RECIPE", 6) == 0 || strncmp(shown, "TABLE", 5) == 0 ||
        strcmp(shown, "P.json") == 0) {
        return FILES;
    }
    if (strncmp(shown, "FOLDER", 6) == 0) {
        return FOLDERS;
    }
    if (strncmp(shown, "CODE", 4) == 0) {
        for (int32_t i = 0; i < fid_rule_count; i++) {
            add_word(list, fid_rules[i].code, strlen(fid_rules[i].code));
        }
        return WORDS;
    }
    for (const char *at = shown; at < shown + length;) {
        size_t one = strcspn(at, "|[] ");
        if (strncmp(at, "COMMAND", one) == 0 && one == 7) {
            add_commands(list);
        } else if (strncmp(at, "CALL", one) == 0 && one == 4) {
            for (int32_t i = 0; fid_help_name(i); i++) {
                add_word(list, fid_help_name(i), strlen(fid_help_name(i)));
            }
        } else if (at[0] >= 'a' && at[0] <= 'z') {
            add_word(list, at, one);
        }
        at += one + (at[one] == '|' ? 1 : 0);
        if (at[0] == ' ' || at[0] == '[' || at[0] == ']' || at[0] == '\0') {
            break;
        }
    }
    return list[0] ? WORDS : NOTHING;
}

/// What the first word of a command is that is no option.
static kind read_words(const fid_command *command, char list[LIST_SIZE]) {
    const char *usage = command->usage + (command->usage[0] == '[' ? 1 : 0);
    list[0] = '\0';
    return command->words_max == 0 ? NOTHING : read_place(usage, list);
}

/// Adds a text with a backslash before each of `special`.
static void add_escaped(fid_text *out, const char *text, const char *special) {
    for (; *text; text++) {
        fid_text_add(out, strchr(special, *text) ? "\\" : "");
        fid_text_add_bytes(out, text, 1);
    }
}

/// Adds a text as one word of a shell.
static void add_quoted(fid_text *out, const char *text) {
    fid_text_add(out, "'");
    for (; *text; text++) {
        if (*text == '\'') {
            fid_text_add(out, "'\\''");
        } else {
            fid_text_add_bytes(out, text, 1);
        }
    }
    fid_text_add(out, "'");
}

// bash

static void add_bash_reply(fid_text *out, kind what, const char *list) {
    switch (what) {
    case FILES:
        fid_text_add(out, "_fid_files");
        break;
    case FOLDERS:
        fid_text_add(out, "mapfile -t COMPREPLY < <(compgen -d -- \"$word\")");
        break;
    case WORDS:
        fid_text_addf(out, "_fid_words '%s'", list);
        break;
    case NOTHING:
    default:
        fid_text_add(out, ":");
        break;
    }
}

static void add_bash_command(fid_text *out, const fid_command *command) {
    char list[LIST_SIZE];
    fid_text_addf(out, "    %s)\n        case $before in\n", command->name);
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name; option++) {
            if (option->argument) {
                fid_text_addf(out, "        --%s", option->name);
                if (option->letter) {
                    fid_text_addf(out, "|-%c", option->letter);
                }
                fid_text_add(out, ") ");
                kind what = read_place(option->argument, list);
                add_bash_reply(out, what, list);
                fid_text_add(out, "; return ;;\n");
            }
        }
    }
    fid_text_add(out, "        esac\n        case $word in\n        -*) _fid_words '");
    const char *between = "";
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name; option++) {
            fid_text_addf(out, "%s--%s", between, option->name);
            between = " ";
        }
    }
    fid_text_add(out, "' ;;\n        *) ");
    kind what = read_words(command, list);
    add_bash_reply(out, what, list);
    fid_text_add(out, " ;;\n        esac ;;\n");
}

static void write_bash(fid_text *out) {
    char list[LIST_SIZE] = "";
    add_commands(list);
    fid_text_add(out, "# Completes fid in bash. Written by 'fid completion bash'.\n\n"
                      "_fid_words() { mapfile -t COMPREPLY < <(compgen -W \"$1\" -- \"$word\"); }\n\n"
                      "# Recipes, skeletons, tables, pictures, and folders on the way there.\n"
                      "_fid_files() {\n"
                      "    local kind\n"
                      "    mapfile -t COMPREPLY < <(compgen -d -- \"$word\"\n"
                      "        for kind in lua json csv svg; do compgen -f -X \"!*.$kind\" -- \"$word\"; done)\n"
                      "}\n\n"
                      "_fid() {\n"
                      "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
                      "    COMPREPLY=()\n"
                      "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n");
    fid_text_addf(out, "        _fid_words '%s'\n        return\n    fi\n    case ${COMP_WORDS[1]} in\n", list);
    for (const fid_command *const *at = fid_commands; *at; at++) {
        add_bash_command(out, *at);
    }
    fid_text_add(out, "    esac\n}\n\ncomplete -o filenames -F _fid fid\n");
}

// zsh

static void add_zsh_action(fid_text *out, kind what, const char *list) {
    switch (what) {
    case FILES:
        fid_text_add(out, "_files -g \"*.(lua|json|csv|svg)(-.)\"");
        break;
    case FOLDERS:
        fid_text_add(out, "_files -/");
        break;
    case WORDS:
        fid_text_addf(out, "(%s)", list);
        break;
    case NOTHING:
    default:
        fid_text_add(out, " ");
        break;
    }
}

/// One specification of _arguments: put together first, then quoted as a whole.
static void add_zsh_option(fid_text *out, const fid_option *option) {
    char list[LIST_SIZE];
    fid_text_add(out, " \\\n            ");
    // One that may be given several times is offered again.
    if (option->letter && !fid_option_repeats(option)) {
        fid_text_addf(out, "'(-%c --%s)'", option->letter, option->name);
    }
    if (option->letter) {
        fid_text_addf(out, "%s{-%c,--%s}", fid_option_repeats(option) ? "'*'" : "", option->letter, option->name);
    } else {
        fid_text_addf(out, "%s--%s", fid_option_repeats(option) ? "'*'" : "", option->name);
    }
    fid_text spec = {0};
    fid_text_add(&spec, "[");
    add_escaped(&spec, option->doc, "[]:\\");
    fid_text_add(&spec, "]");
    if (option->argument) {
        kind what = read_place(option->argument, list);
        fid_text_add(&spec, ":");
        add_escaped(&spec, option->argument, ":");
        fid_text_add(&spec, ":");
        add_zsh_action(&spec, what, list);
    }
    out->failed |= spec.failed;
    add_quoted(out, spec.at ? spec.at : "");
    fid_text_clear(&spec);
}

static void add_zsh_command(fid_text *out, const fid_command *command) {
    char list[LIST_SIZE];
    fid_text_addf(out, "    %s)\n        _arguments -s", command->name);
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name; option++) {
            add_zsh_option(out, option);
        }
    }
    if (command->words_max > 0) {
        kind what = read_words(command, list);
        fid_text spec = {0};
        fid_text_add(&spec, "1: :");
        add_zsh_action(&spec, what, list);
        fid_text_add(out, " \\\n            ");
        out->failed |= spec.failed;
        add_quoted(out, spec.at ? spec.at : "");
        fid_text_clear(&spec);
    }
    fid_text_add(out, " ;;\n");
}

static void write_zsh(fid_text *out) {
    fid_text_add(out, "#compdef fid\n"
                      "# Completes fid in zsh. Written by 'fid completion zsh'.\n\n"
                      "_fid() {\n"
                      "    if (( CURRENT == 2 )); then\n"
                      "        local -a commands=(");
    for (const fid_command *const *at = fid_commands; *at; at++) {
        fid_text spec = {0};
        fid_text_addf(&spec, "%s:%s", (*at)->name, (*at)->summary);
        fid_text_add(out, "\n            ");
        out->failed |= spec.failed;
        add_quoted(out, spec.at ? spec.at : "");
        fid_text_clear(&spec);
    }
    fid_text_add(out, ")\n        _describe 'command of fid' commands\n        return\n    fi\n"
                      "    local command=$words[2]\n    shift words\n    (( CURRENT-- ))\n    case $command in\n");
    for (const fid_command *const *at = fid_commands; *at; at++) {
        add_zsh_command(out, *at);
    }
    // The script is a function where it is found by its name, and begins to complete where it is read.
    fid_text_add(out, "    esac\n}\n\nif [ \"$funcstack[1]\" = _fid ]; then _fid \"$@\"; else compdef _fid fid; fi\n");
}

// fish

static void add_fish_value(fid_text *out, kind what, const char *list) {
    switch (what) {
    case FILES:
        fid_text_add(out, " -F");
        break;
    case FOLDERS:
        fid_text_add(out, " -f -a '(__fish_complete_directories)'");
        break;
    case WORDS:
        fid_text_addf(out, " -f -a '%s'", list);
        break;
    case NOTHING:
    default:
        fid_text_add(out, " -f");
        break;
    }
}

static void add_fish_command(fid_text *out, const fid_command *command) {
    char list[LIST_SIZE];
    fid_text_addf(out, "complete -c fid -n __fish_use_subcommand -f -a %s -d ", command->name);
    add_quoted(out, command->summary);
    fid_text_add(out, "\n");
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name; option++) {
            fid_text_addf(out, "complete -c fid -n '__fish_seen_subcommand_from %s' -l %s", command->name,
                          option->name);
            if (option->letter) {
                fid_text_addf(out, " -s %c", option->letter);
            }
            if (option->argument) {
                kind what = read_place(option->argument, list);
                fid_text_add(out, " -r");
                add_fish_value(out, what, list);
            }
            fid_text_add(out, " -d ");
            add_quoted(out, option->doc);
            fid_text_add(out, "\n");
        }
    }
    kind what = read_words(command, list);
    fid_text_addf(out, "complete -c fid -n '__fish_seen_subcommand_from %s'", command->name);
    add_fish_value(out, what, list);
    fid_text_add(out, "\n");
}

static void write_fish(fid_text *out) {
    fid_text_add(out, "# Completes fid in fish. Written by 'fid completion fish'.\n\n");
    for (const fid_command *const *at = fid_commands; *at; at++) {
        add_fish_command(out, *at);
    }
}

void fid_completion_write(int32_t shell, fid_text *out) {
    static void (*const writers[])(fid_text *) = {write_bash, write_zsh, write_fish};
    writers[shell](out);
}
