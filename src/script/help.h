#ifndef FID_SCRIPT_HELP_H
#define FID_SCRIPT_HELP_H

#include "base/text.h"

#include <lua.h>

/// Adds what a call of scripts ("follow", "rig:follow") takes: one line for each argument with its type, unit, range,
/// default and what it is. NULL: the list of all calls.
/// @return FID_OK, FID_UNKNOWN (with the nearest call there is), FID_NO_MEMORY
FID_NODISCARD fid_code fid_help_call(const char *name, fid_text *out, fid_error *err);

/// The names of all calls that fid_help_call knows, NULL-terminated.
extern const char *const fid_help_names[];

/// Adds `help` to the table on top of the stack.
void fid_help_open(lua_State *L);

#endif
