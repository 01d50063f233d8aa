#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "rig/mirror.h"
#include "script/recipe.h"
#include "support/changed.h"
#include "support/rig.h"

/// The demo creature as its recipe builds it.
static fid_rig *build(void) {
    const char *source = getenv("FID_SOURCE");
    assert_non_null(source);
    fid_text path = {0};
    fid_text_addf(&path, "%s/recipes/hobrundle.lua", source);
    fid_recipe_options options = {.print = NULL};
    fid_report report = {0};
    fid_rig *rig = NULL;
    fid_code code = fid_recipe_build(path.at, &options, &rig, &report);
    for (int32_t i = 0; i < report.findings.count; i++) {
        print_error("%s\n", report.findings.at[i].message);
    }
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_text_clear(&path);
    assert_int_equal(code, FID_OK);
    return rig;
}

static fid_bone_id bone(const fid_rig *rig, const char *name) {
    fid_bone_id id = fid_rig_find_bone(rig, name);
    if (fid_handle_is_null(id.handle)) {
        fail_msg("no bone %s", name);
    }
    return id;
}

static void rest_is_rest(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    for (int32_t i = 0; i < of.program->bone_count; i++) {
        assert_frame_near(of.pose->frames[i], of.program->rest[i], 1e-5 * 1.6, 0.01);
    }
    rig_end(rig, &of);
}

/// A moderate pose of every left and center control; the right side gets its mirror.
static void pose_mirrored(const fid_rig *rig, const solved *of, int number, bool exchanged) {
    fid_error err = {0};
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *at = &rig->bones.at[i];
        fid_bone_id id = fid_rig_bone_at(rig, i), other = fid_mirror_bone(rig, id);
        for (int axis = 0; axis < FID_SCALE_X; axis++) {
            if (!(at->def.channels >> axis & 1u) || at->def.side == FID_RIGHT || at->def.placement) {
                continue;
            }
            // A center control keeps to the plane of symmetry, or the mirror image would be another pose of its own.
            fid_channel channel = {FID_CHANNEL_BONE, (fid_axis)axis, id.handle};
            float sign = fid_mirror_sign(channel);
            double wave = fid_sin(1.7 * number + 0.9 * i + 0.37 * axis);
            float value = (float)(axis < FID_ROTATION_X ? 0.08 * wave : 25 * wave);
            if (at->def.side == FID_CENTER) {
                value = sign < 0 ? 0 : value;
                rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), value, NULL, &err));
                continue;
            }
            fid_channel opposite = {FID_CHANNEL_BONE, (fid_axis)axis, other.handle};
            double second = fid_sin(2.9 * number + 0.4 * i + 0.7 * axis);
            float right = (float)(axis < FID_ROTATION_X ? 0.08 * second : 25 * second);
            rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), exchanged ? sign * right : value,
                                NULL, &err));
            rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, opposite), exchanged ? sign * value : right,
                                NULL, &err));
        }
    }
    fid_solve(of->program, of->pose);
}

static void a_mirrored_pose_gives_the_mirror_image(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved here = rig_compile(rig), there = rig_compile(rig);
    for (int number = 0; number < 30; number++) {
        fid_pose_reset(here.pose);
        fid_pose_reset(there.pose);
        pose_mirrored(rig, &here, number, false);
        pose_mirrored(rig, &there, number, true);
        for (int32_t i = 0; i < rig->bones.count; i++) {
            fid_frame image = fid_frame_mirror(rig_frame(&there, fid_mirror_bone(rig, fid_rig_bone_at(rig, i))));
            assert_frame_near(here.pose->frames[i], image, 1e-5 * 1.6, 0.01);
        }
    }
    fid_pose_free(there.pose);
    fid_program_free(there.program);
    rig_end(rig, &here);
}

/// Sets a slider by its text and solves.
static void slide(const fid_rig *rig, const solved *of, const char *text, float value) {
    fid_error err = {0};
    fid_channel channel;
    rig_ok(fid_rig_find_channel(rig, text, &channel, &err));
    rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), value, NULL, &err));
    fid_solve(of->program, of->pose);
}

