#include "rig/build.h"

#include <string.h>

static void sliders_are_found_on_their_bone(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id a = build_bone(rig, "aa", build_none), b = build_bone(rig, "bb", build_none);
    fid_slider_def def = fid_slider_default();
    fid_slider_id first, second;
    def.on = a;
    def.name = "curl";
    def.min = -1.0f;
    build_ok(fid_rig_add_slider(rig, &def, &first, &err));
    def.on = b;
    build_ok(fid_rig_add_slider(rig, &def, &second, &err));
    assert_int_equal(fid_rig_slider_index(rig, fid_rig_find_slider(rig, a, "curl")), 0);
    assert_int_equal(fid_rig_slider_index(rig, fid_rig_find_slider(rig, b, "curl")), 1);
    assert_true(fid_handle_is_null(fid_rig_find_slider(rig, a, "curls").handle));
    assert_true(fid_handle_is_null(fid_rig_find_slider(rig, build_none, "curl").handle));
    assert_near(fid_rig_slider(rig, second, &err)->def.min, -1, 0);
    fid_rig_free(rig);
}

static void names_that_are_channels_or_taken_are_refused(void **state) {
    (void)state;
    fid_error err;
    fid_rig *rig = build_rig();
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = build_bone(rig, "aa", build_none);
    static const char *const names[] = {"translation", "rotation", "scale", "weight"};
    for (int i = 0; i < 4; i++) {
        def.name = names[i];
        build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_NAME_TAKEN, names[i]);
    }
    static const char *const bad[] = {"", "Curl", "curl.x", "a b", "_a"};
    for (int i = 0; i < 5; i++) {
        def.name = bad[i];
        build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_INVALID, "'name'");
    }
    def.name = "curl";
    def.origin = build_origin(rig, "a.lua", 5);
    build_ok(fid_rig_add_slider(rig, &def, &id, &err));
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_NAME_TAKEN, "a.lua:5");
    def.on = build_none;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_INVALID, "'on' is missing");
    assert_int_equal(rig->sliders.count, 1);
    fid_rig_free(rig);
}

static void the_default_lies_within_the_range(void **state) {
    (void)state;
    fid_error err;
    fid_rig *rig = build_rig();
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = build_bone(rig, "aa", build_none);
    def.name = "curl";
    def.rest = 1.5f;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_RANGE, "'default'");
    def.min = 2.0f;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_RANGE, "'min' is above 'max'");
    def.min = NAN;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_RANGE, "'min' is not finite");
    def.rest = -0.0f;
    def.min = -FID_UNLIMITED;
    def.max = FID_UNLIMITED;
    build_ok(fid_rig_add_slider(rig, &def, &id, &err));
    assert_false(signbit(fid_rig_slider(rig, id, &err)->def.rest));
    fid_rig_free(rig);
}

static void choices_give_the_range(void **state) {
    (void)state;
    fid_error err;
    fid_rig *rig = build_rig();
    fid_slider_id id;
    const char *words[] = {"off", "on", "half way"};
    fid_slider_def def = fid_slider_default();
    def.on = build_bone(rig, "aa", build_none);
    def.name = "mode";
    def.choices = (fid_words){words, 3};
    def.rest = 0.5f;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_RANGE, "whole number");
    def.rest = 3.0f;
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_RANGE, "'default'");
    def.rest = 2.0f;
    build_ok(fid_rig_add_slider(rig, &def, &id, &err));
    assert_near(fid_rig_slider(rig, id, &err)->def.min, 0, 0);
    assert_near(fid_rig_slider(rig, id, &err)->def.max, 2, 0);
    words[2] = "on";
    def.name = "other";
    build_refused(fid_rig_add_slider(rig, &def, &id, &err), FID_INVALID, "'on' twice");
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sliders_are_found_on_their_bone),
        cmocka_unit_test(names_that_are_channels_or_taken_are_refused),
        cmocka_unit_test(the_default_lies_within_the_range),
        cmocka_unit_test(choices_give_the_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
