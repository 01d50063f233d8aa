#ifndef FID_SCRIPT_PATH_H
#define FID_SCRIPT_PATH_H

#include "base/text.h"

#include <lua.h>
#include <stdbool.h>

enum { FID_PATH_SIZE = 1024 };

/// A path of a script, relative to the working folder or absolute, without memory of its own.
typedef struct fid_file_path {
    char at[FID_PATH_SIZE];
} fid_file_path;

/// `folder` and `name` put together; false where that is too long. The folder "." is left out.
bool fid_path_join(fid_file_path *out, const char *folder, const char *name);

/// As fid_path_join; raises FID_LIMIT where that is too long.
void fid_path_set(lua_State *L, fid_file_path *out, const char *folder, const char *name);

/// Takes "." and "x/.." out, by the text alone: links are not looked at.
void fid_path_normalize(fid_file_path *in_out);

/// Goes to the folder above; false at the top, or where the path would be too long.
bool fid_path_step_up(fid_file_path *folder);

/// How many folders there are above `folder`; 0 if that cannot be told.
int fid_path_count_above(const char *folder);

/// Adds the file of an origin as seen from the working folder: put behind `folder` (NULL: as it is) and normalized;
/// "fid:" ones and "session" as they are. What no terminal takes becomes question marks.
void fid_path_add_shown(const char *file, const char *folder, fid_text *out);

/// Whether there is anything of that name.
bool fid_path_is_present(const char *file);

#endif
