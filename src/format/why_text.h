#ifndef FID_FORMAT_WHY_TEXT_H
#define FID_FORMAT_WHY_TEXT_H

#include "format/origin_text.h"
#include "program/pose.h"

/// Adds what made the frame of a bone in a solved pose, step by step: its parent, constraints, layers and channels,
/// with what each changed in rig space (metres, degrees, ratios of scale), its address, the channels that it reads,
/// with their drives, and where all of them were written.
void fid_why_add(const fid_rig *rig, fid_pose *pose, int32_t bone, const fid_origin_style *style, fid_text *out);

#endif
