#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "check/findings.h"
#include "solve/keep.h"

// P411

/// A hand that may ride on three bones, one of them squashed, and on the world; in each kind of offset.
typedef struct seats {
    fid_rig *rig;
    fid_bone_id hand, grip;
} seats;

static seats make_seats(bool mixed) {
    seats out = {.rig = rig_make(2)};
    fid_error err = {0};
    fid_bone_def place = fid_bone_default();
    fid_bone_id root;
    place.part = "root";
    place.side = FID_CENTER;
    place.role = FID_CONTROL;
    place.length = 1;
    place.placement = true;
    place.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
    rig_ok(fid_rig_add_bone(out.rig, &place, &root, &err));
    fid_bone_id body = rig_control(out.rig, "body", root, (fid_vec3){0, 1, 0}, (fid_vec3){10, 20, 30});
    fid_bone_id head = rig_control(out.rig, "head", body, (fid_vec3){0, 0.5f, 0.1f}, (fid_vec3){0, 50, 0});
    out.hand = rig_control(out.rig, "hand", body, (fid_vec3){0.5f, 0.2f, 0.3f}, (fid_vec3){0, 0, 70});
    out.grip = rig_control(out.rig, "grip", out.hand, (fid_vec3){0, 0, 0.2f}, (fid_vec3){80, 0, 0});
    const fid_space among[] = {
        {.name = "body", .source = rig_source(body), .at_rest = true},
        {.name = "head", .source = rig_source(head), .meet = out.grip},
        {.name = "eye",
         .source = rig_source(head),
         .has_frame = true,
         .frame = {{0.1f, 0.2f, 0.3f}, fid_quat_from_euler((fid_vec3){10, 0, 5}, FID_ORDER_XYZ), {1, 1, 1}}},
        {.name = "world", .source = {.kind = FID_SOURCE_WORLD}, .at_rest = true},
    };
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.origin = find_origin(out.rig);
    def.bone = out.hand;
    def.as.spaces.among = (fid_space_list){among, 4};
    def.as.spaces.mixed = mixed;
    rig_constrain(out.rig, &def);
    return out;
}

static void spaces_that_are_made_up_for_are_silent(void **state) {
    (void)state;
    for (int mixed = 0; mixed < 2; mixed++) {
        seats of = make_seats(mixed != 0);
        fid_check_options options = find_options("P411");
        options.poses = 100;
        fid_report report = find_all(of.rig, options);
        print_findings(&report);
        assert_int_equal(report.findings.count, 0);
        fid_report_clear(&report);
        fid_rig_free(of.rig);
    }
}

static void a_jump_that_ranges_or_limits_force_is_found_with_its_pose(void **state) {
    (void)state;
    for (int kind = 0; kind < 3; kind++) {
        seats of = make_seats(false);
        fid_bone_def *hand = &of.rig->bones.at[fid_rig_bone_index(of.rig, of.hand)].def;
        if (kind == 0) {
            hand->channels &= ~(uint32_t)(1u << FID_ROTATION_Y);
        } else if (kind == 1) {
            hand->translation_range.lo[0] = hand->translation_range.hi[0] = 0;
        } else {
            fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
            limit.bone = of.hand;
            limit.as.limit.swing = 5;
            rig_constrain(of.rig, &limit);
        }
        fid_report report = find_all(of.rig, find_options("P411"));
        assert_int_equal(report.findings.count, 1);
        const fid_finding *finding = &report.findings.at[0];
        assert_string_equal(finding->code, "P411");
        assert_int_equal(finding->severity, FID_WARNING);
        assert_string_equal(finding->subject, "hand_control");
        assert_text_contains(finding->message, "switching 'hand_control.space' to '");
        assert_text_contains(finding->message, "bone 'hand_control' ends ");
        assert_text_contains(finding->message, kind == 0   ? "rotation.y may not be posed"
                                               : kind == 1 ? "translation.x is held in its range"
                                                           : "acts after the pose moves it");
        assert_true(finding->has_value && finding->value > finding->threshold);
        assert_places(finding);
        fid_report_clear(&report);
        fid_rig_free(of.rig);
    }
}

static void what_cannot_be_posed_at_all_is_no_concern(void **state) {
    (void)state;
    seats of = make_seats(false);
    of.rig->bones.at[fid_rig_bone_index(of.rig, of.hand)].def.channels = FID_MASK_TRANSLATION;
    fid_report report = find_all(of.rig, find_options("P411"));
    print_findings(&report);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(of.rig);
}

