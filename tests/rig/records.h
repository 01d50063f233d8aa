#ifndef FID_TESTS_RIG_RECORDS_H
#define FID_TESTS_RIG_RECORDS_H

#include "rig/build.h"
#include "rig/member.h"

/// Records of every kind of element with something in each field, so that nothing is its own reflection by chance.

typedef union record {
    fid_bone_def bone;
    fid_bone_place place;
    fid_constraint_def constraint;
    fid_slider_def slider;
    fid_drive_def drive;
    fid_set_def set;
    fid_outline_def outline;
} record;

enum { RECORD_SCHEMAS = 6 + FID_CONSTRAINT_KINDS };

static inline const fid_schema *record_schema(int i) {
    const fid_schema *const others[] = {&fid_bone_schema,  &fid_place_schema, &fid_slider_schema,
                                        &fid_drive_schema, &fid_set_schema,   &fid_outline_schema};
    return i < 6 ? others[i] : fid_constraint_schemas[i - 6];
}

/// What the handles in records refer to.
typedef struct record_rig {
    fid_rig *rig;
    fid_bone_id a, b;
    fid_chain_id chain;
    fid_set_id set;
    fid_outline_id outline;
    fid_channel channel, slider;
} record_rig;

static inline record_rig record_rig_make(void) {
    fid_error err = {0};
    record_rig out = {.rig = build_rig()};
    out.a = build_bone(out.rig, "one", build_none);
    out.b = build_bone(out.rig, "two", out.a);
    out.chain = build_chain(out.rig, "leg", true);
    fid_set_def set = fid_set_default();
    set.name = "extra";
    build_ok(fid_rig_add_set(out.rig, &set, &out.set, &err));
    static const fid_vec3 points[] = {{0, 0, 0}, {1, 2, 3}};
    static const fid_stroke stroke = {false, points, 2};
    fid_outline_def outline = {"line", {&stroke, 1}};
    build_ok(fid_rig_add_outline(out.rig, &outline, NULL, &out.outline, &err));
    fid_slider_def slider = fid_slider_default();
    slider.on = out.a;
    slider.name = "ride";
    fid_slider_id id;
    build_ok(fid_rig_add_slider(out.rig, &slider, &id, &err));
    out.slider = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = id.handle};
    out.channel = build_channel(out.b, FID_ROTATION_Y);
    return out;
}

