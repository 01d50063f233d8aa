#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "check/check.h"
#include "math/scalar.h"
#include "support/memory_fail.h"
#include "support/rig.h"

static const fid_vec3 nowhere = {0, 0, 0};

/// Asserts how many findings the one rule has, and what the first says.
static void assert_found(const fid_rig *rig, const char *code, int32_t count, fid_severity severity,
                         const char *subject, const char *part) {
    fid_report report = {0};
    fid_error err = {0};
    fid_check_options options = fid_check_default();
    options.only = code;
    rig_ok(fid_check_rig(rig, &options, &report, &err));
    for (int32_t i = 0; i < report.findings.count && report.findings.count != count; i++) {
        print_error("%s: %s\n", report.findings.at[i].code, report.findings.at[i].message);
    }
    assert_int_equal(report.findings.count, count);
    if (count > 0) {
        assert_string_equal(report.findings.at[0].code, code);
        assert_int_equal(report.findings.at[0].severity, severity);
        assert_string_equal(report.findings.at[0].subject, subject);
        assert_text_contains(report.findings.at[0].message, part);
        assert_non_null(report.findings.at[0].hint);
    }
    fid_report_clear(&report);
}

static void assert_silent(const fid_rig *rig, const char *code) { assert_found(rig, code, 0, FID_NOTE, "", ""); }

static fid_bone_id add_bone(fid_rig *rig, const char *part, fid_side side, fid_role role, fid_bone_id parent,
                            fid_vec3 at) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.side = (int32_t)side;
    def.role = (int32_t)role;
    def.parent = parent;
    def.rest.t = at;
    def.length = 0.3f;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

static fid_channel add_slider(fid_rig *rig, fid_bone_id on, const char *name, float min, float max) {
    fid_error err = {0};
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = on;
    def.name = name;
    def.min = min;
    def.max = max;
    rig_ok(fid_rig_add_slider(rig, &def, &id, &err));
    return (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
}

static fid_constraint_id follow(fid_rig *rig, fid_bone_id bone, fid_bone_id source, int32_t space, float gain) {
    fid_share share = {rig_source(source), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = bone;
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.space = space;
    def.as.follow.gain.value = gain;
    return rig_constrain(rig, &def);
}

static void sides_follow_the_place_of_the_bone(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    add_bone(rig, "arm", FID_LEFT, FID_DEFORM, rig_none, (fid_vec3){0.2f, 0, 0});
    add_bone(rig, "arm", FID_RIGHT, FID_DEFORM, rig_none, (fid_vec3){-0.2f, 0, 0});
    add_bone(rig, "nose", FID_LEFT, FID_DEFORM, rig_none, (fid_vec3){-0.0009f, 0, 0});
    assert_silent(rig, "N102");
    add_bone(rig, "leg", FID_LEFT, FID_DEFORM, rig_none, (fid_vec3){-0.2f, 0, 0});
    assert_found(rig, "N102", 1, FID_WARNING, "leg_left_deform", "on the other side");
    fid_rig_free(rig);
}

static void deform_bones_aim_at_their_only_child(void **state) {
    (void)state;
    static const struct {
        double degrees;
        int32_t count;
        fid_severity severity;
    } cases[] = {{0.9, 0, FID_NOTE}, {1.1, 1, FID_WARNING}, {5.1, 1, FID_ERROR}};
    for (int i = 0; i < 3; i++) {
        fid_rig *rig = rig_make(1);
        double angle = fid_radians(cases[i].degrees);
        fid_bone_id parent = add_bone(rig, "one", FID_CENTER, FID_DEFORM, rig_none, nowhere);
        add_bone(rig, "two", FID_CENTER, FID_DEFORM, parent,
                 (fid_vec3){0, (float)fid_sin(angle), (float)fid_cos(angle)});
        assert_found(rig, "S203", cases[i].count, cases[i].severity, "one_deform", "past its only child 'two_deform'");
        // Where it is meant, it is said so; where there are two children, there is no one to aim at.
        static const char *const tags[] = {"free_aim"};
        rig->bones.at[0].def.tags = (fid_words){tags, 1};
        assert_silent(rig, "S203");
        rig->bones.at[0].def.tags.count = 0;
        add_bone(rig, "three", FID_CENTER, FID_DEFORM, parent, (fid_vec3){0, 0, 1});
        assert_silent(rig, "S203");
        fid_rig_free(rig);
    }
}

static void bent_chains_lie_in_their_plane(void **state) {
    (void)state;
    static const struct {
        float off;
        int32_t count;
        fid_severity severity;
    } cases[] = {{0, 0, FID_NOTE}, {0.005f, 0, FID_NOTE}, {0.012f, 1, FID_WARNING}, {0.05f, 1, FID_ERROR}};
    for (int i = 0; i < 4; i++) {
        fid_rig *rig = rig_make(2);
        const fid_vec3 points[] = {{0, 2, 0}, {0, 1.5f, 0.5f}, {0, 0.8f, 0.6f}, {cases[i].off, 0.2f, 0.3f}};
        fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
        def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, points[3], nowhere));
        def.chain = rig_chain(rig, "leg", rig_none, points, 4, true, FID_FAN);
        rig_constrain(rig, &def);
        assert_found(rig, "S205", cases[i].count, cases[i].severity, "leg:ik", "out of the plane");
        fid_rig_free(rig);
    }
}

