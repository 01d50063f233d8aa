// For openat2 through syscall(); everything else is POSIX.
#ifndef _GNU_SOURCE
#define _GNU_SOURCE
#endif

#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#ifdef __linux__
#include <linux/openat2.h>
#include <sys/syscall.h>
#endif

#define TEMPORARY_START ".fid-tmp-"

enum { MOST_ATTEMPTS = 1000 };

/// Our own words rather than strerror's: the same in every locale.
static const char *explain(int number) {
    switch (number) {
    case ENOENT:
        return "it does not exist";
    case ENOTDIR:
        return "a part of the path is not a folder";
    case EISDIR:
        return "it is a folder, not a file";
    case EACCES:
    case EPERM:
        return "permission denied";
    case EROFS:
        return "the disk is read-only";
    case ENOSPC:
        return "the disk is full";
    case EDQUOT:
        return "the disk quota is used up";
    case EFBIG:
        return "the file is larger than the system allows";
    case ENAMETOOLONG:
        return "the path is too long";
    case ELOOP:
        return "it leads through links that may not be followed";
    case ENXIO:
        return "it is a pipe, socket or device, not a file";
    case EMFILE:
    case ENFILE:
        return "too many files are open";
    case EIO:
        return "the disk reports an error";
    default:
        return NULL;
    }
}

static fid_code fail(fid_error *err, const char *verb, const char *path, int number) {
    const char *reason = explain(number);
    if (reason != NULL) {
        fid_fail(err, FID_IO, "cannot %s the file '%.300s': %s", verb, path, reason);
    } else {
        fid_fail(err, FID_IO, "cannot %s the file '%.300s': system error %d", verb, path, number);
    }
    fid_error_about(err, path);
    return FID_IO;
}

/// Refuses what is not a regular file.
static fid_code require_file(mode_t mode, const char *verb, const char *path, fid_error *err) {
    if (S_ISREG(mode)) {
        return FID_OK;
    }
    const char *kind = S_ISDIR(mode) ? "folder" : S_ISFIFO(mode) ? "pipe" : S_ISSOCK(mode) ? "socket" : "device";
    fid_fail(err, FID_IO, "cannot %s the file '%.300s': it is a %s, not a file", verb, path, kind);
    fid_error_about(err, path);
    return FID_IO;
}

static fid_code fail_read_memory(const char *path, fid_text *out, fid_error *err) {
    fid_text_clear(out);
    fid_no_memory(err);
    fid_error_about(err, path);
    return FID_NO_MEMORY;
}

static fid_code fail_limit(const char *path, size_t max_bytes, fid_text *out, fid_error *err) {
    fid_text_clear(out);
    fid_fail(err, FID_LIMIT, "the file '%.300s' is too large: at most %zu bytes are read", path, max_bytes);
    fid_error_about(err, path);
    return FID_LIMIT;
}

/// Reads all of an open file; the caller closes it. What the file claims as its size is only a hint: it may grow, and
/// some have none.
static fid_code read_all(int file, const char *path, size_t max_bytes, fid_text *out, fid_error *err) {
    struct stat status;
    if (fstat(file, &status) != 0) {
        return fail(err, "read", path, errno);
    }
    fid_code code = require_file(status.st_mode, "read", path, err);
    if (code != FID_OK) {
        return code;
    }
    // One byte of the largest text is for the NUL, and one is read beyond the limit to see that there is more.
    size_t limit = max_bytes < INT32_MAX - 2 ? max_bytes : INT32_MAX - 2;
    if (status.st_size > 0 && (uintmax_t)status.st_size > limit) {
        return fail_limit(path, limit, out, err);
    }
    int32_t room = (int32_t)status.st_size + 2;
    for (;;) {
        if (!fid_array_reserve(out, room)) {
            return fail_read_memory(path, out, err);
        }
        ssize_t got = read(file, out->at + out->count, (size_t)(out->capacity - out->count - 1));
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            int number = errno;
            fid_text_clear(out);
            return fail(err, "read", path, number);
        }
        out->count += (int32_t)got;
        if ((size_t)out->count > limit) {
            return fail_limit(path, limit, out, err);
        }
        out->at[out->count] = '\0';
        if (got == 0) {
            return FID_OK;
        }
        room = 2;
    }
}

