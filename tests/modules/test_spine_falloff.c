#include "math/scalar.h"
#include "script/run.h"
#include "support/rig.h"

typedef struct spine {
    script_run run;
    solved of;
} spine;

/// A straight body of five joints along Z, 1 m long, with more parameters.
static void build(spine *out, const char *extra) {
    char text[1024];
    snprintf(text, sizeof text,
             "local fid = require 'fid'\n"
             "local rig = fid.rig { name = 'test', height = 1 }\n"
             "local root = rig:control { part = 'root', at = { 0, 0, 0 }, placement = true }\n"
             "rig:use('spine_falloff', { id = 'spine', parent = root, %s\n"
             "  guides = { { 0, 1, 0 }, { 0, 1, 0.25 }, { 0, 1, 0.5 }, { 0, 1, 0.75 }, { 0, 1, 1 } } })\n"
             "return rig\n",
             extra);
    run_put("recipe.lua", text);
    run_file(&out->run, "recipe.lua", NULL, 0);
    run_ok(&out->run);
    out->of = rig_compile(out->run.rig);
}

static fid_bone_id find(const spine *of, const char *name) {
    fid_bone_id id = fid_rig_find_bone(of->run.rig, name);
    if (fid_handle_is_null(id.handle)) {
        fail_msg("there is no bone '%s'", name);
    }
    return id;
}

static fid_frame joint(const spine *of, int i) {
    char name[64];
    snprintf(name, sizeof name, "spine_joint_%02d_control", i);
    return rig_frame(&of->of, find(of, name));
}

static fid_frame span(const spine *of, int i) {
    char name[64];
    snprintf(name, sizeof name, "spine_body_%02d_deform", i);
    return rig_frame(&of->of, find(of, name));
}

static void slide(const spine *of, float value) {
    fid_error err = {0};
    fid_channel channel;
    rig_ok(fid_rig_find_channel(of->run.rig, "spine_main_control.stretch", &channel, &err));
    rig_ok(fid_pose_set(of->of.pose, fid_program_channel(of->of.program, channel), value, NULL, &err));
    fid_solve(of->of.program, of->of.pose);
}

static void end(spine *of) {
    fid_pose_free(of->of.pose);
    fid_program_free(of->of.program);
    run_clear(&of->run);
}

static void there_is_no_helper_bone(void **state) {
    (void)state;
    spine one;
    build(&one, "");
    for (int32_t i = 0; i < one.run.rig->bones.count; i++) {
        assert_int_not_equal(one.run.rig->bones.at[i].def.role, FID_HELPER);
        assert_frame_near(one.of.pose->frames[i], one.of.program->rest[i], 1e-5, 0.01);
    }
    end(&one);
}

static void the_main_control_moves_and_turns_the_whole_body(void **state) {
    (void)state;
    spine one;
    build(&one, "");
    // Main stands in the middle: turned by 90 degrees about Y, the body lies along X.
    rig_move(&one.of, find(&one, "spine_main_control"), (fid_vec3){0, 0.5f, 0}, (fid_vec3){0, 90, 0});
    fid_solve(one.of.program, one.of.pose);
    for (int i = 1; i <= 5; i++) {
        assert_vec3_near(joint(&one, i).t, ((fid_vec3){0.25f * (float)(i - 3), 1.5f, 0.5f}), 1e-5);
    }
    end(&one);
}

static void joints_take_the_end_control_by_their_falloff(void **state) {
    (void)state;
    static const double falloffs[2][5] = {{0, 0.25, 0.5, 0.75, 1}, {0, 0, 0, 0.5, 1}};
    for (int k = 0; k < 2; k++) {
        spine one;
        build(&one, k ? "falloff = { interpolation = 'linear', points = { { 0, 0 }, { 0.5, 0 }, { 1, 1 } } }," : "");
        fid_quat rest[6];
        for (int i = 1; i <= 5; i++) {
            rest[i] = joint(&one, i).q;
        }
        rig_set(&one.of, find(&one, "spine_end_control"), FID_ROTATION_X, 60);
        fid_solve(one.of.program, one.of.pose);
        for (int i = 1; i <= 5; i++) {
            double turned = fid_degrees(fid_quat_angle_between(rest[i], joint(&one, i).q));
            assert_near(turned, 60 * falloffs[k][i - 1], 1e-2);
        }
        end(&one);
    }
}

static void the_slider_and_the_end_stretch_and_squash_with_volume(void **state) {
    (void)state;
    spine one;
    build(&one, "");
    static const float ratios[] = {-0.2f, -0.5f, 0.25f, 0.5f};
    for (int k = 0; k < 8; k++) {
        float ratio = ratios[k % 4];
        slide(&one, k < 4 ? ratio : 0);
        rig_set(&one.of, find(&one, "spine_end_control"), FID_TRANSLATION_Z, k < 4 ? 0 : ratio);
        fid_solve(one.of.program, one.of.pose);
        for (int i = 1; i <= 4; i++) {
            fid_vec3 s = span(&one, i).s;
            assert_near((double)s.z, 1 + (double)ratio, 1e-4);
            assert_near((double)s.x * (double)s.y * (double)s.z, 1, 1e-5);
        }
        // Joints take no scale: what hangs from them keeps its size.
        for (int i = 1; i <= 5; i++) {
            assert_vec3_near(joint(&one, i).s, ((fid_vec3){1, 1, 1}), 0);
        }
    }
    end(&one);
}

static void a_fine_control_stays_free_on_top_of_a_curved_body(void **state) {
    (void)state;
    spine one;
    build(&one, "");
    rig_set(&one.of, find(&one, "spine_end_control"), FID_ROTATION_X, 60);
    fid_solve(one.of.program, one.of.pose);
    fid_frame before = joint(&one, 3), next = joint(&one, 4);
    rig_set(&one.of, find(&one, "spine_joint_03_control"), FID_TRANSLATION_Y, 0.1f);
    fid_solve(one.of.program, one.of.pose);
    fid_vec3 moved = fid_vec3_add(before.t, fid_quat_rotate(before.q, (fid_vec3){0, 0.1f, 0}));
    assert_vec3_near(joint(&one, 3).t, moved, 1e-6);
    assert_frame_near(joint(&one, 4), next, 0, 1e-4);
    // The spans read the joints: the bone before ends at the moved one.
    fid_vec3 tip = fid_frame_point(span(&one, 2), (fid_vec3){0, 0, 0.25f});
    assert_vec3_near(tip, moved, 1e-5);
    end(&one);
}

static void unsuitable_parameters_are_refused(void **state) {
    (void)state;
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } rig:use('spine_falloff', { id = 'spine', guides = { "
                "{ 0, 1, 0 }, { 0, 1, 1 } } })",
                "guides");
    run_refuses("local rig = fid.rig { name = 'test', height = 1 } rig:use('spine_falloff', { id = 'spine', falof = 1, "
                "guides = { { 0, 1, 0 }, { 0, "
                "1, 1 }, { 0, 1, 2 } } })",
                "did you mean 'falloff'");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_is_no_helper_bone),
        cmocka_unit_test(the_main_control_moves_and_turns_the_whole_body),
        cmocka_unit_test(joints_take_the_end_control_by_their_falloff),
        cmocka_unit_test(the_slider_and_the_end_stretch_and_squash_with_volume),
        cmocka_unit_test(a_fine_control_stays_free_on_top_of_a_curved_body),
        cmocka_unit_test(unsuitable_parameters_are_refused),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
