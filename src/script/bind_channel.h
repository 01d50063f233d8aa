#ifndef FID_SCRIPT_BIND_CHANNEL_H
#define FID_SCRIPT_BIND_CHANNEL_H

#include "rig/rig.h"

#include <lua.h>

/// Makes the metatables and adds `rig:slider`; once for each state.
void fid_channel_open(lua_State *L);

/// Pushes a Channel of a rig that belongs to the script machine; nil for none.
void fid_channel_push(lua_State *L, fid_rig *rig, fid_channel channel);

/// False where the value is no Channel; raises where what it belongs to is gone. `rig` may be NULL.
bool fid_channel_get(lua_State *L, int index, fid_rig **rig, fid_channel *channel);

#endif
