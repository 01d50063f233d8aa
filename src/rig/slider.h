#ifndef FID_RIG_SLIDER_H
#define FID_RIG_SLIDER_H

#include "rig/field.h"

/// A custom channel on a bone. The record of fid_slider_schema.
typedef struct fid_slider_def {
    fid_bone_id on;
    const char *name; ///< [a-z][a-z0-9_]*, no word of the bone's own channels
    float rest;       ///< `default`
    float min, max;   ///< with choices 0 and their number less 1
    const char *doc;
    fid_words choices;
    bool hidden;
    bool animatable;
    int32_t origin;
} fid_slider_def;

extern const fid_schema fid_slider_schema;
fid_slider_def fid_slider_default(void);

/// Whether a slider can be switched to a value: one within its range and, where it has choices, the number of one.
/// @return FID_OK, FID_RANGE
FID_NODISCARD fid_code fid_slider_check_value(const fid_slider_def *slider, float value, fid_error *err);

/// The value that a choice stands for: its number.
/// @return FID_OK, FID_UNKNOWN (the message lists the choices; `out` untouched)
FID_NODISCARD fid_code fid_slider_find_choice(const fid_slider_def *slider, const char *choice, float *out,
                                              fid_error *err);

typedef struct fid_slider {
    fid_slider_def def;
} fid_slider;

#endif
