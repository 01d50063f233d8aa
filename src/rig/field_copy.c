#include "rig/member.h"

#include <string.h>

/// Copies a text and points there; false if there is no memory.
static bool copy_text(const char **text, fid_arena *arena) {
    if (*text != NULL) {
        *text = fid_arena_copy(arena, *text, strlen(*text));
        return *text != NULL;
    }
    return true;
}

/// A copy of `count` elements of `size` bytes each, or NULL.
static void *copy_list(const void *list, int32_t count, size_t size, fid_arena *arena) {
    void *copy = fid_arena_get(arena, (size_t)count * size);
    if (copy != NULL && count > 0) {
        memcpy(copy, list, (size_t)count * size);
    }
    return copy;
}

static bool copy_words(fid_words *words, fid_arena *arena) {
    const char **copy = copy_list(words->at, words->count, sizeof *copy, arena);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < words->count; i++) {
        if (!copy_text(&copy[i], arena)) {
            return false;
        }
    }
    words->at = copy;
    return true;
}

static bool copy_spaces(fid_space_list *spaces, fid_arena *arena) {
    fid_space *copy = copy_list(spaces->at, spaces->count, sizeof *copy, arena);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < spaces->count; i++) {
        if (!copy_text(&copy[i].name, arena)) {
            return false;
        }
    }
    spaces->at = copy;
    return true;
}

static bool copy_poses(fid_pose_table *table, fid_arena *arena) {
    fid_layer_pose *copy = copy_list(table->at, table->count, sizeof *copy, arena);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < table->count; i++) {
        copy[i].entries = copy_list(copy[i].entries, copy[i].count, sizeof *copy[i].entries, arena);
        if (copy[i].entries == NULL) {
            return false;
        }
    }
    table->at = copy;
    return true;
}

static bool copy_strokes(fid_strokes *strokes, fid_arena *arena) {
    fid_stroke *copy = copy_list(strokes->at, strokes->count, sizeof *copy, arena);
    if (copy == NULL) {
        return false;
    }
    for (int32_t i = 0; i < strokes->count; i++) {
        copy[i].points = copy_list(copy[i].points, copy[i].count, sizeof *copy[i].points, arena);
        if (copy[i].points == NULL) {
            return false;
        }
    }
    strokes->at = copy;
    return true;
}

static bool copy_curve(fid_curve *curve, fid_arena *arena) {
    if (curve->count == 0) {
        return true;
    }
    curve->x = copy_list(curve->x, curve->count, sizeof *curve->x, arena);
    curve->y = copy_list(curve->y, curve->count, sizeof *curve->y, arena);
    return curve->x != NULL && curve->y != NULL;
}

static bool copy_field(const fid_field *field, void *record, fid_arena *arena) {
    void *at = fid_member(field, record);
    switch (field->type) {
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
        return copy_text(at, arena);
    case FID_TYPE_WORDS:
        return ((fid_words *)at)->count == 0 || copy_words(at, arena);
    case FID_TYPE_SPACES:
        return ((fid_space_list *)at)->count == 0 || copy_spaces(at, arena);
    case FID_TYPE_STROKES:
        return ((fid_strokes *)at)->count == 0 || copy_strokes(at, arena);
    case FID_TYPE_CURVE:
        return copy_curve(at, arena);
    case FID_TYPE_SOURCES: {
        fid_sources *sources = at;
        if (sources->count > 0) {
            sources->at = copy_list(sources->at, sources->count, sizeof *sources->at, arena);
        }
        return sources->count == 0 || sources->at != NULL;
    }
    case FID_TYPE_BONES: {
        fid_bones *bones = at;
        if (bones->count > 0) {
            bones->at = copy_list(bones->at, bones->count, sizeof *bones->at, arena);
        }
        return bones->count == 0 || bones->at != NULL;
    }
    case FID_TYPE_FACTORS: {
        fid_factors *factors = at;
        if (factors->count > 0) {
            factors->at = copy_list(factors->at, factors->count, sizeof *factors->at, arena);
        }
        return factors->count == 0 || factors->at != NULL;
    }
    case FID_TYPE_NUMBERS: {
        fid_numbers *numbers = at;
        if (numbers->count > 0) {
            numbers->at = copy_list(numbers->at, numbers->count, sizeof *numbers->at, arena);
        }
        return numbers->count == 0 || numbers->at != NULL;
    }
    case FID_TYPE_BOUNDS: {
        fid_bounds *bounds = at;
        if (bounds->count > 0) {
            bounds->at = copy_list(bounds->at, bounds->count, sizeof *bounds->at, arena);
        }
        return bounds->count == 0 || bounds->at != NULL;
    }
    case FID_TYPE_POSES:
        return copy_poses(at, arena);
    case FID_TYPE_STEPS: {
        fid_match_steps *steps = at;
        steps->at = copy_list(steps->at, steps->count, sizeof *steps->at, arena);
        return steps->at != NULL;
    }
    case FID_TYPE_BOOLEAN:
    case FID_TYPE_NUMBER:
    case FID_TYPE_CHOICE:
    case FID_TYPE_INDEX:
    case FID_TYPE_VECTOR:
    case FID_TYPE_MAYBE_VECTOR:
    case FID_TYPE_FRAME:
    case FID_TYPE_BONE:
    case FID_TYPE_CHAIN:
    case FID_TYPE_SET:
    case FID_TYPE_OUTLINE:
    case FID_TYPE_CHANNEL:
    case FID_TYPE_AMOUNT:
    case FID_TYPE_SOURCE:
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
    case FID_TYPE_AXIS_RANGE:
        break;
    }
    return true;
}

fid_code fid_schema_copy(const fid_schema *schema, void *record, fid_arena *arena, fid_error *err) {
    for (int32_t i = 0; i < schema->count; i++) {
        if (!copy_field(&schema->fields[i], record, arena)) {
            return fid_no_memory(err);
        }
    }
    return FID_OK;
}
