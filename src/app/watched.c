#include "app/watched.h"

#include "app/build.h"
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

const double fid_watched_quiet = 0.06;

/// What recipes, modules and guides are; findings and pictures beside them are none.
static const char *const endings[] = {".lua", ".json", ".csv", NULL};

/// Watches the folder of the recipe and of its modules, where files may come that were looked for in vain.
static fid_code watch_folders(fid_watched *of, fid_error *err) {
    fid_text folder = {0};
    fid_path_add_folder(&folder, of->file);
    fid_code code = folder.failed ? fid_no_memory(err) : fid_watch_folder(of->watch, folder.at, endings, err);
    fid_text_add(&folder, "/modules");
    code = code == FID_OK && folder.failed ? fid_no_memory(err) : code;
    code = code == FID_OK ? fid_watch_folder(of->watch, folder.at, endings, err) : code;
    fid_text_clear(&folder);
    return code == FID_OK ? fid_watch_file(of->watch, of->file, err) : code;
}

fid_code fid_watched_begin(fid_watched *of, const char *file, fid_error *err) {
    struct stat state;
    of->file = file;
    if (!fid_text_ends_with(file, ".lua")) {
        return fid_fail(err, FID_INVALID, "--watch is for a recipe (.lua), not '%.200s'", file);
    }
    if (stat(file, &state) != 0) {
        return fid_fail(err, FID_IO, "'%.200s' cannot be read: %s", file, strerror(errno));
    }
    fid_code code = fid_watch_new(&of->watch, err);
    return code == FID_OK ? watch_folders(of, err) : code;
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

void fid_watched_hand_back(const fid_inputs *inputs, int to) {
    for (int32_t i = 0; i < inputs->paths.count; i++) {
        write_all(to, inputs->paths.at[i], strlen(inputs->paths.at[i]) + 1);
    }
}

/// Takes what a build has read; the whole of it comes at its end.
static fid_code read_inputs(fid_watched *of, int from, bool (*is_stopped)(void), fid_error *err) {
    fid_text all = {0};
    char bytes[4096];
    ssize_t count;
    while ((count = read(from, bytes, sizeof bytes)) > 0 || (count < 0 && errno == EINTR && !is_stopped())) {
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
static fid_code watch_inputs(fid_watched *of, int32_t known, struct timespec begun, bool *is_late, fid_error *err) {
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

fid_code fid_watched_take(fid_watched *of, int from, struct timespec begun, bool (*is_stopped)(void), bool *is_late,
                          fid_error *err) {
    int32_t known = of->inputs.paths.count;
    fid_code code = read_inputs(of, from, is_stopped, err);
    // A folder of modules may have come meanwhile.
    code = code == FID_OK ? watch_folders(of, err) : code;
    return code == FID_OK ? watch_inputs(of, known, begun, is_late, err) : code;
}

static bool goes_on(void) { return false; }

/// In the process aside.
static _Noreturn void read_aside(const fid_watched *of, const fid_arguments *arguments, int back) {
    int nothing = open("/dev/null", O_WRONLY);
    (void)dup2(nothing, STDOUT_FILENO);
    (void)dup2(nothing, STDERR_FILENO);
    fid_loaded loaded;
    fid_text skeleton = {0};
    (void)fid_build(of->file, arguments, NULL, &loaded, &skeleton);
    fid_watched_hand_back(&loaded.inputs, back);
    _exit(0);
}

fid_code fid_watched_find(fid_watched *of, const fid_arguments *arguments, fid_error *err) {
    int back[2];
    struct timespec begun;
    bool is_late = false;
    (void)clock_gettime(CLOCK_REALTIME, &begun);
    pid_t child = pipe(back) == 0 ? fork() : -1;
    if (child < 0) {
        return fid_fail(err, FID_LIMIT, "the system gives no further process: %s", strerror(errno));
    }
    if (child == 0) {
        close(back[0]);
        read_aside(of, arguments, back[1]);
    }
    close(back[1]);
    fid_code code = fid_watched_take(of, back[0], begun, goes_on, &is_late, err);
    close(back[0]);
    while (waitpid(child, NULL, 0) < 0 && errno == EINTR) {
    }
    return code;
}

void fid_watched_clear(fid_watched *of) {
    fid_watch_free(of->watch);
    fid_inputs_clear(&of->inputs);
}
