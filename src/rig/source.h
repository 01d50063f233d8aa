#ifndef FID_RIG_SOURCE_H
#define FID_RIG_SOURCE_H

#include "math/frame.h"
#include "rig/channel.h"

/// A point on a bone: its base (along 0) to its tip (along 1), scaled as the bone is.
typedef struct fid_spot {
    fid_bone_id bone;
    float along;
} fid_spot;

typedef enum fid_source_kind {
    FID_SOURCE_NONE,
    FID_SOURCE_BONE,    ///< the frame of `a.bone`; its base as a point
    FID_SOURCE_POINT,   ///< that frame, moved to the point `a`
    FID_SOURCE_BETWEEN, ///< the point a + f (b - a); turns nothing
    FID_SOURCE_RIG,     ///< the character's own space
    FID_SOURCE_WORLD,   ///< the world, seen from the character's space
} fid_source_kind;

/// What a constraint listens to.
typedef struct fid_source {
    fid_source_kind kind;
    fid_spot a, b;
    float f; ///< 0 to 1
} fid_source;

/// One of several sources; the shares of all add up to at most 1.
typedef struct fid_share {
    fid_source source;
    fid_amount share; ///< 0 to 1
} fid_share;

typedef struct fid_sources {
    const fid_share *at;
    int32_t count;
} fid_sources;

/// One choice of `spaces`.
typedef struct fid_space {
    const char *name; ///< [a-z][a-z0-9_]*
    fid_source source;
    bool has_frame;   ///< the relation is `frame`
    bool at_rest;     ///< offset "rest": the relation is that of the rest frames; else (and not has_frame) none
    fid_frame frame;  ///< rigid
    fid_bone_id meet; ///< null, or the grip: a descendant that lands on the source instead of the bone
    fid_channel by;   ///< the slider that is its share, where spaces are mixed; null in a definition: made for it
    bool is_added;    ///< came later than its constraint, and was written at `origin`
    int32_t origin;
} fid_space;

typedef struct fid_space_list {
    const fid_space *at;
    int32_t count;
} fid_space_list;

/// Numbers, in order.
typedef struct fid_numbers {
    const float *at;
    int32_t count;
} fid_numbers;

/// Bones, in order.
typedef struct fid_bones {
    const fid_bone_id *at;
    int32_t count;
} fid_bones;

/// Lower and upper bounds, in pairs.
typedef struct fid_bounds {
    const float (*at)[2];
    int32_t count;
} fid_bounds;

typedef struct fid_words {
    const char *const *at;
    int32_t count;
} fid_words;

/// Bounds per axis: +-FID_UNLIMITED where open.
typedef struct fid_axis_range {
    float lo[3], hi[3];
} fid_axis_range;

/// What a pose of a layer adds to a bone: translation, rotation, scales, as a pose would.
typedef struct fid_layer_entry {
    fid_bone_id bone;
    fid_frame delta;
} fid_layer_entry;

/// The pose that a layer gives at one value of its channel; bones that are not named rest.
typedef struct fid_layer_pose {
    float at;
    const fid_layer_entry *entries;
    int32_t count;
} fid_layer_pose;

typedef struct fid_pose_table {
    const fid_layer_pose *at; ///< `at` rises
    int32_t count;
} fid_pose_table;

/// What one bone does in a match: it comes to where `like` was, by their relation at rest; goes back to rest
/// (`neutral`); or stands, as the pole of the ik `plane_of`, so that the chain bends towards where the base of `like`
/// was (null: its own joint that rests farthest off the axis). Without a bone the swivel of that ik does that.
typedef struct fid_match_step {
    fid_bone_id bone, like;
    bool neutral;
    fid_constraint_id plane_of;
} fid_match_step;

typedef struct fid_match_steps {
    const fid_match_step *at;
    int32_t count;
} fid_match_steps;

typedef enum fid_interpolation { FID_LINEAR, FID_SMOOTH, FID_POWER } fid_interpolation;

/// A response curve: points with rising x (math/curve.h), or a power. Linear without points: y = x.
typedef struct fid_curve {
    fid_interpolation interpolation; ///< smooth: monotone cubic
    const float *x, *y;
    int32_t count;
    float power, sign; ///< of FID_POWER: y = sign |x|^power with the sign of x; power above 0, sign 1 or -1
} fid_curve;

/// False for y = x, which is what no curve is.
static inline bool fid_curve_is_given(const fid_curve *curve) {
    return curve->count > 0 || curve->interpolation == FID_POWER;
}

/// What one factor of a drive is.
typedef enum fid_factor_kind {
    FID_FACTOR_CHANNEL,  ///< the value of `channel`
    FID_FACTOR_DISTANCE, ///< metres in rig space between the points of `a` and `b`
    FID_FACTOR_ANGLE, ///< degrees, 0 to 180, between `axis_a` of `a` and `axis_b` of `b`: bones, the rig or the world
    FID_FACTOR_TWIST, ///< degrees above -180 to 180: how far the bone `a` departs about its aim axis
} fid_factor_kind;

/// What a drive reads: a channel, or a measure of bones.
typedef struct fid_factor {
    fid_factor_kind kind;
    fid_channel channel;
    fid_source a, b;
    int32_t axis_a, axis_b; ///< fid_aim_axis
} fid_factor;

/// One factor, or several whose product is taken.
typedef struct fid_factors {
    const fid_factor *at;
    int32_t count;
} fid_factors;

/// A single channel, as a list that lives as long as the block in which this stands.
#define FID_FACTORS_OF(...) ((fid_factors){&(fid_factor){.kind = FID_FACTOR_CHANNEL, .channel = __VA_ARGS__}, 1})

/// A drawn line in a bone's own space, metres.
typedef struct fid_stroke {
    bool closed;
    const fid_vec3 *points;
    int32_t count;
} fid_stroke;

typedef struct fid_strokes {
    const fid_stroke *at;
    int32_t count;
} fid_strokes;

#endif
