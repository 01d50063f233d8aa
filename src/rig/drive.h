#ifndef FID_RIG_DRIVE_H
#define FID_RIG_DRIVE_H

#include "rig/field.h"

typedef enum fid_combine { FID_REPLACE, FID_ADD, FID_MULTIPLY } fid_combine;

/// A channel computed from others or from bones: gain times curve(product of from), combined with the value so far. The
/// record of fid_drive_schema.
typedef struct fid_drive_def {
    fid_channel to;
    fid_factors from; ///< what the product is taken of
    fid_curve curve;  ///< none: y = x
    fid_amount gain;
    int32_t combine; ///< fid_combine
    int32_t origin;
} fid_drive_def;

extern const fid_schema fid_drive_schema;
fid_drive_def fid_drive_default(void);

typedef struct fid_drive {
    fid_drive_def def;
} fid_drive;

#endif