static void the_whole_rig_has_the_same_shape_at_every_size_and_place(void **state) {
    (void)state;
    static const float sizes[] = {0.5f, 2, 10, 1};
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    fid_bone_id root = bone(rig, "root_placement_control");
    double(*before)[3] = calloc((size_t)rig->bones.count, sizeof *before);
    assert_non_null(before);
    pose_mirrored(rig, &of, 3, false);
    static const char *const sliders[] = {"spine_main_control.stretch",      "mouth_jaw_control.open",
                                          "clasp_base_left_control.close",   "lids_blink_right_control.close",
                                          "stalk_base_left_control.retract", "antenna_base_left_control.curl"};
    for (int i = 0; i < 6; i++) {
        slide(rig, &of, sliders[i], 0.3f);
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        fid_pose_world_point(of.pose, i, (fid_vec3){0, 0, 0}, before[i]);
    }
    for (int k = 0; k < 4; k++) {
        rig_set(&of, root, FID_SCALE_X, sizes[k]);
        rig_set(&of, root, FID_TRANSLATION_Z, k == 3 ? 1000 : 0);
        fid_solve(of.program, of.pose);
        for (int32_t i = 0; i < rig->bones.count; i++) {
            double now[3];
            fid_pose_world_point(of.pose, i, (fid_vec3){0, 0, 0}, now);
            for (int j = 0; j < 3; j++) {
                double moved = k == 3 && j == 2 ? 1000 : 0;
                assert_near((now[j] - moved) / (double)sizes[k], before[i][j], 1e-5 * 1.6);
            }
        }
    }
    free(before);
    rig_end(rig, &of);
}

/// Puts the left foot of the first leg to `ratio` of the leg's length from its first joint, along the present line.
static void stretch(const fid_rig *rig, const solved *of, float ratio) {
    fid_bone_id foot = bone(rig, "leg1_foot_left_control"), joint = bone(rig, "leg1_joint_01_left_control");
    const fid_program_ik *ik = &of->program->iks[0];
    fid_frame rest = of->program->rest[foot.handle.slot];
    fid_vec3 base = of->program->rest[joint.handle.slot].t;
    fid_vec3 way = fid_vec3_normalize(fid_vec3_sub(rest.t, base), (fid_vec3){0, -1, 0});
    fid_vec3 goal = fid_vec3_add(base, fid_vec3_scale(way, ratio * (float)ik->longest));
    fid_vec3 moved = fid_quat_rotate(fid_quat_inverse(rest.q), fid_vec3_sub(goal, rest.t));
    rig_set(of, foot, FID_TRANSLATION_X, moved.x);
    rig_set(of, foot, FID_TRANSLATION_Y, moved.y);
    rig_set(of, foot, FID_TRANSLATION_Z, moved.z);
    fid_solve(of->program, of->pose);
}

static void a_leg_at_a_fifth_over_its_length_meets_its_foot_and_keeps_its_volume(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    stretch(rig, &of, 1.2f);
    fid_vec3 tip = rig_frame(&of, bone(rig, "leg1_joint_04_left_control")).t;
    assert_vec3_near(tip, rig_frame(&of, bone(rig, "leg1_foot_left_control")).t, 1e-4 * of.program->iks[0].longest);
    static const char *const spans[] = {"leg1_leg_01_left_deform", "leg1_leg_02_left_deform",
                                        "leg1_leg_03_left_deform"};
    for (int i = 0; i < 3; i++) {
        fid_vec3 s = rig_frame(&of, bone(rig, spans[i])).s;
        // All segments are lengthened by one ratio; volume law: lateral s^(-1/2).
        assert_near((double)s.z, 1.2, 2e-3);
        assert_near((double)(s.x * s.y * s.z), 1, 1e-5);
    }
    assert_vec3_near(rig_frame(&of, bone(rig, "leg1_foot_left_deform")).s, ((fid_vec3){1, 1, 1}), 0);
    rig_end(rig, &of);
}

