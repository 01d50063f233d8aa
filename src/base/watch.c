#include "base/watch.h"

#ifdef __linux__

#include "base/array.h"
#include "base/clock.h"
#include "base/file.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <unistd.h>

/// A folder that the system watches.
typedef struct folder {
    int number; ///< as the system knows it
    char *path;
    const char *const *endings; ///< of the files that count whatever their names are, or NULL: none
} folder;

/// A file of such a folder.
typedef struct entry {
    int folder; ///< its number
    char *name;
    bool is_left_out;
} entry;

struct fid_watch {
    int events;
    FID_ARRAY(folder) folders;
    FID_ARRAY(entry) entries;
    bool has_changed;
    double begun, last; ///< when something changed first, and last
};

enum {
    MASK =
        IN_CLOSE_WRITE | IN_MODIFY | IN_MOVED_TO | IN_MOVED_FROM | IN_CREATE | IN_DELETE | IN_DELETE_SELF | IN_ONLYDIR
};

static const double longest_wait = 2;

fid_code fid_watch_new(fid_watch **out, fid_error *err) {
    *out = NULL;
    fid_watch *watch = fid_memory_get_zero(1, sizeof *watch);
    if (watch == NULL) {
        return fid_no_memory(err);
    }
    watch->events = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (watch->events < 0) {
        fid_memory_free(watch);
        return fid_fail(err, FID_LIMIT, "files cannot be watched: %s", strerror(errno));
    }
    *out = watch;
    return FID_OK;
}

void fid_watch_free(fid_watch *watch) {
    if (watch == NULL) {
        return;
    }
    close(watch->events);
    for (int32_t i = 0; i < watch->folders.count; i++) {
        fid_memory_free(watch->folders.at[i].path);
    }
    for (int32_t i = 0; i < watch->entries.count; i++) {
        fid_memory_free(watch->entries.at[i].name);
    }
    fid_array_clear(&watch->folders);
    fid_array_clear(&watch->entries);
    fid_memory_free(watch);
}

static char *copy(const char *text) {
    size_t size = strlen(text) + 1;
    char *out = fid_memory_get(size);
    if (out != NULL) {
        memcpy(out, text, size);
    }
    return out;
}

static folder *find_folder(fid_watch *watch, int number) {
    for (int32_t i = 0; i < watch->folders.count; i++) {
        if (watch->folders.at[i].number == number) {
            return &watch->folders.at[i];
        }
    }
    return NULL;
}

/// Watches a folder. `*number` is -1 where it is missing.
static fid_code add_folder(fid_watch *watch, const char *path, const char *const *endings, int *number,
                           fid_error *err) {
    *number = inotify_add_watch(watch->events, path, MASK);
    if (*number < 0) {
        bool is_missing = errno == ENOENT || errno == ENOTDIR || errno == EACCES;
        return is_missing ? FID_OK : fid_fail(err, FID_LIMIT, "'%.200s' cannot be watched: %s", path, strerror(errno));
    }
    folder *known = find_folder(watch, *number);
    if (known != NULL) {
        known->endings = endings != NULL ? endings : known->endings;
        return FID_OK;
    }
    folder next = {*number, copy(path), endings};
    if (next.path == NULL || !fid_array_push(&watch->folders, next)) {
        fid_memory_free(next.path);
        return fid_no_memory(err);
    }
    return FID_OK;
}

static fid_code add_entry(fid_watch *watch, const char *path, bool is_left_out, fid_error *err) {
    fid_text above = {0};
    fid_path_add_folder(&above, path);
    int number = -1;
    fid_code code = above.failed ? fid_no_memory(err) : add_folder(watch, above.at, NULL, &number, err);
    fid_text_clear(&above);
    const char *slash = strrchr(path, '/'), *name = slash != NULL ? slash + 1 : path;
    for (int32_t i = 0; i < watch->entries.count && number >= 0; i++) {
        const entry *known = &watch->entries.at[i];
        if (known->folder == number && known->is_left_out == is_left_out && strcmp(known->name, name) == 0) {
            number = -1;
        }
    }
    if (code == FID_OK && number >= 0) {
        entry next = {number, copy(name), is_left_out};
        if (next.name == NULL || !fid_array_push(&watch->entries, next)) {
            fid_memory_free(next.name);
            code = fid_no_memory(err);
        }
    }
    return code;
}

/// The file as it is named, and where a link leads to.
static fid_code add_both(fid_watch *watch, const char *path, bool is_left_out, fid_error *err) {
    fid_code code = add_entry(watch, path, is_left_out, err);
    char *real = code == FID_OK ? realpath(path, NULL) : NULL;
    if (real != NULL) {
        code = add_entry(watch, real, is_left_out, err);
        free(real);
    }
    return code;
}

fid_code fid_watch_file(fid_watch *watch, const char *path, fid_error *err) {
    return add_both(watch, path, false, err);
}

