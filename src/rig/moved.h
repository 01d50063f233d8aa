#ifndef FID_RIG_MOVED_H
#define FID_RIG_MOVED_H

#include "rig/bone.h"
#include "rig/slider.h"

/// What a bone or slider was called before, so that old poses find it.
typedef struct fid_moved {
    const char *from; ///< the address that the bone had; of a slider that of its bone today, a point, and its old name
    fid_bone_id bone; ///< what the bone is today; of a slider the bone that it is on
    fid_slider_id slider; ///< null: a bone has moved
} fid_moved;

#endif