static inline void record_fill_field(const record_rig *of, const fid_field *field, record *out) {
    static const char *const words[] = {"one", "two"};
    static const float numbers[] = {0.5f, 2.0f, 1.5f}, x[] = {-1.0f, 0.0f, 3.0f}, y[] = {2.0f, 1.0f, -4.0f};
    static const fid_vec3 points[] = {{1, 2, 3}, {-4, 5, 6}, {7, -8, 9}};
    static const fid_stroke strokes[] = {{true, points, 3}, {false, points + 1, 2}};
    static fid_share shares[2];
    static fid_space spaces[3];
    static fid_bone_id bones[2];
    void *at = fid_member(field, out);
    const fid_frame frame = {{1, 2, 3}, {0.5f, -0.5f, 0.1f, 0.7f}, {1, 1, 1}};
    fid_quat unit = fid_quat_normalize(frame.q);
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        *(bool *)at = field->number == 0.0f;
        break;
    case FID_TYPE_NUMBER:
        *(float *)at = field->max > 1e30f ? 3.0f : field->max;
        break;
    case FID_TYPE_CHOICE:
        *(int32_t *)at = field->reflect == FID_REFLECT_AIM_AXIS ? FID_AIM_MINUS_X : 1;
        break;
    case FID_TYPE_TEXT:
        *(const char **)at = "text";
        break;
    case FID_TYPE_COLOR:
        *(const char **)at = "#12AB9F";
        break;
    case FID_TYPE_WORDS:
        *(fid_words *)at = (fid_words){words, 2};
        break;
    case FID_TYPE_INDEX:
        ((int32_t *)at)[0] = 2;
        ((int32_t *)at)[1] = 3;
        ((int32_t *)at)[2] = 4;
        break;
    case FID_TYPE_VECTOR:
        *(fid_vec3 *)at = frame.t;
        break;
    case FID_TYPE_MAYBE_VECTOR:
        *(fid_maybe_vector *)at = (fid_maybe_vector){true, frame.t};
        break;
    case FID_TYPE_FRAME:
        *(fid_frame *)at = (fid_frame){frame.t, unit, frame.s};
        break;
    case FID_TYPE_BONE:
        *(fid_bone_id *)at = of->a;
        break;
    case FID_TYPE_BONES:
        bones[0] = of->b;
        bones[1] = of->a;
        *(fid_bones *)at = (fid_bones){bones, 2};
        break;
    case FID_TYPE_CHAIN:
        *(fid_chain_id *)at = of->chain;
        break;
    case FID_TYPE_SET:
        *(fid_set_id *)at = of->set;
        break;
    case FID_TYPE_OUTLINE:
        *(fid_outline_id *)at = of->outline;
        break;
    case FID_TYPE_CHANNEL:
        *(fid_channel *)at = of->channel;
        break;
    case FID_TYPE_AMOUNT:
        *(fid_amount *)at = (fid_amount){field->min > -1e30f ? field->min : -2.0f, of->slider};
        break;
    case FID_TYPE_SOURCE:
        *(fid_source *)at = (fid_source){FID_SOURCE_BETWEEN, {of->a, 0.25f}, {of->b, 1.0f}, 0.5f};
        break;
    case FID_TYPE_SOURCES:
        shares[0] = (fid_share){{.kind = FID_SOURCE_POINT, .a = {of->a, 0.5f}}, {0.25f, {0}}};
        shares[1] = (fid_share){build_source(of->b), {0.0f, of->slider}};
        *(fid_sources *)at = (fid_sources){shares, 2};
        break;
    case FID_TYPE_FACTORS: {
        static fid_factor factors[4];
        factors[0] = (fid_factor){.kind = FID_FACTOR_CHANNEL, .channel = of->channel};
        factors[1] = (fid_factor){.kind = FID_FACTOR_DISTANCE,
                                  .a = {FID_SOURCE_BETWEEN, {of->a, 0.25f}, {of->b, 1.0f}, 0.5f},
                                  .b = {.kind = FID_SOURCE_WORLD}};
        factors[2] = (fid_factor){.kind = FID_FACTOR_ANGLE,
                                  .a = build_source(of->a),
                                  .b = build_source(of->b),
                                  .axis_a = FID_AIM_MINUS_X,
                                  .axis_b = FID_AIM_PLUS_Y};
        factors[3] = (fid_factor){.kind = FID_FACTOR_TWIST, .a = build_source(of->b)};
        *(fid_factors *)at = (fid_factors){factors, 4};
        break;
    }
    case FID_TYPE_SPACES:
        spaces[0] = (fid_space){.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .frame = FID_FRAME_IDENTITY};
        spaces[1] = (fid_space){
            .name = "body", .source = build_source(of->a), .has_frame = true, .frame = {frame.t, unit, frame.s}};
        spaces[1].meet = of->b;
        spaces[2] =
            (fid_space){.name = "head", .source = build_source(of->b), .at_rest = true, .frame = FID_FRAME_IDENTITY};
        *(fid_space_list *)at = (fid_space_list){spaces, 3};
        break;
    case FID_TYPE_AXES:
        *(uint32_t *)at = 0x155;
        break;
    case FID_TYPE_TAKES:
        *(uint32_t *)at = FID_MASK_SCALE;
        break;
    case FID_TYPE_AXIS_RANGE:
        *(fid_axis_range *)at = (fid_axis_range){{-1, -2, -FID_UNLIMITED}, {3, FID_UNLIMITED, 5}};
        break;
    case FID_TYPE_POSES: {
        static fid_layer_entry entries[2];
        static fid_layer_pose poses[2];
        entries[0] = (fid_layer_entry){of->a, {{1, 2, 3}, unit, {1, 2, 0.5f}}};
        entries[1] = (fid_layer_entry){of->b, {{-1, 0, 3}, unit, {1, 1, 1}}};
        poses[0] = (fid_layer_pose){0.5f, entries, 2};
        poses[1] = (fid_layer_pose){1, entries, 1};
        *(fid_pose_table *)at = (fid_pose_table){poses, 2};
        break;
    }
    case FID_TYPE_STEPS: {
        static fid_match_step steps[2];
        steps[0] = (fid_match_step){.bone = of->a, .like = of->b};
        steps[1] = (fid_match_step){.bone = of->b, .neutral = true};
        *(fid_match_steps *)at = (fid_match_steps){steps, 2};
        break;
    }
    case FID_TYPE_BOUNDS: {
        static const float pairs[2][2] = {{1, 2}, {3, 40}};
        *(fid_bounds *)at = (fid_bounds){pairs, 2};
        break;
    }
    case FID_TYPE_NUMBERS:
        *(fid_numbers *)at = (fid_numbers){numbers, 3};
        break;
    case FID_TYPE_CURVE:
        *(fid_curve *)at = (fid_curve){.interpolation = FID_SMOOTH, .x = x, .y = y, .count = 3};
        break;
    case FID_TYPE_STROKES:
        *(fid_strokes *)at = (fid_strokes){strokes, 2};
        break;
    }
}

