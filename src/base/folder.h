#ifndef FID_BASE_FOLDER_H
#define FID_BASE_FOLDER_H

#include "base/error.h"

#include <stdbool.h>

/// True where there is a folder, also at the end of a link.
bool fid_folder_is_there(const char *path);

/// Makes a folder; one that is there is fine.
/// @return FID_OK, FID_IO
FID_NODISCARD fid_code fid_folder_make(const char *path, fid_error *err);

/// Makes a new folder `parent`/PREFIX-PROCESS-NUMBER and writes its path.
/// @return FID_OK, FID_IO, FID_LIMIT (the path would be too long)
FID_NODISCARD fid_code fid_folder_make_new(const char *parent, const char *prefix, char *out, size_t size,
                                           fid_error *err);

/// Removes a folder and all that is in it, to a depth of 32; links in it are removed, not followed. What cannot be
/// removed stays.
void fid_folder_remove(const char *path);

/// Puts the folder `from` at `to`, where there is nothing, or with `exchange` a folder, which is at `from` then: at
/// once where the system can do that. Both are in one file system.
/// @return FID_OK, FID_IO (then both are as they were)
FID_NODISCARD fid_code fid_folder_move(const char *from, const char *to, bool exchange, fid_error *err);

#endif
