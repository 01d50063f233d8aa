#include "script/bundle.h"

#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { MOST_PATH = FID_BUNDLE_PATH_SIZE - 1, MOST_DEPTH = 8, MOST_TOLD = 6 };

static const char *part_flaw(const char *part, size_t length) {
    static const char others[] = " !#$%&'()+,-.;=@[]^_`{}~";
    if (length == 0 || (length == 1 && part[0] == '.')) {
        return "has an empty part";
    }
    if (length == 2 && part[0] == '.' && part[1] == '.') {
        return "leaves its folder with '..'";
    }
    for (size_t i = 0; i < length; i++) {
        char c = part[i];
        bool is_word = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (c == '\\') {
            return "has a backslash";
        }
        if (!is_word && strchr(others, c) == NULL) {
            return "has characters that not every file system takes";
        }
    }
    return part[length - 1] == '.' || part[length - 1] == ' '
               ? "ends in a point or space, which not every file system takes"
               : NULL;
}

const char *fid_bundle_path_flaw(const char *path) {
    if (path[0] == '/') {
        return "is absolute";
    }
    if (strlen(path) > MOST_PATH) {
        return "is longer than 200 bytes";
    }
    int depth = 0;
    for (const char *at = path;; at++) {
        size_t length = strcspn(at, "/");
        const char *flaw = part_flaw(at, length);
        if (flaw != NULL) {
            return flaw;
        }
        if (++depth > MOST_DEPTH) {
            return "is more than 8 folders deep";
        }
        at += length;
        if (*at == '\0') {
            return NULL;
        }
    }
}

static fid_code refuse_count(fid_error *err) {
    return fid_fail(err, FID_LIMIT, "there are more than %d files", (int)FID_BUNDLE_FILES);
}

fid_code fid_bundle_add(fid_bundle *bundle, const char *path, fid_text *bytes, fid_error *err) {
    const char *flaw = fid_bundle_path_flaw(path);
    fid_code code = FID_OK;
    fid_bundle_file file = {.path = NULL};
    if (flaw != NULL) {
        code = fid_fail(err, FID_INVALID, "the path '%.200s' %s", path, flaw);
    } else if (bundle->files.count >= FID_BUNDLE_FILES) {
        code = refuse_count(err);
    } else if (bytes->count > FID_BUNDLE_FILE_BYTES ||
               bundle->total + (size_t)bytes->count > (size_t)FID_BUNDLE_BYTES) {
        code = fid_fail(err, FID_LIMIT, "'%.200s' makes it too large: a module has at most %d MB, a file of it %d",
                        path, (int)(FID_BUNDLE_BYTES >> 20), (int)(FID_BUNDLE_FILE_BYTES >> 20));
    } else {
        file.path = fid_arena_copy(&bundle->arena, path, strlen(path));
        SHA256Data((const uint8_t *)(bytes->at != NULL ? bytes->at : ""), (size_t)bytes->count, file.sha256);
        size_t count = (size_t)bytes->count;
        if (bundle->keeps_bytes) {
            file.bytes = *bytes;
        }
        if (file.path == NULL || !fid_array_push(&bundle->files, file)) {
            code = fid_no_memory(err);
        } else {
            bundle->total += count;
            if (bundle->keeps_bytes) {
                *bytes = (fid_text){0};
            }
        }
    }
    fid_text_clear(bytes);
    return code;
}

static int compare_paths(const void *a, const void *b) {
    const fid_bundle_file *one = a, *other = b;
    return strcmp(one->path, other->path);
}

static char lower(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }

/// Where two paths cannot stand beside each other on every file system: what to say, or NULL.
static const char *find_clash(const char *a, const char *b) {
    bool is_same = true;
    while (*a != '\0' && *b != '\0' && lower(*a) == lower(*b)) {
        is_same = is_same && *a == *b;
        // Parts that are alike end here: how they were written counts for each part.
        if (*a == '/') {
            if (!is_same) {
                return "differ by upper and lower case only";
            }
        }
        a++;
        b++;
    }
    if (*a == '\0' && *b == '\0') {
        return is_same ? "are the same" : "differ by upper and lower case only";
    }
    bool is_folder = (*a == '\0' && *b == '/') || (*b == '\0' && *a == '/');
    return is_folder ? "are a file and a folder of one name" : NULL;
}

fid_code fid_bundle_seal(fid_bundle *bundle, fid_error *err) {
    int32_t count = bundle->files.count;
    if (count > 0) {
        qsort(bundle->files.at, (size_t)count, sizeof *bundle->files.at, compare_paths);
    }
    for (int32_t i = 0; i < count; i++) {
        for (int32_t k = i + 1; k < count; k++) {
            const char *clash = find_clash(bundle->files.at[i].path, bundle->files.at[k].path);
            if (clash != NULL) {
                return fid_fail(err, FID_NAME_TAKEN, "the paths '%.160s' and '%.160s' %s", bundle->files.at[i].path,
                                bundle->files.at[k].path, clash);
            }
        }
    }
    fid_lock_module module;
    fid_code code = fid_bundle_describe(bundle, "", "", &module, err);
    return code == FID_OK ? fid_bundle_digest(&module, bundle->sha256, err) : code;
}

fid_code fid_bundle_digest(const fid_lock_module *module, char out[FID_DIGEST_SIZE], fid_error *err) {
    fid_text list = {0};
    for (int32_t i = 0; i < module->file_count; i++) {
        fid_text_addf(&list, "%s  %s\n", module->files[i].sha256, module->files[i].path);
    }
    bool failed = list.failed;
    if (!failed) {
        SHA256Data((const uint8_t *)(list.at != NULL ? list.at : ""), (size_t)list.count, out);
    }
    fid_text_clear(&list);
    return failed ? fid_no_memory(err) : FID_OK;
}

