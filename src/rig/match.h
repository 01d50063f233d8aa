#ifndef FID_RIG_MATCH_H
#define FID_RIG_MATCH_H

#include "rig/field.h"

/// How a switch is made without a jump: once the slider has this value, the listed bones are posed one after the other,
/// from the frames that there were before. The record of fid_match_schema; the steps stand in source.h.
typedef struct fid_match_def {
    fid_channel slider;
    float value;
    fid_match_steps set;
    int32_t origin;
} fid_match_def;

extern const fid_schema fid_match_schema;
fid_match_def fid_match_default(void);

#endif
