#include "math/random.h"
#include "rig/build.h"
#include "support/assert_frame.h"

#include <string.h>

static fid_maybe_vector given(float x, float y, float z) { return (fid_maybe_vector){true, {x, y, z}}; }

static void a_place_from_base_to_tip_aims_its_z(void **state) {
    (void)state;
    fid_error err = {0};
    fid_frame rest;
    float length;
    fid_bone_place place = {.at = given(1, 2, 3), .to = given(4, 2, 3)};
    build_ok(fid_bone_place_resolve(&place, false, 9.0f, &rest, &length, &err));
    assert_near(length, 3, 1e-6);
    assert_vec3_near(rest.t, ((fid_vec3){1, 2, 3}), 0);
    assert_vec3_near(fid_quat_z(rest.q), ((fid_vec3){1, 0, 0}), 1e-6);
    assert_vec3_near(fid_quat_y(rest.q), ((fid_vec3){0, 1, 0}), 1e-6); // +Y is the usual hint
    assert_vec3_near(rest.s, ((fid_vec3){1, 1, 1}), 0);
    place.up = given(0, 0, 5);
    build_ok(fid_bone_place_resolve(&place, true, 9.0f, &rest, &length, &err));
    assert_vec3_near(fid_quat_y(rest.q), ((fid_vec3){0, 0, 1}), 1e-6);
    place.up.given = false;
    place.across = given(0, 0, 5);
    build_ok(fid_bone_place_resolve(&place, true, 9.0f, &rest, &length, &err));
    assert_vec3_near(fid_quat_x(rest.q), ((fid_vec3){0, 0, 1}), 1e-6);
}

static void other_places_have_the_size_that_is_given_or_usual(void **state) {
    (void)state;
    fid_error err = {0};
    fid_frame rest;
    float length;
    fid_bone_place place = {.at = given(0, 1, 0), .aim = given(0, 0, -2)};
    build_ok(fid_bone_place_resolve(&place, false, 0.75f, &rest, &length, &err));
    assert_near(length, 0.75, 0);
    assert_vec3_near(fid_quat_z(rest.q), ((fid_vec3){0, 0, -1}), 1e-6);
    place.size = 0.25f;
    build_ok(fid_bone_place_resolve(&place, false, 0.75f, &rest, &length, &err));
    assert_near(length, 0.25, 0);
    fid_bone_place upright = {.at = given(0, 1, 0)};
    build_ok(fid_bone_place_resolve(&upright, true, 0.5f, &rest, &length, &err));
    assert_quat_near(rest.q, FID_QUAT_IDENTITY, 0);
    const fid_frame frame = {{1, 2, 3}, {0, 1, 0, 0}, {1, 1, 1}};
    fid_bone_place framed = {.has_frame = true, .frame = frame};
    build_ok(fid_bone_place_resolve(&framed, false, 0.5f, &rest, &length, &err));
    assert_frame_near(rest, frame, 0, 0);
    assert_near(length, 0.5, 0);
}

static void places_that_contradict_themselves_are_refused(void **state) {
    (void)state;
    fid_error err = {0};
    fid_frame rest;
    float length;
    const fid_bone_place base = {.at = given(0, 0, 0), .frame = FID_FRAME_IDENTITY};
    fid_bone_place place = base;
    build_refused(fid_bone_place_resolve(&place, false, 1, &rest, &length, &err), FID_INVALID, "'to'");
    place.at.given = false;
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_INVALID, "'at'");
    place.has_frame = true;
    place.up = given(0, 1, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_INVALID, "'frame'");
    place = base;
    place.to = given(0, 0, 1);
    place.aim = given(0, 0, 1);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_INVALID, "'aim'");
    place.aim.given = false;
    place.size = 2;
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_INVALID, "'size'");
    place.size = 0;
    place.up = given(0, 1, 0);
    place.across = given(1, 0, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_INVALID, "'across'");
    place.across.given = false;
    place.up = given(0, 0, 1);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "'up'");
    place.up.given = false;
    place.across = given(0, 0, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "'across'");
    place.across.given = false;
    place.to = given(0, 0, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "same point");
    place = base;
    place.aim = given(0, 0, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "'aim'");
    place.aim = given(0, 1, 0);
    build_refused(fid_bone_place_resolve(&place, true, 0, &rest, &length, &err), FID_RANGE, "'size'");
    place.size = -1;
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "'size'");
    place = base;
    place.at = given(3e38f, 0, 0);
    place.to = given(-3e38f, 0, 0);
    build_refused(fid_bone_place_resolve(&place, true, 1, &rest, &length, &err), FID_RANGE, "length");
}

