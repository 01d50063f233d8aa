#include "app/history.h"

#include "app/print.h"
#include "base/array.h"
#include "base/file.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { MOST_FORMS = 1000, MOST_BYTES = 1 << 20, MOST_FORM = 1 << 16, PATH_SIZE = PATH_MAX + 64 };

/// The file: this line, then of each form the first line behind "+ ", the others behind two blanks.
static const char head[] = "fid history 1\n";

struct fid_history {
    char path[PATH_SIZE];
    bool has_warned;
};

/// What a file holds.
typedef struct forms {
    FID_ARRAY(int32_t) begins; ///< where in `text` each form begins
    fid_text text;             ///< each form ends with a zero byte
} forms;

static void forms_clear(forms *of) {
    fid_array_clear(&of->begins);
    fid_text_clear(&of->text);
}

static void add_form(forms *of, const char *form, size_t length) {
    if (of->begins.count > 0) {
        fid_text_add_bytes(&of->text, "", 1);
    }
    of->text.failed |= !fid_array_push(&of->begins, of->text.count);
    fid_text_add_bytes(&of->text, form, length);
}

static void warn(const char *message) {
    fputs("fid: warning: ", stderr);
    fid_print_line(stderr, message);
}

static void warn_of(fid_history *history, const char *why) {
    fid_text line = {0};
    fid_text_addf(&line, "what is typed is not kept: %s", why);
    if (!history->has_warned && line.at) {
        warn(line.at);
    }
    history->has_warned = true;
    fid_text_clear(&line);
}

// Where it is

/// The nearest folder `.fid` of the user's own at the folder or above it in which a file can be written.
static bool find_project(const char *folder, char out[PATH_SIZE]) {
    char at[PATH_MAX];
    snprintf(at, sizeof at, "%s", folder);
    for (;;) {
        struct stat told;
        snprintf(out, PATH_SIZE, "%s/.fid", strcmp(at, "/") == 0 ? "" : at);
        if (stat(out, &told) == 0 && S_ISDIR(told.st_mode) && told.st_uid == geteuid() && access(out, W_OK) == 0) {
            strcat(out, "/history");
            return true;
        }
        char *end = strrchr(at, '/');
        if (!end || end == at) {
            return false;
        }
        *end = '\0';
    }
}

/// Makes all folders of a path that begins with "/"; only the user sees into new ones.
static bool make_folders(char *path) {
    for (char *at = path + 1; (at = strchr(at, '/')) != NULL; at++) {
        *at = '\0';
        bool is_there = mkdir(path, 0700) == 0 || errno == EEXIST;
        *at = '/';
        if (!is_there) {
            return false;
        }
    }
    return true;
}

/// FNV-1a, 64 bits: offset and prime as in the definition (Fowler, Noll, Vo; IETF draft-eastlake-fnv).
static unsigned long long hash(const char *text) {
    unsigned long long value = 14695981039346656037ULL;
    for (; *text; text++) {
        value = (value ^ (unsigned char)*text) * 1099511628211ULL;
    }
    return value;
}

/// The place of a folder that is in no project; false where the environment names none.
static bool find_state(const char *folder, char out[PATH_SIZE]) {
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME"), *name = strrchr(folder, '/');
    // The specification has relative paths ignored.
    bool has_state = state && state[0] == '/';
    if (!has_state && (!home || home[0] != '/')) {
        return false;
    }
    int length = snprintf(out, PATH_SIZE, "%s%s/fid/history/%.64s-%016llx", has_state ? state : home,
                          has_state ? "" : "/.local/state", name ? name + 1 : "", hash(folder));
    return length > 0 && length < PATH_SIZE && make_folders(out);
}

// What it holds

/// Takes the text of a file apart; the number of the line at which it is damaged, or 0.
static int read_forms(const fid_text *file, forms *out) {
    int line = 1;
    const char *at = file->at, *end = at + file->count;
    if (file->count == 0) {
        return 0;
    }
    if (strncmp(at, head, sizeof head - 1) != 0 || end[-1] != '\n' || memchr(at, '\0', (size_t)file->count) ||
        !fid_text_is_utf8(at, (size_t)file->count)) {
        return line;
    }
    for (at += sizeof head - 1; at < end; at += strcspn(at, "\n") + 1) {
        line++;
        bool begins = at[0] == '+', goes_on = at[0] == ' ' && out->begins.count > 0;
        if ((!begins && !goes_on) || at[1] != ' ') {
            return line;
        }
        size_t length = strcspn(at + 2, "\n");
        if (begins) {
            add_form(out, at + 2, length);
        } else {
            fid_text_add(&out->text, "\n");
            fid_text_add_bytes(&out->text, at + 2, length);
        }
    }
    return 0;
}

