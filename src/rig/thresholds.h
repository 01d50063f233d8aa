#ifndef FID_RIG_THRESHOLDS_H
#define FID_RIG_THRESHOLDS_H

#include "rig/field.h"

/// From where on the rules of check speak: each belongs to the rule whose code begins its key. Lengths are ratios of
/// the height, so that they fit giants and insects. What a rule compares exactly has none, nor has what the solver
/// itself needs (the least bend of S204).
typedef struct fid_thresholds {
    float n102_distance;
    float s202_length;
    float s203_warning, s203_error;
    float s205_warning, s205_error;
    float s207_distance, s207_angle;
    float s209_distance, s209_angle, s209_scale;
    float c301_ratio;
    float p410_distance, p410_angle, p410_scale;
    float p411_distance, p411_angle, p411_scale;
} fid_thresholds;

extern const fid_schema fid_thresholds_schema;

fid_thresholds fid_thresholds_default(void);

/// Refuses what is not finite or out of range, and an error that begins before its warning.
/// @return FID_OK, FID_RANGE
FID_NODISCARD fid_code fid_thresholds_check(const fid_thresholds *thresholds, fid_error *err);

/// The next threshold of a rule ("S203") after `after` (NULL: the first); NULL where there is none.
const fid_field *fid_thresholds_of(const char *code, const fid_field *after);

#endif