fid_code fid_watch_leave_out(fid_watch *watch, const char *path, fid_error *err) {
    return add_both(watch, path, true, err);
}

fid_code fid_watch_folder(fid_watch *watch, const char *path, const char *const *endings, fid_error *err) {
    int number;
    return add_folder(watch, path, endings, &number, err);
}

/// A folder that came into one whose files count: so do those in it.
static void follow_folder(fid_watch *watch, const folder *above, const char *name) {
    fid_text path = {0};
    fid_error err;
    int number;
    fid_text_addf(&path, "%s/%s", above->path, name);
    if (!path.failed) {
        // Where it cannot be watched the next build tries again.
        (void)add_folder(watch, path.at, above->endings, &number, &err);
    }
    fid_text_clear(&path);
}

/// Whether an event counts.
static bool does_count(fid_watch *watch, const struct inotify_event *event) {
    const folder *in = find_folder(watch, event->wd);
    if ((event->mask & (IN_Q_OVERFLOW | IN_DELETE_SELF)) != 0) {
        return true;
    }
    if (in == NULL || event->len == 0) {
        return false;
    }
    bool is_named = false;
    for (int32_t i = 0; i < watch->entries.count; i++) {
        const entry *known = &watch->entries.at[i];
        if (known->folder == event->wd && strcmp(known->name, event->name) == 0) {
            if (known->is_left_out) {
                return false;
            }
            is_named = true;
        }
    }
    if (is_named || in->endings == NULL || event->name[0] == '.') {
        return is_named;
    }
    if ((event->mask & IN_ISDIR) != 0) {
        if ((event->mask & (IN_CREATE | IN_MOVED_TO)) != 0) {
            follow_folder(watch, in, event->name);
        }
        return true;
    }
    for (int i = 0; in->endings[i] != NULL; i++) {
        if (fid_text_ends_with(event->name, in->endings[i])) {
            return true;
        }
    }
    return false;
}

/// Reads what has happened; whether any of it counts.
static bool read_events(fid_watch *watch) {
    union {
        struct inotify_event first;
        char bytes[16384];
    } buffer;
    bool counts = false;
    ssize_t count;
    while ((count = read(watch->events, buffer.bytes, sizeof buffer.bytes)) > 0) {
        for (ssize_t at = 0; at < count;) {
            struct inotify_event event;
            memcpy(&event, buffer.bytes + at, sizeof event);
            counts |= does_count(watch, (const struct inotify_event *)(const void *)(buffer.bytes + at));
            at += (ssize_t)(sizeof event + event.len);
        }
    }
    return counts;
}

int fid_watch_descriptor(const fid_watch *watch) { return watch->events; }

double fid_watch_look(fid_watch *watch, double quiet) {
    double now = fid_clock_seconds();
    if (read_events(watch)) {
        watch->begun = watch->has_changed ? watch->begun : now;
        watch->last = now;
        watch->has_changed = true;
    }
    if (!watch->has_changed) {
        return -1;
    }
    double quiet_at = watch->last + quiet, late_at = watch->begun + longest_wait;
    double left = (quiet_at < late_at ? quiet_at : late_at) - now;
    watch->has_changed = left > 0;
    return left > 0 ? left : 0;
}

bool fid_watch_wait(fid_watch *watch, double quiet, bool (*is_stopped)(void)) {
    watch->has_changed = false;
    for (;;) {
        if (is_stopped()) {
            return false;
        }
        double left = fid_watch_look(watch, quiet);
        if (left == 0) {
            return true;
        }
        // A signal just before this is noticed a moment later.
        struct pollfd on = {.fd = watch->events, .events = POLLIN};
        (void)poll(&on, 1, left > 0 ? (int)(1000 * left) + 1 : 200);
    }
}

#else

fid_code fid_watch_new(fid_watch **out, fid_error *err) {
    *out = NULL;
    return fid_fail(err, FID_LIMIT, "this system has nothing that files are watched with here");
}

void fid_watch_free(fid_watch *watch) { (void)watch; }

fid_code fid_watch_file(fid_watch *watch, const char *path, fid_error *err) {
    (void)watch;
    return fid_fail(err, FID_LIMIT, "'%.200s' cannot be watched", path);
}

fid_code fid_watch_leave_out(fid_watch *watch, const char *path, fid_error *err) {
    return fid_watch_file(watch, path, err);
}

fid_code fid_watch_folder(fid_watch *watch, const char *path, const char *const *endings, fid_error *err) {
    (void)endings;
    return fid_watch_file(watch, path, err);
}

int fid_watch_descriptor(const fid_watch *watch) {
    (void)watch;
    return -1;
}

double fid_watch_look(fid_watch *watch, double quiet) {
    (void)watch;
    (void)quiet;
    return -1;
}

bool fid_watch_wait(fid_watch *watch, double quiet, bool (*is_stopped)(void)) {
    (void)watch;
    (void)quiet;
    (void)is_stopped;
    return false;
}

#endif
