#ifndef FID_FORMAT_SOLVED_WRITE_H
#define FID_FORMAT_SOLVED_WRITE_H

#include "program/pose.h"

/// Appends a solved pose as a fid-solved document, with a final newline: for each bone whose name or address matches
/// `pattern` (NULL: all) its matrix in the world (16 numbers, column-major), base and tip, with nine significant
/// digits; then the effective values of the channels of those bones that are animatable, driven or sliders.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_solved_write(const fid_rig *rig, const fid_pose *pose, const char *pattern, fid_text *out,
                                        fid_error *err);

#endif
