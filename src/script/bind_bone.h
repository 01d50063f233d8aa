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

/// Pushes a point (or direction) of the rig as the running code sees it: reflected in the mirrored world.
void fid_point_push(lua_State *L, fid_vec3 point);

/// A point that the running code gave, in the rig; and back.
fid_vec3 fid_point_reflect(lua_State *L, fid_vec3 point);

/// What every call that makes bones does with the table of arguments at `table`, after its fields were read: role,
/// channels, id, side and parent where they are not given, ranges reflected in the mirrored world, and the origin.
void fid_bone_complete(lua_State *L, int table, const char *call, fid_rig *rig, int32_t role, fid_arena *arena,
                       fid_bone_def *def);

/// The outline of the table of arguments at `table`: an outline, the name of a shape, which is made with the largest
/// extent `extent` (metres), the name of an outline of the rig, or false for none; `shape` is meant where nothing is
/// given (NULL: none).
fid_outline_id fid_bone_outline(lua_State *L, int table, const char *call, fid_rig *rig, fid_arena *arena, float extent,
                                const char *shape);

/// Warns that what the script calls `from` is called `to` today.
void fid_bone_warn_moved(lua_State *L, const char *from, const char *to);

#endif
