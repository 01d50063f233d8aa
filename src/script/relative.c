#include "script/relative.h"

#include "script/path.h"

#include <stdio.h>
#include <string.h>

/// Where the part of `path` that follows a whole folder begins, and the same of `folder`: what both have in common is
/// passed over.
static void skip_common(const char **path, const char **folder) {
    const char *p = *path;
    const char *f = *folder;
    for (size_t i = 0;; i++) {
        bool ends = f[i] == '\0' || f[i] == '/';
        if (ends && p[i] == '/') {
            *path = p + i + 1;
            *folder = f[i] == '/' ? f + i + 1 : f + i;
        }
        if (f[i] == '\0' || p[i] != f[i]) {
            return;
        }
    }
}

static fid_file_path normal(const char *path) {
    fid_file_path out;
    snprintf(out.at, sizeof out.at, "%s", path);
    fid_path_normalize(&out);
    return out;
}

void fid_relative_path(const char *folder, const char *path, char out[FID_RELATIVE_SIZE]) {
    const fid_file_path whole_folder = normal(folder);
    const fid_file_path whole_path = normal(path);
    const char *rest = whole_path.at;
    const char *from = whole_folder.at;
    // What is typed in a session is in no folder.
    bool is_apart = strncmp(path, "fid:", 4) == 0 || strcmp(path, "session") == 0 || strcmp(from, ".") == 0 ||
                    (from[0] == '/') != (rest[0] == '/');
    if (!is_apart) {
        skip_common(&rest, &from);
    }
    int ups = 0;
    while (!is_apart && *from != '\0') {
        size_t length = strcspn(from, "/");
        is_apart = length == 2 && strncmp(from, "..", 2) == 0;
        ups++;
        from += length + (from[length] == '/' ? 1 : 0);
    }
    size_t used = 0;
    // A folder below 1024 bytes has fewer than 512 parts: there is room for all, and for the path.
    for (int i = 0; i < ups && !is_apart; i++) {
        memcpy(out + used, "../", 3);
        used += 3;
    }
    snprintf(out + used, FID_RELATIVE_SIZE - used, "%s", is_apart ? whole_path.at : rest);
}
