#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/rig.h"

static const fid_vec3 zero = {0, 0, 0};

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

static void add_layer(fid_rig *rig, const char *name, fid_channel by, const fid_layer_pose *poses, int32_t count,
                      int32_t interpolation) {
    fid_error err = {0};
    fid_layer_id id;
    fid_layer_def def = fid_layer_default();
    def.name = name;
    def.by = by;
    def.interpolation = interpolation;
    def.poses = (fid_pose_table){poses, count};
    rig_ok(fid_rig_add_layer(rig, &def, &id, &err));
}

static void set(const solved *of, fid_channel channel, float value) {
    fid_error err = {0};
    rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), value, NULL, &err));
    fid_solve(of->program, of->pose);
}

static void a_layer_at_0_is_exactly_the_identity_and_at_its_poses_exactly_them(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id bone = rig_control(rig, "bone", rig_none, (fid_vec3){0.3f, 0, 1}, (fid_vec3){10, 20, 30});
    fid_channel by = add_slider(rig, bone, "retract", -1, 1);
    fid_quat turn = fid_quat_from_euler((fid_vec3){40, 0, 10}, FID_ORDER_XYZ);
    fid_layer_entry entry = {bone, {{0.1f, 0.2f, -0.3f}, turn, {1, 2, 0.5f}}};
    fid_layer_pose pose = {1, &entry, 1};
    add_layer(rig, "retract", by, &pose, 1, FID_LINEAR);
    solved of = rig_compile(rig);
    rig_move(&of, bone, (fid_vec3){0.5f, 0, 0}, (fid_vec3){0, 0, 15});
    fid_solve(of.program, of.pose);
    fid_frame posed = rig_frame(&of, bone);
    set(&of, by, 1);
    // F' . Delta_layers . D: the animator's values lie on top of the layer.
    fid_frame expected = fid_frame_compose(
        fid_frame_compose(of.program->rest[bone.handle.slot], entry.delta),
        (fid_frame){{0.5f, 0, 0}, fid_quat_from_euler((fid_vec3){0, 0, 15}, FID_ORDER_XYZ), {1, 1, 1}});
    assert_frame_near(rig_frame(&of, bone), expected, 1e-6, 1e-3);
    set(&of, by, 0);
    assert_memory_equal(&posed, &of.pose->frames[bone.handle.slot], sizeof posed);
    // Before 0 the layer rests, too: its first key is the identity at 0.
    set(&of, by, -1);
    assert_frame_near(rig_frame(&of, bone), posed, 1e-6, 1e-3);
    rig_end(rig, &of);
}

static void between_poses_turns_go_by_slerp_and_scales_in_the_logarithm(void **state) {
    (void)state;
    // Slerp values of the documentation of a general-purpose numerical library (scipy, Rotation and Slerp), extrinsic
    // xyz degrees: from (14.31443779, -27.50095894, -3.7275787) to (-1.79924227, -24.69421529, 164.57701743), at 0.25
    // (10.71094749, -31.56690154, 38.06896408), at 0.5 (4.74588574, -32.44683966, 81.25139984). Extrinsic xyz is our
    // order zyx.
    static const fid_vec3 from = {14.31443779f, -27.50095894f, -3.7275787f},
                          to = {-1.79924227f, -24.69421529f, 164.57701743f};
    static const fid_vec3 quarter = {10.71094749f, -31.56690154f, 38.06896408f},
                          half = {4.74588574f, -32.44683966f, 81.25139984f};
    fid_rig *rig = rig_make(1);
    fid_bone_id bone = rig_control(rig, "bone", rig_none, zero, zero);
    fid_channel by = add_slider(rig, bone, "blend", 0, 2);
    fid_layer_entry first = {bone, {zero, fid_quat_from_euler(from, FID_ORDER_ZYX), {1, 1, 1}}};
    fid_layer_entry second = {bone, {{4, 0, 0}, fid_quat_from_euler(to, FID_ORDER_ZYX), {4, 1, 0.25f}}};
    fid_layer_pose poses[2] = {{1, &first, 1}, {2, &second, 1}};
    add_layer(rig, "blend", by, poses, 2, FID_LINEAR);
    solved of = rig_compile(rig);
    set(&of, by, 1.25f);
    assert_quat_near(rig_frame(&of, bone).q, fid_quat_from_euler(quarter, FID_ORDER_ZYX), 1e-6);
    set(&of, by, 1.5f);
    assert_quat_near(rig_frame(&of, bone).q, fid_quat_from_euler(half, FID_ORDER_ZYX), 1e-6);
    assert_vec3_near(rig_frame(&of, bone).t, ((fid_vec3){2, 0, 0}), 1e-6);
    assert_vec3_near(rig_frame(&of, bone).s, ((fid_vec3){2, 1, 0.5f}), 1e-6);
    rig_end(rig, &of);
}

static void smooth_translations_pass_through_their_poses_without_overshoot(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id bone = rig_control(rig, "bone", rig_none, zero, zero);
    fid_channel by = add_slider(rig, bone, "blend", 0, 3);
    fid_layer_entry one = {bone, {{1, 0, 0}, FID_QUAT_IDENTITY, {1, 1, 1}}},
                    two = {bone, {{1, 3, 0}, FID_QUAT_IDENTITY, {1, 1, 1}}};
    fid_layer_pose poses[3] = {{1, &one, 1}, {2, &two, 1}, {3, &two, 1}};
    add_layer(rig, "blend", by, poses, 3, FID_SMOOTH);
    solved of = rig_compile(rig);
    float before = 0;
    for (int i = 0; i <= 300; i++) {
        set(&of, by, 0.01f * (float)i);
        fid_vec3 t = rig_frame(&of, bone).t;
        assert_true(t.x >= -1e-6f && t.x <= 1 + 1e-6f && t.y >= before - 1e-6f && t.y <= 3 + 1e-6f);
        before = t.y;
        if (i % 100 == 0) {
            assert_vec3_near(t, ((fid_vec3){i ? 1 : 0, i > 100 ? 3 : 0, 0}), 1e-5);
        }
    }
    rig_end(rig, &of);
}

