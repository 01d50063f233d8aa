#include "format/field_write.h"

#include "rig/constraint.h"

#include <string.h>

void fid_format_write_bone(fid_json_writer *writer, const fid_rig *rig, fid_bone_id bone) {
    const fid_bone *found = fid_rig_bone(rig, bone, NULL);
    fid_json_text(writer, found != NULL ? found->name : NULL);
}

static void write_vector(fid_json_writer *writer, fid_vec3 vector) {
    fid_json_numbers(writer, (const float[]){vector.x, vector.y, vector.z}, 3);
}

void fid_format_write_frame(fid_json_writer *writer, const fid_frame *frame) {
    fid_quat q = fid_quat_canonical(frame->q);
    fid_json_begin_object(writer);
    fid_json_key(writer, "translation");
    write_vector(writer, frame->t);
    fid_json_key(writer, "rotation");
    fid_json_numbers(writer, (const float[]){q.x, q.y, q.z, q.w}, 4);
    fid_json_end_object(writer);
}

void fid_format_write_channel(fid_json_writer *writer, const fid_rig *rig, fid_channel channel) {
    fid_text name = {0};
    fid_rig_add_channel_name(rig, channel, &name);
    if (name.failed) {
        writer->out->failed = true;
    }
    fid_json_text(writer, name.count > 0 ? name.at : NULL);
    fid_text_clear(&name);
}

static void write_amount(fid_json_writer *writer, const fid_rig *rig, const fid_amount *amount) {
    if (amount->channel.kind == FID_CHANNEL_NONE) {
        fid_json_number(writer, amount->value);
    } else {
        fid_format_write_channel(writer, rig, amount->channel);
    }
}

static void write_along(fid_json_writer *writer, const fid_rig *rig, const fid_spot *spot) {
    fid_json_begin_object(writer);
    fid_json_key(writer, "bone");
    fid_format_write_bone(writer, rig, spot->bone);
    fid_json_key(writer, "along");
    fid_json_number(writer, spot->along);
    fid_json_end_object(writer);
}

/// The point at the base of a bone is the bone itself. Where a bone has the name of a space, only the long form tells
/// them apart.
static void write_spot(fid_json_writer *writer, const fid_rig *rig, const fid_spot *spot) {
    const fid_bone *bone = fid_rig_bone(rig, spot->bone, NULL);
    bool is_space = bone != NULL && (strcmp(bone->name, "rig") == 0 || strcmp(bone->name, "world") == 0);
    if (spot->along != 0.0f || is_space) {
        write_along(writer, rig, spot);
    } else {
        fid_format_write_bone(writer, rig, spot->bone);
    }
}

static void write_bones(fid_json_writer *writer, const fid_rig *rig, const fid_bones *bones) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < bones->count; i++) {
        fid_format_write_bone(writer, rig, bones->at[i]);
    }
    fid_json_end_list(writer);
}

static void write_source(fid_json_writer *writer, const fid_rig *rig, const fid_source *source) {
    switch (source->kind) {
    case FID_SOURCE_BONE:
        write_spot(writer, rig, &(fid_spot){source->a.bone, 0.0f});
        return;
    case FID_SOURCE_POINT:
        write_spot(writer, rig, &source->a);
        return;
    case FID_SOURCE_BETWEEN:
        fid_json_begin_object(writer);
        fid_json_key(writer, "between");
        fid_json_begin_list(writer);
        write_spot(writer, rig, &source->a);
        write_spot(writer, rig, &source->b);
        fid_json_number(writer, source->f);
        fid_json_end_list(writer);
        fid_json_end_object(writer);
        return;
    case FID_SOURCE_RIG:
        fid_json_text(writer, "rig");
        return;
    case FID_SOURCE_WORLD:
        fid_json_text(writer, "world");
        return;
    case FID_SOURCE_NONE:
        break;
    }
    fid_json_null(writer);
}