static fid_code read_and_close(int file, const char *path, size_t max_bytes, fid_text *out, fid_error *err) {
    if (file < 0) {
        return fail(err, "read", path, errno);
    }
    fid_code code = read_all(file, path, max_bytes, out, err);
    close(file);
    return code;
}

/// O_NONBLOCK: opening a pipe must not wait for a writer. A regular file is not changed by it.
enum { READ_FLAGS = O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY };

fid_code fid_file_read(const char *path, size_t max_bytes, fid_text *out, fid_error *err) {
    return read_and_close(open(path, READ_FLAGS), path, max_bytes, out, err);
}

/// The length of the part of a path up to the next slash.
static size_t get_part_length(const char *path) {
    size_t length = 0;
    while (path[length] != '\0' && path[length] != '/') {
        length++;
    }
    return length;
}

static bool has_parent_part(const char *path) {
    while (*path != '\0') {
        size_t length = get_part_length(path);
        if (length == 2 && memcmp(path, "..", 2) == 0) {
            return true;
        }
        path += length;
        while (*path == '/') {
            path++;
        }
    }
    return false;
}

/// Opens a path without parent parts beneath an open folder one part at a time, no link followed. -1 and errno if that
/// fails.
static int open_by_walk(int folder, const char *path) {
    int at = dup(folder);
    while (at >= 0) {
        char part[NAME_MAX + 1];
        size_t length = get_part_length(path);
        if (length > NAME_MAX) {
            close(at);
            errno = ENAMETOOLONG;
            return -1;
        }
        memcpy(part, path, length);
        part[length] = '\0';
        path += length;
        bool is_last = *path == '\0';
        while (*path == '/') {
            path++;
        }
        int flags = is_last ? READ_FLAGS : (O_RDONLY | O_CLOEXEC | O_DIRECTORY);
        int next = openat(at, length > 0 ? part : ".", flags | O_NOFOLLOW);
        int number = errno;
        close(at);
        errno = number;
        if (is_last) {
            return next;
        }
        at = next;
    }
    return -1;
}

static int open_beneath(int folder, const char *path) {
#if defined(__linux__) && defined(SYS_openat2)
    struct open_how how = {.flags = READ_FLAGS, .resolve = RESOLVE_BENEATH | RESOLVE_NO_SYMLINKS};
    long file = syscall(SYS_openat2, folder, path, &how, sizeof how);
    // Older kernels do not know the call, and some sandboxes forbid it.
    if (file >= 0 || (errno != ENOSYS && errno != EPERM)) {
        return (int)file;
    }
#endif
    return open_by_walk(folder, path);
}

fid_code fid_file_read_beneath(const char *folder, const char *path, size_t max_bytes, fid_text *out, fid_error *err) {
    const char *wrong = path[0] == '\0'         ? "the path is empty"
                        : path[0] == '/'        ? "only a path relative to the folder of what names it is allowed"
                        : has_parent_part(path) ? "'..' is not allowed in it"
                                                : NULL;
    if (wrong != NULL) {
        fid_fail(err, FID_IO, "cannot read the file '%.300s': %s", path, wrong);
        fid_error_about(err, path);
        return FID_IO;
    }
    int opened = open(folder, O_RDONLY | O_CLOEXEC | O_DIRECTORY);
    if (opened < 0) {
        int number = errno;
        const char *reason = explain(number);
        fid_fail(err, FID_IO, "cannot read the file '%.200s' in the folder '%.200s': the folder cannot be opened: %s",
                 path, folder, reason != NULL ? reason : "the system refuses");
        fid_error_about(err, path);
        return FID_IO;
    }
    int file = open_beneath(opened, path);
    int number = errno;
    close(opened);
    errno = number;
    return read_and_close(file, path, max_bytes, out, err);
}