static void rest_is_neutral(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    add_bone(rig, "one", FID_CENTER, FID_DEFORM, rig_none, nowhere);
    assert_silent(rig, "S206");
    rig->bones.at[0].def.rest.s.y = 1.1f;
    assert_found(rig, "S206", 1, FID_ERROR, "one_deform", "scaled or mirrored");
    rig->bones.at[0].def.rest.s.y = 1;
    rig->bones.at[0].def.rotation_range.lo[2] = 5;
    assert_found(rig, "S206", 1, FID_ERROR, "one_deform", "rotation.z");
    fid_rig_free(rig);
}

static void left_and_right_are_mirror_images(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    add_bone(rig, "arm", FID_LEFT, FID_DEFORM, rig_none, (fid_vec3){0.2f, 1, 0.1f});
    add_bone(rig, "arm", FID_RIGHT, FID_DEFORM, rig_none, (fid_vec3){-0.2004f, 1, 0.1f});
    assert_silent(rig, "S207");
    rig->bones.at[1].rest.t.y = 1.001f;
    assert_found(rig, "S207", 1, FID_WARNING, "arm_left_deform", "'arm_right_deform' differ by");
    rig->bones.at[1].rest.t.y = 1;
    rig->bones.at[1].rest.q = fid_quat_about((fid_vec3){0, 1, 0}, fid_radians(0.2));
    assert_found(rig, "S207", 1, FID_WARNING, "arm_left_deform", "0.2 degrees");
    fid_rig_free(rig);
}

static void controls_serve_and_deform_bones_move(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id control = rig_control(rig, "hand", rig_none, nowhere, nowhere);
    fid_bone_id loose = add_bone(rig, "loose", FID_CENTER, FID_DEFORM, rig_none, nowhere);
    assert_found(rig, "S208", 2, FID_WARNING, "hand_control", "nothing depends on control");
    follow(rig, loose, control, FID_SPACE_RIG, 1);
    assert_silent(rig, "S208");
    add_bone(rig, "still", FID_CENTER, FID_DEFORM, rig_none, nowhere);
    assert_found(rig, "S208", 1, FID_WARNING, "still_deform", "nothing moves deform bone");
    fid_rig_free(rig);
}

