#include "rig/build.h"

#include <string.h>

/// A placement bone, a bone with a slider and a range, and constraints with and without weight.
typedef struct parts {
    fid_rig *rig;
    fid_bone_id root, bone;
    fid_slider_id slider;
    fid_constraint_id follow, limit;
} parts;

static parts parts_make(void) {
    fid_error err = {0};
    parts out = {.rig = build_rig()};
    fid_bone_def root = build_bone_def("root", build_none);
    root.placement = true;
    root.role = FID_CONTROL;
    root.channels = fid_bone_channels(FID_CONTROL, true);
    root.scale_range.lo[0] = 0.5f;
    build_ok(fid_rig_add_bone(out.rig, &root, &out.root, &err));
    fid_bone_def bone = build_bone_def("shin", build_none);
    bone.id = "outer.inner";
    bone.index[0] = 2;
    bone.index[1] = 2;
    bone.index[2] = 3;
    bone.channels = 1u << FID_ROTATION_X;
    bone.rotation_range.lo[0] = -30.0f;
    bone.rotation_range.hi[0] = 60.0f;
    build_ok(fid_rig_add_bone(out.rig, &bone, &out.bone, &err));
    fid_slider_def slider = fid_slider_default();
    slider.on = out.bone;
    slider.name = "curl";
    slider.rest = 0.25f;
    build_ok(fid_rig_add_slider(out.rig, &slider, &out.slider, &err));
    const fid_share share = {{.kind = FID_SOURCE_RIG}, {1, {0}}};
    fid_constraint_def follow = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    follow.bone = out.bone;
    follow.as.follow.sources = (fid_sources){&share, 1};
    follow.weight.value = 0.75f;
    out.follow = build_constraint(out.rig, &follow);
    fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    limit.bone = out.bone;
    limit.as.limit.translation.lo[0] = -1.0f;
    out.limit = build_constraint(out.rig, &limit);
    return out;
}

static void names_lead_to_channels_and_back(void **state) {
    (void)state;
    parts of = parts_make();
    static const char *const texts[][2] = {
        {"root_control.translation.x", "root_control.translation.x"},
        {"root_control.scale", "root_control.scale"},
        {"root/control.rotation.z", "root_control.rotation.z"},
        {"outer-inner_shin_02-03_deform.scale.y", "outer-inner_shin_02-03_deform.scale.y"},
        {"outer.inner/shin/2.3/deform.rotation.x", "outer-inner_shin_02-03_deform.rotation.x"},
        {"outer.inner/shin/2.3/deform.curl", "outer-inner_shin_02-03_deform.curl"},
        {"outer-inner_shin_02-03_deform.curl", "outer-inner_shin_02-03_deform.curl"},
        {"outer.inner/shin/2.3/deform:follow.weight", "outer.inner/shin/2.3/deform:follow.weight"},
        {"outer-inner_shin_02-03_deform:follow.weight", "outer.inner/shin/2.3/deform:follow.weight"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        fid_error err = {0};
        fid_channel channel;
        fid_text name = {0};
        build_ok(fid_rig_find_channel(of.rig, texts[i][0], &channel, &err));
        assert_true(fid_rig_has_channel(of.rig, channel));
        fid_rig_add_channel_name(of.rig, channel, &name);
        assert_string_equal(name.at, texts[i][1]);
        fid_text_clear(&name);
    }
    fid_rig_free(of.rig);
}

static void every_axis_of_a_bone_is_found(void **state) {
    (void)state;
    parts of = parts_make();
    fid_error err = {0};
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        fid_channel channel;
        build_ok(fid_rig_bone_channel(of.rig, of.bone, fid_axis_names[i], &channel, &err));
        assert_true(fid_channel_is(channel, build_channel(of.bone, (fid_axis)i)));
        assert_near(fid_axis_rest((fid_axis)i), i < 6 ? 0 : 1, 0);
    }
    fid_rig_free(of.rig);
}