static inline void record_fill(const record_rig *of, const fid_schema *schema, record *out) {
    fid_schema_defaults(schema, out);
    for (int32_t i = 0; i < schema->count; i++) {
        record_fill_field(of, &schema->fields[i], out);
    }
}

static inline void record_same_strokes(const fid_strokes *a, const fid_strokes *b) {
    assert_int_equal(a->count, b->count);
    for (int32_t i = 0; i < a->count; i++) {
        assert_int_equal(a->at[i].closed, b->at[i].closed);
        assert_int_equal(a->at[i].count, b->at[i].count);
        assert_memory_equal(a->at[i].points, b->at[i].points, (size_t)a->at[i].count * sizeof(fid_vec3));
    }
}

static inline void record_same_spaces(const fid_space_list *a, const fid_space_list *b) {
    assert_int_equal(a->count, b->count);
    for (int32_t i = 0; i < a->count; i++) {
        const fid_space *one = &a->at[i], *two = &b->at[i];
        assert_string_equal(one->name, two->name);
        assert_memory_equal(&one->source, &two->source, sizeof one->source);
        assert_int_equal(one->has_frame, two->has_frame);
        assert_int_equal(one->at_rest, two->at_rest);
        assert_memory_equal(&one->meet, &two->meet, sizeof one->meet);
        assert_memory_equal(&one->frame, &two->frame, sizeof one->frame);
    }
}

