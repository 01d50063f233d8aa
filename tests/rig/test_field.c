#include "rig/build.h"
#include "rig/records.h"
#include "support/memory_fail.h"

#include <string.h>

static void every_table_is_sound(void **state) {
    (void)state;
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        assert_true(schema->count > 0 && schema->size <= sizeof(record) && schema->doc[0] != '\0');
        for (int32_t k = 0; k < schema->count; k++) {
            const fid_field *field = &schema->fields[k];
            assert_non_null(field->unit);
            assert_true(field->doc[0] >= 'A' && field->doc[0] <= 'Z');
            assert_true(field->doc[strlen(field->doc) - 1] != '.');
            assert_true(field->offset < schema->size);
            assert_ptr_equal(fid_schema_find(schema, field->key), field); // keys are unique
            assert_true((field->type == FID_TYPE_CHOICE) == (field->choices != NULL));
            bool ranged = field->type == FID_TYPE_AMOUNT ||
                          (field->type == FID_TYPE_NUMBER && (field->flags & FID_FIELD_REQUIRED) == 0);
            assert_true(!ranged ||
                        (field->min < field->max && field->min <= field->number && field->number <= field->max));
        }
        assert_null(fid_schema_find(schema, "nothing"));
    }
}

static void keys_stand_in_the_order_of_files(void **state) {
    (void)state;
    // The example of the skeleton file.
    static const char *const ik[] = {"chain",     "goal",           "pole",   "swivel",      "swivel_gain",
                                     "soft",      "reach",          "length", "bend_shares", "bend_limits",
                                     "bend_axis", "match_rotation", "weight", "apply"};
    const fid_schema *schema = fid_constraint_schemas[FID_CONSTRAINT_IK];
    assert_int_equal(schema->count, sizeof ik / sizeof ik[0]);
    for (int32_t i = 0; i < schema->count; i++) {
        assert_string_equal(schema->fields[i].key, ik[i]);
    }
    static const char *const bone[] = {"parent",         "role",  "rest",        "length",  "takes",
                                       "rotation_order", "level", "display_set", "outline", "tags"};
    size_t next = 0;
    for (int32_t i = 0; i < fid_bone_schema.count; i++) {
        if ((fid_bone_schema.fields[i].flags & FID_FIELD_SCRIPT) == 0) {
            assert_string_equal(fid_bone_schema.fields[i].key, bone[next++]);
        }
    }
    assert_int_equal(next, sizeof bone / sizeof bone[0]);
}

static void defaults_are_as_documented(void **state) {
    (void)state;
    fid_constraint_def ik = fid_constraint_default(FID_CONSTRAINT_IK);
    assert_int_equal(ik.kind, FID_CONSTRAINT_IK);
    assert_int_equal(ik.origin, -1);
    assert_near(ik.as.ik.soft.value, 0.02, 1e-9);
    assert_near(ik.as.ik.reach.value, 1, 0);
    assert_near(ik.as.ik.length.value, 1, 0);
    assert_near(ik.as.ik.match_rotation.value, 0, 0);
    assert_near(ik.as.ik.swivel_gain, 1, 0);
    assert_near(ik.weight.value, 1, 0);
    assert_int_equal(ik.apply, FID_BEFORE);
    fid_constraint_def span = fid_constraint_default(FID_CONSTRAINT_SPAN);
    assert_near(span.as.span.keep_volume.value, 1, 0);
    fid_constraint_def follow = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    assert_int_equal(follow.as.follow.channels, FID_MASK_TRANSLATION | FID_MASK_ROTATION);
    assert_int_equal(follow.as.follow.offset, FID_OFFSET_REST);
    assert_int_equal(fid_constraint_default(FID_CONSTRAINT_AIM).as.aim.axis, FID_AIM_PLUS_Z);
    fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    assert_int_equal(limit.apply, FID_AFTER);
    assert_true(limit.as.limit.scale.lo[2] == -FID_UNLIMITED && limit.as.limit.scale.hi[0] == FID_UNLIMITED);
    fid_bone_def bone = fid_bone_default();
    assert_int_equal(bone.takes, FID_MASK_TRANSLATION | FID_MASK_ROTATION);
    assert_int_equal(bone.side, FID_CENTER);
    assert_int_equal(bone.role, FID_DEFORM);
    assert_int_equal(bone.rotation_order, FID_ORDER_XYZ);
    assert_int_equal(bone.level, FID_EVERYDAY);
    assert_int_equal(bone.channels, 0);
    assert_near(bone.rest.q.w, 1, 0);
    assert_near(fid_drive_default().gain.value, 1, 0);
    assert_int_equal(fid_drive_default().combine, FID_REPLACE);
    assert_true(fid_set_default().visible);
    assert_true(fid_slider_default().animatable);
    assert_int_equal(fid_bone_channels(FID_CONTROL, false), FID_MASK_TRANSLATION | FID_MASK_ROTATION);
    assert_int_equal(fid_bone_channels(FID_HELPER, false), 0);
    assert_int_equal(fid_bone_channels(FID_CONTROL, true), FID_MASK_TRANSLATION | FID_MASK_ROTATION | 0x40);
}

