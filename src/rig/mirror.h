#ifndef FID_RIG_MIRROR_H
#define FID_RIG_MIRROR_H

#include "rig/rig.h"

/// The bone of the other side: same address with left and right exchanged; the bone itself for the center, or where
/// there is no counterpart.
fid_bone_id fid_mirror_bone(const fid_rig *rig, fid_bone_id bone);

/// The channel of the other side: of the counterpart of its bone, of the constraint whose address has left and right
/// exchanged; itself in the center, but of a slider there the one whose name has left and right exchanged, if any. Kind
/// FID_CHANNEL_NONE where a bone of a side has no counterpart, or that no such slider.
fid_channel fid_mirror_channel(const fid_rig *rig, fid_channel channel);

/// 1, or -1 where the value of the channel changes sign in the mirrored world (translation.x, rotation.y, rotation.z).
float fid_mirror_sign(fid_channel channel);

/// Takes a channel and its value to the other side (fid_mirror_channel): signs change, and of a choice its name is
/// kept; in the center that with left and right exchanged comes first. False where that side has no such channel or
/// choice; both are untouched then.
bool fid_mirror_value(const fid_rig *rig, fid_channel *channel, float *value);

/// Reflects a constraint or drive that was described in the mirrored world (fid_schema_mirror, and the signs of the
/// channels of a drive).
FID_NODISCARD fid_code fid_mirror_drive(fid_drive_def *def, fid_arena *arena, fid_error *err);

#endif
