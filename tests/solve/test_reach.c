#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/random.h"
#include "math/scalar.h"
#include "solve/reach.h"
#include "support/rig.h"

#include <string.h>

static const fid_vec3 zero = {0, 0, 0};

/// One bone under one thing that acts before its pose, and a source that moves it.
typedef struct scene {
    fid_rig *rig;
    fid_bone_id parent, source, other, bone;
    solved of;
} scene;

static scene make_scene(void) {
    scene out = {.rig = rig_make(1)};
    out.parent = rig_control(out.rig, "parent", rig_none, (fid_vec3){0, 0.5f, 0}, (fid_vec3){10, 0, 30});
    out.source = rig_control(out.rig, "source", rig_none, (fid_vec3){0.4f, 0.2f, 0.6f}, (fid_vec3){0, 20, 0});
    out.other = rig_control(out.rig, "other", out.source, (fid_vec3){0, 0.3f, 0.5f}, (fid_vec3){50, 0, 0});
    out.bone = rig_control(out.rig, "bone", out.parent, (fid_vec3){0.2f, 0, 0.3f}, (fid_vec3){0, 40, 10});
    return out;
}

static void add_follow(scene *in) {
    fid_share shares[2] = {{rig_source(in->source), {0.5f, {FID_CHANNEL_NONE, 0, {0, 0}}}},
                           {rig_source(in->other), {0.25f, {FID_CHANNEL_NONE, 0, {0, 0}}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = in->bone;
    def.as.follow.sources = (fid_sources){shares, 2};
    rig_constrain(in->rig, &def);
}

static void add_own_follow(scene *in) {
    fid_share share = {rig_source(in->source), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = in->bone;
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.space = FID_SPACE_OWN;
    def.as.follow.gain.value = 0.6f;
    rig_constrain(in->rig, &def);
}

static void add_aim(scene *in) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = in->bone;
    def.as.aim.source = rig_source(in->source);
    def.as.aim.up = in->other;
    rig_constrain(in->rig, &def);
}

static void add_span(scene *in) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPAN);
    def.bone = in->bone;
    def.as.span.source = rig_source(in->source);
    rig_constrain(in->rig, &def);
}

static void add_twist(scene *in) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_TWIST);
    def.bone = in->bone;
    def.as.twist.source = in->source;
    def.as.twist.gain.value = 0.5f;
    rig_constrain(in->rig, &def);
}

