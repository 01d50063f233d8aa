#include "rig/build.h"
#include "support/assert_frame.h"

static void linked_bones_hang_from_each_other(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_chain_def def = build_chain_def("leg", true);
    fid_chain_id id;
    def.bone.id = "leg1";
    def.bone.side = FID_LEFT;
    def.bone.parent = build_bone(rig, "hip", build_none);
    build_ok(fid_rig_add_chain(rig, &def, &id, &err));
    const fid_chain *chain = fid_rig_chain(rig, id, &err);
    assert_string_equal(chain->address, "leg1/leg/left");
    assert_int_equal(chain->count, 3);
    assert_int_equal(fid_chain_segments(chain), 2);
    assert_string_equal(rig->bones.at[1].name, "leg1_leg_01_left_helper");
    for (int32_t i = 0; i < 3; i++) {
        assert_int_equal(rig->bones.at[i + 1].parent, i);
        assert_int_equal(fid_rig_chain_index(rig, rig->bones.at[i + 1].chain), 0);
        assert_vec3_near(fid_chain_point(rig, chain, i), build_points[i], 1e-6);
    }
    // sqrt(0.5^2 + 0.1^2); the end bone has a quarter of it and its orientation
    assert_near(rig->bones.at[2].def.length, 0.50990195, 1e-6);
    assert_near(rig->bones.at[3].def.length, 0.50990195 / 4, 1e-6);
    assert_quat_near(rig->bones.at[3].rest.q, rig->bones.at[2].rest.q, 1e-6);
    assert_vec3_near(fid_quat_z(rig->bones.at[1].rest.q), ((fid_vec3){0, -0.98058068f, 0.19611614f}), 1e-6);
    // From the first segment to the next it bends about +X: (0, -5, 1) x (0, -5, -1) is (10, 0, 0).
    assert_vec3_near(fid_quat_x(rig->bones.at[1].rest.q), ((fid_vec3){1, 0, 0}), 1e-6);
    fid_rig_free(rig);
}

static void fan_bones_hang_from_one_parent(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_chain_def def = build_chain_def("leg", false);
    fid_chain_id id;
    def.parenting = FID_FAN;
    def.bone.parent = build_bone(rig, "hip", build_none);
    build_ok(fid_rig_add_chain(rig, &def, &id, &err));
    const fid_chain *chain = fid_rig_chain(rig, id, &err);
    assert_int_equal(chain->count, 2);
    assert_int_equal(fid_chain_segments(chain), 2);
    assert_string_equal(chain->address, "leg");
    assert_int_equal(rig->bones.at[1].parent, 0);
    assert_int_equal(rig->bones.at[2].parent, 0);
    for (int32_t i = 0; i < 3; i++) {
        assert_vec3_near(fid_chain_point(rig, chain, i), build_points[i], 1e-6);
    }
    fid_rig_free(rig);
}

static void a_hint_turns_every_segment(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_chain_def def = build_chain_def("leg", false);
    fid_chain_id id;
    def.hint = FID_HINT_ACROSS;
    def.hint_vector = (fid_vec3){-1, 0, 0};
    build_ok(fid_rig_add_chain(rig, &def, &id, &err));
    for (int i = 0; i < 2; i++) {
        assert_vec3_near(fid_quat_x(rig->bones.at[i].rest.q), ((fid_vec3){-1, 0, 0}), 1e-6);
    }
    def.bone.part = "arm";
    def.hint_vector = (fid_vec3){0, -5, -1}; // along the second segment
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_RANGE, "'across' has no length or lies along segment 2");
    assert_int_equal(rig->bones.count, 2);
    def.hint = FID_HINT_UP;
    def.hint_vector.y = NAN;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_RANGE, "'up' is not finite");
    fid_rig_free(rig);
}

static void the_largest_bend_gives_the_normal(void **state) {
    (void)state;
    fid_vec3 normal = {0, 0, 0};
    const fid_vec3 straight[] = {{0, 0, 0}, {0, 0, 1}, {0, 0, 3}};
    assert_false(fid_points_bend_normal(straight, 3, 0.5f, &normal));
    const fid_vec3 slight[] = {{0, 0, 0}, {0, 0, 1}, {0.0349f, 0, 2}}; // 2 degrees
    assert_false(fid_points_bend_normal(slight, 3, 3.0f, &normal));
    assert_true(fid_points_bend_normal(slight, 3, 1.9f, &normal));
    assert_vec3_near(normal, ((fid_vec3){0, 1, 0}), 1e-6);
    const fid_vec3 two[] = {{0, 0, 0}, {0, 0, 1}, {0, 0.5f, 2}, {3, 1, 3}};
    assert_true(fid_points_bend_normal(two, 4, 3.0f, &normal));
    // (0, 0.5, 1) x (3, 0.5, 1) is (0, 3, -1.5)
    assert_vec3_near(normal, ((fid_vec3){0, 0.89442719f, -0.4472136f}), 1e-6);
    const fid_vec3 folded[] = {{0, 0, 0}, {0, 0, 1}, {0, 0, 0.5f}};
    assert_false(fid_points_bend_normal(folded, 3, 3.0f, &normal));
    assert_false(fid_points_bend_normal(folded, 1, 3.0f, &normal));
    const fid_vec3 equal[] = {{1, 1, 1}, {1, 1, 1}, {1, 1, 1}};
    assert_false(fid_points_bend_normal(equal, 3, 0.0f, &normal));
}

