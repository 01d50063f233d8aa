#include "format/field_read_inside.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

enum { MOST_KEYS = 64 };

void *fid_format_get_list(fid_json_reader *reader, int32_t count, size_t size) {
    void *list = fid_arena_get(&reader->arena, (size_t)count * size);
    if (list == NULL) {
        (void)fid_json_no_memory(reader);
    }
    return list;
}

fid_code fid_format_read_bone(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig, bool may_be_null,
                              fid_bone_id *out) {
    *out = (fid_bone_id){0};
    if (may_be_null && fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    const char *name;
    fid_code code = fid_json_read_text(reader, node, &name);
    if (code != FID_OK) {
        return code;
    }
    *out = fid_rig_find_bone(rig, name);
    if (fid_handle_is_null(out->handle)) {
        fid_error err;
        code = fid_rig_no_bone(rig, name, &err);
        (void)fid_json_fail_with(reader, node, "S201", &err);
    }
    return code;
}

static fid_code read_vector(fid_json_reader *reader, const fid_json_node *node, fid_vec3 *out) {
    float values[3];
    fid_code code = fid_json_read_numbers(reader, node, 3, values);
    if (code == FID_OK) {
        *out = (fid_vec3){values[0], values[1], values[2]};
    }
    return code;
}

fid_code fid_format_read_frame(fid_json_reader *reader, const fid_json_node *node, fid_frame *out) {
    static const char *const keys[] = {"translation", "rotation"};
    const fid_json_node *members[2];
    float q[4];
    fid_frame frame = FID_FRAME_IDENTITY;
    fid_code code = fid_json_members(reader, node, keys, 2, 0, members);
    code = code == FID_OK ? read_vector(reader, members[0], &frame.t) : code;
    code = code == FID_OK ? fid_json_read_numbers(reader, members[1], 4, q) : code;
    if (code != FID_OK) {
        return code;
    }
    double length = sqrt((double)q[0] * q[0] + (double)q[1] * q[1] + (double)q[2] * q[2] + (double)q[3] * q[3]);
    if (!(fabs(length - 1.0) <= 1e-4)) {
        return fid_json_fail(reader, members[1], FID_RANGE, "", "the quaternion must have the length 1");
    }
    frame.q = fid_quat_canonical((fid_quat){q[0], q[1], q[2], q[3]});
    *out = frame;
    return FID_OK;
}

fid_code fid_format_read_channel(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                                 fid_channel *out) {
    const char *name;
    fid_error err;
    fid_code code = fid_json_read_text(reader, node, &name);
    if (code != FID_OK) {
        return code;
    }
    code = fid_rig_find_channel(rig, name, out, &err);
    if (code != FID_OK) {
        (void)fid_json_fail_with(reader, node, "S201", &err);
    }
    return code;
}

fid_code fid_format_read_bound(fid_json_reader *reader, const fid_json_node *node, float open, float *out) {
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        *out = open;
        return FID_OK;
    }
    return fid_json_read_number(reader, node, out);
}

static fid_code read_bones(fid_field_context *c, const fid_json_node *node, fid_bones *out) {
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(fid_bone_id), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    fid_bone_id *bone = list;
    out->at = bone;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        code = fid_format_read_bone(c->reader, item, c->rig, false, bone++);
    }
    return code;
}

static fid_code read_chain(fid_field_context *c, const fid_json_node *node, const fid_json_node *end,
                           fid_chain_id *out) {
    fid_bones bones;
    bool with_end;
    fid_code code = read_bones(c, node, &bones);
    code = code == FID_OK ? fid_json_read_boolean(c->reader, end, &with_end) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    code = fid_rig_bind_chain(c->rig, bones.at, bones.count, with_end, c->origin, out, &err);
    if (code != FID_OK) {
        (void)fid_json_fail_with(c->reader, node, "", &err);
    }
    return code;
}

static fid_code read_words(fid_field_context *c, const fid_json_node *node, fid_words *out) {
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(const char *), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    const char **word = list;
    out->at = list;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        code = fid_json_read_text(c->reader, item, word++);
    }
    return code;
}

static fid_code read_axes(fid_field_context *c, const fid_json_node *node, bool groups_only, uint32_t *out) {
    static const char *const words[] = {"translation",   "rotation",   "scale",      "translation.x", "translation.y",
                                        "translation.z", "rotation.x", "rotation.y", "rotation.z",    "scale.x",
                                        "scale.y",       "scale.z",    NULL};
    static const char *const groups[] = {"translation", "rotation", "scale", NULL};
    uint32_t axes = 0;
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    for (const fid_json_node *item = fid_json_first(node); item != NULL; item = fid_json_next(item)) {
        int32_t word;
        code = fid_json_read_choice(c->reader, item, groups_only ? groups : words, &word);
        if (code != FID_OK) {
            return code;
        }
        uint32_t more = word < 3 ? 7u << (3 * word) : 1u << (word - 3);
        if ((axes & more) != 0) {
            return fid_json_fail(c->reader, item, FID_INVALID, "", "'%s' stands here twice", words[word]);
        }
        axes |= more;
    }
    *out = axes;
    return FID_OK;
}

