#include "check/findings.h"
#include "program/pose.h"
#include "rig/mirror.h"
#include "solve/solve.h"
#include "support/assert_frame.h"

static fid_bone_id add(fid_rig *rig, const char *part, fid_side side, fid_role role, fid_bone_id parent, float x) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.side = (int32_t)side;
    def.role = (int32_t)role;
    def.channels = role == FID_CONTROL ? FID_MASK_TRANSLATION | FID_MASK_ROTATION : 0;
    def.parent = parent;
    def.rest.t = (fid_vec3){x, fid_handle_is_null(parent.handle) ? 1 : 0.2f, 0};
    def.length = 0.3f;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

typedef struct pair {
    fid_rig *rig;
    fid_bone_id hand[2], skin[2], body;
} pair;

/// Two hands that carry a bone each, which follows the body in part.
static pair make_pair(void) {
    pair out = {.rig = rig_make(2)};
    out.body = add(out.rig, "body", FID_CENTER, FID_CONTROL, rig_none, 0);
    for (int side = 0; side < 2; side++) {
        float x = side ? -0.3f : 0.3f;
        out.hand[side] = add(out.rig, "hand", side ? FID_RIGHT : FID_LEFT, FID_CONTROL, out.body, x);
        out.skin[side] = add(out.rig, "skin", side ? FID_RIGHT : FID_LEFT, FID_DEFORM, out.hand[side], x);
    }
    return out;
}

static void follow(fid_rig *rig, fid_bone_id bone, fid_bone_id source, float weight) {
    fid_share share = {rig_source(source), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = bone;
    def.weight.value = weight;
    def.as.follow.sources = (fid_sources){&share, 1};
    rig_constrain(rig, &def);
}

// P410

static void what_acts_on_one_side_only_is_found(void **state) {
    (void)state;
    pair of = make_pair();
    fid_report report = find_all(of.rig, find_options("P410"));
    print_findings(&report);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    follow(of.rig, of.skin[0], of.body, 0.5f);
    report = find_all(of.rig, find_options("P410"));
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].code, "P410");
    assert_int_equal(report.findings.at[0].severity, FID_WARNING);
    assert_string_equal(report.findings.at[0].subject, "skin_left_deform");
    assert_text_contains(report.findings.at[0].message,
                         "bone 'skin_right_deform' is not the image of 'skin_left_deform'");
    fid_report_clear(&report);
    follow(of.rig, of.skin[1], of.body, 0.5f);
    report = find_all(of.rig, find_options("P410"));
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(of.rig);
}

static void a_choice_of_one_side_only_is_found(void **state) {
    (void)state;
    for (int sides = 1; sides <= 2; sides++) {
        pair of = make_pair();
        for (int side = 0; side < sides; side++) {
            const fid_space among[] = {{.name = "body", .source = rig_source(of.body), .at_rest = true},
                                       {.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true}};
            fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
            def.bone = of.hand[side];
            def.as.spaces.among = (fid_space_list){among, 2};
            rig_constrain(of.rig, &def);
        }
        fid_report report = find_all(of.rig, find_options("P410"));
        assert_int_equal(report.findings.count, 2 - sides);
        fid_report_clear(&report);
        fid_rig_free(of.rig);
    }
}

static void rigs_without_sides_and_rest_that_differs_are_left_to_others(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    fid_report report = find_all(rig, find_options("P410"));
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
    pair of = make_pair();
    of.rig->bones.at[of.skin[1].handle.slot].rest.t.y += 0.1f;
    report = find_all(of.rig, find_options("P410"));
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(of.rig);
}

// Mirrored poses

