#ifndef FID_SCRIPT_BIND_POSE_H
#define FID_SCRIPT_BIND_POSE_H

#include "program/pose.h"
#include "rig/rig.h"

#include <lua.h>

/// One value of a pose: of a channel, or (rotation) a quaternion x, y, z, w of a bone.
typedef struct fid_pose_entry {
    bool is_rotation;
    fid_bone_id bone;    ///< of a rotation
    fid_channel channel; ///< else
    float value[4];      ///< as in the rig, not reflected
} fid_pose_entry;

/// A pose as scripts hold it; `at` lies in the object.
typedef struct fid_pose_row {
    fid_rig *rig;
    int32_t count;
    const fid_pose_entry *at;
} fid_pose_row;

/// Makes the metatable and adds `rig:pose`; once for each state.
void fid_pose_open(lua_State *L);

/// False where the value is no Pose; raises where its rig is gone.
bool fid_pose_get(lua_State *L, int index, fid_pose_row *row);

/// Pushes the Pose of the values of `pose` that are not at rest.
void fid_pose_push_values(lua_State *L, fid_rig *rig, const fid_pose *pose);

/// Pushes the Pose that a table of `rig:pose{}` describes, or replaces nothing where it is a Pose already.
void fid_pose_push(lua_State *L, int index, const char *call, fid_rig *rig);

#endif
