#ifndef FID_RIG_CHANNEL_H
#define FID_RIG_CHANNEL_H

#include "rig/handle.h"

#include <float.h>

/// The nine scalars of a bone's pose, in this order everywhere.
typedef enum fid_axis {
    FID_TRANSLATION_X,
    FID_TRANSLATION_Y,
    FID_TRANSLATION_Z,
    FID_ROTATION_X,
    FID_ROTATION_Y,
    FID_ROTATION_Z,
    FID_SCALE_X,
    FID_SCALE_Y,
    FID_SCALE_Z,
    FID_AXIS_COUNT
} fid_axis;

/// Sets of axes, one bit each: bit FID_TRANSLATION_X and so on.
enum { FID_MASK_TRANSLATION = 0x007, FID_MASK_ROTATION = 0x038, FID_MASK_SCALE = 0x1c0, FID_MASK_ALL = 0x1ff };

/// "translation.x" ... "scale.z".
extern const char *const fid_axis_names[FID_AXIS_COUNT];

/// 0 for translation and rotation, 1 for scale.
float fid_axis_rest(fid_axis axis);

/// A bound that is not there: -FID_UNLIMITED below, FID_UNLIMITED above.
#define FID_UNLIMITED FLT_MAX

typedef enum fid_channel_kind {
    FID_CHANNEL_NONE,
    FID_CHANNEL_BONE,
    FID_CHANNEL_SLIDER,
    FID_CHANNEL_WEIGHT
} fid_channel_kind;

/// Names one scalar that may be posed: `axis` of a bone, a slider, or the weight of a constraint. The placement bone's
/// one scale channel is its FID_SCALE_X.
typedef struct fid_channel {
    fid_channel_kind kind;
    fid_axis axis;    ///< of FID_CHANNEL_BONE, else 0
    fid_handle owner; ///< bone, slider or constraint
} fid_channel;

static inline bool fid_channel_is(fid_channel a, fid_channel b) {
    return a.kind == b.kind && a.axis == b.axis && a.owner.slot == b.owner.slot &&
           a.owner.generation == b.owner.generation;
}

/// A number, or the channel that gives it (kind FID_CHANNEL_NONE: the number).
typedef struct fid_amount {
    float value;
    fid_channel channel;
} fid_amount;

/// What a channel is: its value at rest, its range, and whether animators may pose it.
typedef struct fid_channel_info {
    float rest;
    float min, max; ///< +-FID_UNLIMITED where open
    bool animatable;
} fid_channel_info;

#endif