static fid_code read_axis_bounds(fid_field_context *c, const fid_json_node *node, float *lo, float *hi) {
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(node) != 2) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "must be a list of two bounds");
    }
    const fid_json_node *first = fid_json_first(node);
    code = fid_format_read_bound(c->reader, first, -FID_UNLIMITED, lo);
    return code == FID_OK ? fid_format_read_bound(c->reader, fid_json_next(first), FID_UNLIMITED, hi) : code;
}

static fid_code read_axis_range(fid_field_context *c, const fid_json_node *node, fid_axis_range *out) {
    static const char *const keys[] = {"x", "y", "z"};
    const fid_json_node *members[3];
    for (int i = 0; i < 3; i++) {
        out->lo[i] = -FID_UNLIMITED;
        out->hi[i] = FID_UNLIMITED;
    }
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    fid_code code = fid_json_members(c->reader, node, keys, 3, 0, members);
    for (int i = 0; i < 3 && code == FID_OK; i++) {
        code = read_axis_bounds(c, members[i], &out->lo[i], &out->hi[i]);
    }
    return code;
}

static fid_code read_number_list(fid_field_context *c, const fid_json_node *node, fid_numbers *out) {
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(float), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    float *number = list;
    out->at = list;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        code = fid_json_read_number(c->reader, item, number++);
    }
    return code;
}

static fid_code read_bounds(fid_field_context *c, const fid_json_node *node, fid_bounds *out) {
    void *list;
    *out = (fid_bounds){NULL, 0};
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    fid_code code = fid_field_begin_list(c, node, 2 * sizeof(float), &list, &out->count);
    float(*pair)[2] = list;
    out->at = list;
    for (const fid_json_node *item = fid_json_first(node); code == FID_OK && item != NULL; item = fid_json_next(item)) {
        code = fid_json_read_numbers(c->reader, item, 2, *pair++);
    }
    return code;
}

