#include "app/command.h"
#include "app/completion.h"
#include "app/load.h"
#include "app/print.h"

#include <string.h>

static int run(const fid_arguments *arguments) {
    const char *word = arguments->words.at[0];
    int32_t count = 0, shell = -1;
    for (; fid_completion_shells[count]; count++) {
        shell = strcmp(word, fid_completion_shells[count]) == 0 ? count : shell;
    }
    fid_text text = {0};
    if (shell < 0) {
        fid_error err = {0};
        const char *near = fid_text_nearest(word, fid_completion_shells, count);
        fid_fail(&err, FID_UNKNOWN, "there is no completion for '%.32s', but for bash, zsh and fish%s%s%s", word,
                 near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_completion_write(shell, &text);
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static const fid_option *const tables[] = {fid_common_options, NULL};

const fid_command fid_command_completion = {
    "completion",
    "bash|zsh|fish",
    "prints what completes commands, options and files in a shell",
    "    source <(fid completion bash)                            # this shell; or as a line of ~/.bashrc\n"
    "    fid completion fish > ~/.config/fish/completions/fid.fish\n",
    tables,
    1,
    1,
    run,
};
