#ifndef FID_CHECK_REACHED_H
#define FID_CHECK_REACHED_H

#include "base/text.h"
#include "solve/reach.h"

/// Whether a bone is farther from where it belongs than the rig's thresholds of P411 allow.
bool fid_reached_is_off(const fid_rig *rig, const fid_reached *reached);

/// Adds how far a bone that is off is, and what kept it from coming nearer: "bone 'x' ends 0.2 m from where it belongs:
/// translation.x may not be posed".
void fid_reached_add(const fid_rig *rig, int32_t bone, const fid_reached *reached, fid_text *out);

#endif
