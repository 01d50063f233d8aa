#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "app/prompt.h"
#include "app/worker.h"
#include "base/file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Where lines come from: a terminal with line editing, or a pipe.
typedef struct lines {
    fid_prompt *prompt; ///< NULL: a pipe
    bool is_left;       ///< the line was left with Ctrl-C, and with it the form
    char *piped;        ///< of getline
    size_t size;
    fid_worker *worker;
    const fid_text *form; ///< its lines so far
} lines;

/// Tells the prompt how the line goes on.
static void complete(void *user, const char *line, fid_text *out) {
    const lines *from = user;
    fid_text whole = {0};
    fid_text_add(&whole, from->form->count > 0 ? from->form->at : "");
    fid_text_add(&whole, line);
    if (!whole.failed) {
        fid_worker_complete(from->worker, whole.at, out);
    }
    fid_text_clear(&whole);
}

/// The next line without its end, or NULL at the end and where it was left. Holds until the next call.
static const char *next_line(lines *from, bool goes_on) {
    if (from->prompt) {
        const char *line = NULL;
        fid_prompt_end end = fid_prompt_ask(from->prompt, goes_on ? "   > " : "fid> ", &line);
        from->is_left = end == FID_PROMPT_LEFT;
        return end == FID_PROMPT_LINE ? line : NULL;
    }
    ssize_t count = getline(&from->piped, &from->size, stdin);
    if (count < 0) {
        return NULL;
    }
    // A zero byte would end the line unseen; the parser names what it finds in its place.
    for (ssize_t i = 0; i < count; i++) {
        from->piped[i] = from->piped[i] == '\0' ? '\x01' : from->piped[i];
    }
    from->piped[strcspn(from->piped, "\r\n")] = '\0';
    return from->piped;
}

/// Runs the forms until the end of the input; `*good` tells whether all of them succeeded.
static fid_worker_outcome run_lines(fid_worker *worker, lines *from, bool goes_on, fid_text *text, bool *good) {
    const char *line;
    fid_worker_outcome last = FID_WORKER_DONE;
    while (!text->failed && last != FID_WORKER_LOST && (*good || goes_on || from->prompt) &&
           ((line = next_line(from, text->count > 0)) != NULL || from->is_left)) {
        if (from->is_left) {
            text->count = 0;
            continue;
        }
        bool blank = line[strspn(line, " \t")] == '\0';
        if (blank && text->count == 0) {
            continue;
        }
        fid_text_add(text, line);
        fid_text_add(text, "\n");
        bool is_whole = true;
        last = text->failed ? last : fid_worker_is_whole(worker, text->at, &is_whole);
        if (!is_whole) {
            continue;
        }
        if (!text->failed && last != FID_WORKER_LOST) {
            text->at[text->count - 1] = '\0';
            if (from->prompt) {
                fid_prompt_remember(from->prompt, text->at);
            }
            last = fid_worker_run(worker, text->at);
        }
        *good &= last == FID_WORKER_DONE;
        text->count = 0;
    }
    return last;
}

static int run_session(fid_worker *worker, const char *file, bool goes_on) {
    fid_text text = {0};
    lines from = {.worker = worker, .form = &text};
    bool good = true, is_terminal = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
    fid_error err = {0};
    int status = FID_EXIT_FINE;
    // The processes that run forms have begun without what the editor of lines changes.
    if (is_terminal && !(from.prompt = fid_prompt_open(complete, &from))) {
        text.failed = true;
    }
    if (from.prompt) {
        fid_text folder = {0};
        fid_path_add_folder(&folder, file ? file : "");
        fid_prompt_recall(from.prompt, folder.at ? folder.at : ".");
        fid_text_clear(&folder);
    }
    if (run_lines(worker, &from, goes_on, &text, &good) == FID_WORKER_LOST) {
        status = FID_EXIT_FILE;
    } else if (text.failed) {
        status = fid_exit_status(fid_no_memory(&err));
        fid_print_error(NULL, &err);
    } else if (text.count > 0 && (good || goes_on)) {
        (void)fid_fail(&err, FID_SYNTAX, "the last form has no end: '%.64s'", text.at);
        fid_print_error("session", &err);
        good = false;
    }
    free(from.piped);
    fid_text_clear(&text);
    fid_prompt_close(from.prompt);
    // On a terminal the errors were seen; a script wants to know.
    return status ? status : good || is_terminal ? FID_EXIT_FINE : FID_EXIT_UNUSABLE;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.count > 0 ? arguments->words.at[0] : NULL;
    fid_arena names = {0};
    fid_error err = {0};
    fid_recipe_options options;
    fid_worker *worker = NULL;
    fid_param *params = fid_memory_get_zero((size_t)arguments->given.count + 1, sizeof *params);
    fid_code code = params ? fid_load_options(arguments, &names, params, &options, &err) : fid_no_memory(&err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_worker_start(file, &options, &worker);
    }
    if (worker) {
        status = run_session(worker, file, fid_arguments_last(arguments, "keep-going") != NULL);
    }
    fid_worker_stop(worker);
    fid_memory_free(params);
    fid_arena_clear(&names);
    return status;
}

static const fid_option own[] = {
    {"keep-going", 'k', NULL, "where forms come from a pipe: goes on after one that fails"},
    {NULL, 0, NULL, NULL},
};

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_repl = {
    "repl",
    "[FILE]",
    "tries things out: forms in Lua, one after the other",
    "    fid repl recipes/hobrundle.lua\n"
    "    echo 'set(\"neck_head_control.rotation.y\", 20) return solve():base(\"neck_head_control\")' | fid repl "
    "recipes/hobrundle.lua\n",
    tables,
    0,
    1,
    run,
};
