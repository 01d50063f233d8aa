#ifndef FID_APP_ARCHIVE_H
#define FID_APP_ARCHIVE_H

#include "script/bundle.h"

/// Whether this program reads archives; one that was built without libarchive does not.
bool fid_archive_can_read(void);

/// Reads an archive of files (tar, plain or compressed with gzip, bzip2, xz or zstd; zip) into a bundle that keeps
/// bytes and is not sealed. Nothing is written. What is no file or folder is refused, so is what may not stand in a
/// bundle, what is encrypted, and an archive that holds too much, however small it is itself.
/// @return FID_OK, FID_IO, FID_SYNTAX (no archive, a broken one), FID_INVALID, FID_LIMIT, FID_UNKNOWN (left out of this
/// program), FID_NO_MEMORY
FID_NODISCARD fid_code fid_archive_read(const char *path, fid_bundle *out, fid_error *err);

/// Puts before the message of `err`, whose code is `code`, which archive is not taken, and behind it what to do.
void fid_archive_refuse(const char *path, fid_code code, fid_error *err);

#endif
