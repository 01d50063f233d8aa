#include "rig/build.h"

static void the_same_origin_is_kept_once(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    const fid_origin origins[] = {
        {"a.lua", 1, NULL, NULL, -1},  {"a.lua", 2, NULL, NULL, -1},   {"b.lua", 1, NULL, NULL, -1},
        {"a.lua", 1, "m 1", NULL, -1}, {"a.lua", 1, NULL, "leg1", -1}, {"a.lua", 1, NULL, NULL, 0},
        {"a.lua", 1, "", NULL, -1},
    };
    for (int round = 0; round < 2; round++) {
        for (int32_t i = 0; i < 7; i++) {
            int32_t index = -1;
            build_ok(fid_rig_add_origin(rig, &origins[i], &index, &err));
            assert_int_equal(index, i);
        }
    }
    assert_int_equal(rig->origins.count, 7);
    fid_rig_free(rig);
}

static void places_go_from_the_inside_out(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    int32_t outer, inner, index;
    const fid_origin first = {"crab.lua", 12, NULL, NULL, -1};
    build_ok(fid_rig_add_origin(rig, &first, &outer, &err));
    const fid_origin second = {"fid:modules/leg/module.lua", 30, "leg 1.0.0", "leg1 (left)", outer};
    build_ok(fid_rig_add_origin(rig, &second, &inner, &err));
    fid_place places[4];
    assert_int_equal(fid_rig_places(rig, inner, places, 4), 2);
    assert_string_equal(places[0].file, "fid:modules/leg/module.lua");
    assert_int_equal(places[0].line, 30);
    assert_string_equal(places[0].module, "leg 1.0.0");
    assert_string_equal(places[0].instance, "leg1 (left)");
    assert_string_equal(places[1].file, "crab.lua");
    assert_null(places[1].instance);
    assert_int_equal(fid_rig_places(rig, inner, places, 1), 1);
    assert_int_equal(fid_rig_places(rig, -1, places, 4), 0);
    assert_int_equal(fid_rig_places(rig, 99, places, 4), 0);
    const fid_origin loop = {"a.lua", 1, NULL, NULL, 2};
    build_refused(fid_rig_add_origin(rig, &loop, &index, &err), FID_INVALID, "origin");
    const fid_origin nowhere = {NULL, 1, NULL, NULL, -1};
    build_refused(fid_rig_add_origin(rig, &nowhere, &index, &err), FID_INVALID, "file");
    fid_rig_free(rig);
}

static void modules_are_sorted_and_noted_once(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    const fid_module_mark marks[] = {{"tail", "1.0.0", "aa"}, {"arm", "2.0.0", "bb"}, {"leg", "1.5.0", "cc"}};
    for (int round = 0; round < 2; round++) {
        for (int i = 0; i < 3; i++) {
            build_ok(fid_rig_add_module(rig, &marks[i], &err));
        }
    }
    assert_int_equal(rig->modules.count, 3);
    assert_string_equal(rig->modules.at[0].name, "arm");
    assert_string_equal(rig->modules.at[1].name, "leg");
    assert_string_equal(rig->modules.at[2].name, "tail");
    const fid_module_mark other = {"leg", "1.6.0", "cc"}, changed = {"leg", "1.5.0", "dd"}, bad = {"Leg", "1", "a"};
    build_refused(fid_rig_add_module(rig, &other, &err), FID_INVALID, "1.5.0 and 1.6.0");
    build_refused(fid_rig_add_module(rig, &changed, &err), FID_INVALID, "leg");
    build_refused(fid_rig_add_module(rig, &bad, &err), FID_INVALID, "name");
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_origin_is_kept_once),
        cmocka_unit_test(places_go_from_the_inside_out),
        cmocka_unit_test(modules_are_sorted_and_noted_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