static void add_spaces(scene *in) {
    fid_space among[] = {{.name = "source", .source = rig_source(in->source), .at_rest = true}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = in->bone;
    def.as.spaces.among = (fid_space_list){among, 1};
    rig_constrain(in->rig, &def);
}

static void add_layer(scene *in) {
    fid_error err = {0};
    fid_slider_id slider;
    fid_slider_def made = fid_slider_default();
    made.on = in->source;
    made.name = "k";
    made.rest = 1;
    rig_ok(fid_rig_add_slider(in->rig, &made, &slider, &err));
    fid_layer_entry entry = {
        in->bone, {{0.1f, 0.2f, -0.3f}, fid_quat_from_euler((fid_vec3){40, 0, 10}, FID_ORDER_XYZ), {1, 2, 0.5f}}};
    fid_layer_pose pose = {1, &entry, 1};
    fid_layer_def def = fid_layer_default();
    fid_layer_id id;
    def.name = "swell";
    def.by = (fid_channel){FID_CHANNEL_SLIDER, 0, slider.handle};
    def.poses = (fid_pose_table){&pose, 1};
    rig_ok(fid_rig_add_layer(in->rig, &def, &id, &err));
}

/// `bone` becomes the first or second bone of a chain that an ik turns.
static void add_ik(scene *in, int32_t place, fid_parenting parenting, float weight) {
    const fid_vec3 points[] = {{0, 0.5f, 0}, {0.1f, 0.3f, 0.3f}, {0.4f, 0.2f, 0.6f}};
    fid_chain_id chain = rig_chain(in->rig, "limb", in->parent, points, 3, true, parenting);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = chain;
    def.as.ik.goal = rig_source(in->source);
    def.weight.value = weight;
    rig_constrain(in->rig, &def);
    in->bone = fid_rig_chain(in->rig, chain, NULL)->bones[place];
}

static void add_first_of_ik(scene *in) { add_ik(in, 0, FID_LINKED, 1); }
static void add_second_of_ik(scene *in) { add_ik(in, 1, FID_LINKED, 1); }
static void add_end_of_ik(scene *in) { add_ik(in, 2, FID_FAN, 1); }
static void add_weighed_ik(scene *in) { add_ik(in, 1, FID_LINKED, 0.4f); }
static void add_nothing(scene *in) { (void)in; }
static void add_several(scene *in) {
    add_spaces(in);
    add_follow(in);
    add_aim(in);
    add_twist(in);
    add_layer(in);
}

static void (*const makers[])(scene *) = {add_nothing,      add_follow,    add_own_follow, add_aim,     add_span,
                                          add_twist,        add_spaces,    add_layer,      add_several, add_first_of_ik,
                                          add_second_of_ik, add_end_of_ik, add_weighed_ik};

static fid_vec3 random_scale(random_source *random) {
    float x = (float)random_between(random, 0.5, 2), y = (float)random_between(random, 0.5, 2);
    return (fid_vec3){x, y, (float)random_between(random, 0.5, 2)};
}

static void a_bone_reaches_any_frame_under_everything_that_acts_before(void **state) {
    (void)state;
    random_source random = random_begin(17);
    for (size_t i = 0; i < sizeof makers / sizeof makers[0]; i++) {
        scene in = make_scene();
        makers[i](&in);
        in.of = rig_compile(in.rig);
        int32_t bone = (int32_t)in.bone.handle.slot;
        for (int n = 0; n < 100; n++) {
            rig_move(&in.of, in.parent, random_vec3(&random, 0.3), random_vec3(&random, 50));
            rig_scale(&in.of, in.parent, random_scale(&random));
            rig_move(&in.of, in.source, random_vec3(&random, 0.3), random_vec3(&random, 50));
            rig_move(&in.of, in.bone, random_vec3(&random, 0.3), random_vec3(&random, 170));
            fid_frame wanted = {random_vec3(&random, 1), random_quat(&random), random_scale(&random)};
            fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, bone, wanted, FID_MASK_ALL);
            assert_frame_near(rig_frame(&in.of, in.bone), wanted, 4e-6, 4e-3);
            assert_true(reached.locked == 0 && reached.held == 0 && !reached.moved);
            assert_true(reached.distance < 4e-6f && reached.degrees < 4e-3f && reached.scale < 4e-5f);
        }
        rig_end(in.rig, &in.of);
    }
}

static void what_was_posed_comes_back(void **state) {
    (void)state;
    random_source random = random_begin(23);
    for (size_t i = 0; i < sizeof makers / sizeof makers[0]; i++) {
        scene in = make_scene();
        makers[i](&in);
        in.of = rig_compile(in.rig);
        int32_t bone = (int32_t)in.bone.handle.slot;
        for (int n = 0; n < 20; n++) {
            fid_vec3 place = random_vec3(&random, 0.3), turn = random_vec3(&random, 80), size = random_scale(&random);
            rig_move(&in.of, in.source, random_vec3(&random, 0.3), random_vec3(&random, 50));
            rig_move(&in.of, in.bone, place, turn);
            rig_scale(&in.of, in.bone, size);
            fid_solve(in.of.program, in.of.pose);
            fid_frame there = rig_frame(&in.of, in.bone);
            rig_move(&in.of, in.bone, zero, zero);
            rig_scale(&in.of, in.bone, (fid_vec3){1, 1, 1});
            (void)fid_pose_reach(in.of.program, in.of.pose, bone, there, FID_MASK_ALL);
            const float *value = in.of.pose->value + (size_t)bone * FID_AXIS_COUNT;
            const float expected[] = {place.x, place.y, place.z, turn.x, turn.y, turn.z, size.x, size.y, size.z};
            for (int k = 0; k < FID_AXIS_COUNT; k++) {
                assert_near(value[k], expected[k], k < 3 ? 4e-6 : k < 6 ? 0.02 : 4e-5);
            }
        }
        rig_end(in.rig, &in.of);
    }
}

