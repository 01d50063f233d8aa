#include "rig/member.h"

#include "base/number.h"
#include "math/scalar.h"
#include "rig/constraint.h"
#include "rig/rig.h"

#include <stdio.h>
#include <string.h>

enum { LARGEST_LIST = 100000, MOST_SPACES = 256, MOST_FACTORS = 64 };

/// What a check works on.
typedef struct checking {
    const fid_field *field;
    const fid_rig *rig; ///< NULL: nothing is alive
    fid_error *err;
} checking;

/// "at least 0", "above 0 and at most 100", "0 to 1 deg".
static void describe_range(const fid_field *field, char out[128]) {
    char min[FID_NUMBER_SIZE], max[FID_NUMBER_SIZE];
    bool above = (field->flags & FID_FIELD_ABOVE_MIN) != 0;
    bool low = field->min > -FID_UNLIMITED, high = field->max < FID_UNLIMITED;
    fid_number_write(min, field->min);
    fid_number_write(max, field->max);
    const char *space = field->unit[0] != '\0' ? " " : "";
    if (!low && !high) {
        snprintf(out, 128, "finite");
    } else if (!low) {
        snprintf(out, 128, "at most %s%s%s", max, space, field->unit);
    } else if (!high) {
        snprintf(out, 128, "%s %s%s%s", above ? "above" : "at least", min, space, field->unit);
    } else if (above) {
        snprintf(out, 128, "above %s and at most %s%s%s", min, max, space, field->unit);
    } else {
        snprintf(out, 128, "%s to %s%s%s", min, max, space, field->unit);
    }
}

static fid_code check_number(const checking *c, float value) {
    const fid_field *field = c->field;
    bool finite = fid_is_finite(value);
    bool above = (field->flags & FID_FIELD_ABOVE_MIN) != 0;
    if (finite && value >= field->min && value <= field->max && !(above && value == field->min)) {
        return FID_OK;
    }
    char range[128], text[FID_NUMBER_SIZE];
    describe_range(field, range);
    fid_number_write(text, value);
    return fid_fail(c->err, FID_RANGE, "'%s' is %s, but must be %s", field->key, finite ? text : "not finite", range);
}

static fid_code check_share(const checking *c, const char *what, float value) {
    if (fid_is_finite(value) && value >= 0.0f && value <= 1.0f) {
        return FID_OK;
    }
    return fid_fail(c->err, FID_RANGE, "'%s': %s must be 0 to 1", c->field->key, what);
}

static fid_code gone(const checking *c, const char *kind) {
    return fid_fail(c->err, FID_STALE, "'%s': the %s is gone", c->field->key, kind);
}

static fid_code missing(const checking *c) { return fid_fail(c->err, FID_INVALID, "'%s' is missing", c->field->key); }

static bool is_required(const checking *c) { return (c->field->flags & FID_FIELD_REQUIRED) != 0; }

static fid_code check_bone(const checking *c, fid_bone_id bone, bool required) {
    if (fid_handle_is_null(bone.handle)) {
        return required ? missing(c) : FID_OK;
    }
    return c->rig != NULL && fid_rig_bone_index(c->rig, bone) >= 0 ? FID_OK : gone(c, "bone");
}

static fid_code check_handle(const checking *c, fid_handle handle, const fid_pool *pool, const char *kind) {
    if (fid_handle_is_null(handle)) {
        return is_required(c) ? missing(c) : FID_OK;
    }
    return pool != NULL && fid_pool_index(pool, handle) >= 0 ? FID_OK : gone(c, kind);
}

static fid_code check_channel(const checking *c, fid_channel channel, bool required) {
    if (channel.kind == FID_CHANNEL_NONE) {
        return required ? missing(c) : FID_OK;
    }
    return c->rig != NULL && fid_rig_has_channel(c->rig, channel) ? FID_OK : gone(c, "channel");
}

static fid_code check_spot(const checking *c, const fid_spot *spot) {
    fid_code code = check_bone(c, spot->bone, true);
    return code == FID_OK ? check_share(c, "the place along a bone", spot->along) : code;
}

