#ifndef FID_RIG_CONSTRAINT_H
#define FID_RIG_CONSTRAINT_H

#include "rig/field.h"

typedef enum fid_constraint_kind {
    FID_CONSTRAINT_FOLLOW,
    FID_CONSTRAINT_AIM,
    FID_CONSTRAINT_SPAN,
    FID_CONSTRAINT_IK,
    FID_CONSTRAINT_LIMIT,
    FID_CONSTRAINT_SPACES,
    FID_CONSTRAINT_TWIST,
    FID_CONSTRAINT_SPLINE,
    FID_CONSTRAINT_KINDS
} fid_constraint_kind;

typedef enum fid_apply { FID_BEFORE, FID_AFTER } fid_apply;
typedef enum fid_offset { FID_OFFSET_REST, FID_OFFSET_NONE } fid_offset;
typedef enum fid_path { FID_ARC, FID_STRAIGHT } fid_path;
typedef enum fid_follow_space { FID_SPACE_RIG, FID_SPACE_OWN } fid_follow_space;
typedef enum fid_aim_axis {
    FID_AIM_PLUS_X,
    FID_AIM_MINUS_X,
    FID_AIM_PLUS_Y,
    FID_AIM_MINUS_Y,
    FID_AIM_PLUS_Z,
    FID_AIM_MINUS_Z
} fid_aim_axis;

extern const char *const fid_aim_axis_names[]; ///< "+x" ... by fid_aim_axis, NULL

/// Takes over another bone's motion.
typedef struct fid_follow {
    fid_sources sources;
    uint32_t channels; ///< set of axes
    int32_t offset;
    int32_t path;    ///< fid_path
    int32_t space;   ///< fid_follow_space; own: departures of bones, scaled by gain
    fid_amount gain; ///< any number; own space only
} fid_follow;

/// Points at something.
typedef struct fid_aim {
    fid_source source;
    int32_t axis;               ///< fid_aim_axis; matters with offset none only
    fid_bone_id up;             ///< null, or the bone towards whose base up points
    fid_maybe_vector up_vector; ///< or a direction in rig space
    int32_t offset;
} fid_aim;

/// Points and lengthens, keeping volume.
typedef struct fid_span {
    fid_source source;
    fid_amount keep_volume;  ///< 0 to 1
    float shortest, longest; ///< bounds of the ratio
} fid_span;

/// Turns the bones of a chain so that its end meets a goal.
typedef struct fid_ik {
    fid_source goal;
    fid_source pole;   ///< none: the swivel
    fid_amount swivel; ///< degrees
    float swivel_gain; ///< 1, or -1 in the mirrored world
    fid_amount soft;
    fid_amount reach;
    fid_amount length;
    fid_bounds bend_limits;  ///< degrees of each joint; empty: none
    fid_numbers bend_shares; ///< of each joint; empty in a definition: 1 for each, which adding fills in
    fid_maybe_vector bend_axis;
    fid_amount match_rotation;
} fid_ik;

/// Keeps values of the pose in a range.
typedef struct fid_limit {
    fid_axis_range translation, rotation, scale;
    float swing;       ///< degrees of the cone about the aim axis; 180: open
    fid_numbers twist; ///< {lo, hi} degrees about the aim axis; empty: open
} fid_limit;

/// Shares another bone's turn about its aim axis.
typedef struct fid_twist {
    fid_bone_id source;
    fid_amount gain; ///< any number
    float center;    ///< the twist is read within 180 degrees of it
} fid_twist;

/// Lays a chain along a curve.
typedef struct fid_spline_def {
    fid_bones through;    ///< controls: the curve goes through their bases
    fid_amount fill;      ///< 0 to 1: lengths kept, or the whole curve filled
    fid_amount end_twist; ///< 0 to 1: how much of the turn of the end controls is spread
} fid_spline_def;

/// Switches what a bone rides on.
typedef struct fid_spaces {
    fid_space_list among;
    const char *rest_choice; ///< name of the default; NULL: the first
    bool mixed;              ///< every choice has a slider of its own, its share
    fid_channel by;          ///< the slider that chooses; null: made with the constraint, or mixed
} fid_spaces;

/// The record of the schema of its kind.
typedef struct fid_constraint_def {
    fid_constraint_kind kind;
    fid_bone_id bone;
    fid_chain_id chain; ///< of ik and spline
    fid_amount weight;
    int32_t apply; ///< fid_apply
    int32_t origin;
    union {
        fid_follow follow;
        fid_aim aim;
        fid_span span;
        fid_ik ik;
        fid_limit limit;
        fid_spaces spaces;
        fid_twist twist;
        fid_spline_def spline;
    } as;
} fid_constraint_def;

/// True for the kinds that act on all bones of a chain, and not on a bone.
static inline bool fid_constraint_lays_chain(fid_constraint_kind kind) {
    return kind == FID_CONSTRAINT_IK || kind == FID_CONSTRAINT_SPLINE;
}

/// By fid_constraint_kind; the schema's name is the kind's name.
extern const fid_schema *const fid_constraint_schemas[FID_CONSTRAINT_KINDS];

/// A definition of a kind with its defaults.
fid_constraint_def fid_constraint_default(fid_constraint_kind kind);

typedef struct fid_constraint {
    fid_constraint_def def;
    const char *address; ///< "leg1/joint/left:ik"
} fid_constraint;

#endif