static void controls_of_a_curve_serve_and_its_bones_move(void **state) {
    (void)state;
    static const fid_vec3 points[] = {{0, 0, 0}, {0, 0.1f, 0.5f}, {0, 0, 1}};
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id through[] = {rig_control(rig, "first", rig_none, nowhere, nowhere),
                             rig_control(rig, "last", rig_none, (fid_vec3){0, 0, 1}, nowhere)};
    fid_chain_def row = {.bone = fid_bone_default(), .points = points, .count = 3, .parenting = FID_FAN};
    row.bone.part = "tail";
    row.bone.side = FID_CENTER;
    row.bone.role = FID_DEFORM;
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
    rig_ok(fid_rig_add_chain(rig, &row, &def.chain, &err));
    assert_found(rig, "S208", 4, FID_WARNING, "first_control", "nothing depends on control");
    def.as.spline.through = (fid_bones){through, 2};
    def.as.spline.fill.channel = add_slider(rig, through[0], "fill", 0, 1);
    rig_constrain(rig, &def);
    static const char *const silent[] = {"S208", "S209", "C301", "C303", "C304", "P413"};
    for (int i = 0; i < 6; i++) {
        assert_silent(rig, silent[i]);
    }
    // What a curve does to a bone is a departure that others may listen to.
    follow(rig, rig_control(rig, "ear", rig_none, nowhere, nowhere), rig->chains.at[0].bones[1], FID_SPACE_OWN, 1);
    assert_silent(rig, "C302");
    fid_rig_free(rig);
}

static void motions_arrive_once(void **state) {
    (void)state;
    for (int twice = 0; twice < 2; twice++) {
        fid_rig *rig = rig_make(1);
        fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere);
        fid_bone_id hand = rig_control(rig, "hand", twice ? body : rig_none, (fid_vec3){0, 0, 1}, nowhere);
        follow(rig, hand, body, FID_SPACE_OWN, 1);
        assert_found(rig, "C301", twice, FID_WARNING, "hand_control",
                     "moves bone 'hand_control', which hangs from it, by 2");
        fid_rig_free(rig);
    }
}

static void departures_have_a_cause(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere);
    fid_bone_id still = add_bone(rig, "still", FID_CENTER, FID_DEFORM, body, nowhere);
    follow(rig, rig_control(rig, "hand", rig_none, (fid_vec3){0, 0, 1}, nowhere), body, FID_SPACE_OWN, 1);
    assert_silent(rig, "C302");
    follow(rig, rig_control(rig, "foot", rig_none, (fid_vec3){0, 0, 1}, nowhere), still, FID_SPACE_OWN, 1);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_TWIST);
    def.bone = rig_control(rig, "wrist", rig_none, (fid_vec3){0, 0, 1}, nowhere);
    def.as.twist.source = still;
    rig_constrain(rig, &def);
    assert_found(rig, "C302", 2, FID_WARNING, "foot/control:follow", "bone 'still_deform' departs");
    fid_rig_free(rig);
}

static void drives_by_measures_do_something(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_drive_id id;
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere),
                hand = rig_control(rig, "hand", rig_none, (fid_vec3){0, 1, 0}, nowhere);
    fid_bone_id stiff;
    fid_bone_def bone = fid_bone_default();
    bone.part = "stiff";
    bone.side = FID_CENTER;
    bone.length = 1;
    rig_ok(fid_rig_add_bone(rig, &bone, &stiff, &err));
    fid_factor factor = {.kind = FID_FACTOR_ANGLE, .a = rig_source(body), .b = rig_source(hand)};
    fid_drive_def drive = fid_drive_default();
    drive.from = (fid_factors){&factor, 1};
    drive.to = add_slider(rig, body, "shown", 0, 180);
    assert_found(rig, "S208", 3, FID_WARNING, "body_control", "nothing depends on control 'body_control'");
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    // What a measure reads is depended on, and an angle of two bones has an effect.
    assert_found(rig, "S208", 1, FID_WARNING, "stiff_deform", "nothing moves");
    assert_found(rig, "C303", 1, FID_WARNING, "shown", "nothing reads slider");
    factor.b = factor.a;
    factor.axis_b = FID_AIM_PLUS_Y;
    drive.combine = FID_ADD;
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_found(rig, "C303", 2, FID_WARNING, "body_control.shown", "the same whatever it reads");
    factor = (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = rig_source(hand), .b = rig_source(hand)};
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_found(rig, "C303", 3, FID_WARNING, "body_control.shown", "the same whatever it reads");
    // A twist of a bone that nothing moves by itself.
    factor = (fid_factor){.kind = FID_FACTOR_TWIST, .a = rig_source(hand)};
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_silent(rig, "C302");
    factor.a = rig_source(stiff);
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_found(rig, "C302", 1, FID_WARNING, "body_control.shown", "how bone 'stiff_deform' departs");
    fid_rig_free(rig);
}