/// Puts a damaged file where it is out of the way.
static void put_aside(fid_history *history, int line) {
    char aside[PATH_SIZE + 32];
    for (int i = 1; i < 100; i++) {
        snprintf(aside, sizeof aside, i > 1 ? "%s.damaged-%d" : "%s.damaged", history->path, i);
        if (access(aside, F_OK) != 0) {
            break;
        }
    }
    fid_text said = {0};
    bool is_moved = rename(history->path, aside) == 0;
    fid_text_addf(&said, "the earlier forms in '%s' cannot be read from line %d on", history->path, line);
    if (is_moved) {
        fid_text_addf(&said, "; the file is '%s' now, and a new one is begun", aside);
    }
    if (said.at) {
        warn(said.at);
    }
    fid_text_clear(&said);
}

/// Reads the file, which may be missing or damaged; false where it cannot be read, and no other be written then.
static bool read_file(fid_history *history, forms *out) {
    fid_text file = {0};
    fid_error err;
    if (access(history->path, F_OK) != 0) {
        return true;
    }
    fid_code code = fid_file_read(history->path, 2 * MOST_BYTES, &file, &err);
    if (code == FID_LIMIT) {
        put_aside(history, 1);
    } else if (code) {
        warn_of(history, err.message);
    } else {
        int line = read_forms(&file, out);
        if (line > 0) {
            forms_clear(out);
            put_aside(history, line);
        }
    }
    fid_text_clear(&file);
    return (!code || code == FID_LIMIT) && !out->text.failed;
}

/// Only one session at a time reads and writes; the system ends the lock with its process (POSIX fcntl, F_SETLK).
static int take_lock(const fid_history *history) {
    char path[PATH_SIZE + 8];
    snprintf(path, sizeof path, "%s.lock", history->path);
    int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    for (int i = 0; file >= 0 && fcntl(file, F_SETLK, &lock) != 0; i++) {
        // Nobody holds it for long; one that is stopped while it does keeps nobody from typing.
        if (i == 100) {
            close(file);
            errno = EAGAIN;
            return -1;
        }
        (void)nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    }
    return file;
}

/// The file as it is to be: the latest forms that there is room for.
static void write_forms(const forms *of, fid_text *out) {
    int32_t first = of->begins.count > MOST_FORMS ? of->begins.count - MOST_FORMS : 0;
    while (first < of->begins.count && of->text.count - of->begins.at[first] > MOST_BYTES) {
        first++;
    }
    fid_text_add(out, head);
    for (int32_t i = first; i < of->begins.count; i++) {
        const char *begin = "+ ";
        for (const char *at = of->text.at + of->begins.at[i];; at++) {
            size_t length = strcspn(at, "\n");
            fid_text_add(out, begin);
            fid_text_add_bytes(out, at, length);
            fid_text_add(out, "\n");
            begin = "  ";
            at += length;
            if (*at == '\0') {
                break;
            }
        }
    }
}

/// Puts the file in place; a new one is for the user alone.
static void write_file(fid_history *history, const forms *of) {
    fid_text bytes = {0};
    fid_error err;
    int made = open(history->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (made >= 0) {
        close(made);
    }
    write_forms(of, &bytes);
    if (!bytes.failed && fid_file_write(history->path, bytes.at, (size_t)bytes.count, &err)) {
        warn_of(history, err.message);
    }
    fid_text_clear(&bytes);
}

fid_history *fid_history_open(const char *folder, void (*each)(void *user, const char *form), void *user) {
    char whole[PATH_MAX];
    fid_history *history = fid_memory_get_zero(1, sizeof *history);
    if (!history || !realpath(folder, whole) ||
        (!find_project(whole, history->path) && !find_state(whole, history->path))) {
        fid_memory_free(history);
        return NULL;
    }
    forms of = {0};
    int lock = take_lock(history);
    if (read_file(history, &of)) {
        for (int32_t i = 0; i < of.begins.count; i++) {
            each(user, of.text.at + of.begins.at[i]);
        }
    }
    if (lock >= 0) {
        close(lock);
    }
    forms_clear(&of);
    return history;
}

void fid_history_add(fid_history *history, const char *form) {
    size_t length = strlen(form);
    if (!history || length > MOST_FORM || !fid_text_is_utf8(form, length)) {
        return;
    }
    int lock = take_lock(history);
    if (lock < 0) {
        warn_of(history, strerror(errno));
        return;
    }
    forms of = {0};
    // Anew: other sessions may have added theirs.
    if (read_file(history, &of)) {
        const char *last = of.begins.count > 0 ? of.text.at + of.begins.at[of.begins.count - 1] : "";
        if (strcmp(last, form) != 0) {
            add_form(&of, form, length);
            write_file(history, &of);
        }
    }
    forms_clear(&of);
    close(lock);
}

void fid_history_close(fid_history *history) { fid_memory_free(history); }
