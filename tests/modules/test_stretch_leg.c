#include "rig/mirror.h"
#include "script/run.h"
#include "support/rig.h"

/// Legs of `segments` equal segments in the plane Z = 0: from the hip at (0.3, 1, 0) to an ankle right below it, bent
/// by 40 degrees at every joint so that the knees point away from the body.
enum { MOST_SEGMENTS = 4 };
static const double segment_length = 0.25;

typedef struct leg {
    script_run run;
    solved of;
    double length; ///< of all segments
    double chord;  ///< hip to ankle at rest
    fid_bone_id foot, body;
    fid_bone_id joints[MOST_SEGMENTS + 1], leg[MOST_SEGMENTS], tip;
} leg;

static fid_bone_id find(const script_run *run, const char *name) {
    fid_bone_id id = fid_rig_find_bone(run->rig, name);
    if (fid_handle_is_null(id.handle)) {
        print_error("there is no bone '%s'\n", name);
        fail();
    }
    return id;
}

/// Builds a leg on the left and its mirror image, with `extra` parameters.
static void build(leg *out, int segments, const char *extra) {
    const double radians = acos(-1.0) / 180.0;
    char text[2048];
    int used = snprintf(text, sizeof text,
                        "local fid = require 'fid'\n"
                        "local rig = fid.rig { name = 'test', height = 1 }\n"
                        "local body = rig:control { part = 'body', at = { 0, 1, 0 } }\n"
                        "local leg = rig:use('stretch_leg', { id = 'leg', side = 'left', parent = body, body = body,\n"
                        "  toe = { 0.3, -0.1, 0.2 }, %s guides = { { 0.3, 1, 0 }",
                        extra);
    double x = 0.3, y = 1;
    for (int i = 0; i < segments; i++) {
        double angle = (-90 + 40 * ((segments - 1) / 2.0 - i)) * radians;
        x += segment_length * cos(angle);
        y += segment_length * sin(angle);
        used += snprintf(text + used, sizeof text - (size_t)used, ", { %.9f, %.9f, 0 }", x, y);
    }
    snprintf(text + used, sizeof text - (size_t)used, " } })\nrig:mirror(leg)\nreturn rig\n");
    run_put("recipe.lua", text);
    run_file(&out->run, "recipe.lua", NULL, 0);
    run_ok(&out->run);
    out->of = rig_compile(out->run.rig);
    out->length = segments * segment_length;
    out->chord = 1 - y;
    out->foot = find(&out->run, "leg_foot_left_control");
    out->body = find(&out->run, "body_control");
    out->tip = find(&out->run, "leg_foot_left_deform");
    for (int i = 0; i <= segments; i++) {
        char name[64];
        snprintf(name, sizeof name, "leg_joint_%02d_left_control", i + 1);
        out->joints[i] = find(&out->run, name);
        if (i < segments) {
            snprintf(name, sizeof name, "leg_leg_%02d_left_deform", i + 1);
            out->leg[i] = find(&out->run, name);
        }
    }
}

static void end(leg *of) {
    fid_pose_free(of->of.pose);
    fid_program_free(of->of.program);
    run_clear(&of->run);
}

/// Moves the foot straight down or up so that it is `share` lengths of the leg from the hip, and solves.
static void reach(const leg *of, double share) {
    rig_set(&of->of, of->foot, FID_TRANSLATION_Y, (float)(of->chord - share * of->length));
    fid_solve(of->of.program, of->of.pose);
}

static double miss(const leg *of, int segments) {
    fid_vec3 end = rig_frame(&of->of, of->joints[segments]).t;
    return (double)fid_vec3_distance(end, rig_frame(&of->of, of->foot).t);
}

static void leg_rests_where_its_guides_are(void **state) {
    (void)state;
    for (int segments = 2; segments <= MOST_SEGMENTS; segments++) {
        leg of;
        build(&of, segments, "");
        for (int32_t i = 0; i < of.run.rig->bones.count; i++) {
            assert_frame_near(of.of.pose->frames[i], of.run.rig->bones.at[i].rest, 1e-5, 0.01);
        }
        end(&of);
    }
}

static void foot_is_met_within_and_beyond_the_length(void **state) {
    (void)state;
    // Two bones within 1e-5 of the length of the chain, longer chains within 1e-4, also where stretch closes the gap.
    const double shares[] = {0.5, 0.8, 0.99, 1, 1.01, 1.1, 1.2};
    for (int segments = 2; segments <= MOST_SEGMENTS; segments++) {
        leg of;
        build(&of, segments, "");
        for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
            reach(&of, shares[i]);
            assert_near(miss(&of, segments) / of.length, 0, segments == 2 ? 1e-5 : 1e-4);
        }
        end(&of);
    }
}

