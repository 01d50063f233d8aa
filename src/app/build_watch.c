#include "app/build_watch.h"

#include "app/build.h"
#include "app/print.h"
#include "app/watched.h"
#include "base/clock.h"
#include "base/file.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

typedef struct watcher {
    const char *to;
    const fid_arguments *arguments;
    bool is_quiet;
    fid_watched watched;
} watcher;

static volatile sig_atomic_t is_interrupted;

static void note_interrupt(int number) {
    (void)number;
    is_interrupted = 1;
}

static bool is_stopped(void) { return is_interrupted != 0; }

/// Ctrl-C is heard; what waits for a child goes on waiting.
static void hear(int number) {
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note_interrupt;
    sigemptyset(&action.sa_mask);
    (void)sigaction(number, &action, NULL);
}

/// In the process of a build: builds, writes, and hands back what was read.
static int build_once(const watcher *of, int back) {
    (void)signal(SIGINT, SIG_DFL);
    (void)signal(SIGTERM, SIG_DFL);
    fid_loaded loaded;
    fid_text skeleton = {0};
    int status = fid_build(of->watched.file, of->arguments, of->to, &loaded, &skeleton);
    status = status == FID_EXIT_FINE ? fid_print_output(of->to, &skeleton) : status;
    fid_watched_hand_back(&loaded.inputs, back);
    fid_text_clear(&skeleton);
    fid_loaded_clear(&loaded);
    return status;
}

static void tell(const watcher *of, int status, double seconds) {
    if (of->is_quiet) {
        return;
    }
    fid_text line = {0};
    fid_text_add(&line, "fid: note: ");
    if (status == FID_EXIT_FINE) {
        fid_print_add_plain(of->to, &line);
        fid_text_addf(&line, " built in %.2f s; watching ", seconds);
        fid_text_add_count(&line, of->watched.inputs.paths.count, "file");
        fid_text_add(&line, ", Ctrl-C ends it");
    } else {
        fid_print_add_plain(of->to, &line);
        fid_text_add(&line, " is as it was; building again after the next change");
    }
    if (!line.failed) {
        fid_print_line(stderr, line.at);
    }
    fid_text_clear(&line);
}

/// One build. `*is_late` tells that it has to be done again.
static fid_code build(watcher *of, bool *is_late, fid_error *err) {
    int back[2];
    struct timespec begun;
    (void)clock_gettime(CLOCK_REALTIME, &begun);
    double from = fid_clock_seconds();
    fflush(stdout);
    fflush(stderr);
    pid_t child = pipe(back) == 0 ? fork() : -1;
    if (child < 0) {
        return fid_fail(err, FID_LIMIT, "the system gives no further process: %s", strerror(errno));
    }
    if (child == 0) {
        close(back[0]);
        int status = build_once(of, back[1]);
        fflush(stderr);
        _exit(status);
    }
    close(back[1]);
    *is_late = false;
    fid_code code = fid_watched_take(&of->watched, back[0], begun, is_stopped, is_late, err);
    close(back[0]);
    int ended = 0;
    while (waitpid(child, &ended, 0) < 0 && errno == EINTR) {
        if (is_interrupted) {
            (void)kill(child, SIGTERM);
        }
    }
    if (is_interrupted) {
        return FID_OK;
    }
    int status = WIFEXITED(ended) ? WEXITSTATUS(ended) : FID_EXIT_UNUSABLE;
    if (WIFSIGNALED(ended)) {
        fid_error cause = {0};
        (void)fid_fail(&cause, FID_LIMIT, "the build was ended by signal %d", WTERMSIG(ended));
        fid_print_error(of->watched.file, &cause);
    }
    if (code == FID_OK) {
        tell(of, status, fid_clock_seconds() - from);
    }
    return code;
}

static fid_code run(watcher *of, fid_error *err) {
    fid_code code = fid_watch_leave_out(of->watched.watch, of->to, err);
    bool is_late = false;
    while (code == FID_OK && !is_interrupted) {
        code = build(of, &is_late, err);
        if (code == FID_OK && !is_late && !is_interrupted &&
            !fid_watch_wait(of->watched.watch, fid_watched_quiet, is_stopped)) {
            break;
        }
    }
    return code;
}

int fid_build_watch(const char *file, const fid_arguments *arguments, const char *to) {
    watcher of = {.to = to, .arguments = arguments};
    fid_error err = {0};
    fid_code code = FID_OK;
    of.is_quiet = fid_arguments_last(arguments, "quiet") != NULL;
    if (!to || strcmp(to, "-") == 0) {
        code = fid_fail(&err, FID_INVALID, "--watch needs a file to write: -o FILE");
    } else if (fid_file_is_same(file, to)) {
        code = fid_fail(&err, FID_INVALID,
                        "'%.200s' is an input of this command and is not written over; choose another file", to);
    }
    code = code == FID_OK ? fid_watched_begin(&of.watched, file, &err) : code;
    if (code == FID_OK) {
        hear(SIGINT);
        hear(SIGTERM);
        code = run(&of, &err);
    }
    fid_watched_clear(&of.watched);
    if (code != FID_OK) {
        fid_print_error(NULL, &err);
    }
    return fid_exit_status(code);
}