static fid_code read_layer_pose(fid_field_context *c, const fid_json_node *node, fid_layer_pose *out) {
    static const char *const keys[] = {"at", "pose"}, *const parts[] = {"bone", "translation", "rotation", "scale"};
    const fid_json_node *members[4];
    void *list = NULL;
    fid_code code = fid_json_members(c->reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_json_read_number(c->reader, members[0], &out->at) : code;
    const fid_json_node *pose = code == FID_OK ? members[1] : NULL;
    code = code == FID_OK ? fid_field_begin_list(c, pose, sizeof(fid_layer_entry), &list, &out->count) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_layer_entry *entry = list;
    out->entries = entry;
    for (const fid_json_node *item = fid_json_first(pose); code == FID_OK && item != NULL;
         item = fid_json_next(item), entry++) {
        float q[4] = {0, 0, 0, 1};
        entry->delta = FID_FRAME_IDENTITY;
        code = fid_json_members(c->reader, item, parts, 4, 0, members);
        code = code == FID_OK ? fid_format_read_bone(c->reader, members[0], c->rig, false, &entry->bone) : code;
        code = code == FID_OK ? read_vector(c->reader, members[1], &entry->delta.t) : code;
        code = code == FID_OK ? fid_json_read_numbers(c->reader, members[2], 4, q) : code;
        code = code == FID_OK ? read_vector(c->reader, members[3], &entry->delta.s) : code;
        entry->delta.q = fid_quat_canonical((fid_quat){q[0], q[1], q[2], q[3]});
    }
    return code;
}

static fid_code read_poses(fid_field_context *c, const fid_json_node *node, fid_pose_table *out) {
    void *list = NULL;
    fid_code code = fid_field_begin_list(c, node, sizeof(fid_layer_pose), &list, &out->count);
    fid_layer_pose *pose = list;
    out->at = pose;
    for (const fid_json_node *item = fid_json_first(node); code == FID_OK && item != NULL; item = fid_json_next(item)) {
        code = read_layer_pose(c, item, pose++);
    }
    return code;
}

static fid_code read_power(fid_field_context *c, const fid_json_node *node, fid_curve *out) {
    static const char *const keys[] = {"power", "sign"};
    const fid_json_node *members[2];
    out->interpolation = FID_POWER;
    fid_code code = fid_json_members(c->reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_json_read_number(c->reader, members[0], &out->power) : code;
    return code == FID_OK ? fid_json_read_number(c->reader, members[1], &out->sign) : code;
}

static fid_code read_curve(fid_field_context *c, const fid_json_node *node, fid_curve *out) {
    static const char *const keys[] = {"interpolation", "points"};
    static const char *const interpolations[] = {"linear", "smooth", NULL};
    *out = (fid_curve){0};
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    if (fid_json_kind_of(node) == FID_JSON_OBJECT && fid_json_find(node, "power") != NULL) {
        return read_power(c, node, out);
    }
    const fid_json_node *members[2];
    int32_t interpolation = 0;
    void *list;
    fid_code code = fid_json_members(c->reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_json_read_choice(c->reader, members[0], interpolations, &interpolation) : code;
    code = code == FID_OK ? fid_field_begin_list(c, members[1], 2 * sizeof(float), &list, &out->count) : code;
    if (code != FID_OK) {
        return code;
    }
    if (out->count == 0) {
        return fid_json_fail(c->reader, members[1], FID_INVALID, "", "a curve needs points; without one it is null");
    }
    float *x = list, *y = x + out->count;
    out->interpolation = interpolation == 0 ? FID_LINEAR : FID_SMOOTH;
    out->x = x;
    out->y = y;
    for (const fid_json_node *item = fid_json_first(members[1]); item != NULL; item = fid_json_next(item)) {
        float point[2];
        code = fid_json_read_numbers(c->reader, item, 2, point);
        if (code != FID_OK) {
            return code;
        }
        *x++ = point[0];
        *y++ = point[1];
    }
    return FID_OK;
}

static fid_code read_stroke(fid_field_context *c, const fid_json_node *node, fid_stroke *out) {
    static const char *const keys[] = {"closed", "points"};
    const fid_json_node *members[2];
    void *list;
    fid_code code = fid_json_members(c->reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_json_read_boolean(c->reader, members[0], &out->closed) : code;
    code = code == FID_OK ? fid_field_begin_list(c, members[1], sizeof(fid_vec3), &list, &out->count) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_vec3 *point = list;
    out->points = list;
    for (const fid_json_node *item = fid_json_first(members[1]); item != NULL && code == FID_OK;
         item = fid_json_next(item)) {
        code = read_vector(c->reader, item, point++);
    }
    return code;
}

static fid_code read_strokes(fid_field_context *c, const fid_json_node *node, fid_strokes *out) {
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(fid_stroke), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    fid_stroke *stroke = list;
    out->at = list;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        code = read_stroke(c, item, stroke++);
    }
    return code;
}

static fid_code read_set(fid_field_context *c, const fid_json_node *node, fid_set_id *out) {
    const char *name;
    *out = (fid_set_id){0};
    fid_code code = fid_json_read_maybe_text(c->reader, node, &name);
    if (code != FID_OK || name == NULL) {
        return code;
    }
    *out = fid_rig_find_set(c->rig, name);
    if (fid_handle_is_null(out->handle)) {
        return fid_json_fail(c->reader, node, FID_UNKNOWN, "S201", "no display set '%.64s'", name);
    }
    return FID_OK;
}

static fid_code read_outline(fid_field_context *c, const fid_json_node *node, fid_outline_id *out) {
    const char *name;
    *out = (fid_outline_id){0};
    fid_code code = fid_json_read_maybe_text(c->reader, node, &name);
    if (code != FID_OK || name == NULL) {
        return code;
    }
    *out = fid_rig_find_outline(c->rig, name);
    if (fid_handle_is_null(out->handle)) {
        return fid_json_fail(c->reader, node, FID_UNKNOWN, "S201", "no outline '%.64s'", name);
    }
    return FID_OK;
}

static fid_code read_index(fid_field_context *c, const fid_json_node *node, int32_t *out) {
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(node) > 2) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "must be a list of at most two whole numbers");
    }
    out[0] = 0;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        out[0]++;
        code = fid_json_read_integer(c->reader, item, 0, 9999, &out[out[0]]);
    }
    return code;
}

static fid_code read_maybe_vector(fid_field_context *c, const fid_json_node *node, fid_maybe_vector *out) {
    *out = (fid_maybe_vector){0};
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    out->given = true;
    return read_vector(c->reader, node, &out->vector);
}

/// The bounds of a slider are called min and max and may be open.
static fid_code read_number(fid_field_context *c, const fid_field *field, const fid_json_node *node, float *out) {
    if (strcmp(field->key, "min") == 0 || strcmp(field->key, "max") == 0) {
        return fid_format_read_bound(c->reader, node, field->key[1] == 'i' ? -FID_UNLIMITED : FID_UNLIMITED, out);
    }
    return fid_json_read_number(c->reader, node, out);
}