static void full_records_pass_the_check(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        fid_error err = {0};
        record full;
        record_fill(&of, record_schema(i), &full);
        build_ok(fid_schema_check(record_schema(i), &full, of.rig, &err));
    }
    fid_rig_free(of.rig);
}

static void what_is_required_is_missed(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    int missed = 0;
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        record empty;
        fid_schema_defaults(schema, &empty);
        for (int32_t k = 0; k < schema->count; k++) {
            const fid_field *field = &schema->fields[k];
            if ((field->flags & FID_FIELD_REQUIRED) == 0 || field->type == FID_TYPE_FRAME ||
                field->type == FID_TYPE_NUMBER || field->type == FID_TYPE_AXES) {
                continue; // these have values whatever is given
            }
            fid_error err;
            record full;
            record_fill(&of, schema, &full);
            record_same_field(field, &full, &full);
            memcpy(fid_member(field, &full), fid_member(field, &empty), sizeof(fid_handle));
            if (field->type == FID_TYPE_STROKES || field->type == FID_TYPE_SOURCES || field->type == FID_TYPE_SPACES ||
                field->type == FID_TYPE_BONES || field->type == FID_TYPE_FACTORS) {
                memset(fid_member(field, &full), 0, sizeof(fid_strokes));
            } else if (field->type == FID_TYPE_SOURCE) {
                *(fid_source *)fid_member(field, &full) = (fid_source){.kind = FID_SOURCE_NONE};
            } else if (field->type == FID_TYPE_CHANNEL) {
                *(fid_channel *)fid_member(field, &full) = (fid_channel){.kind = FID_CHANNEL_NONE};
            }
            char text[64];
            snprintf(text, sizeof text, "'%s' is missing", field->key);
            build_refused(fid_schema_check(schema, &full, of.rig, &err), FID_INVALID, text);
            assert_string_equal(err.subject, field->key);
            missed++;
        }
    }
    assert_true(missed >= 16);
    fid_rig_free(of.rig);
}

static void numbers_out_of_range_are_told_with_their_range(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    fid_error err;
    record r;
    const fid_schema *ik = fid_constraint_schemas[FID_CONSTRAINT_IK];
    record_fill(&of, ik, &r);
    r.constraint.as.ik.soft.value = 0.75f;
    build_refused(fid_schema_check(ik, &r, of.rig, &err), FID_RANGE, "'soft' is 0.75, but must be 0 to 0.5");
    r.constraint.as.ik.soft.value = NAN;
    build_refused(fid_schema_check(ik, &r, of.rig, &err), FID_RANGE, "'soft' is not finite");
    record_fill(&of, ik, &r);
    const float none[] = {1.0f, 0.0f};
    r.constraint.as.ik.bend_shares = (fid_numbers){none, 2};
    build_refused(fid_schema_check(ik, &r, of.rig, &err), FID_RANGE, "above 0 and at most 100");
    record_fill(&of, ik, &r);
    r.constraint.as.ik.swivel.value = 2e5f;
    build_refused(fid_schema_check(ik, &r, of.rig, &err), FID_RANGE, "-100000 to 100000 deg");
    record_fill(&of, &fid_drive_schema, &r);
    r.drive.gain.value = INFINITY;
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_RANGE, "must be finite");
    record_fill(&of, &fid_bone_schema, &r);
    r.bone.length = 0.0f;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "'length' is 0");
    fid_rig_free(of.rig);
}

