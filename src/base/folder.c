// For renameat2 through syscall(); everything else is POSIX.
#ifndef _GNU_SOURCE
#define _GNU_SOURCE
#endif

#include "base/folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#ifdef __linux__
#include <sys/syscall.h>
#endif

enum { MOST_ATTEMPTS = 1000, MOST_DEPTH = 32, PATH_SIZE = 4096 };

static fid_code fail(fid_error *err, const char *what, const char *path, int number) {
    fid_code code = fid_fail(err, FID_IO, "the folder '%.300s' cannot be %s: %s", path, what,
                             number == EACCES || number == EPERM     ? "permission denied"
                             : number == ENOSPC || number == EDQUOT  ? "the disk is full"
                             : number == EROFS                       ? "the disk is read-only"
                             : number == EEXIST || number == ENOTDIR ? "something else is in its place"
                             : number == ENOENT                      ? "the folder above it does not exist"
                                                                     : "the system refuses");
    fid_error_about(err, path);
    return code;
}

bool fid_folder_is_there(const char *path) {
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

fid_code fid_folder_make(const char *path, fid_error *err) {
    if (mkdir(path, 0777) == 0) {
        return FID_OK;
    }
    int number = errno;
    return number == EEXIST && fid_folder_is_there(path) ? FID_OK : fail(err, "made", path, number);
}

fid_code fid_folder_make_new(const char *parent, const char *prefix, char *out, size_t size, fid_error *err) {
    int number = EEXIST;
    for (int i = 0; i < MOST_ATTEMPTS && number == EEXIST; i++) {
        int length = snprintf(out, size, "%s/%s-%ld-%d", parent, prefix, (long)getpid(), i);
        if (length < 0 || (size_t)length >= size) {
            return fid_fail(err, FID_LIMIT, "the path of the folder '%.200s' is too long", parent);
        }
        if (mkdir(out, 0777) == 0) {
            return FID_OK;
        }
        number = errno;
    }
    return fail(err, "written", parent, number);
}

static void remove_at(int above, const char *name, int depth) {
    int folder = openat(above, name, O_RDONLY | O_CLOEXEC | O_DIRECTORY | O_NOFOLLOW);
    DIR *list = folder >= 0 ? fdopendir(folder) : NULL;
    if (list == NULL) {
        if (folder >= 0) {
            close(folder);
        }
        return;
    }
    for (const struct dirent *entry = readdir(list); entry != NULL; entry = readdir(list)) {
        bool is_own = strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0;
        if (!is_own && unlinkat(folder, entry->d_name, 0) != 0 && depth < MOST_DEPTH) {
            remove_at(folder, entry->d_name, depth + 1);
        }
    }
    closedir(list);
    unlinkat(above, name, AT_REMOVEDIR);
}

void fid_folder_remove(const char *path) { remove_at(AT_FDCWD, path, 0); }

/// Both change places at once; false where the system cannot do that.
static bool exchange_at_once(const char *from, const char *to) {
#if defined(__linux__) && defined(SYS_renameat2)
    enum { EXCHANGE = 2 }; // RENAME_EXCHANGE of <linux/fs.h>
    return syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, EXCHANGE) == 0;
#else
    (void)from;
    (void)to;
    return false;
#endif
}

fid_code fid_folder_move(const char *from, const char *to, bool exchange, fid_error *err) {
    if (!exchange) {
        return rename(from, to) == 0 ? FID_OK : fail(err, "put in place", to, errno);
    }
    if (exchange_at_once(from, to)) {
        return FID_OK;
    }
    char aside[PATH_SIZE];
    int length = snprintf(aside, sizeof aside, "%s-old", from);
    if (length < 0 || (size_t)length >= sizeof aside) {
        return fid_fail(err, FID_LIMIT, "the path of the folder '%.200s' is too long", from);
    }
    if (rename(to, aside) != 0) {
        return fail(err, "replaced", to, errno);
    }
    if (rename(from, to) != 0) {
        int number = errno;
        (void)rename(aside, to);
        return fail(err, "put in place", to, number);
    }
    return rename(aside, from) == 0 ? FID_OK : fail(err, "put aside", from, errno);
}
