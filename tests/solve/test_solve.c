#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/memory_fail.h"
#include "support/rig.h"

/// A chain of bones: bone i turns about its Z by q[i] and its child rests displaced by `link` and turned by `twist`
/// about X. That is a standard Denavit-Hartenberg table: Rz(q) Tz(d) Tx(a) Rx(alpha).
typedef struct link {
    float d, a, alpha;
} link;

static fid_frame solve_links(const link *links, const float *q, int count) {
    fid_rig *rig = rig_make(1);
    fid_bone_id bone = rig_none, bones[8];
    char part[8] = "j";
    for (int i = 0; i <= count; i++) {
        fid_vec3 at = {0, 0, 0}, turn = {0, 0, 0};
        if (i > 0) {
            at = (fid_vec3){links[i - 1].a, 0, links[i - 1].d};
            turn.x = links[i - 1].alpha;
        }
        part[1] = (char)('a' + i);
        bone = rig_control(rig, part, bone, at, turn);
        bones[i] = bone;
    }
    solved of = rig_compile(rig);
    for (int i = 0; i < count; i++) {
        rig_set(&of, bones[i], FID_ROTATION_Z, q[i]);
    }
    fid_solve(of.program, of.pose);
    fid_frame out = rig_frame(&of, bone);
    rig_end(rig, &of);
    return out;
}

static void assert_axes(fid_frame frame, const double rows[9], double tolerance) {
    fid_vec3 x = fid_quat_x(frame.q), y = fid_quat_y(frame.q), z = fid_quat_z(frame.q);
    const float columns[3][3] = {{x.x, x.y, x.z}, {y.x, y.y, y.z}, {z.x, z.y, z.z}};
    for (int row = 0; row < 3; row++) {
        for (int column = 0; column < 3; column++) {
            assert_near((double)columns[column][row], rows[3 * row + column], tolerance);
        }
    }
}

/// PUMA 560, standard DH. Source: P. Corke's published robotics toolbox notes, "Arm robot examples", and its kinematics
/// notebook.
static const link puma[6] = {{0, 0, 90},       {0, 0.4318f, 0}, {0.15005f, 0.0203f, -90},
                             {0.4318f, 0, 90}, {0, 0, -90},     {0, 0, 0}};

static void puma_560_stands_as_published_in_four_poses(void **state) {
    (void)state;
    static const struct {
        float q[6];
        fid_vec3 at;
        double rows[9];
    } poses[] = {
        {{0, 0, 0, 0, 0, 0}, {0.4521f, -0.15005f, 0.4318f}, {1, 0, 0, 0, 1, 0, 0, 0, 1}},
        {{0, 45, 180, 0, 45, 0}, {0.5963f, -0.15005f, -0.01435f}, {0, 0, 1, 0, 1, 0, -1, 0, 0}},
        // Calculated from the table in double precision.
        {{0, 90, -90, 0, 0, 0}, {0.0203f, -0.15005f, 0.8636f}, {1, 0, 0, 0, 1, 0, 0, 0, 1}},
        {{0, 0, -90, 0, 0, 0}, {0.8636f, -0.15005f, -0.0203f}, {0, 0, 1, 0, 1, 0, -1, 0, 0}},
    };
    for (int i = 0; i < 4; i++) {
        fid_frame end = solve_links(puma, poses[i].q, 6);
        assert_vec3_near(end.t, poses[i].at, 1e-5);
        assert_axes(end, poses[i].rows, 1e-5);
    }
}

static void ur5_stands_as_published_at_zero(void **state) {
    (void)state;
    // Table: the published model UR5 of the same toolbox; pose calculated from it in double precision.
    static const link ur5[6] = {{0.089459f, 0, 90}, {0, -0.425f, 0},    {0, -0.39225f, 0},
                                {0.10915f, 0, 90},  {0.09465f, 0, -90}, {0.0823f, 0, 0}};
    static const float q[6] = {0, 0, 0, 0, 0, 0};
    static const double rows[9] = {1, 0, 0, 0, 0, -1, 0, 1, 0};
    fid_frame end = solve_links(ur5, q, 6);
    assert_vec3_near(end.t, ((fid_vec3){-0.81725f, -0.19145f, -0.005191f}), 1e-5);
    assert_axes(end, rows, 1e-5);
}