static void handles_of_what_is_gone_are_stale(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    record_rig gone = of;
    fid_rig_mark mark = fid_rig_get_mark(of.rig);
    fid_error err = {0};
    gone.a = build_bone(of.rig, "three", build_none);
    fid_bone_id bone = build_bone(of.rig, "four", build_none);
    (void)bone;
    gone.chain = build_chain(of.rig, "arm", true);
    fid_slider_def slider = fid_slider_default();
    slider.on = gone.a;
    slider.name = "ride";
    fid_slider_id id;
    build_ok(fid_rig_add_slider(of.rig, &slider, &id, &err));
    gone.slider.owner = id.handle;
    gone.channel.owner = gone.a.handle;
    fid_set_def set = fid_set_default();
    set.name = "other";
    build_ok(fid_rig_add_set(of.rig, &set, &gone.set, &err));
    static const fid_vec3 points[] = {{0, 0, 0}, {1, 2, 4}};
    static const fid_stroke stroke = {false, points, 2};
    fid_outline_def outline = {"other", {&stroke, 1}};
    build_ok(fid_rig_add_outline(of.rig, &outline, NULL, &gone.outline, &err));
    fid_rig_rollback(of.rig, &mark);
    int stale = 0;
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        for (int32_t k = 0; k < schema->count; k++) {
            record r;
            record_fill(&of, schema, &r);
            record_fill_field(&gone, &schema->fields[k], &r);
            switch (schema->fields[k].type) {
            case FID_TYPE_BONE:
            case FID_TYPE_BONES:
            case FID_TYPE_CHAIN:
            case FID_TYPE_SET:
            case FID_TYPE_OUTLINE:
            case FID_TYPE_CHANNEL:
            case FID_TYPE_AMOUNT:
            case FID_TYPE_SOURCE:
            case FID_TYPE_SOURCES:
            case FID_TYPE_FACTORS:
            case FID_TYPE_SPACES:
                build_refused(fid_schema_check(schema, &r, of.rig, &err), FID_STALE, "gone");
                stale++;
                break;
            default:
                build_ok(fid_schema_check(schema, &r, of.rig, &err));
                break;
            }
        }
    }
    assert_true(stale >= 30);
    fid_rig_free(of.rig);
}

static void lists_are_checked(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    fid_error err;
    record r;
    const fid_schema *follow = fid_constraint_schemas[FID_CONSTRAINT_FOLLOW];
    fid_share shares[2] = {{build_source(of.a), {0.75f, {0}}}, {build_source(of.b), {0.5f, {0}}}};
    record_fill(&of, follow, &r);
    r.constraint.as.follow.sources = (fid_sources){shares, 2};
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_RANGE, "add up to 1.25");
    shares[0].share.value = -0.5f;
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_RANGE, "0 to 1");
    shares[0].share.value = 0.5f;
    build_ok(fid_schema_check(follow, &r, of.rig, &err));
    shares[1].source.kind = FID_SOURCE_NONE;
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_INVALID, "missing");
    shares[1].source.kind = (fid_source_kind)77;
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_INVALID, "source");
    shares[1].source = (fid_source){FID_SOURCE_BETWEEN, {of.a, 0}, {of.b, 1.5f}, 0.5f};
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_RANGE, "along");
    shares[1].source = (fid_source){FID_SOURCE_BETWEEN, {of.a, 0}, {of.b, 1}, NAN};
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_RANGE, "between");
    r.constraint.as.follow.sources = (fid_sources){NULL, 2};
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_INVALID, "no list");
    r.constraint.as.follow.sources = (fid_sources){shares, INT32_MAX};
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_LIMIT, "at most");

    const fid_schema *spaces = fid_constraint_schemas[FID_CONSTRAINT_SPACES];
    fid_space two[2] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}},
                        {.name = "rig", .source = {.kind = FID_SOURCE_WORLD}}};
    record_fill(&of, spaces, &r);
    r.constraint.as.spaces.among = (fid_space_list){two, 2};
    build_refused(fid_schema_check(spaces, &r, of.rig, &err), FID_INVALID, "'rig' twice");
    two[1].name = "The World";
    build_refused(fid_schema_check(spaces, &r, of.rig, &err), FID_INVALID, "entry 2");
    two[1].name = "world";
    two[1].has_frame = true;
    build_refused(fid_schema_check(spaces, &r, of.rig, &err), FID_RANGE, "length 1");

    static const char *const words[] = {"a", ""};
    record_fill(&of, &fid_slider_schema, &r);
    r.slider.choices = (fid_words){words, 2};
    build_refused(fid_schema_check(&fid_slider_schema, &r, of.rig, &err), FID_INVALID, "entry 2");
    r.slider.choices.count = -1;
    build_refused(fid_schema_check(&fid_slider_schema, &r, of.rig, &err), FID_INVALID, "no list");
    fid_rig_free(of.rig);
}