static void no_bone_of_a_leg_jumps_through_full_extension(void **state) {
    (void)state;
    static const float sizes[] = {1, 0.5f, 2};
    for (int k = 0; k < 3; k++) {
        fid_rig *rig = build();
        solved of = rig_compile(rig);
        rig_set(&of, bone(rig, "root_placement_control"), FID_SCALE_X, sizes[k]);
        fid_quat before[512];
        assert_true(rig->bones.count <= 512);
        for (int step = 0; step <= 350; step++) {
            stretch(rig, &of, 0.9f + 0.001f * (float)step);
            for (int32_t i = 0; i < rig->bones.count; i++) {
                if (step > 0) {
                    double turn = fid_degrees(fid_quat_angle_between(before[i], of.pose->frames[i].q));
                    if (!(turn <= 0.5)) {
                        fail_msg("%s turns by %g degrees at %g of the length", rig->bones.at[i].name, turn,
                                 0.9 + 0.001 * step);
                    }
                }
                before[i] = of.pose->frames[i].q;
            }
        }
        rig_end(rig, &of);
    }
}

static void turn(const fid_rig *rig, const solved *of, const char *name, fid_vec3 degrees) {
    fid_bone_id id = bone(rig, name);
    rig_set(of, id, FID_ROTATION_X, degrees.x);
    rig_set(of, id, FID_ROTATION_Y, degrees.y);
    rig_set(of, id, FID_ROTATION_Z, degrees.z);
    fid_solve(of->program, of->pose);
}

static bool starts_with(const char *text, const char *start) { return strncmp(text, start, strlen(start)) == 0; }

static bool is_of_an_eye(const char *name) { return starts_with(name, "stalk_") || starts_with(name, "lids_"); }

/// Bones of the stalk, the eye and its lids, seen from the head: their shape must not change with the body.
static void note_stalk(const fid_rig *rig, const solved *of, fid_frame *out) {
    fid_frame head = rig_frame(of, bone(rig, "neck_head_control"));
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (is_of_an_eye(rig->bones.at[i].name)) {
            out[i] = fid_frame_relation(head, of->pose->frames[i]);
        }
    }
}

static void the_body_squashes_and_the_eyes_keep_their_shape(void **state) {
    (void)state;
    static const float sizes[] = {1, 0.5f, 2};
    for (int k = 0; k < 3; k++) {
        fid_rig *rig = build();
        solved of = rig_compile(rig);
        static fid_frame before[512], after[512];
        rig_set(&of, bone(rig, "root_placement_control"), FID_SCALE_X, sizes[k]);
        turn(rig, &of, "stalk_curl_left_control", (fid_vec3){20, 0, 10});
        note_stalk(rig, &of, before);
        slide(rig, &of, "spine_main_control.stretch", -0.2f);
        note_stalk(rig, &of, after);
        for (int32_t i = 0; i < rig->bones.count; i++) {
            if (is_of_an_eye(rig->bones.at[i].name)) {
                assert_frame_near(after[i], before[i], 1e-4, 0.05);
            }
        }
        // Every span of the body is squashed to 0.8 along and keeps its volume: the determinant of its scales is 1.
        for (int32_t i = 0; i < rig->bones.count; i++) {
            if (starts_with(rig->bones.at[i].name, "spine_body_")) {
                fid_vec3 s = of.pose->frames[i].s;
                assert_near((double)s.z, 0.8, 0.02);
                assert_near((double)s.x * (double)s.y * (double)s.z, 1, 1e-5);
            } else if (starts_with(rig->bones.at[i].name, "leg") == false && rig->bones.at[i].def.role == FID_CONTROL) {
                assert_vec3_near(of.pose->frames[i].s, ((fid_vec3){1, 1, 1}), 0);
            }
        }
        rig_end(rig, &of);
    }
}

static void the_end_control_curves_the_body_with_a_falloff(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    turn(rig, &of, "spine_end_control", (fid_vec3){0, 40, 0});
    double before = -10;
    for (int i = 1; i <= 7; i++) {
        char name[64];
        snprintf(name, sizeof name, "spine_joint_%02d_control", i);
        fid_bone_id id = bone(rig, name);
        double turned = fid_degrees(fid_quat_angle_between(rig_frame(&of, id).q, of.program->rest[id.handle.slot].q));
        // Weights grow from 0 at the root to 1 at the end: 40 degrees there.
        assert_true(turned > before + 4);
        before = turned;
    }
    assert_near(before, 40, 0.01);
    // A fine control stays free on top.
    fid_bone_id joint = bone(rig, "spine_joint_04_control");
    fid_vec3 place = rig_frame(&of, joint).t;
    rig_set(&of, joint, FID_TRANSLATION_Y, 0.1f);
    fid_solve(of.program, of.pose);
    assert_near((double)fid_vec3_distance(rig_frame(&of, joint).t, place), 0.1, 1e-5);
    rig_end(rig, &of);
}