/// All but chains and sources, which have two keys.
static fid_code read_value(fid_field_context *c, const fid_field *field, const fid_json_node *node, void *at) {
    bool is_required = (field->flags & FID_FIELD_REQUIRED) != 0;
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        return fid_json_read_boolean(c->reader, node, at);
    case FID_TYPE_NUMBER:
        return read_number(c, field, node, at);
    case FID_TYPE_CHOICE:
        return fid_json_read_choice(c->reader, node, field->choices, at);
    case FID_TYPE_TEXT:
        return is_required ? fid_json_read_text(c->reader, node, at) : fid_json_read_maybe_text(c->reader, node, at);
    case FID_TYPE_COLOR:
        return fid_json_read_text(c->reader, node, at);
    case FID_TYPE_WORDS:
        return read_words(c, node, at);
    case FID_TYPE_INDEX:
        return read_index(c, node, at);
    case FID_TYPE_VECTOR:
        return read_vector(c->reader, node, at);
    case FID_TYPE_MAYBE_VECTOR:
        return read_maybe_vector(c, node, at);
    case FID_TYPE_FRAME:
        return fid_format_read_frame(c->reader, node, at);
    case FID_TYPE_BONE:
        return fid_format_read_bone(c->reader, node, c->rig, !is_required, at);
    case FID_TYPE_BONES:
        return read_bones(c, node, at);
    case FID_TYPE_SET:
        return read_set(c, node, at);
    case FID_TYPE_OUTLINE:
        return read_outline(c, node, at);
    case FID_TYPE_CHANNEL:
        return (field->flags & FID_FIELD_REQUIRED) != 0 ? fid_format_read_channel(c->reader, node, c->rig, at)
                                                        : fid_field_read_maybe_channel(c, node, at);
    case FID_TYPE_AMOUNT:
        return fid_field_read_amount(c, node, at);
    case FID_TYPE_SOURCE:
        return fid_field_read_source(c, node, at);
    case FID_TYPE_FACTORS:
        return fid_field_read_factors(c, node, at);
    case FID_TYPE_SPACES:
        return fid_field_read_spaces(c, node, at);
    case FID_TYPE_AXES:
        return read_axes(c, node, false, at);
    case FID_TYPE_TAKES:
        return read_axes(c, node, true, at);
    case FID_TYPE_AXIS_RANGE:
        return read_axis_range(c, node, at);
    case FID_TYPE_NUMBERS:
        return read_number_list(c, node, at);
    case FID_TYPE_POSES:
        return read_poses(c, node, at);
    case FID_TYPE_STEPS:
        return fid_format_read_steps(c->reader, node, c->rig, at);
    case FID_TYPE_BOUNDS:
        return read_bounds(c, node, at);
    case FID_TYPE_CURVE:
        return read_curve(c, node, at);
    case FID_TYPE_STROKES:
        return read_strokes(c, node, at);
    case FID_TYPE_CHAIN:
    case FID_TYPE_SOURCES:
        break;
    }
    return FID_INVALID;
}

fid_code fid_format_read_fields(fid_json_reader *reader, const fid_json_node *node, fid_rig *rig,
                                const fid_schema *schema, void *record, int32_t origin, const char *const *more,
                                int32_t more_count, const fid_json_node **more_out) {
    fid_field_context c = {reader, rig, origin};
    const char *keys[MOST_KEYS] = {NULL};
    const fid_json_node *members[MOST_KEYS];
    uint64_t optional = 0;
    int32_t count = 0;
    for (int32_t i = 0; i < more_count; i++) {
        keys[count++] = more[i];
    }
    for (int32_t i = 0; i < schema->count; i++) {
        const fid_field *field = &schema->fields[i];
        if ((field->flags & FID_FIELD_SCRIPT) != 0) {
            continue;
        }
        if (field->type == FID_TYPE_SOURCES) {
            optional |= (uint64_t)3 << count;
            keys[count++] = "source";
            keys[count++] = "sources";
            continue;
        }
        optional |= (field->flags & FID_FIELD_UNUSUAL) != 0 ? (uint64_t)1 << count : 0;
        keys[count++] = field->key;
        if (field->type == FID_TYPE_CHAIN) {
            keys[count++] = "with_end";
        }
    }
    fid_code code = fid_json_members(reader, node, keys, count, optional, members);
    for (int32_t i = 0; i < more_count; i++) {
        more_out[i] = members[i];
    }
    const fid_json_node **member = members + more_count;
    for (int32_t i = 0; i < schema->count && code == FID_OK; i++) {
        const fid_field *field = &schema->fields[i];
        void *at = (char *)record + field->offset;
        if ((field->flags & FID_FIELD_SCRIPT) != 0) {
            continue;
        }
        if (field->type == FID_TYPE_SOURCES) {
            code = fid_field_read_sources(&c, node, member, at);
            member += 2;
        } else if (field->type == FID_TYPE_CHAIN) {
            code = read_chain(&c, member[0], member[1], at);
            member += 2;
        } else {
            code = *member != NULL ? read_value(&c, field, *member, at) : FID_OK;
            member++;
        }
    }
    return code;
}