static void unknown_channels_tell_what_is_near(void **state) {
    (void)state;
    parts of = parts_make();
    static const struct {
        const char *text, *part;
    } cases[] = {{"", "is no channel"},
                 {"root_control", "is no channel"},
                 {".rotation.x", "is no channel"},
                 {"rot_control.rotation.x", "did you mean 'root_control'?"},
                 {"rott/control.rotation.x", "did you mean 'root/control'?"},
                 {"zzzzzzzz.rotation.x", "no bone 'zzzzzzzz'"},
                 {"root_control.rotation.w", "did you mean 'rotation.x'?"},
                 {"root_control.scale.x", "did you mean 'scale'?"},
                 {"outer.inner/shin/2.3/deform.curls", "did you mean 'curl'?"},
                 {"outer.inner/shin/2.3/deform.wwwwwww", "no channel 'wwwwwww'"},
                 {"outer.inner/shin/2.3/deform:folow.weight", "did you mean 'outer.inner/shin/2.3/deform:follow'?"},
                 {"outer.inner/shin/2.3/deform:follow.weigth", "CONSTRAINT.weight"},
                 {"a.weight:b", "CONSTRAINT.weight"},
                 {"q:w.weight", "no constraint 'q:w'"},
                 {"outer.inner/shin/2.3/deform:limit.weight", "has no weight"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_error err;
        fid_channel channel;
        build_refused(fid_rig_find_channel(of.rig, cases[i].text, &channel, &err), FID_UNKNOWN, cases[i].part);
    }
    fid_error err;
    fid_channel channel;
    char longer[600];
    memset(longer, 'a', sizeof longer);
    longer[599] = '\0';
    memcpy(longer + 580, ".x", 2);
    build_refused(fid_rig_find_channel(of.rig, longer, &channel, &err), FID_UNKNOWN, "no bone");
    memcpy(longer + 580, ":follow.weight", 15);
    build_refused(fid_rig_find_channel(of.rig, longer, &channel, &err), FID_UNKNOWN, "no constraint");
    build_refused(fid_rig_bone_channel(of.rig, build_none, "rotation.x", &channel, &err), FID_STALE, "gone");
    fid_rig_free(of.rig);
}

static void info_tells_rest_range_and_who_may_pose(void **state) {
    (void)state;
    parts of = parts_make();
    fid_channel_info info = fid_rig_channel_info(of.rig, build_channel(of.bone, FID_ROTATION_X));
    assert_near(info.rest, 0, 0);
    assert_near(info.min, -30, 0);
    assert_near(info.max, 60, 0);
    assert_true(info.animatable);
    info = fid_rig_channel_info(of.rig, build_channel(of.bone, FID_SCALE_Z));
    assert_near(info.rest, 1, 0);
    assert_true(info.min == -FID_UNLIMITED && info.max == FID_UNLIMITED);
    assert_false(info.animatable);
    info = fid_rig_channel_info(of.rig, build_channel(of.root, FID_SCALE_X));
    assert_near(info.min, 0.5, 0);
    assert_true(info.animatable);
    info = fid_rig_channel_info(of.rig, (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = of.slider.handle});
    assert_near(info.rest, 0.25, 0);
    assert_near(info.max, 1, 0);
    info = fid_rig_channel_info(of.rig, (fid_channel){.kind = FID_CHANNEL_WEIGHT, .owner = of.follow.handle});
    assert_near(info.rest, 0.75, 0);
    assert_near(info.min, 0, 0);
    assert_near(info.max, 1, 0);
    assert_false(info.animatable);
    fid_rig_free(of.rig);
}

static void channels_that_are_not_there_are_told_apart(void **state) {
    (void)state;
    parts of = parts_make();
    fid_channel none[] = {{.kind = FID_CHANNEL_NONE},
                          {.kind = FID_CHANNEL_BONE},
                          {.kind = FID_CHANNEL_SLIDER, .owner = {1, 1}},
                          {.kind = FID_CHANNEL_WEIGHT, .owner = of.limit.handle},
                          build_channel(of.root, FID_SCALE_Y),
                          build_channel(of.bone, FID_AXIS_COUNT)};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        fid_error err;
        fid_text name = {0};
        assert_false(fid_rig_has_channel(of.rig, none[i]));
        assert_false(fid_rig_channel_info(of.rig, none[i]).animatable);
        fid_rig_add_channel_name(of.rig, none[i], &name);
        assert_int_equal(name.count, 0);
        build_refused(fid_rig_set_channel_range(of.rig, none[i], 0, 1, true, &err), FID_STALE, "gone");
    }
    fid_rig_free(of.rig);
}

static void ranges_are_set_as_files_give_them(void **state) {
    (void)state;
    parts of = parts_make();
    fid_error err = {0};
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        fid_channel channel = build_channel(of.bone, (fid_axis)i);
        uint64_t edits = of.rig->edits;
        build_ok(fid_rig_set_channel_range(of.rig, channel, -2.0f, 3.0f + (float)i, i % 2 == 0, &err));
        fid_channel_info info = fid_rig_channel_info(of.rig, channel);
        assert_near(info.min, -2, 0);
        assert_near(info.max, 3 + i, 0);
        assert_int_equal(info.animatable, i % 2 == 0);
        assert_true(of.rig->edits > edits);
    }
    fid_channel scale = build_channel(of.bone, FID_SCALE_X);
    build_refused(fid_rig_set_channel_range(of.rig, scale, 0, 0.5f, true, &err), FID_RANGE, "default");
    build_refused(fid_rig_set_channel_range(of.rig, scale, NAN, 2, true, &err), FID_RANGE, "range");
    fid_channel slider = {.kind = FID_CHANNEL_SLIDER, .owner = of.slider.handle};
    build_ok(fid_rig_set_channel_range(of.rig, slider, -5, 5, false, &err));
    assert_near(fid_rig_channel_info(of.rig, slider).min, -5, 0);
    assert_false(fid_rig_channel_info(of.rig, slider).animatable);
    fid_channel weight = {.kind = FID_CHANNEL_WEIGHT, .owner = of.follow.handle};
    build_refused(fid_rig_set_channel_range(of.rig, weight, 0, 1, true, &err), FID_INVALID, "weight");
    const char *words[] = {"off", "on"};
    fid_slider_def def = fid_slider_default();
    def.on = of.bone;
    def.name = "mode";
    def.choices = (fid_words){words, 2};
    fid_slider_id mode;
    build_ok(fid_rig_add_slider(of.rig, &def, &mode, &err));
    fid_channel choice = {.kind = FID_CHANNEL_SLIDER, .owner = mode.handle};
    build_ok(fid_rig_set_channel_range(of.rig, choice, 0, 1, false, &err));
    build_refused(fid_rig_set_channel_range(of.rig, choice, 0, 2, true, &err), FID_INVALID, "choices");
    fid_rig_free(of.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_lead_to_channels_and_back),
        cmocka_unit_test(every_axis_of_a_bone_is_found),
        cmocka_unit_test(unknown_channels_tell_what_is_near),
        cmocka_unit_test(info_tells_rest_range_and_who_may_pose),
        cmocka_unit_test(channels_that_are_not_there_are_told_apart),
        cmocka_unit_test(ranges_are_set_as_files_give_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
