#ifndef FID_SOLVE_KEEP_H
#define FID_SOLVE_KEEP_H

#include "solve/reach.h"

/// Is told of a bone that was posed anew, and how near it came to where it belongs; of a swivel, the first bone of its
/// chain.
typedef void (*fid_keep_visit)(void *user, int32_t bone, const fid_reached *reached);

/// The match that a slider has at a value, or NULL.
const fid_program_match *fid_pose_find_match(const fid_program *program, int32_t slider, float value);

/// Whether a bone rides on spaces by this channel: the slider that chooses, or a share.
bool fid_pose_rides(const fid_program *program, int32_t channel);

/// Sets a slider and makes up for it: where it has a match at that value, that is done step by step; else what rides on
/// spaces by it is posed so that it stays where it was, in the order of evaluation. The pose is solved before and
/// afterwards. `before` (one for each bone) takes the frames from before. Nothing is allocated; `visit` may be NULL.
/// @return FID_OK; FID_RANGE beyond the range of the slider; FID_INVALID where nothing is switched by it at this value;
/// FID_LOCKED where it is driven;
/// as fid_pose_set. The pose is as it was, unless FID_OK.
FID_NODISCARD fid_code fid_pose_switch(const fid_program *program, fid_pose *pose, int32_t slider, float value,
                                       fid_frame *before, fid_keep_visit visit, void *user, fid_error *err);

#endif