static void stretch_ends_at_the_reach(void **state) {
    (void)state;
    leg of;
    build(&of, 3, "reach = 1.1,");
    reach(&of, 3);
    double distance = (double)fid_vec3_distance(rig_frame(&of.of, of.joints[0]).t, rig_frame(&of.of, of.joints[3]).t);
    assert_true(distance <= 1.1 * of.length * (1 + 1e-5));
    assert_true(distance > 1.08 * of.length);
    end(&of);
}

static void stretched_leg_keeps_its_volume(void **state) {
    (void)state;
    // At 1.2 lengths every segment is 1.2 times as long, and 1.2^(-1/2) as thick; what softening leaves is below 1e-4.
    for (int segments = 2; segments <= MOST_SEGMENTS; segments++) {
        leg of;
        build(&of, segments, "");
        reach(&of, 1.2);
        for (int i = 0; i < segments; i++) {
            fid_frame frame = rig_frame(&of.of, of.leg[i]);
            assert_near(frame.s.z, 1.2, 1e-4);
            assert_near(frame.s.x, 1 / sqrt(1.2), 1e-4);
            assert_near(frame.s.y, 1 / sqrt(1.2), 1e-4);
            fid_vec3 tip = fid_frame_point(frame, (fid_vec3){0, 0, (float)segment_length});
            assert_vec3_near(tip, rig_frame(&of.of, of.joints[i + 1]).t, 1e-5);
        }
        // The foot hangs from the end and is not stretched with the leg.
        fid_vec3 scale = rig_frame(&of.of, of.tip).s;
        assert_vec3_near(scale, ((fid_vec3){1, 1, 1}), 1e-5);
        end(&of);
    }
}

static void full_extension_is_crossed_without_a_pop(void **state) {
    (void)state;
    // No joint turns by 8 degrees or more while the foot travels 1 % of the length (common practice, no source).
    for (int segments = 2; segments <= MOST_SEGMENTS; segments++) {
        leg of;
        build(&of, segments, "");
        fid_quat before[MOST_SEGMENTS];
        double worst = 0;
        for (int step = 0; step <= 50; step++) {
            reach(&of, 0.8 + 0.01 * step);
            for (int i = 0; i < segments; i++) {
                fid_quat now = rig_frame(&of.of, of.joints[i]).q;
                double turn = step > 0 ? assert_frame_degrees(before[i], now) : 0;
                worst = fmax(worst, turn);
                before[i] = now;
            }
        }
        assert_true(worst > 1);
        assert_true(worst < 8);
        end(&of);
    }
}

static void right_leg_is_the_mirror_image(void **state) {
    (void)state;
    leg of;
    build(&of, 3, "");
    // Mirrored channel values: translation (-x, y, z), rotation (x, -y, -z).
    rig_move(&of.of, of.foot, (fid_vec3){0.1f, 0.2f, 0.15f}, (fid_vec3){20, 30, -10});
    rig_move(&of.of, find(&of.run, "leg_foot_right_control"), (fid_vec3){-0.1f, 0.2f, 0.15f}, (fid_vec3){20, -30, 10});
    rig_move(&of.of, find(&of.run, "leg_pole_left_control"), (fid_vec3){0, 0, 0.3f}, (fid_vec3){0, 0, 0});
    rig_move(&of.of, find(&of.run, "leg_pole_right_control"), (fid_vec3){0, 0, 0.3f}, (fid_vec3){0, 0, 0});
    fid_solve(of.of.program, of.of.pose);
    int32_t pairs = 0;
    double moved = 0;
    for (int32_t i = 0; i < of.run.rig->bones.count; i++) {
        const fid_bone *bone = &of.run.rig->bones.at[i];
        if (bone->def.side == FID_LEFT) {
            fid_bone_id other = fid_mirror_bone(of.run.rig, fid_rig_bone_at(of.run.rig, i));
            assert_true((int32_t)other.handle.slot != i);
            fid_frame left = of.of.pose->frames[i];
            assert_frame_near(fid_frame_mirror(left), rig_frame(&of.of, other), 1e-5, 0.01);
            moved = fmax(moved, (double)fid_vec3_distance(left.t, bone->rest.t));
            pairs++;
        }
    }
    // Hip, foot, pole, four joints, three segments, the foot's bone.
    assert_int_equal(pairs, 11);
    assert_true(moved > 0.1);
    end(&of);
}