/// The process that made a temporary of that name, or 0 if it is not one of ours.
static pid_t get_temporary_owner(const char *name) {
    size_t start = strlen(TEMPORARY_START);
    if (strncmp(name, TEMPORARY_START, start) != 0) {
        return 0;
    }
    char *end;
    errno = 0;
    const char *digits = name + start;
    long owner = strtol(digits, &end, 10);
    size_t serial = end - digits > 0 && *end == '-' ? strspn(end + 1, "0123456789") : 0;
    bool is_ours =
        *digits >= '1' && *digits <= '9' && errno == 0 && owner <= INT_MAX && serial > 0 && end[1 + serial] == '\0';
    return is_ours ? (pid_t)owner : 0;
}

/// Removes temporaries whose process is gone. Failing is no matter: they are only in the way.
static void sweep(int folder) {
    int again = openat(folder, ".", O_RDONLY | O_CLOEXEC | O_DIRECTORY);
    DIR *list = again >= 0 ? fdopendir(again) : NULL;
    if (list == NULL) {
        if (again >= 0) {
            close(again);
        }
        return;
    }
    struct dirent *entry;
    while ((entry = readdir(list)) != NULL) {
        pid_t owner = get_temporary_owner(entry->d_name);
        if (owner != 0 && kill(owner, 0) != 0 && errno == ESRCH) {
            unlinkat(folder, entry->d_name, 0);
        }
    }
    closedir(list);
}