static void a_bone_is_found_by_name_and_address(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    uint64_t edits = rig->edits;
    fid_bone_def def = build_bone_def("shin", build_none);
    def.id = "leg1";
    def.index[0] = 1;
    def.index[1] = 2;
    def.side = FID_LEFT;
    def.role = FID_CONTROL;
    fid_bone_id id;
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    const fid_bone *bone = fid_rig_bone(rig, id, &err);
    assert_string_equal(bone->name, "leg1_shin_02_left_control");
    assert_string_equal(bone->address, "leg1/shin/2/left/control");
    assert_int_equal(fid_rig_bone_index(rig, fid_rig_find_bone(rig, bone->name)), 0);
    assert_int_equal(fid_rig_bone_index(rig, fid_rig_find_bone(rig, bone->address)), 0);
    assert_true(fid_handle_is_null(fid_rig_find_bone(rig, "shin").handle));
    assert_true(fid_handle_is_null(fid_rig_find_bone(rig, "").handle));
    assert_true(fid_handle_is_null(fid_rig_find_bone(rig, "@everyday_left").handle));
    assert_true(rig->edits > edits);
    fid_rig_free(rig);
}

static void rest_frames_add_up_along_parents(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    random_source source = random_begin(77);
    static const char *const parts[] = {"aa", "bb", "cc", "dd", "ee", "ff"};
    fid_bone_id parent = build_none;
    double m[16] = {1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1};
    for (int i = 0; i < 6; i++) {
        fid_bone_def def = build_bone_def(parts[i], parent);
        def.rest = (fid_frame){random_vec3(&source, 1.0), random_quat(&source), {1, 1, 1}};
        build_ok(fid_rig_add_bone(rig, &def, &parent, &err));
        // The product of the matrices, in double.
        double r[9], next[16];
        fid_quat_to_matrix(def.rest.q, r);
        const double local[16] = {r[0], r[1], r[2], 0, r[3],         r[4],         r[5],         0,
                                  r[6], r[7], r[8], 0, def.rest.t.x, def.rest.t.y, def.rest.t.z, 1};
        for (int c = 0; c < 4; c++) {
            for (int k = 0; k < 4; k++) {
                next[c * 4 + k] = 0;
                for (int j = 0; j < 4; j++) {
                    next[c * 4 + k] += m[j * 4 + k] * local[c * 4 + j];
                }
            }
        }
        memcpy(m, next, sizeof m);
        const fid_bone *bone = fid_rig_bone(rig, parent, &err);
        assert_vec3_near(bone->rest.t, ((fid_vec3){(float)m[12], (float)m[13], (float)m[14]}), 1e-5);
        assert_vec3_near(fid_quat_z(bone->rest.q), ((fid_vec3){(float)m[8], (float)m[9], (float)m[10]}), 1e-5);
        assert_vec3_near(fid_quat_x(bone->rest.q), ((fid_vec3){(float)m[0], (float)m[1], (float)m[2]}), 1e-5);
        assert_int_equal(bone->parent, i - 1);
    }
    fid_rig_free(rig);
}

static void rest_frames_are_kept_to_the_bit_once_they_are_canonical(void **state) {
    (void)state;
    fid_error err = {0};
    random_source source = random_begin(78);
    for (int i = 0; i < 1000; i++) {
        fid_rig *rig = build_rig();
        fid_bone_id first, second;
        fid_bone_def def = build_bone_def("aa", build_none);
        def.rest = (fid_frame){random_vec3(&source, 1.0), random_quat(&source), {1, 1, 1}};
        def.rest.t.y = -0.0f;
        float slip = (float)random_between(&source, 0.99995, 1.00005);
        def.rest.q = (fid_quat){def.rest.q.x * slip, def.rest.q.y * slip, def.rest.q.z * slip, def.rest.q.w * slip};
        build_ok(fid_rig_add_bone(rig, &def, &first, &err));
        const fid_frame rest = fid_rig_bone(rig, first, &err)->def.rest;
        assert_true(rest.q.w >= 0.0f);
        assert_false(signbit(rest.t.y));
        def.part = "bb";
        def.rest = rest;
        build_ok(fid_rig_add_bone(rig, &def, &second, &err));
        assert_memory_equal(&fid_rig_bone(rig, second, &err)->def.rest, &rest, sizeof rest);
        fid_rig_free(rig);
    }
}