static void a_bone_that_is_there_is_left_as_it_is_posed(void **state) {
    (void)state;
    scene in = make_scene();
    add_several(&in);
    in.of = rig_compile(in.rig);
    int32_t bone = (int32_t)in.bone.handle.slot;
    // Angles beyond half a turn, and by whole turns, stay what they are.
    rig_move(&in.of, in.bone, (fid_vec3){0.1f, 0.2f, 0.3f}, (fid_vec3){200, 130, -400});
    fid_solve(in.of.program, in.of.pose);
    float before[FID_AXIS_COUNT];
    memcpy(before, in.of.pose->value + (size_t)bone * FID_AXIS_COUNT, sizeof before);
    (void)fid_pose_reach(in.of.program, in.of.pose, bone, rig_frame(&in.of, in.bone), FID_MASK_ALL);
    assert_memory_equal(in.of.pose->value + (size_t)bone * FID_AXIS_COUNT, before, sizeof before);
    rig_end(in.rig, &in.of);
}

static void a_quaternion_stays_one(void **state) {
    (void)state;
    fid_error err = {0};
    scene in = make_scene();
    in.of = rig_compile(in.rig);
    int32_t bone = (int32_t)in.bone.handle.slot;
    fid_quat turn = fid_quat_from_euler((fid_vec3){10, 20, 30}, FID_ORDER_XYZ);
    rig_ok(fid_pose_set_rotation(in.of.pose, bone, turn, NULL, &err));
    fid_frame wanted = {{0.1f, 0.2f, 0.3f}, fid_quat_from_euler((fid_vec3){70, 20, 130}, FID_ORDER_XYZ), {1, 1, 1}};
    (void)fid_pose_reach(in.of.program, in.of.pose, bone, wanted, FID_MASK_ALL);
    assert_true((in.of.pose->posed[bone] & FID_POSED_QUATERNION) != 0);
    assert_frame_near(rig_frame(&in.of, in.bone), wanted, 2e-6, 1e-4);
    rig_end(in.rig, &in.of);
}

/// A bone at the origin with some channels.
static scene make_locked(uint32_t channels) {
    scene out = {.rig = rig_make(1)};
    out.bone = rig_control(out.rig, "bone", rig_none, zero, zero);
    out.rig->bones.at[0].def.channels = channels;
    out.of = rig_compile(out.rig);
    return out;
}

static void locked_channels_are_told_and_left_alone(void **state) {
    (void)state;
    scene in = make_locked(FID_MASK_TRANSLATION & ~(1u << FID_TRANSLATION_Y));
    fid_frame wanted = {{1, 2, 3}, fid_quat_from_euler((fid_vec3){0, 0, 30}, FID_ORDER_XYZ), {1, 1, 2}};
    fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, FID_MASK_ALL);
    assert_int_equal(reached.locked, 1u << FID_TRANSLATION_Y | 1u << FID_ROTATION_Z | 1u << FID_SCALE_Z);
    assert_vec3_near(rig_frame(&in.of, in.bone).t, ((fid_vec3){1, 0, 3}), 1e-6);
    assert_near(reached.distance, 2, 1e-6);
    assert_near(reached.degrees, 30, 1e-3);
    assert_near(reached.scale, 0.5, 1e-6);
    // Axes that are not asked for are no concern.
    reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, 1u << FID_TRANSLATION_X);
    assert_int_equal(reached.locked, 0);
    rig_end(in.rig, &in.of);
}

static void one_free_axis_of_rotation_comes_as_near_as_it_can(void **state) {
    (void)state;
    for (int axis = 0; axis < 3; axis++) {
        scene in = make_locked(1u << (FID_ROTATION_X + axis));
        // 120 degrees is beyond what the middle angle of an order gives.
        const float angle = 120;
        fid_vec3 turn = {axis == 0 ? angle : 0, axis == 1 ? angle : 0, axis == 2 ? angle : 0};
        fid_frame wanted = {zero, fid_quat_from_euler(turn, FID_ORDER_XYZ), {1, 1, 1}};
        fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, FID_MASK_ALL);
        assert_int_equal(reached.locked, 0);
        assert_near(in.of.pose->value[FID_ROTATION_X + axis], angle, 1e-3);
        assert_near(reached.degrees, 0, 1e-3);
        rig_end(in.rig, &in.of);
    }
}