/// What the parts of reading a folder share.
typedef struct walk {
    const char *folder;
    fid_bundle *out;
    fid_error *err;
} walk;

static fid_code read_file(const walk *now, const char *path) {
    fid_text bytes = {0};
    fid_code code = fid_file_read_beneath(now->folder, path, FID_BUNDLE_FILE_BYTES, &bytes, now->err);
    return code == FID_OK ? fid_bundle_add(now->out, path, &bytes, now->err) : code;
}

static fid_code read_folder(const walk *now, const char *below);

static fid_code read_entry(const walk *now, const char *below, const char *name) {
    char path[MOST_PATH + 300], whole[4096];
    struct stat status;
    snprintf(path, sizeof path, "%s%s%s", below, below[0] != '\0' ? "/" : "", name);
    int length = snprintf(whole, sizeof whole, "%s/%s", now->folder, path);
    const char *flaw = fid_bundle_path_flaw(path);
    if (flaw != NULL || length < 0 || (size_t)length >= sizeof whole) {
        return fid_fail(now->err, FID_INVALID, "the path '%.200s' in '%.160s' %s", path, now->folder,
                        flaw != NULL ? flaw : "is too long");
    }
    if (lstat(whole, &status) != 0) {
        return fid_fail(now->err, FID_IO, "'%.300s' cannot be read: it went away meanwhile", whole);
    }
    if (S_ISDIR(status.st_mode)) {
        return read_folder(now, path); // no deeper than a path may be
    }
    if (!S_ISREG(status.st_mode)) {
        return fid_fail(now->err, FID_INVALID, "'%.300s' is a %s; a module holds files and folders only", whole,
                        S_ISLNK(status.st_mode)    ? "link"
                        : S_ISFIFO(status.st_mode) ? "pipe"
                        : S_ISSOCK(status.st_mode) ? "socket"
                                                   : "device");
    }
    return read_file(now, path);
}

static fid_code read_folder(const walk *now, const char *below) {
    char whole[4096];
    int length = snprintf(whole, sizeof whole, "%s%s%s", now->folder, below[0] != '\0' ? "/" : "", below);
    DIR *list = length > 0 && (size_t)length < sizeof whole ? opendir(whole) : NULL;
    if (list == NULL) {
        return fid_fail(now->err, FID_IO, "the folder '%.300s' cannot be read: %s", whole,
                        errno == EACCES   ? "permission denied"
                        : errno == ENOENT ? "it does not exist"
                                          : "the system refuses");
    }
    fid_code code = FID_OK;
    for (const struct dirent *entry = readdir(list); entry != NULL && code == FID_OK; entry = readdir(list)) {
        if (entry->d_name[0] != '.') {
            code = read_entry(now, below, entry->d_name);
        }
    }
    closedir(list);
    return code;
}

fid_code fid_bundle_read(const char *folder, bool keep_bytes, fid_bundle *out, fid_error *err) {
    const walk now = {folder, out, err};
    out->keeps_bytes = keep_bytes;
    fid_code code = read_folder(&now, "");
    return code == FID_OK ? fid_bundle_seal(out, err) : code;
}

fid_code fid_bundle_describe(fid_bundle *bundle, const char *name, const char *version, fid_lock_module *out,
                             fid_error *err) {
    int32_t count = bundle->files.count;
    fid_lock_file *files = fid_arena_get(&bundle->arena, ((size_t)count + 1) * sizeof *files);
    if (files == NULL) {
        return fid_no_memory(err);
    }
    for (int32_t i = 0; i < count; i++) {
        files[i] = (fid_lock_file){bundle->files.at[i].path, bundle->files.at[i].sha256};
    }
    *out = (fid_lock_module){name, version, bundle->sha256, files, count};
    return FID_OK;
}

void fid_bundle_compare(const fid_bundle *bundle, const fid_lock_module *before, fid_text *out) {
    int32_t i = 0, k = 0, told = 0;
    while (i < bundle->files.count || k < before->file_count) {
        const fid_bundle_file *now = i < bundle->files.count ? &bundle->files.at[i] : NULL;
        const fid_lock_file *then = k < before->file_count ? &before->files[k] : NULL;
        int order = now == NULL ? 1 : then == NULL ? -1 : strcmp(now->path, then->path);
        const char *what = order < 0                                ? "added"
                           : order > 0                              ? "missing"
                           : strcmp(now->sha256, then->sha256) != 0 ? "changed"
                                                                    : NULL;
        if (what != NULL && told < MOST_TOLD) {
            fid_text_addf(out, "%s%.60s %s", told > 0 ? ", " : "", order > 0 ? then->path : now->path, what);
        }
        told += what != NULL ? 1 : 0;
        i += order <= 0 ? 1 : 0;
        k += order >= 0 ? 1 : 0;
    }
    if (told > MOST_TOLD) {
        fid_text_addf(out, " and %d more", (int)(told - MOST_TOLD));
    }
}

void fid_bundle_clear(fid_bundle *bundle) {
    for (int32_t i = 0; i < bundle->files.count; i++) {
        fid_text_clear(&bundle->files.at[i].bytes);
    }
    fid_array_clear(&bundle->files);
    fid_arena_clear(&bundle->arena);
}