static void a_stalk_retracts_while_it_is_bent_by_hand(void **state) {
    (void)state;
    static const float sizes[] = {1, 0.5f, 2};
    for (int k = 0; k < 3; k++) {
        fid_rig *rig = build();
        solved of = rig_compile(rig);
        rig_set(&of, bone(rig, "root_placement_control"), FID_SCALE_X, sizes[k]);
        turn(rig, &of, "stalk_joint_03_left_control", (fid_vec3){25, 0, 0});
        turn(rig, &of, "stalk_curl_left_control", (fid_vec3){0, 15, 0});
        fid_vec3 base = rig_frame(&of, bone(rig, "stalk_base_left_control")).t;
        fid_bone_id ball = bone(rig, "stalk_ball_left_deform");
        fid_vec3 before = rig_frame(&of, ball).t;
        for (int i = 0; i <= 100; i++) {
            slide(rig, &of, "stalk_base_left_control.retract", 0.01f * (float)i);
            fid_vec3 now = rig_frame(&of, ball).t;
            // No jump on the way: a hundredth of the slider moves the eye by a few centimetres at most.
            assert_true(fid_vec3_distance(now, before) < 0.03f);
            assert_vec3_near(rig_frame(&of, ball).s, ((fid_vec3){1, 1, 1}), 1e-6);
            before = now;
        }
        assert_true(fid_vec3_distance(before, base) < 0.25f);
        // Retracted, every control still moves the eye.
        static const char *const names[] = {"stalk_eye_left_control", "stalk_curl_left_control",
                                            "stalk_joint_01_left_control", "stalk_joint_05_left_control",
                                            "stalk_base_left_control"};
        for (int i = 0; i < 5; i++) {
            fid_frame still = rig_frame(&of, ball);
            turn(rig, &of, names[i], (fid_vec3){0, 0, 30});
            fid_frame moved = rig_frame(&of, ball);
            bool eye = fid_vec3_distance(moved.t, still.t) > 1e-4f ||
                       fid_degrees(fid_quat_angle_between(moved.q, still.q)) > 0.5 ||
                       fid_degrees(fid_quat_angle_between(rig_frame(&of, bone(rig, "stalk_joint_07_left_control")).q,
                                                          still.q)) > 0.5;
            if (!eye) {
                fail_msg("%s does not move the retracted eye", names[i]);
            }
            turn(rig, &of, names[i], (fid_vec3){0, 0, 0});
        }
        rig_end(rig, &of);
    }
}

static void the_eye_looks_where_its_control_is(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    fid_bone_id look = bone(rig, "stalk_look_left_control"), ball = bone(rig, "stalk_ball_left_deform");
    rig_move(&of, bone(rig, "stalk_eye_left_control"), (fid_vec3){0.1f, -0.1f, 0.05f}, (fid_vec3){10, 20, 30});
    rig_set(&of, look, FID_TRANSLATION_X, 0.3f);
    fid_solve(of.program, of.pose);
    fid_vec3 way = fid_vec3_sub(rig_frame(&of, look).t, rig_frame(&of, ball).t);
    assert_near(fid_degrees(fid_vec3_angle(fid_quat_z(rig_frame(&of, ball).q), way)), 0, 0.01);
    rig_end(rig, &of);
}

static void the_stalk_takes_the_turn_of_the_head_by_a_slider(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    fid_bone_id base = bone(rig, "stalk_base_left_control");
    fid_quat rest = rig_frame(&of, base).q;
    turn(rig, &of, "neck_head_control", (fid_vec3){0, 50, 0});
    assert_near(fid_degrees(fid_quat_angle_between(rig_frame(&of, base).q, rest)), 50, 0.01);
    slide(rig, &of, "stalk_base_left_control.turn", 0);
    assert_near(fid_degrees(fid_quat_angle_between(rig_frame(&of, base).q, rest)), 0, 0.01);
    slide(rig, &of, "stalk_base_left_control.turn", 0.5f);
    assert_near(fid_degrees(fid_quat_angle_between(rig_frame(&of, base).q, rest)), 25, 0.01);
    rig_end(rig, &of);
}

