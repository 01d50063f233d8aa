#ifndef FID_FORMAT_LOCK_H
#define FID_FORMAT_LOCK_H

#include "base/report.h"
#include "base/text.h"

/// One file of a module.
typedef struct fid_lock_file {
    const char *path;   ///< relative to the folder of the module
    const char *sha256; ///< 64 hexadecimal digits, small letters
} fid_lock_file;

/// One module as it was when it was locked.
typedef struct fid_lock_module {
    const char *name, *version;
    const char *sha256;         ///< of the list of its files (script/bundle.h)
    const fid_lock_file *files; ///< by path
    int32_t file_count;
} fid_lock_module;

/// The file `fid.lock`: what the modules of a project are. Zero-initialise to begin.
typedef struct fid_lock {
    FID_ARRAY(fid_lock_module) modules; ///< by name
    fid_arena arena;                    ///< of all strings and lists, if they were read or put
} fid_lock;

/// Reads the file; what is wrong is one finding with its line or path.
/// @return FID_OK, or the code of the error; `*out` is to be cleared in any case
FID_NODISCARD fid_code fid_lock_read(const char *text, size_t count, const char *file, fid_lock *out,
                                     fid_report *report);

/// Adds the file's text; the same lock gives the same bytes.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_lock_write(const fid_lock *lock, fid_text *out, fid_error *err);

/// The module of that name, or NULL.
const fid_lock_module *fid_lock_find(const fid_lock *lock, const char *name);

/// Puts a copy of a module in, in the place of the one of its name.
/// @return FID_OK, FID_NO_MEMORY (then it is as it was)
FID_NODISCARD fid_code fid_lock_put(fid_lock *lock, const fid_lock_module *module, fid_error *err);

void fid_lock_clear(fid_lock *lock);

#endif
