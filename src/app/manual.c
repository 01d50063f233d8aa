#include "app/manual.h"

#include "app/command.h"

#include <string.h>

/// Adds a text of the page: a hyphen of a word on the command line is a minus, a backslash is written out, and a line
/// that begins as a request does not.
static void add_plain(fid_text *out, const char *text) {
    for (const char *at = text; *at; at++) {
        bool begins = at == text || at[-1] == '\n';
        if (begins && (*at == '.' || *at == '\'')) {
            fid_text_add(out, "\\&");
        }
        if (*at == '-') {
            fid_text_add(out, "\\-");
        } else if (*at == '\\') {
            fid_text_add(out, "\\e");
        } else {
            fid_text_add_bytes(out, at, 1);
        }
    }
}

static void add_option(fid_text *out, const fid_option *option) {
    fid_text_add(out, ".TP\n");
    if (option->letter) {
        fid_text_addf(out, "\\fB\\-%c\\fR, ", option->letter);
    }
    fid_text_add(out, "\\fB\\-\\-");
    add_plain(out, option->name);
    fid_text_add(out, "\\fR");
    if (option->argument) {
        fid_text_add(out, " \\fI");
        add_plain(out, option->argument);
        fid_text_add(out, "\\fR");
    }
    fid_text_add(out, "\n");
    add_plain(out, option->doc);
    fid_text_add(out, "\n");
}

/// Options that every command has stand once, in a section of their own.
static bool is_common(const fid_option *table) {
    for (const fid_command *const *at = fid_commands; *at; at++) {
        const fid_option *const *tables = (*at)->options;
        while (*tables && *tables != table) {
            tables++;
        }
        if (!*tables) {
            return false;
        }
    }
    return true;
}

static void add_command(fid_text *out, const fid_command *command) {
    fid_text_add(out, ".SS fid ");
    add_plain(out, command->name);
    fid_text_add(out, " ");
    add_plain(out, command->usage);
    fid_text_add(out, "\nThis ");
    add_plain(out, command->summary);
    fid_text_add(out, ".\n.PP\n.nf\n");
    add_plain(out, command->examples);
    fid_text_add(out, ".fi\n");
    for (const fid_option *const *table = command->options; *table; table++) {
        for (const fid_option *option = *table; option->name && !is_common(*table); option++) {
            add_option(out, option);
        }
    }
}

void fid_manual_write(fid_text *out) {
    fid_text_add(out, ".\\\" Written by 'fid help --man'.\n"
                      ".TH FID 1 \"\" \"fid " FID_VERSION "\" \"Character rigs from code\"\n"
                      ".SH NAME\nfid \\- builds, checks, poses and hands over character rigs written in Lua\n"
                      ".SH SYNOPSIS\n.B fid\n.I COMMAND\n[\\fIFILE\\fR] [\\fIOPTION\\fR]...\n"
                      ".SH DESCRIPTION\n"
                      "A recipe is a Lua file that returns one rig, mostly put together from modules. The program runs "
                      "it, compiles and solves\nthe rig, tries it in many poses, says what is wrong and at which line, "
                      "and writes it as a skeleton file. FILE is a recipe\n(.lua) or a skeleton file (.json). Standard "
                      "output carries data, standard error messages. A file is written whole or not\nat all, and never "
                      "over an input.\n"
                      ".SH COMMANDS\n");
    for (const fid_command *const *at = fid_commands; *at; at++) {
        add_command(out, *at);
    }
    fid_text_add(out, ".SH \"OPTIONS OF EVERY COMMAND\"\n");
    for (const fid_option *const *table = fid_commands[0]->options; *table; table++) {
        for (const fid_option *option = *table; option->name && is_common(*table); option++) {
            add_option(out, option);
        }
    }
    fid_text_add(out, ".SH \"EXIT STATUS\"\n"
                      ".TP\n.B 0\nall is well\n"
                      ".TP\n.B 1\nthere are findings, differences or failed tests\n"
                      ".TP\n.B 2\nwrong usage, or a script or file whose content cannot be used\n"
                      ".TP\n.B 3\na file that is missing or cannot be read or written\n"
                      ".SH ENVIRONMENT\n"
                      ".TP\n.B FID_PATH\nfolders, separated by colons, where modules are looked for after those of the "
                      "recipe's folder and of the folders above it\n"
                      ".TP\n.B NO_COLOR\nset to anything: no color on a terminal\n");
}