static fid_code check_source(const checking *c, const fid_source *source, bool required) {
    fid_code code = FID_OK;
    switch (source->kind) {
    case FID_SOURCE_NONE:
        return required ? missing(c) : FID_OK;
    case FID_SOURCE_RIG:
    case FID_SOURCE_WORLD:
        return FID_OK;
    case FID_SOURCE_BONE:
        return check_bone(c, source->a.bone, true);
    case FID_SOURCE_POINT:
        return check_spot(c, &source->a);
    case FID_SOURCE_BETWEEN:
        code = check_spot(c, &source->a);
        if (code == FID_OK) {
            code = check_spot(c, &source->b);
        }
        return code == FID_OK ? check_share(c, "the place between two points", source->f) : code;
    }
    return fid_fail(c->err, FID_INVALID, "'%s' is no kind of source", c->field->key);
}

/// Refuses lists whose count makes no sense, and empty ones where something is required.
static fid_code check_count(const checking *c, const void *list, int32_t count, int32_t most) {
    if (count < 0 || (count > 0 && list == NULL)) {
        return fid_fail(c->err, FID_INVALID, "'%s' is no list", c->field->key);
    }
    if (count > most) {
        return fid_fail(c->err, FID_LIMIT, "'%s' has %d entries, but may have %d at most", c->field->key, (int)count,
                        (int)most);
    }
    return count == 0 && is_required(c)
               ? fid_fail(c->err, FID_INVALID, "'%s' is missing, or has no entries", c->field->key)
               : FID_OK;
}

static fid_code check_sources(const checking *c, const fid_sources *sources) {
    fid_code code = check_count(c, sources->at, sources->count, LARGEST_LIST);
    double sum = 0.0;
    for (int32_t i = 0; code == FID_OK && i < sources->count; i++) {
        const fid_share *share = &sources->at[i];
        code = check_source(c, &share->source, true);
        if (code == FID_OK) {
            code = check_channel(c, share->share.channel, false);
        }
        if (code == FID_OK) {
            code = check_share(c, "a share", share->share.value);
        }
        sum += share->share.channel.kind == FID_CHANNEL_NONE ? share->share.value : 0.0;
    }
    if (code == FID_OK && sum > 1.0 + 1e-6) {
        char text[FID_NUMBER_SIZE];
        fid_number_write_double(text, sum, 6);
        return fid_fail(c->err, FID_RANGE, "'%s': the shares add up to %s, but may add up to 1 at most", c->field->key,
                        text);
    }
    return code;
}

/// One end of an angle: what has axes.
static fid_code check_axis(const checking *c, const fid_source *source, int32_t axis) {
    if (source->kind == FID_SOURCE_POINT || source->kind == FID_SOURCE_BETWEEN) {
        return fid_fail(c->err, FID_INVALID,
                        "'%s': an angle is that of axes of bones, \"rig\" or \"world\", not points", c->field->key);
    }
    if (axis < FID_AIM_PLUS_X || axis > FID_AIM_MINUS_Z) {
        return fid_fail(c->err, FID_UNKNOWN, "'%s': an axis of an angle is none of its choices", c->field->key);
    }
    return check_source(c, source, true);
}

static fid_code check_factor(const checking *c, const fid_factor *factor) {
    fid_code code = FID_OK;
    switch (factor->kind) {
    case FID_FACTOR_CHANNEL:
        return check_channel(c, factor->channel, true);
    case FID_FACTOR_DISTANCE:
        code = check_source(c, &factor->a, true);
        return code == FID_OK ? check_source(c, &factor->b, true) : code;
    case FID_FACTOR_ANGLE:
        code = check_axis(c, &factor->a, factor->axis_a);
        return code == FID_OK ? check_axis(c, &factor->b, factor->axis_b) : code;
    case FID_FACTOR_TWIST:
        if (factor->a.kind != FID_SOURCE_BONE) {
            return fid_fail(c->err, FID_INVALID, "'%s': a twist is that of a bone", c->field->key);
        }
        return check_source(c, &factor->a, true);
    }
    return fid_fail(c->err, FID_INVALID, "'%s' has no such measure", c->field->key);
}

static fid_code check_factors(const checking *c, const fid_factors *factors) {
    fid_code code = check_count(c, factors->at, factors->count, MOST_FACTORS);
    for (int32_t i = 0; code == FID_OK && i < factors->count; i++) {
        code = check_factor(c, &factors->at[i]);
    }
    return code;
}