static void sliders_drives_and_weights_do_something(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_drive_id id;
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere),
                hand = rig_control(rig, "hand", rig_none, nowhere, nowhere);
    fid_channel by = add_slider(rig, body, "by", 0, 1);
    assert_found(rig, "C303", 1, FID_WARNING, "by", "nothing reads slider 'by' of bone 'body_control'");
    fid_drive_def drive = fid_drive_default();
    drive.from = FID_FACTORS_OF(by);
    drive.to = (fid_channel){FID_CHANNEL_BONE, FID_ROTATION_X, hand.handle};
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_silent(rig, "C303");
    drive.combine = FID_ADD;
    static const float x[] = {0, 1}, y[] = {2, 2};
    drive.curve = (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = y, .count = 2};
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_found(rig, "C303", 1, FID_WARNING, "hand_control.rotation.x", "the same whatever it reads");
    fid_channel wide = add_slider(rig, body, "wide", -1, 1);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = hand;
    def.as.aim.source = rig_source(rig_control(rig, "look", rig_none, (fid_vec3){0, 0, 1}, nowhere));
    def.weight.channel = wide;
    rig_constrain(rig, &def);
    assert_found(rig, "C303", 2, FID_WARNING, "hand/control:aim", "leaves 0 to 1");
    // So does every share that has these bounds; by what is from 0 to 1 it is silent.
    rig->constraints.at[0].def.weight.channel = by;
    fid_constraint_def span = fid_constraint_default(FID_CONSTRAINT_SPAN);
    span.bone = rig_control(rig, "rod", rig_none, nowhere, nowhere);
    span.as.span.source = def.as.aim.source;
    span.as.span.keep_volume.channel = wide;
    rig_constrain(rig, &span);
    assert_found(rig, "C303", 2, FID_WARNING, "rod/control:span", "the keep_volume of 'rod/control:span' comes from");
    rig->constraints.at[1].def.as.span.keep_volume.channel = by;
    // What is left are the drive of before and 'wide', which nothing reads now.
    assert_found(rig, "C303", 2, FID_WARNING, "hand_control.rotation.x", "the same whatever it reads");
    fid_rig_free(rig);
}

static void controls_have_channels_and_keep_them(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere),
                hand = rig_control(rig, "hand", body, nowhere, nowhere);
    follow(rig, hand, body, FID_SPACE_RIG, 1);
    assert_silent(rig, "C304");
    add_bone(rig, "mute", FID_CENTER, FID_CONTROL, body, nowhere);
    assert_found(rig, "C304", 1, FID_WARNING, "mute_control", "no channel that may be posed");
    rig->constraints.at[0].def.apply = FID_AFTER;
    assert_found(rig, "C304", 2, FID_WARNING, "mute_control", "no channel");
    fid_rig_free(rig);
}

static bool check_everything(void *user) {
    fid_report report = {0};
    fid_error err = {0};
    fid_check_options options = fid_check_default();
    options.except = "P413";
    bool done = fid_check_rig(user, &options, &report, &err) == FID_OK;
    fid_report_clear(&report);
    return done;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere),
                hand = rig_control(rig, "hand", body, (fid_vec3){0, 0, 1}, nowhere);
    follow(rig, hand, body, FID_SPACE_OWN, 1);
    (void)add_slider(rig, body, "by", 0, 1);
    memory_fail_every(check_everything, rig);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sides_follow_the_place_of_the_bone),
        cmocka_unit_test(deform_bones_aim_at_their_only_child),
        cmocka_unit_test(bent_chains_lie_in_their_plane),
        cmocka_unit_test(rest_is_neutral),
        cmocka_unit_test(left_and_right_are_mirror_images),
        cmocka_unit_test(controls_serve_and_deform_bones_move),
        cmocka_unit_test(controls_of_a_curve_serve_and_its_bones_move),
        cmocka_unit_test(motions_arrive_once),
        cmocka_unit_test(departures_have_a_cause),
        cmocka_unit_test(sliders_drives_and_weights_do_something),
        cmocka_unit_test(drives_by_measures_do_something),
        cmocka_unit_test(controls_have_channels_and_keep_them),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
