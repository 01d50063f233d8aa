#ifndef FID_RIG_LAYER_H
#define FID_RIG_LAYER_H

#include "rig/field.h"

/// A pose layer: several bones' poses blended in by a channel. The record of fid_layer_schema; the poses stand in
/// source.h.
typedef struct fid_layer_def {
    const char *id;   ///< of the instance, or NULL
    int32_t side;     ///< fid_side
    const char *name; ///< [a-z][a-z0-9_]*
    fid_channel by;
    int32_t interpolation; ///< fid_interpolation; smooth: translations by monotone cubics
    fid_pose_table poses;
    int32_t origin;
} fid_layer_def;

extern const fid_schema fid_layer_schema;
fid_layer_def fid_layer_default(void);

typedef struct fid_layer {
    fid_layer_def def;
    const char *address; ///< "stalk1/retract/left": id, name, side
} fid_layer;

#endif
