#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/changed.h"
#include "support/rig.h"
#include "support/sweep.h"

static fid_amount number(float value) { return (fid_amount){value, {FID_CHANNEL_NONE, 0, {0, 0}}}; }

static fid_bone_id add_placement(fid_rig *rig) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = "root";
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.length = 1;
    def.placement = true;
    def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

static fid_channel add_slider(fid_rig *rig, fid_bone_id on, const char *name, float min, float max, float rest) {
    fid_error err = {0};
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = on;
    def.name = name;
    def.min = min;
    def.max = max;
    def.rest = rest;
    rig_ok(fid_rig_add_slider(rig, &def, &id, &err));
    return (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
}

/// A pose layer of two bones.
static void add_blend(fid_rig *rig, fid_bone_id on, fid_bone_id one, fid_bone_id other) {
    fid_error err = {0};
    fid_layer_id id;
    fid_quat turn = fid_quat_from_euler((fid_vec3){40, 50, 60}, FID_ORDER_XYZ);
    const fid_layer_entry entries[] = {{one, {{0.1f, 0, 0.3f}, turn, {2, 0.5f, 1}}},
                                       {other, {{0, 0.2f, 0}, fid_quat_inverse(turn), {1, 1, 3}}}};
    const fid_layer_pose poses[] = {{-1, entries, 2}, {1, entries + 1, 1}};
    fid_layer_def def = fid_layer_default();
    def.side = FID_CENTER;
    def.name = "blend";
    def.by = add_slider(rig, on, "blend", -2, 2, 0);
    def.poses = (fid_pose_table){poses, 2};
    rig_ok(fid_rig_add_layer(rig, &def, &id, &err));
}

/// A straight chain of twelve segments that bends about an axis, its swivel a slider.
static void add_tail(fid_rig *rig, fid_bone_id body, fid_bone_id parent) {
    fid_vec3 points[13];
    for (int32_t i = 0; i < 13; i++) {
        points[i] = (fid_vec3){0.1f, 1, -0.1f * (float)i};
    }
    // Controls are placed from their parents, which stand as the rig does.
    fid_vec3 end = fid_vec3_sub(points[12], rig->bones.at[parent.handle.slot].rest.t);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = rig_chain(rig, "whip", body, points, 13, true, FID_LINKED);
    def.as.ik.goal = rig_source(rig_control(rig, "lure", parent, end, (fid_vec3){0, 0, 0}));
    def.as.ik.bend_axis = (fid_maybe_vector){true, {1, 1, 0.3f}};
    def.as.ik.swivel.channel = add_slider(rig, body, "swivel", -1e5f, 1e5f, 0);
    def.as.ik.length.channel = add_slider(rig, body, "length", 0.02f, 4, 1);
    rig_constrain(rig, &def);
}

/// Drives by measures of every kind, one multiplied with another, that rest where they drive nothing.
static void add_measures(fid_rig *rig, fid_bone_id hand, fid_bone_id foot, fid_bone_id fin) {
    fid_error err = {0};
    fid_drive_id id;
    const fid_factor factors[] = {
        {.kind = FID_FACTOR_TWIST, .a = rig_source(rig->chains.at[2].bones[1])},
        {.kind = FID_FACTOR_DISTANCE, .a = {.kind = FID_SOURCE_POINT, .a = {hand, 1}}, .b = {.kind = FID_SOURCE_WORLD}},
        {.kind = FID_FACTOR_ANGLE, .a = rig_source(foot), .b = rig_source(hand), .axis_b = FID_AIM_MINUS_Y},
        {.kind = FID_FACTOR_TWIST, .a = rig_source(hand)}};
    fid_drive_def def = fid_drive_default();
    def.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_Y, fin.handle};
    def.from = (fid_factors){factors, 4};
    def.curve = (fid_curve){.interpolation = FID_POWER, .power = 1.5f, .sign = -1};
    def.gain = number(1e-3f);
    def.combine = FID_ADD;
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    def.to.axis = FID_ROTATION_Z;
    def.from.count = 1;
    def.curve = (fid_curve){.interpolation = FID_LINEAR};
    def.gain = number(3);
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
}

