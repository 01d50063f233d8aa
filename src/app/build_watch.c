#include "app/build_watch.h"

#include "app/build.h"
#include "app/print.h"
#include "base/clock.h"
#include "base/file.h"
#include "base/watch.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/// Seconds without a change after which it is built.
static const double quiet_time = 0.06;

/// What recipes, modules and guides are; findings and pictures beside them are none.
static const char *const endings[] = {".lua", ".json", ".csv", NULL};

typedef struct watcher {
    const char *file, *to;
    const fid_arguments *arguments;
    bool is_quiet;
    fid_watch *watch;
    fid_inputs inputs; ///< of the last build, and of those before
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

static void write_all(int to, const char *bytes, size_t count) {
    while (count > 0) {
        ssize_t some = write(to, bytes, count);
        if (some < 0 && errno == EINTR) {
            continue;
        }
        if (some <= 0) {
            return;
        }
        bytes += some;
        count -= (size_t)some;
    }
}

/// In the process of a build: builds, writes, and hands back what was read.
static int build_once(const watcher *of, int back) {
    (void)signal(SIGINT, SIG_DFL);
    (void)signal(SIGTERM, SIG_DFL);
    fid_loaded loaded;
    fid_text skeleton = {0};
    int status = fid_build(of->file, of->arguments, of->to, &loaded, &skeleton);
    status = status == FID_EXIT_FINE ? fid_print_output(of->to, &skeleton) : status;
    for (int32_t i = 0; i < loaded.inputs.paths.count; i++) {
        write_all(back, loaded.inputs.paths.at[i], strlen(loaded.inputs.paths.at[i]) + 1);
    }
    fid_text_clear(&skeleton);
    fid_loaded_clear(&loaded);
    return status;
}

/// Takes what a build has read; the whole of it comes at its end.
static fid_code read_inputs(watcher *of, int from, fid_error *err) {
    fid_text all = {0};
    char bytes[4096];
    ssize_t count;
    while ((count = read(from, bytes, sizeof bytes)) > 0 || (count < 0 && errno == EINTR && !is_interrupted)) {
        if (count > 0) {
            fid_text_add_bytes(&all, bytes, (size_t)count);
        }
    }
    fid_code code = all.failed ? fid_no_memory(err) : FID_OK;
    for (int32_t at = 0; at < all.count && code == FID_OK; at += (int32_t)strlen(all.at + at) + 1) {
        code = fid_inputs_add(&of->inputs, NULL, all.at + at, err);
    }
    fid_text_clear(&all);
    return code;
}

/// Watches all that was read. `*is_late` becomes true where a file that was not watched yet has changed since `begun`.
static fid_code watch_inputs(watcher *of, int32_t known, struct timespec begun, bool *is_late, fid_error *err) {
    fid_code code = FID_OK;
    for (int32_t i = 0; i < of->inputs.paths.count && code == FID_OK; i++) {
        struct stat state;
        code = fid_watch_file(of->watch, of->inputs.paths.at[i], err);
        if (i >= known && stat(of->inputs.paths.at[i], &state) == 0) {
            const struct timespec *changed = &state.st_mtim;
            *is_late |= changed->tv_sec > begun.tv_sec ||
                        (changed->tv_sec == begun.tv_sec && changed->tv_nsec >= begun.tv_nsec);
        }
    }
    return code;
}

/// Watches the folder of the recipe and of its modules, where files may come that were looked for in vain.
static fid_code watch_folders(watcher *of, fid_error *err) {
    fid_text folder = {0};
    fid_path_add_folder(&folder, of->file);
    fid_code code = folder.failed ? fid_no_memory(err) : fid_watch_folder(of->watch, folder.at, endings, err);
    fid_text_add(&folder, "/modules");
    code = code == FID_OK && folder.failed ? fid_no_memory(err) : code;
    code = code == FID_OK ? fid_watch_folder(of->watch, folder.at, endings, err) : code;
    fid_text_clear(&folder);
    code = code == FID_OK ? fid_watch_file(of->watch, of->file, err) : code;
    return code == FID_OK ? fid_watch_leave_out(of->watch, of->to, err) : code;
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
        fid_text_add_count(&line, of->inputs.paths.count, "file");
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
    int32_t known = of->inputs.paths.count;
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
    fid_code code = read_inputs(of, back[0], err);
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
        fid_print_error(of->file, &cause);
    }
    *is_late = false;
    code = code == FID_OK ? watch_folders(of, err) : code;
    code = code == FID_OK ? watch_inputs(of, known, begun, is_late, err) : code;
    if (code == FID_OK) {
        tell(of, status, fid_clock_seconds() - from);
    }
    return code;
}

static fid_code run(watcher *of, fid_error *err) {
    fid_code code = watch_folders(of, err);
    bool is_late = false;
    while (code == FID_OK && !is_interrupted) {
        code = build(of, &is_late, err);
        if (code == FID_OK && !is_late && !is_interrupted && !fid_watch_wait(of->watch, quiet_time, is_stopped)) {
            break;
        }
    }
    return code;
}

int fid_build_watch(const char *file, const fid_arguments *arguments, const char *to) {
    watcher of = {.file = file, .to = to, .arguments = arguments};
    fid_error err = {0};
    fid_code code = FID_OK;
    struct stat state;
    of.is_quiet = fid_arguments_last(arguments, "quiet") != NULL;
    if (!to || strcmp(to, "-") == 0) {
        code = fid_fail(&err, FID_INVALID, "--watch needs a file to write: -o FILE");
    } else if (!fid_text_ends_with(file, ".lua")) {
        code = fid_fail(&err, FID_INVALID, "--watch builds a recipe (.lua), not '%.200s'", file);
    } else if (stat(file, &state) != 0) {
        code = fid_fail(&err, FID_IO, "'%.200s' cannot be read: %s", file, strerror(errno));
    } else if (fid_file_is_same(file, to)) {
        code = fid_fail(&err, FID_INVALID,
                        "'%.200s' is an input of this command and is not written over; choose another file", to);
    }
    code = code == FID_OK ? fid_watch_new(&of.watch, &err) : code;
    if (code == FID_OK) {
        hear(SIGINT);
        hear(SIGTERM);
        code = run(&of, &err);
    }
    fid_watch_free(of.watch);
    fid_inputs_clear(&of.inputs);
    if (code != FID_OK) {
        fid_print_error(NULL, &err);
    }
    return fid_exit_status(code);
}
