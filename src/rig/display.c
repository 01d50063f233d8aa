#include "rig/display.h"

#include "math/scalar.h"

#include <string.h>

#define AT(member) offsetof(fid_set_def, member)

static const fid_field set_fields[] = {
    {"name", FID_TYPE_TEXT, FID_FIELD_REQUIRED, AT(name), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Small letters, digits and '_'"},
    {"color", FID_TYPE_COLOR, 0, AT(color), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Its color like \"#E69F00\"; gray unless told"},
    {"visible", FID_TYPE_BOOLEAN, 0, AT(visible), "", 0, 0, 1, NULL, FID_REFLECT_NONE, "Whether it is shown at first"},
};

const fid_schema fid_set_schema = {"display_set", "Bones shown and colored together", sizeof(fid_set_def), set_fields,
                                   sizeof set_fields / sizeof set_fields[0]};

fid_set_def fid_set_default(void) {
    fid_set_def def;
    fid_schema_defaults(&fid_set_schema, &def);
    def.color = "#999999";
    def.origin = -1;
    return def;
}

#undef AT
#define AT(member) offsetof(fid_outline_def, member)

static const fid_field outline_fields[] = {
    {"name", FID_TYPE_TEXT, 0, AT(name), "", 0, 0, 0, NULL, FID_REFLECT_NONE, "Small letters, digits and '_'"},
    {"strokes", FID_TYPE_STROKES, FID_FIELD_REQUIRED, AT(strokes), "m", 0, 0, 0, NULL, FID_REFLECT_POINT,
     "Lines through points in the bone's own space, open or closed"},
};

const fid_schema fid_outline_schema = {"outline", "A curve drawn for a control", sizeof(fid_outline_def),
                                       outline_fields, sizeof outline_fields / sizeof outline_fields[0]};

fid_outline_def fid_outline_default(void) {
    fid_outline_def def;
    fid_schema_defaults(&fid_outline_schema, &def);
    return def;
}

const char *const fid_shape_names[] = {"circle", "square", "box", "arrow", NULL};

enum { CIRCLE_POINTS = 24 };

static const fid_vec3 square_points[] = {{-0.5f, 0, -0.5f}, {-0.5f, 0, 0.5f}, {0.5f, 0, 0.5f}, {0.5f, 0, -0.5f}};

/// Points along +Z, as long as wide heads allow to see: shaft and head.
static const fid_vec3 arrow_points[] = {{-0.1f, 0, -0.5f}, {-0.1f, 0, 0.1f}, {-0.3f, 0, 0.1f}, {0, 0, 0.5f},
                                        {0.3f, 0, 0.1f},   {0.1f, 0, 0.1f},  {0.1f, 0, -0.5f}};

/// The twelve edges of a box in six lines: bottom, top, four posts.
static const fid_vec3 box_points[] = {
    {-0.5f, -0.5f, -0.5f}, {-0.5f, -0.5f, 0.5f}, {0.5f, -0.5f, 0.5f},  {0.5f, -0.5f, -0.5f},
    {-0.5f, 0.5f, -0.5f},  {-0.5f, 0.5f, 0.5f},  {0.5f, 0.5f, 0.5f},   {0.5f, 0.5f, -0.5f},
    {-0.5f, -0.5f, -0.5f}, {-0.5f, 0.5f, -0.5f}, {-0.5f, -0.5f, 0.5f}, {-0.5f, 0.5f, 0.5f},
    {0.5f, -0.5f, 0.5f},   {0.5f, 0.5f, 0.5f},   {0.5f, -0.5f, -0.5f}, {0.5f, 0.5f, -0.5f}};

static const fid_stroke square_strokes[] = {{true, square_points, 4}};
static const fid_stroke arrow_strokes[] = {{true, arrow_points, 7}};
static const fid_stroke box_strokes[] = {{true, box_points, 4},       {true, box_points + 4, 4},
                                         {false, box_points + 8, 2},  {false, box_points + 10, 2},
                                         {false, box_points + 12, 2}, {false, box_points + 14, 2}};

fid_code fid_shape_strokes(fid_shape shape, float size, fid_arena *arena, fid_strokes *out, fid_error *err) {
    fid_vec3 circle[CIRCLE_POINTS];
    const fid_stroke circle_stroke = {true, circle, CIRCLE_POINTS};
    fid_strokes unit = {&circle_stroke, 1};
    switch (shape) {
    case FID_SQUARE:
        unit = (fid_strokes){square_strokes, 1};
        break;
    case FID_BOX:
        unit = (fid_strokes){box_strokes, 6};
        break;
    case FID_ARROW:
        unit = (fid_strokes){arrow_strokes, 1};
        break;
    case FID_CIRCLE:
        for (int i = 0; i < CIRCLE_POINTS; i++) {
            double sine, cosine;
            fid_sincos(2.0 * FID_PI * i / CIRCLE_POINTS, &sine, &cosine);
            // The quarters lie on the axes exactly: what rounding leaves of a zero would be written out.
            sine = fabs(sine) < 1e-12 ? 0 : sine;
            cosine = fabs(cosine) < 1e-12 ? 0 : cosine;
            circle[i] = (fid_vec3){(float)(0.5 * sine), 0.0f, (float)(0.5 * cosine)};
        }
        break;
    }
    fid_outline_def copy = {NULL, unit};
    fid_code code = fid_schema_copy(&fid_outline_schema, &copy, arena, err);
    if (code != FID_OK) {
        return code;
    }
    for (int32_t i = 0; i < copy.strokes.count; i++) {
        // The copy is the caller's alone, so its points may be sized in place.
        fid_vec3 *points = (fid_vec3 *)copy.strokes.at[i].points;
        for (int32_t k = 0; k < copy.strokes.at[i].count; k++) {
            points[k] = fid_vec3_scale(points[k], size);
        }
    }
    *out = copy.strokes;
    return FID_OK;
}
