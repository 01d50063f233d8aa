#ifndef FID_RIG_BONE_H
#define FID_RIG_BONE_H

#include "rig/field.h"
#include "rig/naming.h"

typedef enum fid_level { FID_EVERYDAY, FID_FINE, FID_SETUP } fid_level;
extern const char *const fid_level_names[]; ///< "everyday", "fine", "setup", NULL
extern const char *const fid_order_names[]; ///< "xyz" ... by fid_order, NULL

/// What a bone is made of. The record of fid_bone_schema. Lengths in metres.
typedef struct fid_bone_def {
    const char *id; ///< see fid_name_fields
    const char *part;
    int32_t index[3]; ///< count, first, second
    int32_t side;     ///< fid_side
    int32_t role;     ///< fid_role
    fid_bone_id parent;
    fid_frame rest; ///< rigid, relative to the parent's rest frame
    float length;
    uint32_t takes;         ///< sets of axes: which groups it takes from its parent
    int32_t rotation_order; ///< fid_order
    int32_t level;          ///< fid_level
    fid_set_id display_set;
    fid_outline_id outline;
    fid_words tags;
    uint32_t channels;                                             ///< set of axes that animators may pose
    fid_axis_range translation_range, rotation_range, scale_range; ///< of the channels
    bool placement;                                                ///< places the whole character
    int32_t origin;                                                ///< index into the rig's origins
} fid_bone_def;

extern const fid_schema fid_bone_schema;

fid_bone_def fid_bone_default(void);

/// What animators may pose where a script does not say: of the placement bone translation, rotation and its one scale,
/// of other controls translation and rotation, of other bones nothing.
uint32_t fid_bone_channels(int32_t role, bool placement);

/// The fields of its name and address. Strings of `def`.
fid_name_fields fid_bone_fields(const fid_bone_def *def);

/// A bone of a rig.
typedef struct fid_bone {
    fid_bone_def def; ///< strings and lists belong to the rig
    const char *name;
    const char *address;
    int32_t parent;     ///< index, or -1
    fid_frame rest;     ///< rigid, in rig space, derived
    fid_chain_id chain; ///< null, or the first chain that it belongs to
} fid_bone;

/// How a bone is placed in scripts: at and to, or frame, or aim and size; up or across. The record of fid_place_schema.
typedef struct fid_bone_place {
    fid_maybe_vector at, to, aim, up, across;
    bool has_frame;
    fid_frame frame;
    float size; ///< metres; 0: not given
} fid_bone_place;

extern const fid_schema fid_place_schema;

/// The rest frame in rig space and the length that `place` describes. `size` is the length where no other is given (0:
/// FID_RANGE). `world_aligned`: without aim, to, up and across the frame stands along the axes of the rig.
/// `frame` is read only where `has_frame`, which whoever fills the record from arguments sets with it.
/// @return FID_OK, FID_INVALID (contradicting arguments), FID_RANGE (no length, hint along the aim)
FID_NODISCARD fid_code fid_bone_place_resolve(const fid_bone_place *place, bool world_aligned, float size,
                                              fid_frame *rest, float *length, fid_error *err);

#endif