static bool is_unit(fid_quat q) {
    double square = (double)q.x * q.x + (double)q.y * q.y + (double)q.z * q.z + (double)q.w * q.w;
    return square > 0.9998 && square < 1.0002;
}

static fid_code check_frame(const checking *c, const fid_frame *frame) {
    if (!fid_frame_is_finite(*frame)) {
        return fid_fail(c->err, FID_RANGE, "'%s' is a frame that is not finite", c->field->key);
    }
    if (!is_unit(frame->q)) {
        return fid_fail(c->err, FID_RANGE, "'%s': the rotation must be a quaternion of length 1", c->field->key);
    }
    if (frame->s.x != 1.0f || frame->s.y != 1.0f || frame->s.z != 1.0f) {
        return fid_fail(c->err, FID_INVALID, "'%s': the frame must be without scale", c->field->key);
    }
    return FID_OK;
}

static fid_code check_spaces(const checking *c, const fid_space_list *spaces) {
    fid_code code = check_count(c, spaces->at, spaces->count, MOST_SPACES);
    for (int32_t i = 0; code == FID_OK && i < spaces->count; i++) {
        const fid_space *space = &spaces->at[i];
        if (!fid_name_is_key(space->name)) {
            return fid_fail(c->err, FID_INVALID, "'%s': entry %d needs a name of small letters, digits and '_'",
                            c->field->key, (int)i + 1);
        }
        for (int32_t k = 0; k < i; k++) {
            if (strcmp(spaces->at[k].name, space->name) == 0) {
                return fid_fail(c->err, FID_INVALID, "'%s' has the name '%s' twice", c->field->key, space->name);
            }
        }
        code = check_source(c, &space->source, true);
        code = code == FID_OK ? check_bone(c, space->meet, false) : code;
        code = code == FID_OK ? check_channel(c, space->by, false) : code;
        if (code == FID_OK && space->has_frame) {
            code = check_frame(c, &space->frame);
        }
    }
    return code;
}

static bool rests(const fid_frame *delta) {
    return delta->t.x == 0 && delta->t.y == 0 && delta->t.z == 0 && delta->q.x == 0 && delta->q.y == 0 &&
           delta->q.z == 0 && delta->s.x == 1 && delta->s.y == 1 && delta->s.z == 1;
}

static fid_code check_entry(const checking *c, const fid_layer_pose *pose, int32_t number, int32_t i) {
    const fid_layer_entry *entry = &pose->entries[i];
    const fid_vec3 t = entry->delta.t, s = entry->delta.s;
    float most = c->rig != NULL ? 1e4f * c->rig->height : FID_UNLIMITED;
    fid_code code = check_bone(c, entry->bone, true);
    if (code != FID_OK) {
        return code;
    }
    if (!fid_frame_is_finite(entry->delta) || !is_unit(entry->delta.q) || fid_vec3_length(t) > most) {
        return fid_fail(c->err, FID_RANGE, "'%s': pose %d has a translation or rotation out of range", c->field->key,
                        (int)number);
    }
    if (!(s.x >= 1e-3f && s.y >= 1e-3f && s.z >= 1e-3f && s.x <= 1e3f && s.y <= 1e3f && s.z <= 1e3f)) {
        return fid_fail(c->err, FID_RANGE, "'%s': pose %d has a scale outside 0.001 to 1000", c->field->key,
                        (int)number);
    }
    if (pose->at == 0 && !rests(&entry->delta)) {
        return fid_fail(c->err, FID_INVALID, "'%s': at 0 every bone must rest", c->field->key);
    }
    for (int32_t k = 0; k < i; k++) {
        if (pose->entries[k].bone.handle.slot == entry->bone.handle.slot) {
            return fid_fail(c->err, FID_INVALID, "'%s': pose %d has the same bone twice", c->field->key, (int)number);
        }
    }
    return FID_OK;
}

