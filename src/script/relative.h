#ifndef FID_SCRIPT_RELATIVE_H
#define FID_SCRIPT_RELATIVE_H

enum { FID_RELATIVE_SIZE = 4096 };

/// Writes `path` as seen from `folder`. Both are as shown in messages: relative to the working folder, or absolute,
/// below 1024 bytes. How they are spelled ("//", ".", "x/..") makes no difference. Where the way cannot be told from
/// the texts alone, the path stays as it is, normalized; one that begins with "fid:" always does.
void fid_relative_path(const char *folder, const char *path, char out[FID_RELATIVE_SIZE]);

#endif