static void the_product_of_exponentials_example_comes_out(void **state) {
    (void)state;
    // K. Lynch, F. Park, "Modern Robotics", code library, FKinSpace: M = diag(-1, 1, -1) at (0, 6, 2); screws
    // (0,0,1,4,0,0), (0,0,0,0,1,0), (0,0,-1,-6,0,-0.1); theta (pi/2, 3, pi). A screw (w, v) about Z passes through the
    // point w x v; its pitch is w . v = 0.1.
    fid_rig *rig = rig_make(10);
    fid_bone_id first = rig_control(rig, "first", rig_none, (fid_vec3){0, 4, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id second = rig_control(rig, "second", first, (fid_vec3){0, -4, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id third = rig_control(rig, "third", second, (fid_vec3){0, 6, 0}, (fid_vec3){0, 180, 0});
    fid_bone_id end = rig_control(rig, "end", third, (fid_vec3){0, 0, -2}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    rig_set(&of, first, FID_ROTATION_Z, 90);
    rig_set(&of, second, FID_TRANSLATION_Y, 3);
    rig_set(&of, third, FID_ROTATION_Z, 180);
    // The third bone looks along -Z, which is its screw's axis; the pitch moves it along that axis by 0.1 a radian.
    rig_set(&of, third, FID_TRANSLATION_Z, (float)(0.1 * FID_PI));
    fid_solve(of.program, of.pose);
    static const double rows[9] = {0, 1, 0, 1, 0, 0, 0, 0, -1};
    assert_vec3_near(rig_frame(&of, end).t, ((fid_vec3){-5, 4, 1.68584073f}), 1e-5);
    assert_axes(rig_frame(&of, end), rows, 1e-5);
    rig_end(rig, &of);
}

static void a_turned_child_of_a_stretched_parent_keeps_its_axes(void **state) {
    (void)state;
    // The matrix of a child hung from a stretched parent in a plain hierarchy of 4x4 matrices is sheared; ours must not
    // be.
    static const float turns[] = {30, 45, 60}, stretches[] = {1.25f, 0.8f};
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 2; j++) {
            fid_rig *rig = rig_make(1);
            fid_bone_id parent = rig_control(rig, "parent", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
            fid_bone_id child =
                rig_control(rig, "child", parent, (fid_vec3){0, 0, 1}, (fid_vec3){turns[i], turns[i], 0});
            solved of = rig_compile(rig);
            fid_quat rest = rig_frame(&of, child).q;
            rig_scale(&of, parent, (fid_vec3){1, 1, stretches[j]});
            fid_solve(of.program, of.pose);
            fid_frame now = rig_frame(&of, child);
            assert_frame_near(now, ((fid_frame){{0, 0, stretches[j]}, rest, {1, 1, 1}}), 1e-6, 0.01);
            double m[16];
            fid_pose_world(of.pose, (int32_t)child.handle.slot, m);
            for (int a = 0; a < 3; a++) {
                int b = (a + 1) % 3;
                assert_near(m[4 * a] * m[4 * b] + m[4 * a + 1] * m[4 * b + 1] + m[4 * a + 2] * m[4 * b + 2], 0, 1e-6);
            }
            rig_end(rig, &of);
        }
    }
}

static void a_bone_takes_exactly_what_it_is_told_to(void **state) {
    (void)state;
    for (uint32_t takes = 0; takes < 8; takes++) {
        fid_rig *rig = rig_make(1);
        fid_error err = {0};
        fid_bone_id parent = rig_control(rig, "parent", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0}), child;
        fid_bone_def def = fid_bone_default();
        def.part = "child";
        def.side = FID_CENTER;
        def.parent = parent;
        def.length = 1;
        def.rest.t = (fid_vec3){0, 0, 2};
        def.takes = (takes & 1 ? FID_MASK_TRANSLATION : 0) | (takes & 2 ? FID_MASK_ROTATION : 0) |
                    (takes & 4 ? FID_MASK_SCALE : 0);
        rig_ok(fid_rig_add_bone(rig, &def, &child, &err));
        solved of = rig_compile(rig);
        rig_move(&of, parent, (fid_vec3){5, 0, 0}, (fid_vec3){0, 90, 0});
        rig_scale(&of, parent, (fid_vec3){3, 1, 2});
        fid_solve(of.program, of.pose);
        fid_frame want = {{0, 1, 2}, FID_QUAT_IDENTITY, {1, 1, 1}};
        if (takes & 1) {
            want.t = (fid_vec3){9, 1, 0};
        }
        if (takes & 2) {
            want.q = fid_quat_from_euler((fid_vec3){0, 90, 0}, FID_ORDER_XYZ);
        }
        if (takes & 4) {
            want.s = (fid_vec3){3, 1, 2};
        }
        assert_frame_near(rig_frame(&of, child), want, 1e-5, 0.01);
        rig_end(rig, &of);
    }
}

static void the_placement_keeps_the_shape_at_every_size_and_distance(void **state) {
    (void)state;
    static const float sizes[] = {0.5f, 2, 10, 1};
    for (int i = 0; i < 4; i++) {
        fid_rig *rig = rig_make(1.6f);
        fid_error err = {0};
        fid_bone_id root, body;
        fid_bone_def def = fid_bone_default();
        def.part = "root";
        def.side = FID_CENTER;
        def.role = FID_CONTROL;
        def.length = 1;
        def.placement = true;
        def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
        def.rest.t = (fid_vec3){0.3f, 0, 0.1f};
        rig_ok(fid_rig_add_bone(rig, &def, &root, &err));
        body = rig_control(rig, "body", root, (fid_vec3){0, 1, 0}, (fid_vec3){10, 20, 30});
        fid_bone_id leaf = rig_control(rig, "leaf", body, (fid_vec3){0.2f, 0.3f, 0.9f}, (fid_vec3){0, 40, 0});
        solved of = rig_compile(rig);
        rig_move(&of, body, (fid_vec3){0.01f, 0.02f, 0.03f}, (fid_vec3){-30, 5, 60});
        fid_solve(of.program, of.pose);
        double before[3], base[3], after[3], moved[3];
        fid_pose_world_point(of.pose, (int32_t)leaf.handle.slot, (fid_vec3){0, 0, 0}, before);
        fid_pose_world_point(of.pose, (int32_t)body.handle.slot, (fid_vec3){0, 0, 0}, base);
        rig_set(&of, root, FID_SCALE_X, sizes[i]);
        if (i == 3) {
            rig_set(&of, root, FID_TRANSLATION_X, 1000);
            rig_set(&of, root, FID_ROTATION_Y, 45);
        }
        fid_solve(of.program, of.pose);
        fid_pose_world_point(of.pose, (int32_t)leaf.handle.slot, (fid_vec3){0, 0, 0}, after);
        fid_pose_world_point(of.pose, (int32_t)body.handle.slot, (fid_vec3){0, 0, 0}, moved);
        double was = 0, is = 0;
        for (int j = 0; j < 3; j++) {
            was += (before[j] - base[j]) * (before[j] - base[j]);
            is += (after[j] - moved[j]) * (after[j] - moved[j]);
        }
        assert_near(sqrt(is) / (double)sizes[i], sqrt(was), 1e-5 * 1.6);
        // The scale acts about the origin of the placement.
        double origin[3];
        fid_pose_world_point(of.pose, (int32_t)root.handle.slot, (fid_vec3){0, 0, 0}, origin);
        assert_near(origin[0], i == 3 ? 1000.3 : 0.3, 1e-4);
        assert_near(origin[2], 0.1, 1e-4);
        rig_end(rig, &of);
    }
}

static void a_solve_forgets_what_was_solved_before(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id b = rig_control(rig, "b", a, (fid_vec3){0, 0, 1}, (fid_vec3){0, 0, 0});
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = b;
    def.as.aim.source = rig_source(rig_control(rig, "c", rig_none, (fid_vec3){0, 1, 2}, (fid_vec3){0, 0, 0}));
    rig_constrain(rig, &def);
    solved of = rig_compile(rig);
    rig_move(&of, a, (fid_vec3){1, 2, 3}, (fid_vec3){10, 20, 30});
    fid_solve(of.program, of.pose);
    fid_frame first = rig_frame(&of, b);
    rig_move(&of, a, (fid_vec3){-7, 0, 1}, (fid_vec3){170, -20, 3});
    fid_solve(of.program, of.pose);
    rig_move(&of, a, (fid_vec3){1, 2, 3}, (fid_vec3){10, 20, 30});
    fid_solve(of.program, of.pose);
    assert_memory_equal(&first, &of.pose->frames[b.handle.slot], sizeof first);
    rig_end(rig, &of);
}

static bool compile_and_solve(void *user) {
    fid_report report = {0};
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    fid_error err = {0};
    bool done =
        fid_program_compile(user, &report, &program, &err) == FID_OK && fid_pose_new(program, &pose, &err) == FID_OK;
    fid_pose_free(pose);
    fid_program_free(program);
    fid_report_clear(&report);
    return done;
}

static long asked;
static void *count_allocations(void *user, void *block, size_t size) {
    (void)user;
    asked++;
    if (size == 0) {
        free(block);
        return NULL;
    }
    return realloc(block, size);
}

static void compiling_survives_every_failing_allocation_and_solving_allocates_nothing(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    static const fid_vec3 points[] = {{0, 1, 0}, {0, 0.5f, 0.2f}, {0, 0, 0}};
    fid_bone_id goal = rig_control(rig, "goal", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = rig_chain(rig, "leg", rig_none, points, 3, true, FID_FAN);
    def.as.ik.goal = rig_source(goal);
    rig_constrain(rig, &def);
    fid_drive_def drive = fid_drive_default();
    drive.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_X, goal.handle};
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_Y, goal.handle});
    fid_drive_id id;
    fid_error err = {0};
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    memory_fail_every(compile_and_solve, rig);
    solved of = rig_compile(rig);
    fid_memory_set(count_allocations, NULL);
    asked = 0;
    fid_solve(of.program, of.pose);
    fid_memory_set(NULL, NULL);
    assert_int_equal(asked, 0);
    rig_end(rig, &of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(puma_560_stands_as_published_in_four_poses),
        cmocka_unit_test(ur5_stands_as_published_at_zero),
        cmocka_unit_test(the_product_of_exponentials_example_comes_out),
        cmocka_unit_test(a_turned_child_of_a_stretched_parent_keeps_its_axes),
        cmocka_unit_test(a_bone_takes_exactly_what_it_is_told_to),
        cmocka_unit_test(the_placement_keeps_the_shape_at_every_size_and_distance),
        cmocka_unit_test(a_solve_forgets_what_was_solved_before),
        cmocka_unit_test(compiling_survives_every_failing_allocation_and_solving_allocates_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