static void what_is_seen_jumps_with_what_cannot_be_posed(void **state) {
    (void)state;
    seats of = make_seats(false);
    of.rig->bones.at[fid_rig_bone_index(of.rig, of.hand)].def.channels = FID_MASK_TRANSLATION;
    fid_error err = {0};
    fid_bone_def skin = fid_bone_default();
    fid_bone_id out;
    skin.part = "skin";
    skin.parent = of.grip;
    skin.length = 0.1f;
    rig_ok(fid_rig_add_bone(of.rig, &skin, &out, &err));
    fid_report report = find_all(of.rig, find_options("P411"));
    assert_int_equal(report.findings.count, 1);
    const fid_finding *found = &report.findings.at[0];
    assert_string_equal(found->subject, "skin_deform");
    assert_int_equal(found->severity, FID_WARNING);
    assert_non_null(strstr(found->message, "switching 'hand_control.space'"));
    assert_non_null(strstr(found->message, "may not be posed"));
    fid_report_clear(&report);
    fid_rig_free(of.rig);
}

/// What turns the plane of a leg: a pole, or a swivel of that gain.
typedef enum turner { BY_POLE, BY_SWIVEL, BY_MIRRORED_SWIVEL } turner;

/// A leg that a goal leads at 1 and whose joints are turned at 0; `whole`: its match to 1 poses the joints on top, and
/// before that what turns its plane.
static fid_rig *make_limb(bool whole, turner by) {
    fid_rig *rig = rig_make(2);
    fid_error err = {0};
    const fid_vec3 points[] = {{0, 2, 0}, {0, 1.1f, 0.3f}, {0, 0.1f, 0}};
    fid_bone_id goal = rig_control(rig, "goal", rig_none, points[2], nowhere);
    fid_bone_id pole = rig_control(rig, "pole", rig_none, (fid_vec3){0.4f, 1, 1.5f}, nowhere);
    fid_chain_id chain = rig_chain(rig, "leg", rig_none, points, 3, true, FID_LINKED);
    fid_slider_def slider = fid_slider_default();
    fid_slider_id id;
    slider.on = goal;
    slider.name = "lead";
    slider.rest = 1;
    rig_ok(fid_rig_add_slider(rig, &slider, &id, &err));
    fid_constraint_def ik = fid_constraint_default(FID_CONSTRAINT_IK);
    ik.chain = chain;
    ik.as.ik.goal = rig_source(goal);
    if (by == BY_POLE) {
        ik.as.ik.pole = rig_source(pole);
    } else {
        fid_slider_def roll = fid_slider_default();
        fid_slider_id turn;
        roll.on = goal;
        roll.name = "roll";
        roll.min = -180;
        roll.max = 180;
        rig_ok(fid_rig_add_slider(rig, &roll, &turn, &err));
        ik.as.ik.swivel.channel = (fid_channel){FID_CHANNEL_SLIDER, 0, turn.handle};
        ik.as.ik.swivel_gain = by == BY_SWIVEL ? 1 : -1;
    }
    ik.weight.channel = (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
    fid_constraint_id made = rig_constrain(rig, &ik);
    const fid_bone_id *bone = fid_rig_chain(rig, chain, NULL)->bones;
    for (int i = 0; i < 3; i++) {
        fid_bone_def skin = fid_bone_default();
        fid_bone_id out;
        skin.part = i == 0 ? "thigh" : i == 1 ? "shin" : "foot";
        skin.parent = bone[i];
        skin.length = 0.1f;
        rig_ok(fid_rig_add_bone(rig, &skin, &out, &err));
    }
    const fid_match_step turn[] = {
        {.bone = bone[0], .like = bone[0]}, {.bone = bone[1], .like = bone[1]}, {.bone = bone[2], .like = bone[2]}};
    const fid_match_step lead[] = {{.bone = goal, .like = bone[2]},
                                   {.bone = by == BY_POLE ? pole : rig_none, .plane_of = made},
                                   turn[0],
                                   turn[1],
                                   turn[2]};
    fid_match_def match = fid_match_default();
    match.slider = ik.weight.channel;
    match.set = (fid_match_steps){turn, 3};
    match.origin = find_origin(rig);
    rig_ok(fid_rig_add_match(rig, &match, &err));
    match.value = 1;
    match.set = (fid_match_steps){lead, whole ? 5 : 1};
    rig_ok(fid_rig_add_match(rig, &match, &err));
    return rig;
}

static void matches_that_leave_nothing_out_are_silent(void **state) {
    (void)state;
    for (turner by = BY_POLE; by <= BY_MIRRORED_SWIVEL; by++) {
        fid_rig *rig = make_limb(true, by);
        fid_check_options options = find_options("P411");
        options.poses = 100;
        fid_report report = find_all(rig, options);
        print_findings(&report);
        assert_int_equal(report.findings.count, 0);
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

static void a_swivel_alone_brings_back_what_a_goal_led(void **state) {
    (void)state;
    for (turner by = BY_SWIVEL; by <= BY_MIRRORED_SWIVEL; by++) {
        fid_rig *rig = make_limb(true, by);
        fid_error err = {0};
        // The joints are left to the ik: what the swivel does not bring back shows.
        rig->matches.at[1].set.count = 2;
        solved of = rig_compile(rig);
        int32_t lead = of.program->bone_count * FID_AXIS_COUNT, roll = lead + 1;
        fid_frame *before = malloc((size_t)of.program->bone_count * sizeof *before);
        fid_bone_id goal = fid_rig_find_bone(rig, "goal_control");
        static const float turns[] = {0, 25, -120, 179, -179, 90};
        for (size_t i = 0; i < sizeof turns / sizeof turns[0]; i++) {
            fid_pose_reset(of.pose);
            rig_move(&of, goal, (fid_vec3){0.3f, 0.2f + 0.1f * (float)i, -0.4f}, (fid_vec3){10, 20, 30});
            rig_ok(fid_pose_set(of.pose, roll, turns[i], NULL, &err));
            rig_ok(fid_pose_switch(of.program, of.pose, lead, 0, before, NULL, NULL, &err));
            // Somebody else turned it meanwhile.
            rig_ok(fid_pose_set(of.pose, roll, turns[i] / 2 - 40, NULL, &err));
            rig_ok(fid_pose_switch(of.program, of.pose, lead, 1, before, NULL, NULL, &err));
            assert_near(of.pose->value[roll], turns[i], 0.02);
        }
        free(before);
        rig_end(rig, &of);
    }
}

static void a_swivel_that_its_range_holds_back_is_a_warning(void **state) {
    (void)state;
    fid_rig *rig = make_limb(true, BY_SWIVEL);
    rig->matches.at[1].set.count = 2;
    rig->sliders.at[1].def.min = -20;
    rig->sliders.at[1].def.max = 20;
    // The joints turn about all axes at random: beyond the range of the swivel.
    fid_report report = find_all(rig, find_options("P411"));
    assert_int_equal(report.findings.count, 1);
    assert_int_equal(report.findings.at[0].severity, FID_WARNING);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_match_that_forgets_the_pole_is_found(void **state) {
    (void)state;
    fid_rig *rig = make_limb(false, BY_POLE);
    fid_report report = find_all(rig, find_options("P411"));
    assert_int_equal(report.findings.count, 1);
    const fid_finding *finding = &report.findings.at[0];
    assert_int_equal(finding->severity, FID_ERROR);
    assert_text_contains(finding->message, "switching 'goal_control.lead' to 1: bone '");
    assert_text_contains(finding->subject, "_deform");
    assert_true(finding->has_value && finding->value > finding->threshold);
    assert_places(finding);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_match_that_names_what_cannot_be_posed_is_found(void **state) {
    (void)state;
    for (int posable = 0; posable < 2; posable++) {
        fid_rig *rig = rig_make(2);
        fid_error err = {0};
        fid_bone_id hand = rig_control(rig, "hand", rig_none, (fid_vec3){0, 1, 0}, nowhere), glove;
        fid_slider_def slider = fid_slider_default();
        fid_slider_id id;
        slider.on = hand;
        slider.name = "hold";
        rig_ok(fid_rig_add_slider(rig, &slider, &id, &err));
        fid_bone_def def = fid_bone_default();
        def.part = "glove";
        def.rest.t.y = 1;
        def.length = 0.1f;
        def.channels = posable ? FID_MASK_TRANSLATION | FID_MASK_ROTATION : 0;
        rig_ok(fid_rig_add_bone(rig, &def, &glove, &err));
        fid_share share = {rig_source(hand), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
        fid_constraint_def follow = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
        follow.bone = glove;
        follow.weight.channel = (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
        follow.as.follow.sources = (fid_sources){&share, 1};
        follow.as.follow.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION;
        rig_constrain(rig, &follow);
        const fid_match_step stay = {.bone = glove, .like = glove};
        fid_match_def match = fid_match_default();
        match.slider = follow.weight.channel;
        match.value = 1;
        match.set = (fid_match_steps){&stay, 1};
        rig_ok(fid_rig_add_match(rig, &match, &err));
        fid_report report = find_all(rig, find_options("P411"));
        assert_int_equal(report.findings.count, posable ? 0 : 1);
        if (!posable) {
            assert_int_equal(report.findings.at[0].severity, FID_WARNING);
            assert_string_equal(report.findings.at[0].subject, "glove_deform");
            assert_text_contains(report.findings.at[0].message, "may not be posed");
        }
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spaces_that_are_made_up_for_are_silent),
        cmocka_unit_test(a_jump_that_ranges_or_limits_force_is_found_with_its_pose),
        cmocka_unit_test(what_cannot_be_posed_at_all_is_no_concern),
        cmocka_unit_test(what_is_seen_jumps_with_what_cannot_be_posed),
        cmocka_unit_test(matches_that_leave_nothing_out_are_silent),
        cmocka_unit_test(a_swivel_alone_brings_back_what_a_goal_led),
        cmocka_unit_test(a_swivel_that_its_range_holds_back_is_a_warning),
        cmocka_unit_test(a_match_that_forgets_the_pole_is_found),
        cmocka_unit_test(a_match_that_names_what_cannot_be_posed_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