static void a_mirrored_pose_exchanges_the_sides(void **state) {
    (void)state;
    pair of = make_pair();
    fid_error err = {0};
    solved here = rig_compile(of.rig);
    fid_pose *there = NULL, *back = NULL;
    rig_ok(fid_pose_new(here.program, &there, &err));
    rig_ok(fid_pose_new(here.program, &back, &err));
    rig_move(&here, of.hand[0], (fid_vec3){0.1f, 0.2f, 0.3f}, (fid_vec3){10, 20, 30});
    rig_ok(
        fid_pose_set_rotation(here.pose, (int32_t)of.hand[1].handle.slot, (fid_quat){0.1f, 0.2f, 0.3f, 1}, NULL, &err));
    rig_move(&here, of.body, (fid_vec3){0.4f, 0, 0}, (fid_vec3){0, 15, 0});
    fid_solve(here.program, here.pose);
    assert_int_equal(fid_pose_mirror(of.rig, here.pose, there), 0);
    fid_solve(here.program, there);
    for (int32_t i = 0; i < of.rig->bones.count; i++) {
        fid_bone_id other = fid_mirror_bone(of.rig, fid_rig_bone_at(of.rig, i));
        assert_frame_near(there->frames[other.handle.slot], fid_frame_mirror(here.pose->frames[i]), 1e-6, 1e-3);
    }
    // Twice is the pose itself.
    assert_int_equal(fid_pose_mirror(of.rig, there, back), 0);
    fid_solve(here.program, back);
    for (int32_t i = 0; i < of.rig->bones.count; i++) {
        assert_frame_near(back->frames[i], here.pose->frames[i], 1e-6, 1e-3);
    }
    fid_pose_free(there);
    fid_pose_free(back);
    rig_end(of.rig, &here);
}

static void choices_are_mirrored_by_their_names(void **state) {
    (void)state;
    static const char *const words[2][3] = {{"open", "shut", "fist"}, {"shut", "open", "flat"}};
    pair of = make_pair();
    fid_error err = {0};
    fid_slider_id id[2];
    for (int side = 0; side < 2; side++) {
        fid_slider_def slider = fid_slider_default();
        slider.on = of.hand[side];
        slider.name = "grip";
        slider.choices = (fid_words){words[side], 3};
        slider.max = 2;
        rig_ok(fid_rig_add_slider(of.rig, &slider, &id[side], &err));
    }
    solved here = rig_compile(of.rig);
    fid_pose *there = NULL;
    rig_ok(fid_pose_new(here.program, &there, &err));
    int32_t channel[2];
    for (int side = 0; side < 2; side++) {
        channel[side] = fid_program_channel(here.program, (fid_channel){FID_CHANNEL_SLIDER, 0, id[side].handle});
    }
    rig_ok(fid_pose_set(here.pose, channel[0], 1, NULL, &err));
    assert_int_equal(fid_pose_mirror(of.rig, here.pose, there), 0);
    assert_near(there->value[channel[1]], 0, 0);
    // The left has no "flat", the right no "fist".
    rig_ok(fid_pose_set(here.pose, channel[0], 2, NULL, &err));
    assert_int_equal(fid_pose_mirror(of.rig, here.pose, there), 1);
    fid_pose_free(there);
    rig_end(of.rig, &here);
}

static void what_finds_no_channel_on_the_other_side_is_counted(void **state) {
    (void)state;
    pair of = make_pair();
    fid_error err = {0};
    fid_bone_id lonely = add(of.rig, "hook", FID_LEFT, FID_CONTROL, of.body, 0.1f);
    of.rig->bones.at[of.hand[1].handle.slot].def.channels = FID_MASK_ROTATION;
    solved here = rig_compile(of.rig);
    fid_pose *there = NULL;
    rig_ok(fid_pose_new(here.program, &there, &err));
    rig_set(&here, lonely, FID_TRANSLATION_X, 0.1f);
    rig_set(&here, of.hand[0], FID_TRANSLATION_Y, 0.1f);
    rig_set(&here, of.hand[0], FID_ROTATION_Y, 10);
    assert_int_equal(fid_pose_mirror(of.rig, here.pose, there), 2);
    int32_t turned = (int32_t)of.hand[1].handle.slot * FID_AXIS_COUNT + FID_ROTATION_Y;
    assert_near(there->value[turned], -10, 0);
    fid_pose_free(there);
    rig_end(of.rig, &here);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_acts_on_one_side_only_is_found),
        cmocka_unit_test(a_choice_of_one_side_only_is_found),
        cmocka_unit_test(rigs_without_sides_and_rest_that_differs_are_left_to_others),
        cmocka_unit_test(a_mirrored_pose_exchanges_the_sides),
        cmocka_unit_test(choices_are_mirrored_by_their_names),
        cmocka_unit_test(what_finds_no_channel_on_the_other_side_is_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
