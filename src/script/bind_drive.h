#ifndef FID_SCRIPT_BIND_DRIVE_H
#define FID_SCRIPT_BIND_DRIVE_H

#include <lua.h>

/// Makes the metatable and adds `rig:drive`; once for each state.
void fid_drive_open(lua_State *L);

#endif