static void curves_and_strokes_are_checked(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    fid_error err;
    record r;
    float x[] = {0, 1, 1}, y[] = {0, 1, 2};
    record_fill(&of, &fid_drive_schema, &r);
    r.drive.curve = (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = y, .count = 3};
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_INVALID, "point 3");
    x[2] = NAN;
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_RANGE, "point 3");
    r.drive.curve.count = 1;
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_INVALID, "two points");
    r.drive.curve = (fid_curve){.interpolation = (fid_interpolation)5, .x = x, .y = y, .count = 2};
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_INVALID, "linear or smooth");
    r.drive.curve = (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = NULL, .count = 2};
    build_refused(fid_schema_check(&fid_drive_schema, &r, of.rig, &err), FID_INVALID, "no list");
    fid_vec3 points[2] = {{0, 0, 0}, {0, INFINITY, 0}};
    fid_stroke stroke = {true, points, 2};
    r.outline = (fid_outline_def){"line", {&stroke, 1}};
    build_refused(fid_schema_check(&fid_outline_schema, &r, of.rig, &err), FID_RANGE, "point 2 of line 1");
    stroke.count = 1;
    build_refused(fid_schema_check(&fid_outline_schema, &r, of.rig, &err), FID_INVALID, "two points");
    fid_rig_free(of.rig);
}

static void single_values_are_checked(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    fid_error err;
    record r;
    record_fill(&of, &fid_set_schema, &r);
    static const char *const colors[] = {"", "E69F00", "#E69F0", "#E69F001", "#e69f00", "#E69F0G"};
    for (int i = 0; i < 6; i++) {
        r.set.color = colors[i];
        build_refused(fid_schema_check(&fid_set_schema, &r, of.rig, &err), FID_INVALID, "#E69F00");
    }
    r.set.color = NULL;
    build_ok(fid_schema_check(&fid_set_schema, &r, of.rig, &err));
    r.set.name = "\xff";
    build_refused(fid_schema_check(&fid_set_schema, &r, of.rig, &err), FID_INVALID, "UTF-8");

    record_fill(&of, &fid_bone_schema, &r);
    r.bone.takes = 1u << FID_SCALE_X;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_INVALID, "whole groups");
    r.bone.takes = 0;
    build_ok(fid_schema_check(&fid_bone_schema, &r, of.rig, &err));
    r.bone.channels = 0x200;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_INVALID, "does not exist");
    r.bone.channels = 0;
    r.bone.level = 3;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_UNKNOWN, "'level'");
    r.bone.level = -1;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_UNKNOWN, "'level'");
    r.bone.level = 0;
    r.bone.index[0] = 3;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_INVALID, "one number or two");
    r.bone.index[0] = 2;
    r.bone.index[2] = -1;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "9999");
    r.bone.index[0] = 0;
    r.bone.translation_range.lo[1] = 2.0f;
    r.bone.translation_range.hi[1] = 1.0f;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "range of y");
    r.bone.translation_range.lo[1] = NAN;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "range of y");
    r.bone.translation_range.lo[1] = 0.0f;
    r.bone.rest.s.x = 2.0f;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_INVALID, "without scale");
    r.bone.rest.s.x = 1.0f;
    r.bone.rest.q.w = 2.0f;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "length 1");
    r.bone.rest.t.x = NAN;
    build_refused(fid_schema_check(&fid_bone_schema, &r, of.rig, &err), FID_RANGE, "not finite");

    const fid_schema *follow = fid_constraint_schemas[FID_CONSTRAINT_FOLLOW];
    record_fill(&of, follow, &r);
    r.constraint.as.follow.channels = 0;
    build_refused(fid_schema_check(follow, &r, of.rig, &err), FID_INVALID, "no axis");
    record_fill(&of, &fid_place_schema, &r);
    r.place.up.vector.y = NAN;
    build_refused(fid_schema_check(&fid_place_schema, &r, NULL, &err), FID_RANGE, "'up'");
    fid_rig_free(of.rig);
}

static void copies_share_nothing_with_what_they_are_copied_from(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        fid_error err = {0};
        fid_arena first = {0}, second = {0};
        record full, copy, again;
        record_fill(&of, schema, &full);
        copy = full;
        build_ok(fid_schema_copy(schema, &copy, &first, &err));
        record_same(schema, &copy, &full);
        again = copy;
        build_ok(fid_schema_copy(schema, &again, &second, &err));
        // Every text and list of `again` is its own: the sanitizer sees it if something still points into `first`.
        fid_arena_clear(&first);
        record_same(schema, &again, &full);
        fid_arena_clear(&second);
    }
    fid_rig_free(of.rig);
}