static fid_code check_poses(const checking *c, const fid_pose_table *table) {
    fid_code code = check_count(c, table->at, table->count, MOST_SPACES);
    for (int32_t i = 0; code == FID_OK && i < table->count; i++) {
        const fid_layer_pose *pose = &table->at[i];
        if (!fid_is_finite(pose->at) || (i > 0 && pose->at <= table->at[i - 1].at)) {
            return fid_fail(c->err, FID_RANGE, "'%s': the values 'at' must be finite and rise from pose to pose",
                            c->field->key);
        }
        if (pose->count < 0 || (pose->count > 0 && pose->entries == NULL)) {
            return fid_fail(c->err, FID_INVALID, "'%s': pose %d is no table of bones", c->field->key, (int)i + 1);
        }
        if (pose->count > MOST_SPACES) {
            return fid_fail(c->err, FID_LIMIT, "'%s': pose %d has more than %d bones", c->field->key, (int)i + 1,
                            (int)MOST_SPACES);
        }
        for (int32_t j = 0; code == FID_OK && j < pose->count; j++) {
            code = check_entry(c, pose, i + 1, j);
        }
    }
    return code;
}

static fid_code check_match_steps(const checking *c, const fid_match_steps *steps) {
    fid_code code = check_count(c, steps->at, steps->count, MOST_SPACES);
    for (int32_t i = 0; code == FID_OK && i < steps->count; i++) {
        fid_handle ik = steps->at[i].plane_of.handle;
        code = check_bone(c, steps->at[i].bone, false);
        code = code == FID_OK ? check_bone(c, steps->at[i].like, false) : code;
        if (code == FID_OK && !fid_handle_is_null(ik)) {
            code = c->rig != NULL && fid_pool_index(&c->rig->constraint_pool, ik) >= 0 ? FID_OK : gone(c, "constraint");
        }
    }
    return code;
}

static fid_code check_text(const checking *c, const char *text) {
    if (text == NULL) {
        return is_required(c) ? missing(c) : FID_OK;
    }
    return fid_text_is_utf8(text, strlen(text))
               ? FID_OK
               : fid_fail(c->err, FID_INVALID, "'%s' is not valid UTF-8", c->field->key);
}

static fid_code check_color(const checking *c, const char *color) {
    if (color == NULL) {
        return is_required(c) ? missing(c) : FID_OK;
    }
    if (color[0] == '#' && strspn(color + 1, "0123456789ABCDEF") == 6 && color[7] == '\0') {
        return FID_OK;
    }
    return fid_fail(c->err, FID_INVALID, "'%s' must be a color like \"#E69F00\", with capital letters", c->field->key);
}

static fid_code check_words(const checking *c, const fid_words *words) {
    fid_code code = check_count(c, words->at, words->count, LARGEST_LIST);
    for (int32_t i = 0; code == FID_OK && i < words->count; i++) {
        const char *word = words->at[i];
        if (word == NULL || word[0] == '\0' || !fid_text_is_utf8(word, strlen(word))) {
            return fid_fail(c->err, FID_INVALID, "'%s': entry %d is empty or not valid UTF-8", c->field->key,
                            (int)i + 1);
        }
    }
    return code;
}

static fid_code check_index(const checking *c, const int32_t *index) {
    if (index[0] < 0 || index[0] > 2) {
        return fid_fail(c->err, FID_INVALID, "'%s' must be one number or two", c->field->key);
    }
    for (int32_t i = 1; i <= index[0]; i++) {
        if (index[i] < 0 || index[i] > 9999) {
            return fid_fail(c->err, FID_RANGE, "'%s' is %d, but must be 0 to 9999", c->field->key, (int)index[i]);
        }
    }
    return index[0] == 0 && is_required(c) ? missing(c) : FID_OK;
}

static fid_code check_vector(const checking *c, bool given, fid_vec3 vector) {
    if (!given) {
        return is_required(c) ? missing(c) : FID_OK;
    }
    return fid_vec3_is_finite(vector) ? FID_OK : fid_fail(c->err, FID_RANGE, "'%s' is not finite", c->field->key);
}

static fid_code check_takes(const checking *c, uint32_t mask) {
    static const uint32_t groups[3] = {FID_MASK_TRANSLATION, FID_MASK_ROTATION, FID_MASK_SCALE};
    for (int i = 0; i < 3; i++) {
        if ((mask & groups[i]) != 0 && (mask & groups[i]) != groups[i]) {
            return fid_fail(c->err, FID_INVALID, "'%s' must name whole groups: translation, rotation, scale",
                            c->field->key);
        }
    }
    return FID_OK;
}

