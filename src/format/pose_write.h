#ifndef FID_FORMAT_POSE_WRITE_H
#define FID_FORMAT_POSE_WRITE_H

#include "program/pose.h"

/// Appends the pose file of `pose`, with a final newline, to `out`: what differs from rest, bones in the order of the
/// rig, one a line, then weights of constraints. A rotation that was posed as a quaternion is written as one. The
/// pose's program was compiled from `rig`.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_pose_write(const fid_rig *rig, const fid_pose *pose, fid_text *out, fid_error *err);

#endif