/// A rig with every kind of constraint in most of its options, hanging on each other.
static fid_rig *make_everything(void) {
    fid_rig *rig = rig_make(1.6f);
    fid_error err = {0};
    fid_bone_id root = add_placement(rig);
    fid_bone_id body = rig_control(rig, "body", root, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id hand = rig_control(rig, "hand", body, (fid_vec3){0.4f, 0.2f, 0.3f}, (fid_vec3){30, 40, 50});
    fid_bone_id foot = rig_control(rig, "foot", root, (fid_vec3){0, 0, 0.1f}, (fid_vec3){0, 0, 0});
    fid_bone_id pole = rig_control(rig, "pole", root, (fid_vec3){0.3f, 0.6f, 1}, (fid_vec3){0, 0, 0});
    fid_space among[3] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true},
                          {.name = "hand", .source = rig_source(hand), .at_rest = true},
                          {.name = "world", .source = {.kind = FID_SOURCE_WORLD}, .at_rest = true}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = foot;
    def.as.spaces.among = (fid_space_list){among, 3};
    rig_constrain(rig, &def);
    static const fid_vec3 plane[] = {{0, 1, 0}, {0, 0.7f, 0.2f}, {0, 0.3f, 0.25f}, {0, 0, 0.1f}};
    static const fid_vec3 bent[] = {
        {0, 1, 0}, {0.1f, 0.8f, 0.2f}, {-0.1f, 0.5f, 0.3f}, {0.1f, 0.2f, 0.2f}, {0, 0, 0.1f}};
    for (int kind = 0; kind < 4; kind++) {
        static const char *const parts[] = {"first", "second", "third", "fourth"};
        def = fid_constraint_default(FID_CONSTRAINT_IK);
        def.chain = rig_chain(rig, parts[kind], body, kind & 1 ? bent : plane, kind & 1 ? 5 : 4, true,
                              kind & 2 ? FID_LINKED : FID_FAN);
        def.as.ik.goal = rig_source(foot);
        def.as.ik.pole = kind < 2 ? rig_source(pole) : (fid_source){.kind = FID_SOURCE_NONE};
        def.as.ik.reach = number(kind ? 1.25f : 1);
        def.as.ik.match_rotation = number(0.5f);
        fid_constraint_id ik = rig_constrain(rig, &def);
        fid_drive_def drive = fid_drive_default();
        drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_ROTATION_Y, pole.handle});
        drive.to = (fid_channel){FID_CHANNEL_WEIGHT, 0, ik.handle};
        drive.gain = number(0.01f);
        drive.combine = FID_ADD;
        fid_drive_id id;
        rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    }
    for (int kind = 0; kind < 4; kind++) {
        static const char *const parts[] = {"rope", "vine", "hose", "cord"};
        fid_bone_id through[] = {body, hand, pole};
        def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
        def.chain =
            rig_chain(rig, parts[kind], kind & 2 ? body : hand, bent, 5, kind & 1, kind & 2 ? FID_LINKED : FID_FAN);
        def.as.spline.through = (fid_bones){through, kind & 1 ? 2 : 3};
        def.as.spline.fill = number(kind == 1 ? 1 : 0);
        if (kind > 1) {
            def.as.spline.fill.channel = add_slider(rig, body, kind & 1 ? "fill" : "share", 0, 1, 0);
            def.weight.channel = add_slider(rig, body, kind & 1 ? "lay" : "mix", 0, 1, 0);
            def.as.spline.end_twist.channel = add_slider(rig, body, kind & 1 ? "turn" : "screw", 0, 1, 0);
        }
        rig_constrain(rig, &def);
    }
    fid_bone_id end = rig->chains.at[0].bones[3];
    fid_share shares[2] = {{rig_source(hand), number(0.6f)},
                           {{.kind = FID_SOURCE_BETWEEN, .a = {foot, 0.5f}, .b = {end, 0}, .f = 0.3f}, number(0.3f)}};
    def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = rig_control(rig, "tail", body, (fid_vec3){0, 0, -1}, (fid_vec3){5, 6, 7});
    def.as.follow.sources = (fid_sources){shares, 2};
    def.as.follow.channels = FID_MASK_ALL & ~(1u << FID_ROTATION_X);
    rig_constrain(rig, &def);
    fid_bone_id eye = rig_control(rig, "eye", body, (fid_vec3){0, 0.5f, 0.5f}, (fid_vec3){0, 0, 0});
    def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = eye;
    def.as.aim.source = rig_source(hand);
    def.as.aim.up = foot;
    rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_SPAN);
    def.bone = rig_control(rig, "tube", eye, (fid_vec3){0.1f, 0, 0}, (fid_vec3){0, 20, 0});
    def.as.span.source = (fid_source){.kind = FID_SOURCE_POINT, .a = {hand, 1}};
    def.as.span.keep_volume = number(0.7f);
    rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.bone = eye;
    def.as.limit.rotation.lo[1] = -20;
    def.as.limit.rotation.hi[1] = 30;
    def.as.limit.translation.hi[2] = 0.1f;
    def.as.limit.scale.hi[0] = 2;
    rig_constrain(rig, &def);
    fid_bone_id fin = rig_control(rig, "fin", eye, (fid_vec3){0, 0.3f, -0.4f}, (fid_vec3){70, 0, 10});
    fid_share departing = {rig_source(hand), number(1)};
    def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = fin;
    def.as.follow.sources = (fid_sources){&departing, 1};
    def.as.follow.space = FID_SPACE_OWN;
    def.as.follow.gain = number(-2.5f);
    def.as.follow.channels = FID_MASK_ALL;
    rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_TWIST);
    def.bone = fin;
    def.as.twist.source = rig->chains.at[1].bones[2];
    def.as.twist.gain = number(3);
    def.as.twist.center = 30;
    rig_constrain(rig, &def);
    static const float twist[] = {-20, 40};
    def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.bone = fin;
    def.as.limit.swing = 50;
    def.as.limit.twist = (fid_numbers){twist, 2};
    rig_constrain(rig, &def);
    add_blend(rig, body, eye, fin);
    add_tail(rig, body, foot);
    add_measures(rig, hand, foot, fin);
    return rig;
}