static fid_code check_axes(const checking *c, uint32_t mask) {
    if ((mask & ~(uint32_t)FID_MASK_ALL) != 0) {
        return fid_fail(c->err, FID_INVALID, "'%s' names an axis that does not exist", c->field->key);
    }
    if (mask == 0 && is_required(c)) {
        return fid_fail(c->err, FID_INVALID, "'%s' names no axis", c->field->key);
    }
    return c->field->type == FID_TYPE_TAKES ? check_takes(c, mask) : FID_OK;
}

static fid_code check_axis_range(const checking *c, const fid_axis_range *range) {
    for (int i = 0; i < 3; i++) {
        if (!fid_is_finite(range->lo[i]) || !fid_is_finite(range->hi[i]) || range->lo[i] > range->hi[i] ||
            range->lo[i] == FID_UNLIMITED || range->hi[i] == -FID_UNLIMITED) {
            return fid_fail(c->err, FID_RANGE, "'%s': the range of %c must be two numbers, the smaller one first",
                            c->field->key, "xyz"[i]);
        }
    }
    return FID_OK;
}

static fid_code check_curve(const checking *c, const fid_curve *curve) {
    fid_code code = check_count(c, curve->x, curve->count, LARGEST_LIST);
    if (code == FID_OK) {
        code = check_count(c, curve->y, curve->count, LARGEST_LIST);
    }
    if (code == FID_OK && curve->interpolation == FID_POWER) {
        bool good = curve->power > 0.0f && curve->power <= 100.0f && (curve->sign == 1.0f || curve->sign == -1.0f);
        return good ? FID_OK
                    : fid_fail(c->err, FID_RANGE, "'%s': a power must be above 0 and at most 100, its sign 1 or -1",
                               c->field->key);
    }
    if (code != FID_OK || curve->count == 0) {
        return code;
    }
    if ((unsigned)curve->interpolation > FID_SMOOTH) {
        return fid_fail(c->err, FID_INVALID, "'%s': the interpolation must be linear or smooth", c->field->key);
    }
    if (curve->count < 2) {
        return fid_fail(c->err, FID_INVALID, "'%s' needs two points or more", c->field->key);
    }
    for (int32_t i = 0; i < curve->count; i++) {
        if (!fid_is_finite(curve->x[i]) || !fid_is_finite(curve->y[i])) {
            return fid_fail(c->err, FID_RANGE, "'%s': point %d is not finite", c->field->key, (int)i + 1);
        }
        if (i > 0 && !(curve->x[i] > curve->x[i - 1])) {
            return fid_fail(c->err, FID_INVALID, "'%s': x must rise from point to point, but does not at point %d",
                            c->field->key, (int)i + 1);
        }
    }
    return FID_OK;
}

static fid_code check_strokes(const checking *c, const fid_strokes *strokes) {
    fid_code code = check_count(c, strokes->at, strokes->count, LARGEST_LIST);
    for (int32_t i = 0; code == FID_OK && i < strokes->count; i++) {
        const fid_stroke *stroke = &strokes->at[i];
        code = check_count(c, stroke->points, stroke->count, LARGEST_LIST);
        if (code == FID_OK && stroke->count < 2) {
            return fid_fail(c->err, FID_INVALID, "'%s': line %d needs two points or more", c->field->key, (int)i + 1);
        }
        for (int32_t k = 0; code == FID_OK && k < stroke->count; k++) {
            if (!fid_vec3_is_finite(stroke->points[k])) {
                return fid_fail(c->err, FID_RANGE, "'%s': point %d of line %d is not finite", c->field->key, (int)k + 1,
                                (int)i + 1);
            }
        }
    }
    return code;
}

static fid_code check_choice(const checking *c, int32_t choice) {
    int32_t count = 0;
    while (c->field->choices[count] != NULL) {
        count++;
    }
    return choice >= 0 && choice < count ? FID_OK
                                         : fid_fail(c->err, FID_UNKNOWN, "'%s' is none of its choices", c->field->key);
}

static fid_code check_numbers(const checking *c, const fid_numbers *numbers) {
    fid_code code = check_count(c, numbers->at, numbers->count, LARGEST_LIST);
    for (int32_t i = 0; code == FID_OK && i < numbers->count; i++) {
        code = check_number(c, numbers->at[i]);
    }
    return code;
}