static void mirroring_twice_changes_nothing(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    for (int i = 0; i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        fid_error err = {0};
        fid_arena arena = {0};
        record full, twice;
        record_fill(&of, schema, &full);
        twice = full;
        build_ok(fid_schema_mirror(schema, &twice, &arena, &err));
        for (int32_t k = 0; k < schema->count; k++) {
            const fid_field *field = &schema->fields[k];
            if (field->reflect == FID_REFLECT_NONE) {
                record_same_field(field, &twice, &full);
            } else if (field->type != FID_TYPE_SPACES && field->type != FID_TYPE_STROKES) {
                assert_memory_not_equal(fid_member(field, &twice), fid_member(field, &full), sizeof(float) * 4);
            }
        }
        build_ok(fid_schema_mirror(schema, &twice, &arena, &err));
        record_same(schema, &twice, &full);
        fid_arena_clear(&arena);
    }
    fid_rig_free(of.rig);
}

static void mirroring_follows_the_reflection_in_x(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    fid_error err = {0};
    fid_arena arena = {0};
    record r;
    const fid_schema *limit = fid_constraint_schemas[FID_CONSTRAINT_LIMIT];
    record_fill(&of, limit, &r); // x -1..3, y -2.., z ..5
    build_ok(fid_schema_mirror(limit, &r, &arena, &err));
    const fid_limit *l = &r.constraint.as.limit;
    assert_near(l->translation.lo[0], -3, 0);
    assert_near(l->translation.hi[0], 1, 0);
    assert_near(l->translation.lo[1], -2, 0);
    assert_near(l->rotation.lo[0], -1, 0);
    assert_near(l->rotation.hi[1], 2, 0);
    assert_true(l->rotation.lo[1] == -FID_UNLIMITED);
    assert_near(l->rotation.lo[2], -5, 0);
    assert_true(l->rotation.hi[2] == FID_UNLIMITED);
    assert_near(l->scale.lo[0], -1, 0);
    const fid_schema *ik = fid_constraint_schemas[FID_CONSTRAINT_IK];
    record_fill(&of, ik, &r);
    build_ok(fid_schema_mirror(ik, &r, &arena, &err));
    assert_near(r.constraint.as.ik.swivel_gain, -1, 0);
    assert_near(r.constraint.as.ik.bend_axis.vector.x, 1, 0);
    assert_near(r.constraint.as.ik.bend_axis.vector.y, -2, 0);
    assert_near(r.constraint.as.ik.bend_axis.vector.z, -3, 0);
    const fid_schema *aim = fid_constraint_schemas[FID_CONSTRAINT_AIM];
    record_fill(&of, aim, &r);
    build_ok(fid_schema_mirror(aim, &r, &arena, &err));
    assert_int_equal(r.constraint.as.aim.axis, FID_AIM_PLUS_X);
    assert_near(r.constraint.as.aim.up_vector.vector.x, -1, 0);
    r.constraint.as.aim.axis = FID_AIM_MINUS_Z;
    build_ok(fid_schema_mirror(aim, &r, &arena, &err));
    assert_int_equal(r.constraint.as.aim.axis, FID_AIM_MINUS_Z);
    record_fill(&of, &fid_bone_schema, &r);
    fid_quat q = r.bone.rest.q;
    build_ok(fid_schema_mirror(&fid_bone_schema, &r, &arena, &err));
    assert_near(r.bone.rest.t.x, -1, 0);
    assert_near(r.bone.rest.q.x, q.x, 0);
    assert_near(r.bone.rest.q.y, -q.y, 0);
    assert_near(r.bone.rest.q.z, -q.z, 0);
    assert_near(r.bone.rest.q.w, q.w, 0);
    record_fill(&of, &fid_outline_schema, &r);
    build_ok(fid_schema_mirror(&fid_outline_schema, &r, &arena, &err));
    assert_near(r.outline.strokes.at[0].points[1].x, 4, 0);
    assert_near(r.outline.strokes.at[0].points[1].y, 5, 0);
    fid_arena_clear(&arena);
    fid_rig_free(of.rig);
}

typedef struct seen {
    const record_rig *of;
    char text[512];
} seen;

