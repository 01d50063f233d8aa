#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/changed.h"
#include "support/rig.h"

/// Numbers of a fixed sequence (xorshift64*, S. Vigna 2016), the same on every machine.
static uint64_t seed;
static double random_unit(void) {
    seed ^= seed >> 12;
    seed ^= seed << 25;
    seed ^= seed >> 27;
    return (double)((seed * 2685821657736338717ull) >> 11) / 9007199254740992.0;
}

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
    return rig;
}

/// A value for a channel: mostly moderate, sometimes at the bounds of what may be set.
static float any_value(const fid_program *program, int32_t channel) {
    double r = random_unit(), s = 2 * random_unit() - 1;
    if (channel >= program->bone_count * FID_AXIS_COUNT) {
        return program->channel_min[channel] +
               (float)r * (program->channel_max[channel] - program->channel_min[channel]);
    }
    bool wild = random_unit() < 0.1;
    switch (channel % FID_AXIS_COUNT / 3) {
    case 0:
        return wild ? (float)(s > 0 ? 1e4 : -1e4) * 1.6f : (float)s;
    case 1:
        return wild ? (float)(s > 0 ? 1e5 : -1e5) : (float)(s * 200);
    default:
        return wild ? (s > 0 ? 1e3f : 1e-3f) : (float)(1 + 0.5 * s);
    }
}

static void set_any_pose(const fid_program *program, fid_pose *pose, uint64_t number_of) {
    fid_error err = {0};
    seed = number_of * 0x9E3779B97F4A7C15ull + 1;
    fid_pose_reset(pose);
    for (int32_t i = 0; i < program->channel_count; i++) {
        bool weight = i >= program->bone_count * FID_AXIS_COUNT + program->slider_count;
        if ((program->animatable[i] || weight) && random_unit() < 0.5) {
            rig_ok(fid_pose_set(pose, i, any_value(program, i), NULL, &err));
        }
    }
}

static void no_pose_gives_what_is_not_finite_and_none_remembers_another(void **state) {
    (void)state;
    enum { POSES = 4000 };
    fid_rig *rig = make_everything();
    solved of = rig_compile(rig);
    solved fresh = rig_compile(rig);
    for (int i = 0; i < POSES; i++) {
        set_any_pose(of.program, of.pose, (uint64_t)i);
        fid_solve(of.program, of.pose);
        for (int32_t j = 0; j < of.program->bone_count; j++) {
            double m[16];
            fid_pose_world(of.pose, j, m);
            for (int k = 0; k < 16; k++) {
                if (!isfinite(m[k])) {
                    fail_msg("pose %d: bone %s is not finite", i, rig->bones.at[j].name);
                }
            }
        }
        if (i % 50 == 0) {
            // Backwards in a pose that has seen others, forwards in a new one: the same bits.
            fid_pose_reset(fresh.pose);
            set_any_pose(fresh.program, fresh.pose, (uint64_t)(POSES - i));
            fid_solve(fresh.program, fresh.pose);
            set_any_pose(fresh.program, fresh.pose, (uint64_t)i);
            fid_solve(fresh.program, fresh.pose);
            assert_memory_equal(fresh.pose->frames, of.pose->frames,
                                (size_t)of.program->bone_count * sizeof *of.pose->frames);
        }
    }
    fid_pose_free(fresh.pose);
    fid_program_free(fresh.program);
    rig_end(rig, &of);
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
        set_any_pose(of.program, alone[i], (uint64_t)i + 1);
        fid_solve(of.program, alone[i]);
        rig_ok(fid_pose_new(of.program, &together[i], &err));
    }
    static const int32_t threads[] = {1, 2, 5, 1000, 0, -1};
    for (int k = 0; k < 6; k++) {
        for (int i = 0; i < POSES; i++) {
            fid_pose_reset(together[i]);
            set_any_pose(of.program, together[i], (uint64_t)i + 1);
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
        cmocka_unit_test(no_pose_gives_what_is_not_finite_and_none_remembers_another),
        cmocka_unit_test(everything_at_rest_rests),
        cmocka_unit_test(many_poses_come_out_the_same_on_any_number_of_threads),
        cmocka_unit_test(what_changed_is_solved_as_the_whole_is),
        cmocka_unit_test(what_is_outside_the_door_is_refused),
        cmocka_unit_test(ranges_clamp_and_locks_refuse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
