#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "app/prompt.h"
#include "app/watched.h"
#include "app/worker.h"
#include "base/file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Where lines come from: a terminal with line editing, or a pipe.
typedef struct lines {
    fid_prompt *prompt;   ///< NULL: a pipe
    bool is_left;         ///< the line was left with Ctrl-C, and with it the form
    bool is_saved;        ///< a file was saved: the line stands for it
    fid_watched *watched; ///< or NULL
    char *piped;          ///< of getline
    size_t size;
    fid_worker *worker;
    const fid_text *form; ///< its lines so far
    const fid_arguments *arguments;
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
        fid_prompt_watch(from->prompt, from->watched && !goes_on ? from->watched->watch : NULL, fid_watched_quiet);
        fid_prompt_end end = fid_prompt_ask(from->prompt, goes_on ? "   > " : "fid> ", &line);
        from->is_left = end == FID_PROMPT_LEFT;
        from->is_saved = end == FID_PROMPT_SAVED;
        return end == FID_PROMPT_LINE ? line : from->is_saved ? "reload()" : NULL;
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

/// The recipe may read other files now. What cannot be watched is told, and the session goes on without.
static void watch_again(const lines *from) {
    fid_error err = {0};
    if (fid_watched_find(from->watched, from->arguments, &err) != FID_OK) {
        fid_print_error(NULL, &err);
    }
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
            if (from->prompt && !from->is_saved) {
                fid_prompt_remember(from->prompt, text->at);
            }
            last = fid_worker_run(worker, text->at);
            if (from->watched && strstr(text->at, "reload(")) {
                watch_again(from);
            }
        }
        *good &= last == FID_WORKER_DONE;
        text->count = 0;
    }
    return last;
}

static int run_session(fid_worker *worker, const char *file, fid_watched *watched, const fid_arguments *arguments) {
    fid_text text = {0};
    lines from = {.worker = worker, .form = &text, .watched = watched, .arguments = arguments};
    bool goes_on = fid_arguments_last(arguments, "keep-going") != NULL;
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

static fid_code check_watch(const char *file, fid_error *err) {
    if (!file) {
        return fid_fail(err, FID_INVALID, "--watch needs a recipe: fid repl RECIPE.lua --watch");
    }
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO)) {
        return fid_fail(err, FID_INVALID,
                        "--watch is for a terminal; forms of a pipe call reload() where they need it");
    }
    return FID_OK;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.count > 0 ? arguments->words.at[0] : NULL;
    fid_arena names = {0};
    fid_error err = {0};
    fid_recipe_options options;
    fid_worker *worker = NULL;
    fid_watched watched = {.file = NULL};
    bool is_watched = fid_arguments_last(arguments, "watch") != NULL;
    fid_param *params = fid_memory_get_zero((size_t)arguments->given.count + 1, sizeof *params);
    fid_code code = params ? fid_load_options(arguments, &names, params, &options, &err) : fid_no_memory(&err);
    code = code || !is_watched ? code : check_watch(file, &err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_worker_start(file, &options, &worker);
    }
    // The processes of the session have begun without what is watched.
    if (worker && is_watched) {
        code = fid_watched_begin(&watched, file, &err);
        code = code ? code : fid_watched_find(&watched, arguments, &err);
    }
    if (code && worker) {
        fid_print_error(NULL, &err);
        status = fid_exit_status(code);
    } else if (worker) {
        status = run_session(worker, file, is_watched ? &watched : NULL, arguments);
    }
    fid_worker_stop(worker);
    fid_watched_clear(&watched);
    fid_memory_free(params);
    fid_arena_clear(&names);
    return status;
}

static const fid_option own[] = {
    {"keep-going", 'k', NULL, "where forms come from a pipe: goes on after one that fails"},
    {"watch", 'w', NULL, "on a terminal: reload() by itself when a file is saved that the recipe reads"},
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