/// The tip of a bone in the rig's own space.
static fid_vec3 tip_of(const fid_rig *rig, const solved *of, const char *name) {
    fid_bone_id id = bone(rig, name);
    fid_frame frame = rig_frame(of, id);
    fid_vec3 own = {0, 0, frame.s.z * rig->bones.at[id.handle.slot].def.length};
    return fid_vec3_add(frame.t, fid_quat_rotate(frame.q, own));
}

static void the_neck_swings_while_the_head_stays_level(void **state) {
    (void)state;
    static const float sizes[] = {1, 0.5f, 2};
    for (int k = 0; k < 3; k++) {
        fid_rig *rig = build();
        solved of = rig_compile(rig);
        rig_set(&of, bone(rig, "root_placement_control"), FID_SCALE_X, sizes[k]);
        slide(rig, &of, "neck_head_control.level", 1);
        fid_bone_id head = bone(rig, "neck_head_control"), skull = bone(rig, "neck_head_deform");
        fid_frame rest = of.program->rest[skull.handle.slot], before = rig_frame(&of, skull);
        float farthest = 0;
        for (int i = 0; i <= 200; i++) {
            double a = 0.0314159265 * i;
            turn(rig, &of, "neck_neck_control",
                 (fid_vec3){25 * (float)fid_sin(a), 35 * (float)fid_sin(2 * a), 15 * (float)fid_sin(3 * a)});
            fid_frame now = rig_frame(&of, skull);
            assert_near(fid_degrees(fid_quat_angle_between(now.q, rest.q)), 0, 0.01);
            assert_true(fid_vec3_distance(now.t, before.t) < 0.1f);
            assert_vec3_near(now.t, tip_of(rig, &of, "neck_neck_07_deform"), 1e-4);
            farthest = fmaxf(farthest, fid_vec3_distance(now.t, rest.t));
            before = now;
        }
        assert_true(farthest > 0.3f);
        // A hand turns the head on top of that.
        rig_set(&of, head, FID_ROTATION_Y, 20);
        fid_solve(of.program, of.pose);
        assert_near(fid_degrees(fid_quat_angle_between(rig_frame(&of, skull).q, rest.q)), 20, 0.01);
        // Level with the rig, it stays so while the body under the neck turns, too.
        rig_set(&of, head, FID_ROTATION_Y, 0);
        slide(rig, &of, "neck_head_control.level_with", 1);
        turn(rig, &of, "spine_end_control", (fid_vec3){-20, 30, 10});
        assert_near(fid_degrees(fid_quat_angle_between(rig_frame(&of, skull).q, rest.q)), 0, 0.01);
        rig_end(rig, &of);
    }
}

static void lids_stay_around_an_eye_that_is_bent_and_retracts(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    turn(rig, &of, "stalk_joint_03_left_control", (fid_vec3){25, 0, 10});
    turn(rig, &of, "stalk_curl_left_control", (fid_vec3){10, 15, 0});
    fid_bone_id ball = bone(rig, "stalk_ball_left_deform");
    for (int i = 0; i <= 50; i++) {
        slide(rig, &of, "stalk_base_left_control.retract", 0.02f * (float)i);
        slide(rig, &of, "lids_blink_left_control.close", (float)(i % 11) * 0.1f);
        fid_vec3 center = rig_frame(&of, ball).t;
        static const char *const lids[] = {"lids_upper_left_deform", "lids_lower_left_deform"};
        for (int j = 0; j < 2; j++) {
            fid_frame lid = rig_frame(&of, bone(rig, lids[j]));
            assert_vec3_near(lid.t, center, 1e-5);
            assert_vec3_near(lid.s, ((fid_vec3){1, 1, 1}), 1e-6);
            // The eye has a radius of 0.06, and the lids are a twentieth of that thick.
            assert_near((double)fid_vec3_distance(tip_of(rig, &of, lids[j]), center), 0.063, 1e-5);
        }
        if (i % 11 == 10) {
            assert_vec3_near(tip_of(rig, &of, lids[0]), tip_of(rig, &of, lids[1]), 1e-5);
        }
    }
    rig_end(rig, &of);
}