static void write_sources(fid_json_writer *writer, const fid_rig *rig, const fid_sources *sources) {
    const fid_amount *share = sources->count == 1 ? &sources->at[0].share : NULL;
    if (share != NULL && share->channel.kind == FID_CHANNEL_NONE && share->value == 1.0f) {
        fid_json_key(writer, "source");
        write_source(writer, rig, &sources->at[0].source);
        return;
    }
    fid_json_key(writer, "sources");
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < sources->count; i++) {
        fid_json_begin_object(writer);
        fid_json_key(writer, "source");
        write_source(writer, rig, &sources->at[i].source);
        fid_json_key(writer, "share");
        write_amount(writer, rig, &sources->at[i].share);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_maybe_channel(fid_json_writer *writer, const fid_rig *rig, fid_channel channel) {
    if (channel.kind == FID_CHANNEL_NONE) {
        fid_json_null(writer);
    } else {
        fid_format_write_channel(writer, rig, channel);
    }
}

static void write_factor(fid_json_writer *writer, const fid_rig *rig, const fid_factor *factor) {
    if (factor->kind == FID_FACTOR_CHANNEL) {
        fid_format_write_channel(writer, rig, factor->channel);
        return;
    }
    fid_json_begin_object(writer);
    if (factor->kind == FID_FACTOR_TWIST) {
        fid_json_key(writer, "twist");
        fid_format_write_bone(writer, rig, factor->a.a.bone);
    } else {
        bool is_angle = factor->kind == FID_FACTOR_ANGLE;
        fid_json_key(writer, is_angle ? "angle" : "distance");
        fid_json_begin_list(writer);
        write_source(writer, rig, &factor->a);
        if (is_angle) {
            fid_json_text(writer, fid_aim_axis_names[factor->axis_a]);
        }
        write_source(writer, rig, &factor->b);
        if (is_angle) {
            fid_json_text(writer, fid_aim_axis_names[factor->axis_b]);
        }
        fid_json_end_list(writer);
    }
    fid_json_end_object(writer);
}

static void write_factors(fid_json_writer *writer, const fid_rig *rig, const fid_factors *factors) {
    if (factors->count == 1) {
        write_factor(writer, rig, &factors->at[0]);
        return;
    }
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < factors->count; i++) {
        write_factor(writer, rig, &factors->at[i]);
    }
    fid_json_end_list(writer);
}

static void write_spaces(fid_json_writer *writer, const fid_rig *rig, const fid_space_list *spaces) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < spaces->count; i++) {
        const fid_space *space = &spaces->at[i];
        fid_json_begin_object(writer);
        fid_json_key(writer, "name");
        fid_json_text(writer, space->name);
        fid_json_key(writer, "source");
        write_source(writer, rig, &space->source);
        fid_json_key(writer, "offset");
        if (space->has_frame) {
            fid_format_write_frame(writer, &space->frame);
        } else {
            fid_json_text(writer, space->at_rest ? "rest" : "none");
        }
        fid_json_key(writer, "meet");
        fid_format_write_bone(writer, rig, space->meet);
        fid_json_key(writer, "by");
        write_maybe_channel(writer, rig, space->by);
        fid_json_key(writer, "origin");
        if (space->is_added && space->origin >= 0) {
            fid_json_integer(writer, space->origin);
        } else {
            fid_json_null(writer);
        }
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_chain(fid_json_writer *writer, const fid_rig *rig, const char *key, fid_chain_id id) {
    const fid_chain *chain = fid_rig_chain(rig, id, NULL);
    fid_json_key(writer, key);
    fid_json_begin_list(writer);
    for (int32_t i = 0; chain != NULL && i < chain->count; i++) {
        fid_format_write_bone(writer, rig, chain->bones[i]);
    }
    fid_json_end_list(writer);
    fid_json_key(writer, "with_end");
    fid_json_boolean(writer, chain != NULL && chain->with_end);
}

static void write_words(fid_json_writer *writer, const fid_words *words) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < words->count; i++) {
        fid_json_text(writer, words->at[i]);
    }
    fid_json_end_list(writer);
}

/// Whole groups by their name, else axis by axis.
static void write_axes(fid_json_writer *writer, uint32_t axes) {
    static const char *const groups[] = {"translation", "rotation", "scale"};
    fid_json_begin_list(writer);
    for (int group = 0; group < 3; group++) {
        uint32_t mask = 7u << (3 * group);
        if ((axes & mask) == mask) {
            fid_json_text(writer, groups[group]);
            continue;
        }
        for (int axis = 3 * group; axis < 3 * group + 3; axis++) {
            if ((axes >> axis & 1u) != 0) {
                fid_json_text(writer, fid_axis_names[axis]);
            }
        }
    }
    fid_json_end_list(writer);
}

static void write_bound(fid_json_writer *writer, float bound) {
    if (bound <= -FID_UNLIMITED || bound >= FID_UNLIMITED) {
        fid_json_null(writer);
    } else {
        fid_json_number(writer, bound);
    }
}

static bool is_open(const fid_axis_range *range, int axis) {
    return range->lo[axis] <= -FID_UNLIMITED && range->hi[axis] >= FID_UNLIMITED;
}