/// Fails unless both records have equal content in this field; lists by content.
static inline void record_same_field(const fid_field *field, const record *a, const record *b) {
    static const size_t sizes[] = {
        [FID_TYPE_BOOLEAN] = sizeof(bool),        [FID_TYPE_NUMBER] = sizeof(float),
        [FID_TYPE_CHOICE] = sizeof(int32_t),      [FID_TYPE_INDEX] = 3 * sizeof(int32_t),
        [FID_TYPE_VECTOR] = sizeof(fid_vec3),     [FID_TYPE_FRAME] = sizeof(fid_frame),
        [FID_TYPE_BONE] = sizeof(fid_bone_id),    [FID_TYPE_CHAIN] = sizeof(fid_chain_id),
        [FID_TYPE_SET] = sizeof(fid_set_id),      [FID_TYPE_OUTLINE] = sizeof(fid_outline_id),
        [FID_TYPE_CHANNEL] = sizeof(fid_channel), [FID_TYPE_AMOUNT] = sizeof(fid_amount),
        [FID_TYPE_SOURCE] = sizeof(fid_source),   [FID_TYPE_AXES] = sizeof(uint32_t),
        [FID_TYPE_TAKES] = sizeof(uint32_t),      [FID_TYPE_AXIS_RANGE] = sizeof(fid_axis_range)};
    const void *one = fid_member_of(field, a), *two = fid_member_of(field, b);
    switch (field->type) {
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
        assert_string_equal(*(const char *const *)one, *(const char *const *)two);
        break;
    case FID_TYPE_WORDS:
        assert_int_equal(((const fid_words *)one)->count, ((const fid_words *)two)->count);
        for (int32_t i = 0; i < ((const fid_words *)one)->count; i++) {
            assert_string_equal(((const fid_words *)one)->at[i], ((const fid_words *)two)->at[i]);
        }
        break;
    case FID_TYPE_MAYBE_VECTOR: {
        const fid_maybe_vector *v = one, *w = two;
        assert_int_equal(v->given, w->given);
        assert_memory_equal(&v->vector, &w->vector, sizeof v->vector);
        break;
    }
    case FID_TYPE_SOURCES: {
        const fid_sources *s = one, *t = two;
        assert_int_equal(s->count, t->count);
        assert_memory_equal(s->at, t->at, (size_t)s->count * sizeof *s->at);
        break;
    }
    case FID_TYPE_BONES: {
        const fid_bones *s = one, *t = two;
        assert_int_equal(s->count, t->count);
        assert_memory_equal(s->at, t->at, (size_t)s->count * sizeof *s->at);
        break;
    }
    case FID_TYPE_FACTORS: {
        const fid_factors *s = one, *t = two;
        assert_int_equal(s->count, t->count);
        assert_memory_equal(s->at, t->at, (size_t)s->count * sizeof *s->at);
        break;
    }
    case FID_TYPE_SPACES:
        record_same_spaces(one, two);
        break;
    case FID_TYPE_POSES: {
        const fid_pose_table *u = one, *w = two;
        assert_int_equal(u->count, w->count);
        for (int32_t i = 0; i < u->count; i++) {
            assert_int_equal(u->at[i].count, w->at[i].count);
            assert_memory_equal(u->at[i].entries, w->at[i].entries, (size_t)u->at[i].count * sizeof *u->at[i].entries);
        }
        break;
    }
    case FID_TYPE_STEPS: {
        const fid_match_steps *u = one, *w = two;
        assert_int_equal(u->count, w->count);
        assert_memory_equal(u->at, w->at, (size_t)u->count * sizeof *u->at);
        break;
    }
    case FID_TYPE_BOUNDS: {
        const fid_bounds *u = one, *w = two;
        assert_int_equal(u->count, w->count);
        assert_memory_equal(u->at, w->at, (size_t)u->count * sizeof *u->at);
        break;
    }
    case FID_TYPE_NUMBERS: {
        const fid_numbers *s = one, *t = two;
        assert_int_equal(s->count, t->count);
        assert_memory_equal(s->at, t->at, (size_t)s->count * sizeof *s->at);
        break;
    }
    case FID_TYPE_CURVE: {
        const fid_curve *s = one, *t = two;
        assert_int_equal(s->count, t->count);
        assert_int_equal(s->interpolation, t->interpolation);
        assert_memory_equal(s->x, t->x, (size_t)s->count * sizeof *s->x);
        assert_memory_equal(s->y, t->y, (size_t)s->count * sizeof *s->y);
        break;
    }
    case FID_TYPE_STROKES:
        record_same_strokes(one, two);
        break;
    case FID_TYPE_BOOLEAN:
    case FID_TYPE_NUMBER:
    case FID_TYPE_CHOICE:
    case FID_TYPE_INDEX:
    case FID_TYPE_VECTOR:
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
        assert_memory_equal(one, two, sizes[field->type]);
        break;
    }
}

static inline void record_same(const fid_schema *schema, const record *a, const record *b) {
    for (int32_t i = 0; i < schema->count; i++) {
        record_same_field(&schema->fields[i], a, b);
    }
}

#endif
