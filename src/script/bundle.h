#ifndef FID_SCRIPT_BUNDLE_H
#define FID_SCRIPT_BUNDLE_H

#include "format/lock.h"

/// All files of a module, from its folder or from an archive, and what they are by their content. Files and folders
/// whose names begin with a point are none of the module's.
///
/// The SHA-256 of a bundle is that of a list with one line for each file, in the order of paths by their bytes: the
/// SHA-256 of the file in 64 hexadecimal digits, two spaces, its path below the folder, a line feed.

enum {
    FID_BUNDLE_FILES = 1000,
    FID_BUNDLE_BYTES = 64 << 20,
    FID_BUNDLE_FILE_BYTES = 16 << 20,
    FID_DIGEST_SIZE = 65,
    FID_BUNDLE_PATH_SIZE = 201
};

typedef struct fid_bundle_file {
    const char *path;
    fid_text bytes; ///< empty where they are not kept
    char sha256[FID_DIGEST_SIZE];
} fid_bundle_file;

/// Zero-initialise to begin.
typedef struct fid_bundle {
    FID_ARRAY(fid_bundle_file) files; ///< by path, once sealed
    char sha256[FID_DIGEST_SIZE];     ///< once sealed
    size_t total;                     ///< bytes of all
    bool keeps_bytes;
    fid_arena arena;
} fid_bundle;

/// Why a path may not stand in a bundle, or NULL: absolute, "..", too long or deep, characters that not every file
/// system takes.
const char *fid_bundle_path_flaw(const char *path);

/// Adds a file. `bytes` are taken over, in any case.
/// @return FID_OK, FID_INVALID (the path), FID_LIMIT (too many, too large), FID_NO_MEMORY
FID_NODISCARD fid_code fid_bundle_add(fid_bundle *bundle, const char *path, fid_text *bytes, fid_error *err);

/// Puts the files in order and finds the digest.
/// @return FID_OK, FID_NAME_TAKEN (a path twice, two that differ by upper and lower case only, a file and a folder of
/// one name), FID_NO_MEMORY
FID_NODISCARD fid_code fid_bundle_seal(fid_bundle *bundle, fid_error *err);

/// The digest that a module of a lock has by its list of files.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_bundle_digest(const fid_lock_module *module, char out[FID_DIGEST_SIZE], fid_error *err);

/// Reads all files below a folder, and seals. Links, pipes and devices in it are refused.
/// @return as the two above; FID_IO
FID_NODISCARD fid_code fid_bundle_read(const char *folder, bool keep_bytes, fid_bundle *out, fid_error *err);

/// The bundle as a module of a lock; the files' list is made in the bundle's arena.
FID_NODISCARD fid_code fid_bundle_describe(fid_bundle *bundle, const char *name, const char *version,
                                           fid_lock_module *out, fid_error *err);

/// Adds what is not as it was: "module.lua changed, extra.lua added, README.md missing"; nothing where all is.
void fid_bundle_compare(const fid_bundle *bundle, const fid_lock_module *before, fid_text *out);

void fid_bundle_clear(fid_bundle *bundle);

#endif
