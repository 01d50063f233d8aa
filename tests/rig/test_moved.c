#include "rig/build.h"
#include "rig/snapshot.h"
#include "support/memory_fail.h"

/// Names of before lead to what bones and sliders are called today.

typedef struct scene {
    fid_rig *rig;
    fid_bone_id foot;
    fid_slider_id tilt;
} scene;

static scene make_scene(void) {
    fid_error err = {0};
    scene of = {.rig = build_rig()};
    fid_bone_def def = fid_bone_default();
    def.id = "leg1";
    def.part = "foot";
    def.side = FID_LEFT;
    def.length = 1;
    def.role = FID_CONTROL;
    build_ok(fid_rig_add_bone(of.rig, &def, &of.foot, &err));
    fid_slider_def slider = fid_slider_default();
    slider.on = of.foot;
    slider.name = "tilt";
    build_ok(fid_rig_add_slider(of.rig, &slider, &of.tilt, &err));
    return of;
}

static const fid_slider_id no_slider = {{0, 0}};
static const char hand[] = "leg1/hand/left/control", lean[] = "leg1/foot/left/control.lean";

static void name_and_address_of_before_lead_to_the_bone(void **state) {
    (void)state;
    scene of = make_scene();
    fid_error err;
    build_ok(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err));
    static const char *const old[] = {"leg1/hand/left/control", "leg1_hand_left_control"};
    for (int i = 0; i < 2; i++) {
        bool moved = false;
        fid_bone_id found = fid_rig_follow_bone(of.rig, old[i], &moved);
        assert_true(moved);
        assert_memory_equal(&found, &of.foot, sizeof found);
        assert_int_equal(fid_rig_bone_index(of.rig, fid_rig_find_bone(of.rig, old[i])), -1);
    }
    bool moved = false;
    assert_int_equal(fid_rig_bone_index(of.rig, fid_rig_follow_bone(of.rig, "leg1_foot_left_control", &moved)), 0);
    assert_int_equal(fid_rig_bone_index(of.rig, fid_rig_follow_bone(of.rig, "leg1_arm_left_control", &moved)), -1);
    assert_false(moved);
    fid_rig_free(of.rig);
}

static void channels_of_before_are_followed_in_both_of_their_parts(void **state) {
    (void)state;
    scene of = make_scene();
    fid_error err;
    build_ok(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err));
    build_ok(fid_rig_add_moved(of.rig, lean, of.foot, of.tilt, &err));
    static const struct {
        const char *text;
        bool moved, slider;
    } cases[] = {
        {"leg1_hand_left_control.rotation.x", true, false}, {"leg1_hand_left_control.lean", true, true},
        {"leg1/hand/left/control.tilt", true, true},        {"leg1_foot_left_control.lean", true, true},
        {"leg1_foot_left_control.tilt", false, true},       {"leg1/foot/left/control.rotation.x", false, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bool moved = false;
        fid_channel channel;
        build_ok(fid_rig_follow_channel(of.rig, cases[i].text, &channel, &moved, &err));
        assert_int_equal(moved, cases[i].moved);
        assert_int_equal(channel.kind, cases[i].slider ? FID_CHANNEL_SLIDER : FID_CHANNEL_BONE);
    }
    bool moved = false;
    fid_channel channel;
    build_refused(fid_rig_follow_channel(of.rig, "leg1_hand_left_control.lan", &channel, &moved, &err), FID_UNKNOWN,
                  "no channel 'lan' on bone 'leg1_foot_left_control'");
    build_refused(fid_rig_find_channel(of.rig, "leg1_foot_left_control.lean", &channel, &err), FID_UNKNOWN, "lean");
    fid_rig_free(of.rig);
}

static void what_is_there_today_comes_first(void **state) {
    (void)state;
    scene of = make_scene();
    fid_error err;
    build_ok(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err));
    fid_bone_def def = fid_bone_default();
    fid_bone_id real;
    def.id = "leg1";
    def.part = "hand";
    def.side = FID_LEFT;
    def.length = 1;
    def.role = FID_CONTROL;
    build_ok(fid_rig_add_bone(of.rig, &def, &real, &err));
    bool moved = false;
    fid_bone_id found = fid_rig_follow_bone(of.rig, hand, &moved);
    assert_memory_equal(&found, &real, sizeof found);
    assert_false(moved);
    fid_rig_free(of.rig);
}

