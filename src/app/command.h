#ifndef FID_APP_COMMAND_H
#define FID_APP_COMMAND_H

#include "app/options.h"

/// One command: what `fid help NAME` shows and what runs it.
typedef struct fid_command {
    const char *name;
    const char *usage;                ///< what follows "fid NAME"
    const char *summary;              ///< one line
    const char *examples;             ///< lines of "    fid ..."
    const fid_option *const *options; ///< tables, closed by NULL
    int32_t words_min, words_max;     ///< words that are no options
    /// Returns an exit status.
    int (*run)(const fid_arguments *arguments);
} fid_command;

extern const fid_command fid_command_build;
extern const fid_command fid_command_check;
extern const fid_command fid_command_pose;
extern const fid_command fid_command_export;
extern const fid_command fid_command_show;
extern const fid_command fid_command_rule;
extern const fid_command fid_command_repl;
extern const fid_command fid_command_time;
extern const fid_command fid_command_diff;
extern const fid_command fid_command_new;
extern const fid_command fid_command_modules;
extern const fid_command fid_command_test;
extern const fid_command fid_command_doc;
extern const fid_command fid_command_init;
extern const fid_command fid_command_doctor;
extern const fid_command fid_command_completion;
extern const fid_command fid_command_version;
extern const fid_command fid_command_help;

/// All of them, closed by NULL.
extern const fid_command *const fid_commands[];

/// The command of a name, or NULL.
const fid_command *fid_command_find(const char *name);

/// "there is no command 'bild'; did you mean 'build'?"
fid_code fid_command_unknown(const char *name, fid_error *err);

/// Adds the help of one command, or of all for NULL.
void fid_command_add_help(const fid_command *command, fid_text *out);

/// Runs a command line without the program's name; returns the exit status.
int fid_command_run(int count, char *const *words);

#endif
