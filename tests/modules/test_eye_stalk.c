#include "math/scalar.h"
#include "rig/mirror.h"
#include "script/run.h"
#include "support/rig.h"

/// A head with a stalk of 0.55 m times `size` on its left and right.
typedef struct stalk {
    script_run run;
    solved of;
    float size;
    bool squashes; ///< the head takes the scale of its control
} stalk;

static void build(stalk *out, float size) {
    char text[2048];
    double s = (double)size;
    snprintf(text, sizeof text,
             "local fid = require 'fid'\n"
             "local s = %.9f\n"
             "local rig = fid.rig { name = 'test', height = 2 * s }\n"
             "local body = rig:control { part = 'body', at = { 0, s, 0 }, size = s, channels = { 'translation', "
             "'rotation', 'scale' } }\n"
             "local head = rig:bone { part = 'head', parent = body, at = { 0, s, 0 }, to = { 0, s, 0.3 * s }, up = { "
             "0, 1, 0 }, takes = 'all' }\n"
             "local function p(x, y, z) return { x * s, y * s, z * s } end\n"
             "local stalk = rig:use('eye_stalk', { id = 'stalk', side = 'left', parent = head, radius = 0.06 * s,\n"
             "  guides = { p(0.09, 1.05, 0.1), p(0.07, 1.19, 0.1), p(0.08, 1.33, 0.1), p(0.13, 1.46, 0.1), p(0.21, "
             "1.57, 0.1) },\n"
             "  inside = { p(0.12, 1.2, 0.08), p(0.03, 0.98, 0.02) } })\n"
             "rig:mirror(stalk)\n"
             "return rig\n",
             s);
    run_put("recipe.lua", text);
    run_file(&out->run, "recipe.lua", NULL, 0);
    run_ok(&out->run);
    out->of = rig_compile(out->run.rig);
    out->size = size;
}

static fid_bone_id find(const stalk *of, const char *name) {
    fid_bone_id id = fid_rig_find_bone(of->run.rig, name);
    if (fid_handle_is_null(id.handle)) {
        fail_msg("there is no bone '%s'", name);
    }
    return id;
}

static void slide(const stalk *of, const char *text, float value) {
    fid_error err = {0};
    fid_channel channel;
    rig_ok(fid_rig_find_channel(of->run.rig, text, &channel, &err));
    rig_ok(fid_pose_set(of->of.pose, fid_program_channel(of->of.program, channel), value, NULL, &err));
    fid_solve(of->of.program, of->of.pose);
}

static void turn(const stalk *of, const char *name, fid_vec3 degrees) {
    rig_move(&of->of, find(of, name), (fid_vec3){0, 0, 0}, degrees);
    fid_solve(of->of.program, of->of.pose);
}

static fid_frame frame(const stalk *of, const char *name) { return rig_frame(&of->of, find(of, name)); }

static void end(stalk *of) {
    fid_pose_free(of->of.pose);
    fid_program_free(of->of.program);
    run_clear(&of->run);
}

static const float sizes[] = {1, 0.109f};

static void it_rests_at_rest_large_and_small(void **state) {
    (void)state;
    for (int k = 0; k < 2; k++) {
        stalk one;
        build(&one, sizes[k]);
        for (int32_t i = 0; i < one.of.program->bone_count; i++) {
            assert_frame_near(one.of.pose->frames[i], one.of.program->rest[i], 1e-5 * 2 * (double)sizes[k], 0.01);
        }
        end(&one);
    }
}

static void the_same_pose_has_the_same_shape_large_and_small(void **state) {
    (void)state;
    stalk large, small;
    build(&large, sizes[0]);
    build(&small, sizes[1]);
    for (int i = 0; i <= 10; i++) {
        stalk *both[] = {&large, &small};
        for (int k = 0; k < 2; k++) {
            turn(both[k], "stalk_curl_left_control", (fid_vec3){30, 10, 0});
            turn(both[k], "stalk_joint_02_left_control", (fid_vec3){0, 20, 5});
            slide(both[k], "stalk_base_left_control.retract", 0.1f * (float)i);
        }
        for (int32_t j = 0; j < large.of.program->bone_count; j++) {
            fid_vec3 scaled = fid_vec3_scale(small.of.pose->frames[j].t, sizes[0] / sizes[1]);
            assert_vec3_near(scaled, large.of.pose->frames[j].t, 1e-4);
            assert_quat_near(small.of.pose->frames[j].q, large.of.pose->frames[j].q, 1e-4);
        }
    }
    end(&large);
    end(&small);
}

static void the_squash_of_the_body_never_reaches_the_stalk(void **state) {
    (void)state;
    for (int k = 0; k < 2; k++) {
        stalk one;
        build(&one, sizes[k]);
        fid_frame base = frame(&one, "stalk_base_left_control");
        fid_frame before = fid_frame_relation(base, frame(&one, "stalk_ball_left_deform"));
        rig_scale(&one.of, find(&one, "body_control"), (fid_vec3){1.118034f, 0.8f, 1.118034f});
        fid_solve(one.of.program, one.of.pose);
        fid_frame moved = frame(&one, "stalk_base_left_control");
        // The mount keeps the body's place, which has moved, and nothing else of the squash.
        assert_true(fid_vec3_distance(moved.t, base.t) > 0.005f * sizes[k]);
        assert_frame_near(fid_frame_relation(moved, frame(&one, "stalk_ball_left_deform")), before,
                          1e-4 * (double)sizes[k], 0.05);
        assert_vec3_near(moved.s, ((fid_vec3){1, 1, 1}), 0);
        end(&one);
    }
}

