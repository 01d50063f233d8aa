#ifndef FID_SCRIPT_BIND_SWITCH_H
#define FID_SCRIPT_BIND_SWITCH_H

#include <lua.h>

/// Adds `rig:switch` and `rig:match`; once for each state, after rig:solve.
void fid_switch_open(lua_State *L);

#endif