static void several_layers_compose_in_the_order_in_which_they_were_added(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id bone = rig_control(rig, "bone", rig_none, zero, zero),
                child = rig_control(rig, "child", bone, (fid_vec3){0, 0, 1}, zero);
    fid_channel first = add_slider(rig, bone, "first", 0, 1), second = add_slider(rig, bone, "second", 0, 1);
    fid_layer_entry turn = {bone, {zero, fid_quat_about((fid_vec3){0, 1, 0}, fid_radians(90)), {1, 1, 1}}};
    fid_layer_entry move = {bone, {{0, 0, 2}, FID_QUAT_IDENTITY, {1, 1, 1}}};
    fid_layer_pose poses[2] = {{1, &turn, 1}, {1, &move, 1}};
    add_layer(rig, "turn", first, &poses[0], 1, FID_LINEAR);
    add_layer(rig, "move", second, &poses[1], 1, FID_LINEAR);
    solved of = rig_compile(rig);
    set(&of, first, 1);
    set(&of, second, 1);
    // Turned by 90 degrees about Y first, the move along Z goes along X.
    assert_vec3_near(rig_frame(&of, bone).t, ((fid_vec3){2, 0, 0}), 1e-6);
    assert_vec3_near(rig_frame(&of, child).t, ((fid_vec3){3, 0, 0}), 1e-6);
    rig_end(rig, &of);
}

static void a_driven_channel_drives_a_layer(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id bone = rig_control(rig, "bone", rig_none, zero, zero);
    fid_channel by = add_slider(rig, bone, "by", 0, 1), from = add_slider(rig, bone, "from", 0, 10);
    fid_layer_entry move = {bone, {{0, 0, 2}, FID_QUAT_IDENTITY, {1, 1, 1}}};
    fid_layer_pose pose = {1, &move, 1};
    add_layer(rig, "move", by, &pose, 1, FID_LINEAR);
    fid_drive_def drive = fid_drive_default();
    fid_drive_id id;
    drive.to = by;
    drive.from = FID_FACTORS_OF(from);
    drive.gain.value = 0.1f;
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    solved of = rig_compile(rig);
    set(&of, from, 5);
    assert_vec3_near(rig_frame(&of, bone).t, ((fid_vec3){0, 0, 1}), 1e-6);
    rig_end(rig, &of);
}

static void layers_that_cannot_be_are_refused_and_leave_the_rig_alone(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_layer_id id;
    fid_bone_id bone = rig_control(rig, "bone", rig_none, zero, zero);
    fid_channel by = add_slider(rig, bone, "by", 0, 1);
    fid_layer_entry twice[2] = {{bone, FID_FRAME_IDENTITY}, {bone, FID_FRAME_IDENTITY}},
                    moved = {bone, {{1, 0, 0}, FID_QUAT_IDENTITY, {1, 1, 1}}};
    fid_layer_entry flat = {bone, {zero, FID_QUAT_IDENTITY, {1, 0, 1}}}, gone = {{{7, 1}}, FID_FRAME_IDENTITY};
    fid_layer_pose same[2] = {{1, twice, 1}, {1, twice, 1}},
                   poses[5] = {{1, twice, 2}, {0, &moved, 1}, {1, &flat, 1}, {1, &gone, 1}, {NAN, twice, 1}};
    static const char *const parts[] = {"same bone twice", "at 0 every bone must rest", "scale outside", "gone",
                                        "must be finite"};
    fid_layer_def def = fid_layer_default();
    def.name = "layer";
    def.by = by;
    for (int i = 0; i < 5; i++) {
        def.poses = (fid_pose_table){&poses[i], 1};
        assert_int_not_equal(fid_rig_add_layer(rig, &def, &id, &err), FID_OK);
        assert_text_contains(err.message, parts[i]);
    }
    def.poses = (fid_pose_table){same, 2};
    assert_int_equal(fid_rig_add_layer(rig, &def, &id, &err), FID_RANGE);
    def.poses.count = 1;
    rig_ok(fid_rig_add_layer(rig, &def, &id, &err));
    assert_int_equal(fid_rig_add_layer(rig, &def, &id, &err), FID_NAME_TAKEN);
    def.name = "No";
    assert_int_equal(fid_rig_add_layer(rig, &def, &id, &err), FID_INVALID);
    assert_int_equal(rig->layers.count, 1);
    assert_string_equal(rig->layers.at[0].address, "layer");
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_layer_at_0_is_exactly_the_identity_and_at_its_poses_exactly_them),
        cmocka_unit_test(between_poses_turns_go_by_slerp_and_scales_in_the_logarithm),
        cmocka_unit_test(smooth_translations_pass_through_their_poses_without_overshoot),
        cmocka_unit_test(several_layers_compose_in_the_order_in_which_they_were_added),
        cmocka_unit_test(a_driven_channel_drives_a_layer),
        cmocka_unit_test(layers_that_cannot_be_are_refused_and_leave_the_rig_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
