#ifndef FID_SCRIPT_INSPECT_H
#define FID_SCRIPT_INSPECT_H

#include <lua.h>

/// Puts into the table on top of the stack what lua/session.lua tells of a rig by the same text as the commands.
void fid_inspect_open(lua_State *L);

#endif