/// Makes a new file under a temporary name in the folder; -1 and errno if that fails.
static int open_temporary(int folder, char name[FID_TEMPORARY_SIZE]) {
    static atomic_uint serial;
    int file = -1;
    for (int i = 0; i < MOST_ATTEMPTS; i++) {
        snprintf(name, FID_TEMPORARY_SIZE, TEMPORARY_START "%ld-%u", (long)getpid(), atomic_fetch_add(&serial, 1));
        file = openat(folder, name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
        if (file >= 0 || errno != EEXIST) {
            break;
        }
    }
    return file;
}

/// Writes, and waits for the disk; false and errno if that fails.
static bool write_all(int file, const char *bytes, size_t count) {
    while (count > 0) {
        ssize_t done = write(file, bytes, count);
        if (done < 0 && errno == EINTR) {
            continue;
        }
        if (done < 0) {
            return false;
        }
        bytes += done;
        count -= (size_t)done;
    }
    return fsync(file) == 0;
}

/// Writes the temporary of `out` in its folder; `old_mode` are the permissions of the file that it replaces, or 0.
static fid_code write_temporary(fid_file_pending *out, mode_t old_mode, const char *bytes, size_t count,
                                fid_error *err) {
    sweep(out->folder);
    int file = open_temporary(out->folder, out->temporary);
    if (file < 0) {
        return fail(err, "write", out->path, errno);
    }
    bool done = old_mode == 0 || fchmod(file, old_mode) == 0;
    done = done && write_all(file, bytes, count);
    int number = errno;
    if (close(file) != 0 && done) {
        done = false;
        number = errno;
    }
    if (!done) {
        unlinkat(out->folder, out->temporary, 0);
        return fail(err, "write", out->path, number);
    }
    return FID_OK;
}

/// Looks at what stands in the file's place now, then writes beside it.
static fid_code check_and_write(fid_file_pending *out, const char *bytes, size_t count, fid_error *err) {
    struct stat status;
    mode_t old_mode = 0;
    if (fstatat(out->folder, out->name, &status, AT_SYMLINK_NOFOLLOW) == 0) {
        fid_code code = require_file(status.st_mode, "write", out->path, err);
        if (code != FID_OK) {
            return code;
        }
        // Renaming asks for no permission on the file itself; someone who protected it means it.
        if (faccessat(out->folder, out->name, W_OK, AT_EACCESS) != 0) {
            return fail(err, "write", out->path, errno);
        }
        old_mode = status.st_mode & 0777;
    } else if (errno != ENOENT) {
        return fail(err, "write", out->path, errno);
    }
    return write_temporary(out, old_mode, bytes, count, err);
}

/// The file that a path means: a link at its end is followed, so that the link stays one.
typedef struct place {
    char real[PATH_MAX];
    const char *target; ///< the path, or `real`
    const char *name;   ///< its last part, in `target`
} place;

/// False and errno if a link leads nowhere.
static bool find_place(const char *path, place *out) {
    struct stat status;
    bool is_link = lstat(path, &status) == 0 && S_ISLNK(status.st_mode);
    if (is_link && realpath(path, out->real) == NULL) {
        return false;
    }
    out->target = is_link ? out->real : path;
    const char *slash = strrchr(out->target, '/');
    out->name = slash != NULL ? slash + 1 : out->target;
    return true;
}

fid_code fid_file_prepare(const char *path, const char *bytes, size_t count, fid_file_pending *out, fid_error *err) {
    *out = (fid_file_pending){.folder = -1, .path = path};
    place at;
    if (!find_place(path, &at)) {
        return fail(err, "write", path, errno);
    }
    const char *target = at.target, *name = at.name;
    if (name[0] == '\0') {
        return fail(err, "write", path, target[0] == '\0' ? ENOENT : EISDIR);
    }
    if (strlen(name) > NAME_MAX) {
        return fail(err, "write", path, ENAMETOOLONG);
    }
    memcpy(out->name, name, strlen(name) + 1);
    fid_text folder_path = {0};
    fid_path_add_folder(&folder_path, target);
    if (folder_path.failed) {
        fid_text_clear(&folder_path);
        fid_no_memory(err);
        fid_error_about(err, path);
        return FID_NO_MEMORY;
    }
    int folder = open(folder_path.at, O_RDONLY | O_CLOEXEC | O_DIRECTORY);
    int number = errno;
    fid_text_clear(&folder_path);
    if (folder < 0 && number == ENOENT) {
        fid_fail(err, FID_IO, "cannot write the file '%.300s': its folder does not exist", path);
        fid_error_about(err, path);
        return FID_IO;
    }
    if (folder < 0) {
        return fail(err, "write", path, number);
    }
    out->folder = folder;
    fid_code code = check_and_write(out, bytes, count, err);
    if (code != FID_OK) {
        close(folder);
        out->folder = -1;
    }
    return code;
}

fid_code fid_file_place(fid_file_pending *pending, fid_error *err) {
    if (renameat(pending->folder, pending->temporary, pending->folder, pending->name) != 0) {
        int number = errno;
        fid_file_abandon(pending);
        return fail(err, "write", pending->path, number);
    }
    // The new file is whole and in place; not every file system can sync a folder, so no error comes of it.
    (void)fsync(pending->folder);
    close(pending->folder);
    pending->folder = -1;
    return FID_OK;
}

void fid_file_abandon(fid_file_pending *pending) {
    if (pending->folder >= 0) {
        unlinkat(pending->folder, pending->temporary, 0);
        close(pending->folder);
        pending->folder = -1;
    }
}

fid_code fid_file_write(const char *path, const char *bytes, size_t count, fid_error *err) {
    fid_file_pending pending;
    fid_code code = fid_file_prepare(path, bytes, count, &pending, err);
    return code == FID_OK ? fid_file_place(&pending, err) : code;
}

bool fid_file_is_same(const char *a, const char *b) {
    struct stat first;
    struct stat second;
    return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
           first.st_ino == second.st_ino;
}

/// The status of the folder that a file is in, or would be.
static bool stat_folder(const place *of, struct stat *out) {
    fid_text folder = {0};
    fid_path_add_folder(&folder, of->target);
    bool done = !folder.failed && stat(folder.at, out) == 0;
    fid_text_clear(&folder);
    return done;
}

bool fid_file_is_same_place(const char *a, const char *b) {
    place one, other;
    struct stat first, second;
    return fid_file_is_same(a, b) ||
           (find_place(a, &one) && find_place(b, &other) && strcmp(one.name, other.name) == 0 &&
            stat_folder(&one, &first) && stat_folder(&other, &second) && first.st_dev == second.st_dev &&
            first.st_ino == second.st_ino);
}

void fid_path_add_folder(fid_text *out, const char *path) {
    const char *slash = strrchr(path, '/');
    if (slash == NULL) {
        fid_text_add(out, ".");
        return;
    }
    size_t length = (size_t)(slash - path);
    while (length > 0 && path[length - 1] == '/') {
        length--;
    }
    fid_text_add_bytes(out, path, length > 0 ? length : 1);
}
