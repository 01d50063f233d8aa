#ifndef FID_SOLVE_KEEP_H
#define FID_SOLVE_KEEP_H

#include "solve/reach.h"

/// Is told of a bone that was posed anew, and how near it came to where it belongs.
typedef void (*fid_keep_visit)(void *user, int32_t bone, const fid_reached *reached);

/// The match that a slider has at a value, or NULL.
const fid_program_match *fid_pose_find_match(const fid_program *program, int32_t slider, float value);

/// Whether a bone rides on spaces by this channel: the slider that chooses, or a share.
bool fid_pose_rides(const fid_program *program, int32_t channel);

/// Whether fid_pose_keep has anything to do where this channel is set to this value.
bool fid_pose_keeps(const fid_program *program, int32_t channel, float value);

/// Makes up for a slider that was set: `before` has the frames of all bones as they were solved before that. Where the
/// slider has a match at its new value, that is done step by step; else what rides on spaces by it is posed so that it
/// stays where it was, in the order of evaluation. The pose is solved afterwards. Nothing is allocated, nothing fails;
/// `visit` may be NULL.
void fid_pose_keep(const fid_program *program, fid_pose *pose, const fid_frame *before, int32_t slider,
                   fid_keep_visit visit, void *user);

#endif
