#ifndef FID_LIBRARY_SKELETON_H
#define FID_LIBRARY_SKELETON_H

#include "base/arena.h"
#include "base/text.h"
#include "fid.h"
#include "program/pose.h"

/// What stands behind fid_skeleton. Channels that the program numbers but that are none (the second and third scale of
/// the placement, weights that limits lack) have no number outside.
struct fid_skeleton {
    fid_rig *rig;
    fid_program *program;
    int32_t channel_count;
    int32_t *inside;    ///< by channel: its number in the program
    int32_t *outside;   ///< by the program's number: the channel, or FID_NO_INDEX
    const char **names; ///< by channel
    fid_arena arena;    ///< of the three
};

static inline bool fid_skeleton_has_bone(const fid_skeleton *skeleton, int32_t bone) {
    return skeleton != NULL && bone >= 0 && bone < skeleton->program->bone_count;
}

static inline bool fid_skeleton_has_channel(const fid_skeleton *skeleton, int32_t channel) {
    return skeleton != NULL && channel >= 0 && channel < skeleton->channel_count;
}

/// Makes the lists of channels, once the program is there.
FID_NODISCARD fid_code fid_skeleton_list_channels(fid_skeleton *skeleton, fid_error *err);

/// Reads a file of the given kind into `text` (empty). `path` may be NULL: FID_INVALID.
FID_NODISCARD fid_code fid_skeleton_read_file(const char *path, fid_text *text, fid_error *err);

#endif