static void no_pose_gives_what_is_not_finite_or_comes_out_otherwise_in_another_order_or_thread(void **state) {
    (void)state;
    fid_rig *rig = make_everything();
    assert_sweep(rig, sweep_count(4000));
    fid_rig_free(rig);
}

static void everything_at_rest_rests(void **state) {
    (void)state;
    fid_rig *rig = make_everything();
    solved of = rig_compile(rig);
    for (int32_t i = 0; i < of.program->bone_count; i++) {
        assert_frame_near(of.pose->frames[i], of.program->rest[i], 1e-5 * 1.6, 0.01);
    }
    rig_end(rig, &of);
}

static void what_is_outside_the_door_is_refused(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id bone = rig_control(rig, "bone", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    int32_t first = (int32_t)bone.handle.slot * FID_AXIS_COUNT;
    static const struct {
        int32_t axis;
        float value;
    } cases[] = {{FID_TRANSLATION_X, 10001}, {FID_TRANSLATION_X, -10001}, {FID_ROTATION_Y, 100001},
                 {FID_SCALE_Z, 0.0009f},     {FID_SCALE_Z, 1001},         {FID_SCALE_X, -1},
                 {FID_TRANSLATION_Y, NAN},   {FID_ROTATION_Z, INFINITY}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(fid_pose_set(of.pose, first + cases[i].axis, cases[i].value, NULL, &err), FID_RANGE);
        assert_near((double)of.pose->value[first + cases[i].axis], cases[i].axis < FID_SCALE_X ? 0 : 1, 0);
    }
    assert_int_equal(fid_pose_set(of.pose, -1, 0, NULL, &err), FID_UNKNOWN);
    assert_int_equal(fid_pose_set(of.pose, of.program->channel_count, 0, NULL, &err), FID_UNKNOWN);
    assert_int_equal(fid_pose_set_rotation(of.pose, 0, (fid_quat){0, 0, 0, 0}, NULL, &err), FID_RANGE);
    assert_int_equal(fid_pose_set_rotation(of.pose, 0, (fid_quat){NAN, 0, 0, 1}, NULL, &err), FID_RANGE);
    rig_end(rig, &of);
}

static void ranges_clamp_and_locks_refuse(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id bone;
    fid_bone_def def = fid_bone_default();
    def.part = "bone";
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.length = 1;
    def.channels = FID_MASK_ROTATION;
    def.rotation_range.lo[0] = -10;
    def.rotation_range.hi[0] = 20;
    rig_ok(fid_rig_add_bone(rig, &def, &bone, &err));
    solved of = rig_compile(rig);
    bool clamped = false;
    rig_ok(fid_pose_set(of.pose, FID_ROTATION_X, 50, &clamped, &err));
    assert_true(clamped);
    assert_near((double)of.pose->effective[FID_ROTATION_X], 20, 0);
    assert_int_equal(fid_pose_set(of.pose, FID_TRANSLATION_X, 1, NULL, &err), FID_LOCKED);
    rig_ok(fid_pose_set(of.pose, FID_TRANSLATION_X, 0, NULL, &err));
    // A quaternion is clamped axis by axis where there are ranges.
    rig_ok(
        fid_pose_set_rotation(of.pose, 0, fid_quat_from_euler((fid_vec3){-40, 15, 5}, FID_ORDER_XYZ), &clamped, &err));
    assert_true(clamped);
    assert_vec3_near(fid_pose_angles(of.pose, 0), ((fid_vec3){-10, 15, 5}), 1e-4);
    rig_end(rig, &of);
}

static void many_poses_come_out_the_same_on_any_number_of_threads(void **state) {
    (void)state;
    enum { POSES = 50 };
    fid_rig *rig = make_everything();
    solved of = rig_compile(rig);
    fid_error err = {0};
    fid_pose *alone[POSES], *together[POSES];
    for (int i = 0; i < POSES; i++) {
        rig_ok(fid_pose_new(of.program, &alone[i], &err));
        sweep_set(of.program, alone[i], (uint64_t)i + 1);
        fid_solve(of.program, alone[i]);
        rig_ok(fid_pose_new(of.program, &together[i], &err));
    }
    static const int32_t threads[] = {1, 2, 5, 1000, 0, -1};
    for (int k = 0; k < 6; k++) {
        for (int i = 0; i < POSES; i++) {
            fid_pose_reset(together[i]);
            sweep_set(of.program, together[i], (uint64_t)i + 1);
        }
        fid_solve_many(of.program, together, POSES, threads[k]);
        for (int i = 0; i < POSES; i++) {
            assert_same_pose(of.program, together[i], alone[i]);
        }
    }
    fid_solve_many(of.program, NULL, 0, 2);
    for (int i = 0; i < POSES; i++) {
        fid_pose_free(alone[i]);
        fid_pose_free(together[i]);
    }
    rig_end(rig, &of);
}

static void what_changed_is_solved_as_the_whole_is(void **state) {
    (void)state;
    fid_rig *rig = make_everything();
    solved of = rig_compile(rig);
    assert_changed_is_whole(of.program, 3000);
    rig_end(rig, &of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_pose_gives_what_is_not_finite_or_comes_out_otherwise_in_another_order_or_thread),
        cmocka_unit_test(everything_at_rest_rests),
        cmocka_unit_test(many_poses_come_out_the_same_on_any_number_of_threads),
        cmocka_unit_test(what_changed_is_solved_as_the_whole_is),
        cmocka_unit_test(what_is_outside_the_door_is_refused),
        cmocka_unit_test(ranges_clamp_and_locks_refuse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
