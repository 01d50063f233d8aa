#ifndef FID_SCRIPT_BIND_CHECK_H
#define FID_SCRIPT_BIND_CHECK_H

#include <lua.h>

/// Adds `rig:check`; once for each state.
void fid_check_open(lua_State *L);

#endif