static void write_axis_range(fid_json_writer *writer, const fid_axis_range *range) {
    static const char *const axes[] = {"x", "y", "z"};
    if (is_open(range, 0) && is_open(range, 1) && is_open(range, 2)) {
        fid_json_null(writer);
        return;
    }
    fid_json_begin_object(writer);
    for (int i = 0; i < 3; i++) {
        fid_json_key(writer, axes[i]);
        if (is_open(range, i)) {
            fid_json_null(writer);
            continue;
        }
        fid_json_begin_list(writer);
        write_bound(writer, range->lo[i]);
        write_bound(writer, range->hi[i]);
        fid_json_end_list(writer);
    }
    fid_json_end_object(writer);
}

static void write_layer_entry(fid_json_writer *writer, const fid_rig *rig, const fid_layer_entry *entry) {
    fid_quat q = fid_quat_canonical(entry->delta.q);
    const float t[3] = {entry->delta.t.x, entry->delta.t.y, entry->delta.t.z}, rotation[4] = {q.x, q.y, q.z, q.w};
    const float s[3] = {entry->delta.s.x, entry->delta.s.y, entry->delta.s.z};
    fid_json_begin_object(writer);
    fid_json_key(writer, "bone");
    fid_format_write_bone(writer, rig, entry->bone);
    fid_json_key(writer, "translation");
    fid_json_numbers(writer, t, 3);
    fid_json_key(writer, "rotation");
    fid_json_numbers(writer, rotation, 4);
    fid_json_key(writer, "scale");
    fid_json_numbers(writer, s, 3);
    fid_json_end_object(writer);
}

static void write_poses(fid_json_writer *writer, const fid_rig *rig, const fid_pose_table *table) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < table->count; i++) {
        fid_json_begin_object(writer);
        fid_json_key(writer, "at");
        fid_json_number(writer, table->at[i].at);
        fid_json_key(writer, "pose");
        fid_json_begin_list(writer);
        for (int32_t j = 0; j < table->at[i].count; j++) {
            write_layer_entry(writer, rig, &table->at[i].entries[j]);
        }
        fid_json_end_list(writer);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_steps(fid_json_writer *writer, const fid_rig *rig, const fid_match_steps *steps) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < steps->count; i++) {
        const fid_constraint *ik = fid_rig_constraint(rig, steps->at[i].plane_of, NULL);
        fid_json_begin_object(writer);
        fid_json_key(writer, "bone");
        fid_format_write_bone(writer, rig, steps->at[i].bone);
        fid_json_key(writer, "like");
        fid_format_write_bone(writer, rig, steps->at[i].like);
        fid_json_key(writer, "neutral");
        fid_json_boolean(writer, steps->at[i].neutral);
        fid_json_key(writer, "plane_of");
        if (ik != NULL) {
            fid_json_text(writer, ik->address);
        } else {
            fid_json_null(writer);
        }
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_bounds(fid_json_writer *writer, const fid_bounds *bounds) {
    if (bounds->count == 0) {
        fid_json_null(writer);
        return;
    }
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < bounds->count; i++) {
        fid_json_numbers(writer, bounds->at[i], 2);
    }
    fid_json_end_list(writer);
}

static void write_curve(fid_json_writer *writer, const fid_curve *curve) {
    if (!fid_curve_is_given(curve)) {
        fid_json_null(writer);
        return;
    }
    fid_json_begin_object(writer);
    if (curve->interpolation == FID_POWER) {
        fid_json_key(writer, "power");
        fid_json_number(writer, curve->power);
        fid_json_key(writer, "sign");
        fid_json_number(writer, curve->sign);
        fid_json_end_object(writer);
        return;
    }
    fid_json_key(writer, "interpolation");
    fid_json_text(writer, curve->interpolation == FID_SMOOTH ? "smooth" : "linear");
    fid_json_key(writer, "points");
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < curve->count; i++) {
        fid_json_numbers(writer, (const float[]){curve->x[i], curve->y[i]}, 2);
    }
    fid_json_end_list(writer);
    fid_json_end_object(writer);
}

static void write_strokes(fid_json_writer *writer, const fid_strokes *strokes) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < strokes->count; i++) {
        const fid_stroke *stroke = &strokes->at[i];
        fid_json_begin_object(writer);
        fid_json_key(writer, "closed");
        fid_json_boolean(writer, stroke->closed);
        fid_json_key(writer, "points");
        fid_json_begin_list(writer);
        for (int32_t k = 0; k < stroke->count; k++) {
            write_vector(writer, stroke->points[k]);
        }
        fid_json_end_list(writer);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_set(fid_json_writer *writer, const fid_rig *rig, fid_set_id id) {
    int32_t i = fid_pool_index(&rig->set_pool, id.handle);
    fid_json_text(writer, i >= 0 ? rig->sets.at[i].name : NULL);
}

static void write_outline(fid_json_writer *writer, const fid_rig *rig, fid_outline_id id) {
    int32_t i = fid_pool_index(&rig->outline_pool, id.handle);
    fid_json_text(writer, i >= 0 ? rig->outlines.at[i].name : NULL);
}

static void write_index(fid_json_writer *writer, const int32_t *index) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < index[0] && i < 2; i++) {
        fid_json_integer(writer, index[i + 1]);
    }
    fid_json_end_list(writer);
}

