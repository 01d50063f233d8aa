#ifndef FID_RIG_DISPLAY_H
#define FID_RIG_DISPLAY_H

#include "rig/field.h"

/// Bones shown and coloured together. The record of fid_set_schema.
typedef struct fid_set_def {
    const char *name;  ///< [a-z][a-z0-9_]*
    const char *color; ///< "#E69F00"
    bool visible;
    int32_t origin;
} fid_set_def;

extern const fid_schema fid_set_schema;
fid_set_def fid_set_default(void);

/// A curve drawn for a control. The record of fid_outline_schema.
typedef struct fid_outline_def {
    const char *name;
    fid_strokes strokes;
} fid_outline_def;

extern const fid_schema fid_outline_schema;
fid_outline_def fid_outline_default(void);

typedef enum fid_shape { FID_CIRCLE, FID_SQUARE, FID_BOX, FID_ARROW } fid_shape;
extern const char *const fid_shape_names[]; ///< "circle", "square", "box", "arrow", NULL

/// The strokes of a shape with its largest extent `size` metres, flat ones square to +Y (an arrow points along +Z),
/// from the arena. FID_NO_MEMORY or FID_OK.
FID_NODISCARD fid_code fid_shape_strokes(fid_shape shape, float size, fid_arena *arena, fid_strokes *out,
                                         fid_error *err);

#endif
