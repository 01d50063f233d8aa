#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "script/session.h"

#include <editline/readline.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Where lines come from: a terminal with line editing, or a pipe.
typedef struct lines {
    bool terminal;
    char *piped; ///< of getline
    size_t size;
} lines;

/// The next line without its end, or NULL at the end. Freed by the caller where it comes from a terminal.
static char *next_line(lines *from, bool goes_on) {
    if (from->terminal) {
        return readline(goes_on ? "   > " : "fid> ");
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

static void print_value(void *user, const char *line) {
    (void)user;
    fid_print_line(stdout, line);
    fflush(stdout);
}

/// Runs the text collected so far; it is kept where it goes on, else cleared. False where a form failed.
static bool run_form(fid_session *session, lines *from, fid_text *text) {
    fid_report report = {0};
    bool incomplete = false;
    fid_code code = fid_session_run(session, text->at, &incomplete, &report);
    fid_print_report(&report, "session", NULL);
    fid_report_clear(&report);
    if (!incomplete) {
        if (from->terminal && text->count > 1) {
            text->at[text->count - 1] = '\0';
            add_history(text->at);
        }
        text->count = 0;
        text->at[0] = '\0';
    }
    return code == FID_OK;
}

static int run_lines(fid_session *session) {
    lines from = {.terminal = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO)};
    fid_text text = {0};
    bool good = true;
    char *line;
    // Once what is printed is lost, nothing more is run.
    while (!text.failed && !ferror(stdout) && (line = next_line(&from, text.count > 0)) != NULL) {
        bool blank = line[strspn(line, " \t")] == '\0';
        fid_text_add(&text, line);
        fid_text_add(&text, "\n");
        if (from.terminal) {
            free(line);
        }
        if (!text.failed && !(blank && text.count <= (int32_t)strlen("\n"))) {
            good &= run_form(session, &from, &text);
        } else if (!text.failed) {
            text.count = 0;
        }
    }
    if (text.count > 0 && !text.failed && text.at[0] != '\0') {
        fid_error err = {0};
        fid_fail(&err, FID_SYNTAX, "the last form has no end: '%.64s'", text.at);
        fid_print_error("session", &err);
        good = false;
    }
    fid_error lost = {0};
    int status = FID_EXIT_FINE;
    if (text.failed) {
        status = fid_exit_status(fid_no_memory(&lost));
    } else if (ferror(stdout)) {
        status = fid_exit_status(fid_fail(&lost, FID_IO, "standard output cannot be written"));
    }
    if (status) {
        fid_print_error(NULL, &lost);
    }
    free(from.piped);
    fid_text_clear(&text);
    // On a terminal the errors were seen; a script wants to know.
    return status ? status : good || from.terminal ? FID_EXIT_FINE : FID_EXIT_UNUSABLE;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.count > 0 ? arguments->words.at[0] : NULL;
    fid_arena names = {0};
    fid_error err = {0};
    fid_report report = {0};
    fid_recipe_options options;
    fid_session *session = NULL;
    fid_param *params = fid_memory_get_zero((size_t)arguments->given.count + 1, sizeof *params);
    fid_code code = params ? fid_load_options(arguments, &names, params, &options, &err) : fid_no_memory(&err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        options.print = print_value;
        status = fid_exit_status(fid_session_open(file, &options, &session, &report));
        fid_print_report(&report, file ? file : "session", NULL);
    }
    if (session) {
        status = run_lines(session);
    }
    fid_session_close(session);
    fid_report_clear(&report);
    fid_memory_free(params);
    fid_arena_clear(&names);
    return status;
}

static const fid_option *const tables[] = {fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_repl = {
    "repl",
    "[RECIPE]",
    "tries things out: forms in Lua, one after the other",
    "    fid repl recipes/hobrundle.lua\n"
    "    echo 'set(\"head_control.rotation.y\", 20) return solve():base(\"head_control\")' | fid repl "
    "recipes/hobrundle.lua\n",
    tables,
    0,
    1,
    run,
};