static void a_clash_of_names_tells_both_makers(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id id;
    fid_bone_def def = build_bone_def("shin", build_none);
    def.origin = build_origin(rig, "recipes/a.lua", 3);
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    def.origin = build_origin(rig, "recipes/b.lua", 17);
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_NAME_TAKEN,
                  "name 'shin_deform' is taken by the bone made at recipes/a.lua:3");
    assert_text_contains(err.message, "recipes/b.lua:17");
    assert_int_equal(rig->bones.count, 1);
    def.origin = 2;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_INVALID, "origin");
    fid_rig_free(rig);
}

static void a_control_without_a_set_is_put_into_that_of_its_level_and_side(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id id;
    fid_bone_def def = build_bone_def("foot", build_none);
    def.role = FID_CONTROL;
    def.side = FID_LEFT;
    def.level = FID_FINE;
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    fid_set_id set = fid_rig_find_set(rig, "fine_left");
    assert_false(fid_handle_is_null(set.handle));
    assert_string_equal(rig->sets.at[0].color, "#E69F00"); // left, palette of Okabe and Ito (2008)
    assert_memory_equal(&fid_rig_bone(rig, id, &err)->def.display_set, &set, sizeof set);
    def.part = "toe";
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    assert_int_equal(rig->sets.count, 1);
    assert_memory_equal(&fid_rig_bone(rig, id, &err)->def.display_set, &set, sizeof set);
    def.part = "heel";
    def.role = FID_HELPER;
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    assert_true(fid_handle_is_null(fid_rig_bone(rig, id, &err)->def.display_set.handle));
    assert_int_equal(rig->sets.count, 1);
    fid_rig_free(rig);
}

static void one_bone_without_parent_places_the_character(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id id, other = build_bone(rig, "other", build_none);
    fid_bone_def def = build_bone_def("root", other);
    def.role = FID_CONTROL;
    def.placement = true;
    def.channels = FID_MASK_ALL;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_INVALID, "parent");
    def.parent = build_none;
    def.channels = 1u << FID_SCALE_Y;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_INVALID, "one scale");
    def.channels = FID_MASK_ALL;
    def.scale_range.hi[2] = 2.0f;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_INVALID, "scale_range");
    def.scale_range.hi[2] = FID_UNLIMITED;
    assert_true(fid_handle_is_null(rig->placement.handle));
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    assert_int_equal(fid_rig_bone_index(rig, rig->placement), 1);
    assert_int_equal(fid_rig_bone(rig, id, &err)->def.channels, fid_bone_channels(FID_CONTROL, true));
    def.part = "again";
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_INVALID, "root_control");
    fid_rig_free(rig);
}

static void bones_out_of_range_are_refused(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig(); // 2 m high: 20 km is the reach
    fid_bone_id id = build_none;
    fid_bone_def def = build_bone_def("far", build_none);
    def.rest.t.x = 20000.0f;
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    def = build_bone_def("farther", id);
    def.rest.t.x = 0.5f;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_RANGE, "10000 heights");
    def.rest.t.x = -0.5f;
    def.length = 50000.0f;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_RANGE, "10000 heights");
    def.length = 0.5f;
    def.rotation_range.lo[1] = 10.0f;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_RANGE, "'rotation_range': the range of y");
    def.rotation_range.lo[1] = -10.0f;
    def.scale_range.hi[0] = 0.5f;
    build_refused(fid_rig_add_bone(rig, &def, &id, &err), FID_RANGE, "rest value 1");
    fid_rig_free(rig);
}

static void strings_of_a_definition_are_copied(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    char part[] = "shin", tag[] = "soft";
    const char *tags[] = {tag};
    fid_bone_id id;
    fid_bone_def def = build_bone_def(part, build_none);
    def.tags = (fid_words){tags, 1};
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    memset(part, 'x', 4);
    memset(tag, 'x', 4);
    tags[0] = NULL;
    assert_string_equal(fid_rig_bone(rig, id, &err)->def.part, "shin");
    assert_string_equal(fid_rig_bone(rig, id, &err)->def.tags.at[0], "soft");
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_place_from_base_to_tip_aims_its_z),
        cmocka_unit_test(other_places_have_the_size_that_is_given_or_usual),
        cmocka_unit_test(places_that_contradict_themselves_are_refused),
        cmocka_unit_test(a_bone_is_found_by_name_and_address),
        cmocka_unit_test(rest_frames_add_up_along_parents),
        cmocka_unit_test(rest_frames_are_kept_to_the_bit_once_they_are_canonical),
        cmocka_unit_test(a_clash_of_names_tells_both_makers),
        cmocka_unit_test(a_control_without_a_set_is_put_into_that_of_its_level_and_side),
        cmocka_unit_test(one_bone_without_parent_places_the_character),
        cmocka_unit_test(bones_out_of_range_are_refused),
        cmocka_unit_test(strings_of_a_definition_are_copied),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
