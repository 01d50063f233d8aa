#ifndef FID_BASE_FILE_H
#define FID_BASE_FILE_H

#include "base/text.h"

/// Bytes of the largest skeleton or pose file that is read.
enum { FID_FILE_MOST = 256 << 20 };

/// Reads a regular file of at most `max_bytes` whole into `*out` (which must be empty; NUL-terminated; the caller
/// clears it).
/// @return FID_OK, FID_IO (missing, unreadable, a folder, a pipe or device; the message says which), FID_LIMIT
/// (larger), FID_NO_MEMORY
FID_NODISCARD fid_code fid_file_read(const char *path, size_t max_bytes, fid_text *out, fid_error *err);

/// As fid_file_read, for a path that comes from a script or file: relative, without "..", opened beneath `folder` and
/// never outside it. No link beneath `folder` is followed, wherever it leads (openat2 where the kernel has it, else one
/// part at a time with O_NOFOLLOW).
FID_NODISCARD fid_code fid_file_read_beneath(const char *folder, const char *path, size_t max_bytes, fid_text *out,
                                             fid_error *err);

/// Writes a file whole or not at all: a temporary name in the same folder, write, fsync, rename, fsync of the folder.
/// The old file stays intact on failure and no temporary remains; a file that is replaced keeps its permissions. Stray
/// temporaries of ours in that folder whose process is gone are swept. A link is followed and stays a link. A path that
/// names a folder, pipe or device, or a file that is protected against writing, is refused. `bytes` may be NULL where
/// `count` is 0.
/// @return FID_OK, FID_IO, FID_NO_MEMORY
FID_NODISCARD fid_code fid_file_write(const char *path, const char *bytes, size_t count, fid_error *err);

enum { FID_TEMPORARY_SIZE = 64, FID_FILE_NAME_SIZE = 256 };

/// A file that is written whole, but under its temporary name: so that several come into place together or not at all.
typedef struct fid_file_pending {
    int folder; ///< open, or -1: nothing is pending
    char name[FID_FILE_NAME_SIZE], temporary[FID_TEMPORARY_SIZE];
    const char *path; ///< borrowed, for messages
} fid_file_pending;

/// The first half of fid_file_write: all that can be refused is refused here, and nothing is in place yet.
FID_NODISCARD fid_code fid_file_prepare(const char *path, const char *bytes, size_t count, fid_file_pending *out,
                                        fid_error *err);
/// The second half: puts it in place.
FID_NODISCARD fid_code fid_file_place(fid_file_pending *pending, fid_error *err);
/// Or takes it back.
void fid_file_abandon(fid_file_pending *pending);

/// True if both paths lead to the same file (device and inode); false if either is missing.
bool fid_file_is_same(const char *a, const char *b);

/// True if two files that are written would be one: both paths lead to the same file, or to the same name in the same
/// folder where there is none yet.
bool fid_file_is_same_place(const char *a, const char *b);

/// The folder part of a path: "a/b.lua" gives "a", "b.lua" gives ".", "/b.lua" gives "/". `out` is appended to.
void fid_path_add_folder(fid_text *out, const char *path);

#endif