static fid_code check_bounds(const checking *c, const fid_bounds *bounds) {
    fid_code code = check_count(c, bounds->at, bounds->count, LARGEST_LIST);
    for (int32_t i = 0; code == FID_OK && i < bounds->count; i++) {
        code = check_number(c, bounds->at[i][0]);
        code = code == FID_OK ? check_number(c, bounds->at[i][1]) : code;
        if (code == FID_OK && bounds->at[i][0] > bounds->at[i][1]) {
            code = fid_fail(c->err, FID_RANGE, "'%s': pair %d must have the smaller number first", c->field->key,
                            (int)i + 1);
        }
    }
    return code;
}

static fid_code check_amount(const checking *c, const fid_amount *amount) {
    fid_code code = check_channel(c, amount->channel, false);
    return code == FID_OK ? check_number(c, amount->value) : code;
}

static fid_code check_bones(const checking *c, const fid_bones *bones) {
    fid_code code = check_count(c, bones->at, bones->count, LARGEST_LIST);
    for (int32_t i = 0; code == FID_OK && i < bones->count; i++) {
        code = check_bone(c, bones->at[i], true);
    }
    return code;
}

static fid_code check_field(const checking *c, const void *record) {
    const void *at = fid_member_of(c->field, record);
    switch (c->field->type) {
    case FID_TYPE_BOOLEAN:
        return FID_OK;
    case FID_TYPE_NUMBER:
        return check_number(c, *(const float *)at);
    case FID_TYPE_CHOICE:
        return check_choice(c, *(const int32_t *)at);
    case FID_TYPE_TEXT:
        return check_text(c, *(const char *const *)at);
    case FID_TYPE_COLOR:
        return check_color(c, *(const char *const *)at);
    case FID_TYPE_WORDS:
        return check_words(c, at);
    case FID_TYPE_INDEX:
        return check_index(c, at);
    case FID_TYPE_VECTOR:
        return check_vector(c, true, *(const fid_vec3 *)at);
    case FID_TYPE_MAYBE_VECTOR:
        return check_vector(c, ((const fid_maybe_vector *)at)->given, ((const fid_maybe_vector *)at)->vector);
    case FID_TYPE_FRAME:
        return check_frame(c, at);
    case FID_TYPE_BONE:
        return check_bone(c, *(const fid_bone_id *)at, is_required(c));
    case FID_TYPE_BONES:
        return check_bones(c, at);
    case FID_TYPE_CHAIN:
        return check_handle(c, ((const fid_chain_id *)at)->handle, c->rig != NULL ? &c->rig->chain_pool : NULL,
                            "chain");
    case FID_TYPE_SET:
        return check_handle(c, ((const fid_set_id *)at)->handle, c->rig != NULL ? &c->rig->set_pool : NULL,
                            "display set");
    case FID_TYPE_OUTLINE:
        return check_handle(c, ((const fid_outline_id *)at)->handle, c->rig != NULL ? &c->rig->outline_pool : NULL,
                            "outline");
    case FID_TYPE_CHANNEL:
        return check_channel(c, *(const fid_channel *)at, is_required(c));
    case FID_TYPE_AMOUNT:
        return check_amount(c, at);
    case FID_TYPE_SOURCE:
        return check_source(c, at, is_required(c));
    case FID_TYPE_SOURCES:
        return check_sources(c, at);
    case FID_TYPE_FACTORS:
        return check_factors(c, at);
    case FID_TYPE_SPACES:
        return check_spaces(c, at);
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
        return check_axes(c, *(const uint32_t *)at);
    case FID_TYPE_AXIS_RANGE:
        return check_axis_range(c, at);
    case FID_TYPE_NUMBERS:
        return check_numbers(c, at);
    case FID_TYPE_BOUNDS:
        return check_bounds(c, at);
    case FID_TYPE_POSES:
        return check_poses(c, at);
    case FID_TYPE_STEPS:
        return check_match_steps(c, at);
    case FID_TYPE_CURVE:
        return check_curve(c, at);
    case FID_TYPE_STROKES:
        return check_strokes(c, at);
    }
    return FID_OK;
}

fid_code fid_schema_check(const fid_schema *schema, const void *record, const fid_rig *rig, fid_error *err) {
    for (int32_t i = 0; i < schema->count; i++) {
        const checking c = {&schema->fields[i], rig, err};
        fid_code code = check_field(&c, record);
        if (code != FID_OK) {
            fid_error_about(err, schema->fields[i].key);
            return code;
        }
    }
    return FID_OK;
}