static void write_maybe_vector(fid_json_writer *writer, const fid_maybe_vector *vector) {
    if (vector->given) {
        write_vector(writer, vector->vector);
    } else {
        fid_json_null(writer);
    }
}

static void write_field(fid_json_writer *writer, const fid_rig *rig, const fid_field *field, const void *at) {
    if (field->type == FID_TYPE_CHAIN) {
        write_chain(writer, rig, field->key, *(const fid_chain_id *)at);
        return;
    }
    if (field->type == FID_TYPE_SOURCES) {
        write_sources(writer, rig, at);
        return;
    }
    fid_json_key(writer, field->key);
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        fid_json_boolean(writer, *(const bool *)at);
        return;
    case FID_TYPE_NUMBER:
        // Of the bounds of a slider null says that there is none; no other number can be so large.
        write_bound(writer, *(const float *)at);
        return;
    case FID_TYPE_CHOICE:
        fid_json_text(writer, field->choices[*(const int32_t *)at]);
        return;
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
        fid_json_text(writer, *(const char *const *)at);
        return;
    case FID_TYPE_WORDS:
        write_words(writer, at);
        return;
    case FID_TYPE_INDEX:
        write_index(writer, at);
        return;
    case FID_TYPE_VECTOR:
        write_vector(writer, *(const fid_vec3 *)at);
        return;
    case FID_TYPE_MAYBE_VECTOR:
        write_maybe_vector(writer, at);
        return;
    case FID_TYPE_FRAME:
        fid_format_write_frame(writer, at);
        return;
    case FID_TYPE_BONE:
        fid_format_write_bone(writer, rig, *(const fid_bone_id *)at);
        return;
    case FID_TYPE_BONES:
        write_bones(writer, rig, at);
        return;
    case FID_TYPE_SET:
        write_set(writer, rig, *(const fid_set_id *)at);
        return;
    case FID_TYPE_OUTLINE:
        write_outline(writer, rig, *(const fid_outline_id *)at);
        return;
    case FID_TYPE_CHANNEL:
        write_maybe_channel(writer, rig, *(const fid_channel *)at);
        return;
    case FID_TYPE_AMOUNT:
        write_amount(writer, rig, at);
        return;
    case FID_TYPE_SOURCE:
        write_source(writer, rig, at);
        return;
    case FID_TYPE_FACTORS:
        write_factors(writer, rig, at);
        return;
    case FID_TYPE_SPACES:
        write_spaces(writer, rig, at);
        return;
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
        write_axes(writer, *(const uint32_t *)at);
        return;
    case FID_TYPE_AXIS_RANGE:
        write_axis_range(writer, at);
        return;
    case FID_TYPE_NUMBERS: {
        const fid_numbers *numbers = at;
        fid_json_numbers(writer, numbers->at, numbers->count);
        return;
    }
    case FID_TYPE_POSES:
        write_poses(writer, rig, at);
        return;
    case FID_TYPE_STEPS:
        write_steps(writer, rig, at);
        return;
    case FID_TYPE_BOUNDS:
        write_bounds(writer, at);
        return;
    case FID_TYPE_CURVE:
        write_curve(writer, at);
        return;
    case FID_TYPE_STROKES:
        write_strokes(writer, at);
        return;
    case FID_TYPE_CHAIN:
    case FID_TYPE_SOURCES:
        return;
    }
}

/// True for a number that files have only where it is not the default, and that is.
static bool is_usual(const fid_field *field, const void *record) {
    return (field->flags & FID_FIELD_UNUSUAL) != 0 &&
           *(const float *)((const char *)record + field->offset) == field->number;
}

void fid_format_write_fields(fid_json_writer *writer, const fid_rig *rig, const fid_schema *schema,
                             const void *record) {
    for (int32_t i = 0; i < schema->count; i++) {
        const fid_field *field = &schema->fields[i];
        if ((field->flags & FID_FIELD_SCRIPT) == 0 && !is_usual(field, record)) {
            write_field(writer, rig, field, (const char *)record + field->offset);
        }
    }
}
