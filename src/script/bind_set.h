#ifndef FID_SCRIPT_BIND_SET_H
#define FID_SCRIPT_BIND_SET_H

#include "rig/rig.h"

#include <lua.h>

/// Makes the metatable and adds `rig:display_set`; once for each state.
void fid_set_open(lua_State *L);

/// Pushes a Set of a rig that belongs to the script machine; nil for none.
void fid_set_push(lua_State *L, fid_rig *rig, fid_set_id id);

/// The display set that a value stands for: a Set or the name of one; raises where there is none.
fid_set_id fid_set_need(lua_State *L, int index, const char *call, fid_rig *rig);

#endif