static void curling_turns_every_joint_by_its_part(void **state) {
    (void)state;
    stalk one;
    build(&one, 1);
    fid_quat before[4];
    char name[64];
    for (int i = 0; i < 4; i++) {
        snprintf(name, sizeof name, "stalk_joint_%02d_left_control", i + 1);
        before[i] = frame(&one, name).q;
    }
    turn(&one, "stalk_curl_left_control", (fid_vec3){40, 0, 0});
    for (int i = 0; i < 4; i++) {
        snprintf(name, sizeof name, "stalk_joint_%02d_left_control", i + 1);
        double turned = fid_degrees(fid_quat_angle_between(before[i], frame(&one, name).q));
        // A quarter of 40 degrees at each of four joints, and each carries the rest along. They turn about one axis
        // only roughly.
        assert_near(turned, 10.0 * (i + 1), 1.5 * (i + 1));
    }
    end(&one);
}

static void growing_lengthens_the_stalk_and_keeps_its_volume(void **state) {
    (void)state;
    stalk one;
    build(&one, 1);
    rig_set(&one.of, find(&one, "stalk_grow_left_control"), FID_SCALE_Z, 1.2f);
    fid_solve(one.of.program, one.of.pose);
    for (int i = 1; i <= 4; i++) {
        char name[64];
        snprintf(name, sizeof name, "stalk_stalk_%02d_left_deform", i);
        fid_vec3 s = frame(&one, name).s;
        assert_near((double)s.z, 1.2, 1e-3);
        assert_near((double)s.x * (double)s.y * (double)s.z, 1, 1e-5);
    }
    // The eye stays on its control: the stalk bends more instead.
    assert_vec3_near(frame(&one, "stalk_joint_05_left_control").t, frame(&one, "stalk_eye_left_control").t, 1e-4);
    end(&one);
}

static void retracted_it_ends_where_the_guides_say_and_every_control_works(void **state) {
    (void)state;
    static const char *const names[] = {"stalk_eye_left_control", "stalk_curl_left_control",
                                        "stalk_joint_01_left_control", "stalk_joint_03_left_control",
                                        "stalk_base_left_control"};
    for (int k = 0; k < 2; k++) {
        stalk one;
        build(&one, sizes[k]);
        fid_vec3 before = frame(&one, "stalk_ball_left_deform").t;
        for (int i = 0; i <= 200; i++) {
            slide(&one, "stalk_base_left_control.retract", 0.005f * (float)i);
            fid_vec3 now = frame(&one, "stalk_ball_left_deform").t;
            assert_true(fid_vec3_distance(now, before) < 0.012f * sizes[k]);
            before = now;
        }
        assert_vec3_near(frame(&one, "stalk_eye_left_control").t,
                         ((fid_vec3){0.03f * sizes[k], 0.98f * sizes[k], 0.02f * sizes[k]}), 1e-5 * (double)sizes[k]);
        for (int i = 0; i < 5; i++) {
            fid_frame still = frame(&one, "stalk_joint_05_left_control");
            turn(&one, names[i], (fid_vec3){25, 0, 15});
            fid_frame now = frame(&one, "stalk_joint_05_left_control");
            if (fid_vec3_distance(now.t, still.t) < 1e-4f * sizes[k] && fid_quat_angle_between(now.q, still.q) < 0.01) {
                fail_msg("%s does not move the retracted stalk", names[i]);
            }
            turn(&one, names[i], (fid_vec3){0, 0, 0});
        }
        end(&one);
    }
}

static void the_right_stalk_is_the_mirror_image_of_the_left(void **state) {
    (void)state;
    stalk one;
    build(&one, 1);
    static const char *const pairs[][2] = {{"stalk_curl_left_control", "stalk_curl_right_control"},
                                           {"stalk_joint_02_left_control", "stalk_joint_02_right_control"},
                                           {"stalk_eye_left_control", "stalk_eye_right_control"}};
    for (int i = 0; i < 3; i++) {
        turn(&one, pairs[i][0], (fid_vec3){20, 10, -15});
        turn(&one, pairs[i][1], (fid_vec3){20, -10, 15});
    }
    slide(&one, "stalk_base_left_control.retract", 0.3f);
    slide(&one, "stalk_base_right_control.retract", 0.3f);
    for (int32_t i = 0; i < one.run.rig->bones.count; i++) {
        fid_bone_id id = fid_rig_bone_at(one.run.rig, i);
        fid_frame image = fid_frame_mirror(rig_frame(&one.of, fid_mirror_bone(one.run.rig, id)));
        if (one.run.rig->bones.at[i].def.side != FID_CENTER) {
            assert_frame_near(one.of.pose->frames[i], image, 2e-5, 0.01);
        }
    }
    end(&one);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_rests_at_rest_large_and_small),
        cmocka_unit_test(the_same_pose_has_the_same_shape_large_and_small),
        cmocka_unit_test(the_squash_of_the_body_never_reaches_the_stalk),
        cmocka_unit_test(curling_turns_every_joint_by_its_part),
        cmocka_unit_test(growing_lengthens_the_stalk_and_keeps_its_volume),
        cmocka_unit_test(retracted_it_ends_where_the_guides_say_and_every_control_works),
        cmocka_unit_test(the_right_stalk_is_the_mirror_image_of_the_left),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