static void chains_that_cannot_be_made_are_refused(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_chain_id id;
    fid_vec3 points[] = {{0, 0, 0}, {0, 1, 0}, {0, 1, 0.0001f}};
    fid_chain_def def = build_chain_def("leg", false);
    def.points = points;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_RANGE, "points 2 and 3"); // 2e-4 m is the least
    points[2].z = NAN;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_RANGE, "point 3 is not finite");
    points[2].z = 1.0f;
    def.count = 1;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_INVALID, "two points");
    def.count = 10000;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_LIMIT, "9999");
    def.count = 3;
    def.parenting = 2;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_UNKNOWN, "linked or fan");
    def.parenting = FID_LINKED;
    def.bone.index[0] = 1;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_INVALID, "'index'");
    def.bone.index[0] = 0;
    def.bone.placement = true;
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_INVALID, "'placement'");
    def.bone.placement = false;
    fid_bone_def taken = build_bone_def("leg", build_none);
    taken.role = FID_HELPER;
    taken.index[0] = 1;
    taken.index[1] = 2;
    fid_bone_id bone;
    build_ok(fid_rig_add_bone(rig, &taken, &bone, &err));
    build_refused(fid_rig_add_chain(rig, &def, &id, &err), FID_NAME_TAKEN, "leg_02_helper");
    assert_int_equal(rig->bones.count, 1); // the first bone of the chain is gone again
    assert_true(fid_handle_is_null(fid_rig_find_bone(rig, "leg_01_helper").handle));
    fid_rig_free(rig);
}

static void bones_that_are_there_are_bound_into_chains(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id a = build_bone(rig, "aa", build_none), b = build_bone(rig, "bb", a), c = build_bone(rig, "cc", b);
    fid_bone_id d = build_bone(rig, "dd", a), e = build_bone(rig, "ee", a);
    fid_chain_id id;
    const fid_bone_id linked[] = {a, b, c}, fan[] = {b, d, e}, neither[] = {b, c, d}, twice[] = {b, d, b};
    build_ok(fid_rig_bind_chain(rig, linked, 3, true, -1, &id, &err));
    const fid_chain *chain = fid_rig_chain(rig, id, &err);
    assert_int_equal(chain->parenting, FID_LINKED);
    assert_int_equal(fid_chain_segments(chain), 2);
    assert_string_equal(chain->address, "aa");
    assert_vec3_near(fid_chain_point(rig, chain, 2), ((fid_vec3){0, 0, 1.5f}), 1e-6);
    build_ok(fid_rig_bind_chain(rig, fan, 3, false, -1, &id, &err));
    chain = fid_rig_chain(rig, id, &err);
    assert_int_equal(chain->parenting, FID_FAN);
    assert_vec3_near(fid_chain_point(rig, chain, 3), ((fid_vec3){0, 0, 1.5f}), 1e-6); // the tip of the last
    assert_int_equal(fid_rig_chain_index(rig, fid_rig_bone(rig, b, &err)->chain), 0); // the first that it was bound to
    assert_int_equal(fid_rig_chain_index(rig, fid_rig_bone(rig, e, &err)->chain), 1);
    build_refused(fid_rig_bind_chain(rig, neither, 3, false, -1, &id, &err), FID_INVALID, "dd_deform");
    build_refused(fid_rig_bind_chain(rig, twice, 3, false, -1, &id, &err), FID_INVALID, "twice");
    build_refused(fid_rig_bind_chain(rig, linked, 0, false, -1, &id, &err), FID_INVALID, "a bone");
    build_refused(fid_rig_bind_chain(rig, linked, 1, true, -1, &id, &err), FID_INVALID, "two bones");
    build_refused(fid_rig_bind_chain(rig, &build_none, 1, false, -1, &id, &err), FID_STALE, "gone");
    build_refused(fid_rig_bind_chain(rig, linked, 3, false, 5, &id, &err), FID_INVALID, "origin");
    assert_int_equal(rig->chains.count, 2);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(linked_bones_hang_from_each_other),
        cmocka_unit_test(fan_bones_hang_from_one_parent),
        cmocka_unit_test(a_hint_turns_every_segment),
        cmocka_unit_test(the_largest_bend_gives_the_normal),
        cmocka_unit_test(chains_that_cannot_be_made_are_refused),
        cmocka_unit_test(bones_that_are_there_are_bound_into_chains),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