static void every_joint_has_a_control_on_top(void **state) {
    (void)state;
    leg of;
    build(&of, 3, "");
    fid_vec3 before = rig_frame(&of.of, of.joints[1]).t;
    rig_set(&of.of, of.joints[1], FID_TRANSLATION_X, 0.05f);
    fid_solve(of.of.program, of.of.pose);
    fid_vec3 after = rig_frame(&of.of, of.joints[1]).t;
    assert_near((double)fid_vec3_distance(before, after), 0.05, 1e-5);
    fid_frame first = rig_frame(&of.of, of.leg[0]);
    assert_vec3_near(fid_frame_point(first, (fid_vec3){0, 0, (float)segment_length}), after, 1e-5);
    assert_vec3_near(rig_frame(&of.of, of.leg[1]).t, after, 1e-5);
    // The others stay where they are, and the end on the foot.
    assert_near(miss(&of, 3), 0, 1e-4);
    end(&of);
}

static void foot_rides_on_what_its_space_says(void **state) {
    (void)state;
    leg of;
    build(&of, 2, "");
    fid_error err = {0};
    fid_slider_id space = fid_rig_find_slider(of.run.rig, of.foot, "space");
    assert_false(fid_handle_is_null(space.handle));
    fid_vec3 rest = rig_frame(&of.of, of.foot).t;
    rig_set(&of.of, of.body, FID_TRANSLATION_Z, 0.2f);
    fid_solve(of.of.program, of.of.pose);
    assert_vec3_near(rig_frame(&of.of, of.foot).t, rest, 1e-5);
    const fid_words choices = of.run.rig->sliders.at[space.handle.slot].def.choices;
    assert_int_equal(choices.count, 3);
    assert_string_equal(choices.at[1], "body");
    fid_channel channel = {FID_CHANNEL_SLIDER, 0, space.handle};
    rig_ok(fid_pose_set(of.of.pose, fid_program_channel(of.of.program, channel), 1, NULL, &err));
    fid_solve(of.of.program, of.of.pose);
    assert_vec3_near(rig_frame(&of.of, of.foot).t, fid_vec3_add(rest, (fid_vec3){0, 0, 0.2f}), 1e-5);
    end(&of);
}

static void parameters_change_what_is_built(void **state) {
    (void)state;
    script_run run;
    run_recipe(&run, "local rig = fid.rig { name = 'test', height = 1 }\n"
                     "local leg = rig:use('stretch_leg', { id = 'leg', fine = false,\n"
                     "  guides = { { 0, 1, 0 }, { 0, 0.5, 0.3 }, { 0, 0, 0 } } })\n"
                     "print(leg.chains.joints[1].role, #leg.chains.joints, #leg.chains.leg, #leg.bones,\n"
                     "  leg.mounts.tip.name, leg.controls.foot.name, leg.controls.pole.name)\n"
                     "return rig");
    run_ok(&run);
    // Hip, foot, pole, three joints, two segments; no toe, so no foot bone.
    assert_string_equal(run.printed.at, "helper\t3\t2\t8\tleg_joint_03_helper\tleg_foot_control\tleg_pole_control\n");
    run_clear(&run);
}

static void unsuitable_guides_are_refused(void **state) {
    (void)state;
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } "
                "rig:use('stretch_leg', { id = 'leg', guides = { { 0, 1, 0 }, { 0, 0, 0 } } })",
                "'guides' has 2 elements; it must be a list of points of 3 or more");
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } "
                "rig:use('stretch_leg', { id = 'leg', guides = { { 0, 2, 0 }, { 0, 1, 0 }, { 0, 0, 0 } } })",
                "one line");
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } rig:use('stretch_leg', { id = 'leg', "
                "guides = { { 0, 3, 0 }, { 0.3, 2, 0.5 }, { -0.3, 1, 0.5 }, { 0, 0, 0 } } })",
                "off one plane; at most 2 are laid flat");
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } rig:use('stretch_leg', { id = 'leg', reach = 0.5, "
                "guides = { { 0, 1, 0 }, { 0, 0.5, 0.3 }, { 0, 0, 0 } } })",
                "'reach' is 0.5; it must be a number from 1 to 4");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leg_rests_where_its_guides_are),
        cmocka_unit_test(foot_is_met_within_and_beyond_the_length),
        cmocka_unit_test(stretch_ends_at_the_reach),
        cmocka_unit_test(stretched_leg_keeps_its_volume),
        cmocka_unit_test(full_extension_is_crossed_without_a_pop),
        cmocka_unit_test(right_leg_is_the_mirror_image),
        cmocka_unit_test(every_joint_has_a_control_on_top),
        cmocka_unit_test(foot_rides_on_what_its_space_says),
        cmocka_unit_test(parameters_change_what_is_built),
        cmocka_unit_test(unsuitable_guides_are_refused),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