static void what_is_no_name_of_before_is_refused(void **state) {
    (void)state;
    scene of = make_scene();
    fid_error err;
    const fid_bone_id gone = {{7, 1}};
    build_refused(fid_rig_add_moved(of.rig, hand, gone, no_slider, &err), FID_STALE, "gone");
    build_refused(fid_rig_add_moved(of.rig, "leg1//hand", of.foot, no_slider, &err), FID_SYNTAX, "leg1//hand");
    build_refused(fid_rig_add_moved(of.rig, "leg1/foot/left/control", of.foot, of.tilt, &err), FID_INVALID, "point");
    build_refused(fid_rig_add_moved(of.rig, "leg1/foot/left/control.A", of.foot, of.tilt, &err), FID_INVALID, "slider");
    build_ok(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err));
    build_refused(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err), FID_NAME_TAKEN, "moved twice");
    assert_int_equal(of.rig->moved.count, 1);
    fid_rig_free(of.rig);
}

static void rollback_forgets_names_of_before(void **state) {
    (void)state;
    scene of = make_scene();
    fid_error err;
    fid_rig_mark mark = fid_rig_get_mark(of.rig);
    for (int round = 0; round < 2; round++) {
        build_ok(fid_rig_add_moved(of.rig, hand, of.foot, no_slider, &err));
        build_ok(fid_rig_add_moved(of.rig, lean, of.foot, of.tilt, &err));
        fid_rig_rollback(of.rig, &mark);
        bool moved = false;
        assert_int_equal(of.rig->moved.count, 0);
        assert_int_equal(fid_rig_bone_index(of.rig, fid_rig_follow_bone(of.rig, hand, &moved)), -1);
        assert_int_equal(fid_rig_bone_index(of.rig, fid_rig_follow_bone(of.rig, "leg1_hand_left_control", &moved)), -1);
        assert_false(moved);
    }
    fid_rig_free(of.rig);
}

static bool add_both(void *user) {
    scene *of = user;
    fid_rig_mark mark = fid_rig_get_mark(of->rig);
    bool done = fid_rig_add_moved(of->rig, hand, of->foot, no_slider, NULL) == FID_OK &&
                fid_rig_add_moved(of->rig, lean, of->foot, of->tilt, NULL) == FID_OK;
    fid_rig_rollback(of->rig, &mark);
    return done;
}

static bool add_to_new(void *user) {
    (void)user;
    scene of = {.rig = NULL};
    fid_bone_def def = fid_bone_default();
    def.part = "foot";
    def.length = 1;
    bool done = fid_rig_new("test", 2.0f, NULL, &of.rig, NULL) == FID_OK &&
                fid_rig_add_bone(of.rig, &def, &of.foot, NULL) == FID_OK &&
                fid_rig_add_moved(of.rig, "hand/deform", of.foot, no_slider, NULL) == FID_OK;
    fid_rig_free(of.rig);
    return done;
}

static void lack_of_memory_leaves_the_rig_as_it_was(void **state) {
    (void)state;
    static snapshot before, after;
    scene of = make_scene();
    assert_true(add_both(&of));
    snapshot_bones(&before, of.rig);
    snapshot_rest(&before, of.rig);
    assert_true(add_both(&of));
    snapshot_bones(&after, of.rig);
    snapshot_rest(&after, of.rig);
    assert_string_equal(before.text, after.text);
    fid_rig_free(of.rig);
    memory_fail_every(add_to_new, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(name_and_address_of_before_lead_to_the_bone),
        cmocka_unit_test(channels_of_before_are_followed_in_both_of_their_parts),
        cmocka_unit_test(what_is_there_today_comes_first),
        cmocka_unit_test(what_is_no_name_of_before_is_refused),
        cmocka_unit_test(rollback_forgets_names_of_before),
        cmocka_unit_test(lack_of_memory_leaves_the_rig_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
