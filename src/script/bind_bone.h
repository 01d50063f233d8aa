#ifndef FID_SCRIPT_BIND_BONE_H
#define FID_SCRIPT_BIND_BONE_H

#include "rig/rig.h"

#include <lua.h>

/// Makes the metatables and adds `rig:bone`, `rig:control`, `rig:find` and `rig:bones`; once for each state.
void fid_bone_open(lua_State *L);

/// Pushes the one Bone that stands for a bone of a rig that belongs to the script machine; nil for a null handle.
void fid_bone_push(lua_State *L, fid_rig *rig, fid_bone_id id);

/// False where the value is no Bone; raises where the bone is gone. `rig` may be NULL.
bool fid_bone_get(lua_State *L, int index, fid_rig **rig, fid_bone_id *id);

/// The order of Bones as keys: by rig, then by creation; -1 for anything else. Raises nothing.
int64_t fid_bone_rank(lua_State *L, int index);

/// True where the value is what `bone:point(f)` gives; raises where its bone is gone. `rig` may be NULL.
bool fid_spot_get(lua_State *L, int index, fid_rig **rig, fid_spot *spot);

#endif
