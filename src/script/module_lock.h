#ifndef FID_SCRIPT_MODULE_LOCK_H
#define FID_SCRIPT_MODULE_LOCK_H

#include "script/bundle.h"
#include "script/path.h"

struct fid_host;

/// Where the lock of a module is: `fid.lock` beside the folder `modules` in which its folder ("modules/post") stands.
/// False where it stands in no such folder: embedded ones, and others of FID_PATH.
bool fid_module_lock_path(const char *folder, fid_file_path *out);

/// Reads a lock, and checks that the digest of each module is that of its list. Through the host, which notes the file,
/// unless that is NULL. `*out` is to be cleared in any case.
/// @return FID_OK, FID_IO, FID_NO_MEMORY, or the code of what is wrong in it: the message has file and place
FID_NODISCARD fid_code fid_module_lock_read(struct fid_host *host, const char *path, fid_lock *out, fid_error *err);

/// Says what is not as the lock has it: "module 'post' is not as in fid.lock: module.lua changed"; nothing where all
/// is, or where there is no lock and `needs_lock` is false.
/// @return FID_OK, or as above
FID_NODISCARD fid_code fid_module_lock_compare(struct fid_host *host, const char *name, const char *folder,
                                               bool needs_lock, fid_text *out, fid_error *err);

#endif
