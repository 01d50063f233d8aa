#ifndef FID_SCRIPT_HELP_H
#define FID_SCRIPT_HELP_H

#include "base/text.h"

#include <lua.h>

/// Adds what a call of scripts ("follow", "rig:follow") takes, or what an object ("Bone") has: for each argument its
/// type, unit, range, default and what it is. NULL: the list of all calls and objects.
/// @return FID_OK, FID_UNKNOWN (with the nearest call there is), FID_NO_MEMORY
FID_NODISCARD fid_code fid_help_call(const char *name, fid_text *out, fid_error *err);

/// The names that fid_help_call knows, one after the other; NULL beyond the last.
const char *fid_help_name(int32_t index);

/// Adds `help` to the table on top of the stack.
void fid_help_open(lua_State *L);

#endif
