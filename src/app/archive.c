#include "app/archive.h"

#include "base/file.h"

#include <string.h>

void fid_archive_refuse(const char *path, fid_code code, fid_error *err) {
    fid_error cause = *err;
    bool is_content = code == FID_INVALID || code == FID_NAME_TAKEN || code == FID_LIMIT;
    (void)fid_fail(err, code, "the archive '%.160s' is not taken: %.250s%s", path, cause.message,
                   is_content ? "; pack the folder of the module alone, with plain files" : "");
}

#ifdef FID_HAS_ARCHIVE

#include <archive.h>
#include <archive_entry.h>

enum { MOST_ENTRIES = 4 * FID_BUNDLE_FILES, BLOCK_SIZE = 1 << 16 };

/// What the parts of a reading share.
typedef struct reading {
    struct archive *archive;
    fid_bundle *out;
    fid_error *err;
    size_t total; ///< bytes read, of files that are passed over, too
} reading;

bool fid_archive_can_read(void) { return true; }

static fid_code fail_broken(const reading *r) {
    const char *reason = archive_error_string(r->archive);
    return fid_fail(r->err, FID_SYNTAX, "it cannot be read as an archive: %.200s",
                    reason != NULL ? reason : "it is broken");
}

/// Those that the library itself reads, without running a program.
static bool set_up(struct archive *archive) {
    return archive_read_support_filter_gzip(archive) == ARCHIVE_OK &&
           archive_read_support_filter_bzip2(archive) == ARCHIVE_OK &&
           archive_read_support_filter_xz(archive) == ARCHIVE_OK &&
           archive_read_support_filter_zstd(archive) == ARCHIVE_OK &&
           archive_read_support_format_tar(archive) == ARCHIVE_OK &&
           archive_read_support_format_zip(archive) == ARCHIVE_OK;
}

static const char *kind_of(struct archive_entry *entry) {
    if (archive_entry_hardlink(entry) != NULL) {
        return "link";
    }
    switch (archive_entry_filetype(entry)) {
    case AE_IFREG:
    case AE_IFDIR:
        return NULL;
    case AE_IFLNK:
        return "link";
    case AE_IFIFO:
        return "pipe";
    case AE_IFSOCK:
        return "socket";
    case AE_IFCHR:
    case AE_IFBLK:
        return "device";
    default:
        return "thing of unknown kind";
    }
}

/// The path of an entry without "./" before and strokes behind it. FID_INVALID where it may not stand in a bundle.
static fid_code read_path(const reading *r, struct archive_entry *entry, char out[FID_BUNDLE_PATH_SIZE]) {
    const char *path = archive_entry_pathname(entry);
    if (path == NULL) {
        return fid_fail(r->err, FID_INVALID, "it holds a path that is no plain text");
    }
    const char *at = strncmp(path, "./", 2) == 0 ? path + 2 : path;
    size_t length = strlen(at);
    while (length > 1 && at[length - 1] == '/') {
        length--;
    }
    if (length >= FID_BUNDLE_PATH_SIZE) {
        return fid_fail(r->err, FID_INVALID, "the path '%.100s...' in it is too long", path);
    }
    memcpy(out, at, length);
    out[length] = '\0';
    if (length == 0 || strcmp(out, ".") == 0) {
        out[0] = '\0';
        return FID_OK;
    }
    const char *flaw = fid_bundle_path_flaw(out);
    return flaw == NULL ? FID_OK : fid_fail(r->err, FID_INVALID, "the path '%.200s' in it %s", path, flaw);
}

/// Reads the bytes of an entry, and no more than may be.
static fid_code read_bytes(reading *r, const char *path, fid_text *out) {
    char block[BLOCK_SIZE];
    for (;;) {
        la_ssize_t got = archive_read_data(r->archive, block, sizeof block);
        if (got < 0) {
            return fail_broken(r);
        }
        if (got == 0) {
            return out->failed ? fid_no_memory(r->err) : FID_OK;
        }
        r->total += (size_t)got;
        if (out->count + got > FID_BUNDLE_FILE_BYTES || r->total > (size_t)FID_BUNDLE_BYTES) {
            return fid_fail(r->err, FID_LIMIT,
                            "'%.160s' makes it too large: a module has at most %d MB, a file of it %d", path,
                            (int)(FID_BUNDLE_BYTES >> 20), (int)(FID_BUNDLE_FILE_BYTES >> 20));
        }
        fid_text_add_bytes(out, block, (size_t)got);
    }
}

static fid_code read_entry(reading *r, struct archive_entry *entry) {
    char path[FID_BUNDLE_PATH_SIZE];
    const char *kind = kind_of(entry);
    fid_code code = read_path(r, entry, path);
    if (code != FID_OK) {
        return code;
    }
    if (kind != NULL) {
        return fid_fail(r->err, FID_INVALID, "'%.160s' in it is a %s; a module holds files and folders only", path,
                        kind);
    }
    if (archive_entry_is_encrypted(entry) != 0) {
        return fid_fail(r->err, FID_INVALID, "'%.160s' in it is encrypted", path);
    }
    if (archive_entry_filetype(entry) == AE_IFDIR || path[0] == '\0') {
        return FID_OK;
    }
    fid_text bytes = {0};
    code = read_bytes(r, path, &bytes);
    bool is_hidden = path[0] == '.' || strstr(path, "/.") != NULL;
    if (code == FID_OK && !is_hidden) {
        return fid_bundle_add(r->out, path, &bytes, r->err);
    }
    fid_text_clear(&bytes);
    return code;
}

static fid_code read_entries(reading *r) {
    for (int32_t count = 0;; count++) {
        struct archive_entry *entry = NULL;
        int result = archive_read_next_header(r->archive, &entry);
        if (result == ARCHIVE_EOF) {
            return FID_OK;
        }
        if (result != ARCHIVE_OK) {
            return fail_broken(r);
        }
        if (count >= MOST_ENTRIES) {
            return fid_fail(r->err, FID_LIMIT, "it holds more than %d entries", (int)MOST_ENTRIES);
        }
        fid_code code = read_entry(r, entry);
        if (code != FID_OK) {
            return code;
        }
    }
}

fid_code fid_archive_read(const char *path, fid_bundle *out, fid_error *err) {
    fid_text file = {0};
    fid_code code = fid_file_read(path, FID_BUNDLE_BYTES, &file, err);
    if (code != FID_OK) {
        return code;
    }
    reading r = {archive_read_new(), out, err, 0};
    out->keeps_bytes = true;
    if (r.archive == NULL) {
        code = fid_no_memory(err);
    } else if (!set_up(r.archive)) {
        code = fid_fail(err, FID_UNKNOWN, "the library for archives lacks tar, zip or a compression");
    } else if (archive_read_open_memory(r.archive, file.at, (size_t)file.count) != ARCHIVE_OK) {
        code = fail_broken(&r);
    } else {
        code = read_entries(&r);
    }
    if (r.archive != NULL) {
        archive_read_free(r.archive);
    }
    fid_text_clear(&file);
    if (code != FID_OK && code != FID_NO_MEMORY) {
        fid_archive_refuse(path, code, err);
    }
    return code;
}

#else

bool fid_archive_can_read(void) { return false; }

fid_code fid_archive_read(const char *path, fid_bundle *out, fid_error *err) {
    (void)out;
    return fid_fail(err, FID_UNKNOWN,
                    "'%.200s' is no folder, and archives are left out of this program, which was built without "
                    "libarchive; unpack it and give the folder",
                    path);
}

#endif