static void the_clasps_ride_on_the_jaw_and_meet_without_passing(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    fid_frame jaw = rig_frame(&of, bone(rig, "mouth_jaw_control"));
    fid_frame held = fid_frame_relation(jaw, rig_frame(&of, bone(rig, "clasp_base_left_control")));
    slide(rig, &of, "mouth_jaw_control.open", 1);
    fid_frame open = rig_frame(&of, bone(rig, "mouth_jaw_control"));
    assert_near(fid_degrees(fid_quat_angle_between(open.q, jaw.q)), 32, 0.01);
    assert_true(fid_vec3_distance(open.t, jaw.t) > 0.02f);
    assert_frame_near(fid_frame_relation(open, rig_frame(&of, bone(rig, "clasp_base_left_control"))), held, 1e-5, 0.01);
    slide(rig, &of, "clasp_base_left_control.close", 1);
    // The tips of equal blades come as near as the gap of a centimetre, and no hand brings them nearer.
    float near = fid_vec3_distance(tip_of(rig, &of, "clasp_first_02_left_deform"),
                                   tip_of(rig, &of, "clasp_second_02_left_deform"));
    assert_near((double)near, 0.01, 1e-4);
    turn(rig, &of, "clasp_first_01_left_control", (fid_vec3){30, 0, 0});
    turn(rig, &of, "clasp_second_02_left_control", (fid_vec3){30, 0, 0});
    assert_near((double)fid_vec3_distance(tip_of(rig, &of, "clasp_first_02_left_deform"),
                                          tip_of(rig, &of, "clasp_second_02_left_deform")),
                (double)near, 1e-5);
    rig_end(rig, &of);
}

static void what_changed_is_solved_as_the_whole_is(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    assert_changed_is_whole(of.program, 2000);
    rig_end(rig, &of);
}

/// Solving what one control changed touches what depends on it, and nothing else.
static void an_eye_control_leaves_the_legs_alone(void **state) {
    (void)state;
    fid_rig *rig = build();
    solved of = rig_compile(rig);
    fid_solve(of.program, of.pose);
    int32_t foot = (int32_t)bone(rig, "leg1_foot_left_control").handle.slot;
    int32_t ball = (int32_t)bone(rig, "stalk_ball_left_deform").handle.slot;
    const fid_frame marked = {{9, 9, 9}, {0, 0, 0, 1}, {1, 1, 1}};
    of.pose->frames[foot] = of.pose->frames[ball] = marked;
    rig_set(&of, bone(rig, "stalk_eye_left_control"), FID_TRANSLATION_X, 0.1f);
    fid_solve_changed(of.program, of.pose);
    assert_memory_equal(&of.pose->frames[foot], &marked, sizeof marked);
    assert_memory_not_equal(&of.pose->frames[ball], &marked, sizeof marked);
    rig_end(rig, &of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rest_is_rest),
        cmocka_unit_test(what_changed_is_solved_as_the_whole_is),
        cmocka_unit_test(an_eye_control_leaves_the_legs_alone),
        cmocka_unit_test(a_mirrored_pose_gives_the_mirror_image),
        cmocka_unit_test(the_whole_rig_has_the_same_shape_at_every_size_and_place),
        cmocka_unit_test(a_leg_at_a_fifth_over_its_length_meets_its_foot_and_keeps_its_volume),
        cmocka_unit_test(the_body_squashes_and_the_eyes_keep_their_shape),
        cmocka_unit_test(the_end_control_curves_the_body_with_a_falloff),
        cmocka_unit_test(a_stalk_retracts_while_it_is_bent_by_hand),
        cmocka_unit_test(the_eye_looks_where_its_control_is),
        cmocka_unit_test(the_neck_swings_while_the_head_stays_level),
        cmocka_unit_test(lids_stay_around_an_eye_that_is_bent_and_retracts),
        cmocka_unit_test(the_clasps_ride_on_the_jaw_and_meet_without_passing),
        cmocka_unit_test(the_stalk_takes_the_turn_of_the_head_by_a_slider),
        cmocka_unit_test(no_bone_of_a_leg_jumps_through_full_extension),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