static void note(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    seen *to = user;
    const char *what = "?";
    if (channel.kind == FID_CHANNEL_NONE) {
        const fid_bone *found = fid_rig_bone(to->of->rig, bone, NULL);
        what = found != NULL ? found->name : "gone";
    } else if (fid_handle_is_null(bone.handle)) {
        what = channel.kind == FID_CHANNEL_SLIDER ? "slider" : fid_axis_names[channel.axis];
    }
    size_t used = strlen(to->text);
    snprintf(to->text + used, sizeof to->text - used, "%s=%s ", role, what);
}

static void references_are_visited_in_order(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    static const struct {
        fid_constraint_kind kind;
        const char *text;
    } cases[] = {
        {FID_CONSTRAINT_FOLLOW,
         "bone=one_deform sources=one_deform sources=two_deform sources=slider gain=slider weight=slider "},
        {FID_CONSTRAINT_AIM, "bone=one_deform source=one_deform source=two_deform up=one_deform weight=slider "},
        {FID_CONSTRAINT_SPAN, "bone=one_deform source=one_deform source=two_deform keep_volume=slider weight=slider "},
        {FID_CONSTRAINT_IK,
         "chain=leg_01_helper chain=leg_02_helper chain=leg_03_helper goal=one_deform goal=two_deform "
         "pole=one_deform pole=two_deform swivel=slider soft=slider reach=slider length=slider "
         "match_rotation=slider weight=slider "},
        {FID_CONSTRAINT_LIMIT, "bone=one_deform "},
        {FID_CONSTRAINT_SPACES, "bone=one_deform among=one_deform meet=two_deform among=two_deform by=rotation.y "},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const fid_schema *schema = fid_constraint_schemas[cases[i].kind];
        record r;
        seen to = {&of, ""};
        record_fill(&of, schema, &r);
        fid_schema_references(schema, &r, of.rig, note, &to);
        assert_string_equal(to.text, cases[i].text);
    }
    record r;
    seen to = {&of, ""};
    record_fill(&of, &fid_drive_schema, &r);
    fid_schema_references(&fid_drive_schema, &r, of.rig, note, &to);
    assert_string_equal(to.text,
                        "to=rotation.y from=rotation.y from=one_deform from=two_deform from=one_deform from=two_deform "
                        "from=two_deform gain=slider ");
    fid_rig_free(of.rig);
}

typedef struct copying {
    const record_rig *of;
    bool mirror;
    size_t room; ///< bytes left in the first block of the arena
} copying;

static bool copy_all(void *user) {
    const copying *c = user;
    bool done = true;
    for (int i = 0; done && i < RECORD_SCHEMAS; i++) {
        const fid_schema *schema = record_schema(i);
        fid_arena arena = {0};
        record r;
        record_fill(c->of, schema, &r);
        done = fid_arena_get(&arena, 4064 - c->room) != NULL;
        if (!done) {
            break;
        }
        fid_code code =
            c->mirror ? fid_schema_mirror(schema, &r, &arena, NULL) : fid_schema_copy(schema, &r, &arena, NULL);
        done = code == FID_OK;
        fid_arena_clear(&arena);
    }
    return done;
}

static void copying_and_mirroring_survive_a_lack_of_memory(void **state) {
    (void)state;
    record_rig of = record_rig_make();
    // The arena runs out at every request in turn.
    for (size_t room = 0; room < 512; room += 16) {
        copying c = {&of, false, room};
        memory_fail_every(copy_all, &c);
        c.mirror = true;
        memory_fail_every(copy_all, &c);
    }
    fid_rig_free(of.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_table_is_sound),
        cmocka_unit_test(keys_stand_in_the_order_of_files),
        cmocka_unit_test(defaults_are_as_documented),
        cmocka_unit_test(full_records_pass_the_check),
        cmocka_unit_test(what_is_required_is_missed),
        cmocka_unit_test(numbers_out_of_range_are_told_with_their_range),
        cmocka_unit_test(handles_of_what_is_gone_are_stale),
        cmocka_unit_test(lists_are_checked),
        cmocka_unit_test(curves_and_strokes_are_checked),
        cmocka_unit_test(single_values_are_checked),
        cmocka_unit_test(copies_share_nothing_with_what_they_are_copied_from),
        cmocka_unit_test(mirroring_twice_changes_nothing),
        cmocka_unit_test(mirroring_follows_the_reflection_in_x),
        cmocka_unit_test(references_are_visited_in_order),
        cmocka_unit_test(copying_and_mirroring_survive_a_lack_of_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
