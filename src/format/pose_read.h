#ifndef FID_FORMAT_POSE_READ_H
#define FID_FORMAT_POSE_READ_H

#include "program/pose.h"

/// Reads the `count` bytes of a pose file at `text` into `pose`, whose program was compiled from `rig`. The pose is put
/// back to rest first; what the file does not name stays there. `file` is how messages name the file.
///
/// Bones and constraints are found by name or address. Values outside the range of their channel are clamped, with a
/// note in the report. A locked channel may stand there with its rest value. A choice of a slider may be given by its
/// name. On failure the report has one error more and the pose is at rest.
/// @return FID_OK, FID_SYNTAX, FID_LIMIT, FID_INVALID, FID_RANGE, FID_UNKNOWN, FID_NAME_TAKEN (twice the same),
/// FID_LOCKED, FID_NO_MEMORY
FID_NODISCARD fid_code fid_pose_read(const char *text, size_t count, const char *file, const fid_rig *rig,
                                     fid_pose *pose, fid_report *report);

#endif