static void ranges_hold_and_limits_move_what_was_reached(void **state) {
    (void)state;
    scene in = make_locked(FID_MASK_ALL);
    rig_end(in.rig, &in.of);
    in = (scene){.rig = rig_make(1)};
    in.bone = rig_control(in.rig, "bone", rig_none, zero, zero);
    in.rig->bones.at[0].def.translation_range.hi[0] = 0.5f;
    fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    limit.bone = in.bone;
    limit.as.limit.rotation.lo[2] = -10;
    limit.as.limit.rotation.hi[2] = 10;
    rig_constrain(in.rig, &limit);
    in.of = rig_compile(in.rig);
    fid_frame wanted = {{2, 0, 0}, fid_quat_from_euler((fid_vec3){0, 0, 30}, FID_ORDER_XYZ), {1, 1, 1}};
    fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, FID_MASK_ALL);
    assert_int_equal(reached.held, 1u << FID_TRANSLATION_X);
    assert_true(reached.moved);
    assert_near(reached.distance, 1.5, 1e-6);
    assert_near(reached.degrees, 20, 1e-3);
    rig_end(in.rig, &in.of);
}

static void driven_axes_and_the_placement_are_not_posed(void **state) {
    (void)state;
    fid_error err = {0};
    scene in = {.rig = rig_make(1)};
    fid_bone_def place = fid_bone_default();
    place.part = "root";
    place.side = FID_CENTER;
    place.role = FID_CONTROL;
    place.length = 1;
    place.placement = true;
    place.channels = FID_MASK_TRANSLATION;
    rig_ok(fid_rig_add_bone(in.rig, &place, &in.parent, &err));
    in.bone = rig_control(in.rig, "bone", in.parent, zero, zero);
    fid_drive_def drive = fid_drive_default();
    drive.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_X, in.bone.handle};
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_Y, in.bone.handle});
    drive.combine = FID_ADD;
    fid_drive_id id;
    rig_ok(fid_rig_add_drive(in.rig, &drive, &id, &err));
    in.of = rig_compile(in.rig);
    fid_frame wanted = {{1, 2, 0}, FID_QUAT_IDENTITY, {1, 1, 1}};
    fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, 1, wanted, FID_MASK_ALL);
    assert_int_equal(reached.locked, 1u << FID_TRANSLATION_X);
    assert_vec3_near(rig_frame(&in.of, in.bone).t, ((fid_vec3){2, 2, 0}), 1e-6);
    reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, FID_MASK_ALL);
    assert_near(in.of.pose->value[0], 0, 0);
    assert_near(reached.distance, 2.2360680, 1e-5);
    rig_end(in.rig, &in.of);
}

static void frames_beyond_all_measure_are_held_at_the_door(void **state) {
    (void)state;
    scene in = make_locked(FID_MASK_ALL);
    fid_frame wanted = {{1e9f, 0, 0}, FID_QUAT_IDENTITY, {1e6f, 1e-9f, 1}};
    fid_reached reached = fid_pose_reach(in.of.program, in.of.pose, 0, wanted, FID_MASK_ALL);
    assert_int_equal(reached.held, 1u << FID_TRANSLATION_X | 1u << FID_SCALE_X | 1u << FID_SCALE_Y);
    assert_near(in.of.pose->value[FID_TRANSLATION_X], 1e4, 0);
    assert_true(fid_frame_is_finite(rig_frame(&in.of, in.bone)));
    rig_end(in.rig, &in.of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bone_reaches_any_frame_under_everything_that_acts_before),
        cmocka_unit_test(what_was_posed_comes_back),
        cmocka_unit_test(a_bone_that_is_there_is_left_as_it_is_posed),
        cmocka_unit_test(a_quaternion_stays_one),
        cmocka_unit_test(locked_channels_are_told_and_left_alone),
        cmocka_unit_test(one_free_axis_of_rotation_comes_as_near_as_it_can),
        cmocka_unit_test(ranges_hold_and_limits_move_what_was_reached),
        cmocka_unit_test(driven_axes_and_the_placement_are_not_posed),
        cmocka_unit_test(frames_beyond_all_measure_are_held_at_the_door),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
