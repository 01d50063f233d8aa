#ifndef FID_SOLVE_REACH_H
#define FID_SOLVE_REACH_H

#include "solve/solve.h"

/// How near fid_pose_reach came, and what kept it from coming nearer.
typedef struct fid_reached {
    uint32_t locked; ///< set of axes that would have to be posed but may not be, or are driven
    uint32_t held;   ///< set of axes whose values are held in their range
    bool moved;      ///< what acts after the pose moves the bone away
    bool is_swivel;  ///< of the chain that begins with the bone; `locked` and `held` name no axes then
    float distance;  ///< from the place asked for, metres; of what no axis is asked for, 0
    float degrees;   ///< from the axes asked for
    float scale;     ///< of the axis whose scale differs most: 0.5 is half as large again
} fid_reached;

/// How far a frame is from another, as fid_reached tells it; `locked`, `held` and `moved` are left empty.
fid_reached fid_reached_between(fid_frame now, fid_frame wanted);

/// Poses one bone so that it comes to `frame`, in the rig's space, under everything that acts on it before its pose,
/// and solves. The inverse of what a pose does: only axes of the set `axes` that animators may pose and nothing drives
/// are set; of a rotation that is not wholly free the nearest that the free axes reach where they are one, else its
/// angles. Angles stay the ones next to those posed before, and a quaternion stays one. Nothing is allocated, nothing
/// fails.
///
/// Poses and frames of bones above have to be as they are to stay: a bone is reached after those that it depends on.
fid_reached fid_pose_reach(const fid_program *program, fid_pose *pose, int32_t bone, fid_frame frame, uint32_t axes);

#endif
