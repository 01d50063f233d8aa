#include "rig/member.h"

#include "rig/constraint.h"

#include <string.h>

/// The negative, without -0: what is written must not depend on the side.
static float negate(float value) { return 0.0f - value; }

static fid_vec3 reflect_point(fid_vec3 v) { return (fid_vec3){negate(v.x), v.y, v.z}; }
static fid_vec3 reflect_axial(fid_vec3 v) { return (fid_vec3){v.x, negate(v.y), negate(v.z)}; }

static fid_frame reflect_frame(fid_frame f) {
    return (fid_frame){reflect_point(f.t), {f.q.x, negate(f.q.y), negate(f.q.z), f.q.w}, f.s};
}

/// Turns the range of one axis round: lo to hi becomes -hi to -lo.
static void reflect_range(fid_axis_range *range, int axis) {
    float lo = range->lo[axis];
    range->lo[axis] = negate(range->hi[axis]);
    range->hi[axis] = negate(lo);
}

static bool reflect_spaces(fid_space_list *spaces, fid_arena *arena) {
    if (spaces->count == 0) {
        return true;
    }
    fid_space *copy = fid_arena_get(arena, (size_t)spaces->count * sizeof *copy);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < spaces->count; i++) {
        copy[i] = spaces->at[i];
        copy[i].frame = reflect_frame(copy[i].frame);
    }
    spaces->at = copy;
    return true;
}

static bool reflect_poses(fid_pose_table *table, fid_arena *arena) {
    fid_layer_pose *copy = fid_arena_get(arena, (size_t)table->count * sizeof *copy);
    for (int32_t i = 0; copy != NULL && i < table->count; i++) {
        copy[i] = table->at[i];
        fid_layer_entry *entries = fid_arena_get(arena, (size_t)copy[i].count * sizeof *entries);
        if (entries == NULL) {
            return false;
        }
        for (int32_t j = 0; j < copy[i].count; j++) {
            entries[j] = (fid_layer_entry){copy[i].entries[j].bone, reflect_frame(copy[i].entries[j].delta)};
        }
        copy[i].entries = entries;
    }
    table->at = copy;
    return copy != NULL;
}

static bool reflect_strokes(fid_strokes *strokes, fid_arena *arena) {
    if (strokes->count == 0) {
        return true;
    }
    fid_stroke *copy = fid_arena_get(arena, (size_t)strokes->count * sizeof *copy);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < strokes->count; i++) {
        copy[i] = strokes->at[i];
        fid_vec3 *points = fid_arena_get(arena, (size_t)copy[i].count * sizeof *points);
        if (points == NULL) {
            return false;
        }
        for (int32_t k = 0; k < copy[i].count; k++) {
            points[k] = reflect_point(copy[i].points[k]);
        }
        copy[i].points = points;
    }
    strokes->at = copy;
    return true;
}

/// {lo, hi} becomes {-hi, -lo}.
static bool reflect_numbers(fid_numbers *numbers, fid_arena *arena) {
    if (numbers->count == 0) {
        return true;
    }
    float *copy = fid_arena_get(arena, (size_t)numbers->count * sizeof *copy);
    for (int32_t i = 0; copy != NULL && i < numbers->count; i++) {
        copy[i] = negate(numbers->at[numbers->count - 1 - i]);
    }
    numbers->at = copy;
    return copy != NULL;
}

static void reflect_axis(int32_t *axis) {
    *axis = *axis == FID_AIM_PLUS_X ? FID_AIM_MINUS_X : *axis == FID_AIM_MINUS_X ? FID_AIM_PLUS_X : *axis;
}

static bool reflect_factors(fid_factors *factors, fid_arena *arena) {
    if (factors->count == 0) {
        return true;
    }
    fid_factor *copy = fid_arena_get(arena, (size_t)factors->count * sizeof *copy);
    for (int32_t i = 0; copy != NULL && i < factors->count; i++) {
        copy[i] = factors->at[i];
        if (copy[i].kind == FID_FACTOR_ANGLE) {
            reflect_axis(&copy[i].axis_a);
            reflect_axis(&copy[i].axis_b);
        }
    }
    factors->at = copy;
    return copy != NULL;
}

static void reflect_vector(const fid_field *field, void *at, fid_vec3 (*reflect)(fid_vec3)) {
    if (field->type == FID_TYPE_VECTOR) {
        *(fid_vec3 *)at = reflect(*(const fid_vec3 *)at);
    } else if (field->type == FID_TYPE_MAYBE_VECTOR && ((const fid_maybe_vector *)at)->given) {
        ((fid_maybe_vector *)at)->vector = reflect(((const fid_maybe_vector *)at)->vector);
    }
}

static bool reflect_field(const fid_field *field, void *record, fid_arena *arena) {
    void *at = fid_member(field, record);
    switch (field->reflect) {
    case FID_REFLECT_NONE:
        break;
    case FID_REFLECT_POINT:
        if (field->type == FID_TYPE_STROKES) {
            return reflect_strokes(at, arena);
        }
        reflect_vector(field, at, reflect_point);
        break;
    case FID_REFLECT_AXIAL:
        reflect_vector(field, at, reflect_axial);
        break;
    case FID_REFLECT_FRAME:
        if (field->type == FID_TYPE_SPACES) {
            return reflect_spaces(at, arena);
        }
        if (field->type == FID_TYPE_POSES) {
            return reflect_poses(at, arena);
        }
        *(fid_frame *)at = reflect_frame(*(const fid_frame *)at);
        break;
    case FID_REFLECT_TRANSLATION:
        reflect_range(at, 0);
        break;
    case FID_REFLECT_ROTATION:
        reflect_range(at, 1);
        reflect_range(at, 2);
        break;
    case FID_REFLECT_SIGN:
        if (field->type == FID_TYPE_NUMBERS) {
            return reflect_numbers(at, arena);
        }
        *(float *)at = negate(*(const float *)at);
        break;
    case FID_REFLECT_AIM_AXIS:
        if (field->type == FID_TYPE_FACTORS) {
            return reflect_factors(at, arena);
        }
        reflect_axis(at);
        break;
    }
    return true;
}

fid_code fid_schema_mirror(const fid_schema *schema, void *record, fid_arena *arena, fid_error *err) {
    for (int32_t i = 0; i < schema->count; i++) {
        if (!reflect_field(&schema->fields[i], record, arena)) {
            return fid_no_memory(err);
        }
    }
    return FID_OK;
}
