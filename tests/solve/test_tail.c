#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/random.h"
#include "math/scalar.h"
#include "support/rig.h"

/// A straight chain of equal segments, 2 m long in all, that stands on the origin and bends about an axis; a goal rests
/// on its end.
typedef struct tail {
    fid_rig *rig;
    fid_bone_id root, goal;
    fid_chain_id chain;
    solved of;
    int32_t count;
} tail;

static const double length = 2;

static fid_constraint_def make_guides(tail *out, int32_t count, bool linked, fid_vec3 axis) {
    fid_vec3 points[201];
    for (int32_t i = 0; i <= count; i++) {
        points[i] = (fid_vec3){0, (float)(length * i / count), 0};
    }
    out->count = count;
    out->rig = rig_make(2);
    out->root = rig_control(out->rig, "root", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    out->goal = rig_control(out->rig, "goal", rig_none, points[count], (fid_vec3){0, 0, 0});
    out->chain = rig_chain(out->rig, "joint", out->root, points, count + 1, true, linked ? FID_LINKED : FID_FAN);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = out->chain;
    def.as.ik.goal = rig_source(out->goal);
    def.as.ik.bend_axis = (fid_maybe_vector){true, axis};
    return def;
}

static tail make_tail(int32_t count, bool linked, fid_vec3 axis, float swivel) {
    tail out;
    fid_constraint_def def = make_guides(&out, count, linked, axis);
    def.as.ik.swivel.value = swivel;
    rig_constrain(out.rig, &def);
    out.of = rig_compile(out.rig);
    return out;
}

static fid_vec3 joint(const tail *of, int32_t i) { return rig_frame(&of->of, of->rig->chains.at[0].bones[i]).t; }

static void reach_for(const tail *of, fid_vec3 place) {
    rig_move(&of->of, of->goal, fid_vec3_sub(place, (fid_vec3){0, (float)length, 0}), (fid_vec3){0, 0, 0});
    fid_solve(of->of.program, of->of.pose);
}

/// The distance that `count` equal segments span where each joint turns by `turn` radians: their points lie on a
/// circle, of which it is a chord (plane geometry).
static double chord(int32_t count, double turn) {
    double segment = length / count;
    return turn < 1e-12 ? length : segment * sin(0.5 * count * turn) / sin(0.5 * turn);
}

/// The turn of each joint at a distance, by bisection of `chord`, which falls until the polygon is closed.
static double turn_at(int32_t count, double distance) {
    double low = 0, high = 2 * FID_PI / count;
    for (int i = 0; i < 100; i++) {
        double middle = 0.5 * (low + high);
        *(chord(count, middle) > distance ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}

static double bend(const tail *of, int32_t i) {
    fid_vec3 before = fid_vec3_sub(joint(of, i), joint(of, i - 1)),
             after = fid_vec3_sub(joint(of, i + 1), joint(of, i));
    return (double)fid_vec3_angle(before, after);
}

static const int32_t counts[] = {2, 3, 10, 40, 200};

static void a_straight_tail_rests_straight(void **state) {
    (void)state;
    for (int kind = 0; kind < 10; kind++) {
        tail one = make_tail(counts[kind / 2], kind & 1, (fid_vec3){1, 0, 0}, 0);
        for (int32_t i = 0; i <= one.count; i++) {
            fid_bone_id bone = one.rig->chains.at[0].bones[i];
            assert_frame_near(rig_frame(&one.of, bone), one.of.program->rest[bone.handle.slot], 2e-5, 0.01);
        }
        rig_end(one.rig, &one.of);
    }
}

static void every_joint_turns_by_the_angle_of_the_regular_polygon(void **state) {
    (void)state;
    for (int kind = 0; kind < 10; kind++) {
        tail one = make_tail(counts[kind / 2], kind & 1, (fid_vec3){1, 0, 0}, 0);
        for (int step = 1; step < 20; step++) {
            double distance = length * step / 20, turn = turn_at(one.count, distance);
            reach_for(&one, (fid_vec3){0, (float)distance, 0});
            for (int32_t i = 1; i < one.count; i++) {
                // Segments of 1 cm at 2 m: their ends are kept to 1e-7 each way, which is 2e-5 of their direction.
                assert_near(bend(&one, i), turn, 2e-7 * one.count + 2e-6);
                // About +x, +y goes towards +z; the chain bulges to the other side, away from where its end goes.
                assert_true((double)joint(&one, i).z < 1e-6);
            }
        }
        rig_end(one.rig, &one.of);
    }
}

static void a_tail_goes_smoothly_from_full_length_to_its_own_base(void **state) {
    (void)state;
    for (int kind = 0; kind < 4; kind++) {
        tail one = make_tail(kind & 2 ? 40 : 10, kind & 1, (fid_vec3){0, 0, -1}, 0);
        enum { STEPS = 4000 };
        for (int step = 0; step <= STEPS; step++) {
            // A little beyond full length at first; there it points at the goal.
            double distance = 1.05 * length * (STEPS - step) / STEPS,
                   turn = distance < length ? turn_at(one.count, distance) : 0;
            // Near full length the turn is the root of what lacks: single precision of the goal shows there.
            double lacking = fabs(1 - distance / length);
            reach_for(&one, (fid_vec3){0, (float)distance, 0});
            double most =
                distance < 0.02 * length ? 0.02 * 2 * FID_PI / one.count * 2 : 1e-5 + 3e-6 / sqrt(lacking + 1e-6);
            if (distance >= 0.02 * length) {
                assert_near(bend(&one, 1), turn, most);
                assert_near(bend(&one, one.count - 1), turn, most);
            } else {
                // The near end is softened: the turn stops short of a closed polygon, but never beyond it.
                assert_true(bend(&one, 1) < 2 * FID_PI / one.count + 1e-5 && bend(&one, 1) > turn - most);
            }
        }
        rig_end(one.rig, &one.of);
    }
}

static void every_goal_within_reach_is_met(void **state) {
    (void)state;
    random_source source = random_begin(91);
    // Axes square to the chain and not: what counts is the part that is square.
    static const fid_vec3 axes[] = {{1, 0, 0}, {1, 0, 1}, {0.3f, 2, -0.4f}};
    for (int kind = 0; kind < 12; kind++) {
        tail one = make_tail(kind & 2 ? 40 : 10, kind & 1, axes[kind / 4], kind & 1 ? 70 : 0);
        double worst = 0;
        for (int i = 0; i < 500; i++) {
            double distance = length * random_between(&source, 0.05, 1);
            fid_vec3 way = {(float)random_between(&source, -1, 1), (float)random_between(&source, -1, 1),
                            (float)random_between(&source, -1, 1)};
            if (fid_vec3_length(way) < 0.1f) {
                continue;
            }
            fid_vec3 goal = fid_vec3_scale(fid_vec3_normalize(way, way), (float)distance);
            reach_for(&one, goal);
            worst = fmax(worst, (double)fid_vec3_distance(joint(&one, one.count), goal));
            double reached = 0;
            for (int32_t j = 0; j < one.count; j++) {
                reached += (double)fid_vec3_distance(joint(&one, j), joint(&one, j + 1));
            }
            assert_near(reached, length, 1e-5);
        }
        assert_true(worst <= 1e-4 * length);
        rig_end(one.rig, &one.of);
    }
}

static void a_swivel_turns_the_plane_of_a_tail(void **state) {
    (void)state;
    // About +x a tail that stands upright bulges along -z; 90 degrees about +y, and it bulges along -x.
    static const struct {
        float swivel;
        fid_vec3 bulge;
    } cases[] = {{0, {0, 0, -1}}, {90, {-1, 0, 0}}, {180, {0, 0, 1}}, {-90, {1, 0, 0}}, {450, {-1, 0, 0}}};
    for (int i = 0; i < 5; i++) {
        for (int kind = 0; kind < 2; kind++) {
            tail one = make_tail(10, kind, (fid_vec3){1, 0, 0}, cases[i].swivel);
            reach_for(&one, (fid_vec3){0, 1, 0});
            fid_vec3 middle = joint(&one, 5);
            fid_vec3 off = fid_vec3_normalize((fid_vec3){middle.x, 0, middle.z}, (fid_vec3){0, 1, 0});
            assert_vec3_near(off, cases[i].bulge, 1e-5);
            rig_end(one.rig, &one.of);
        }
    }
}

/// Compiles a chain that is refused, and gives the message.
static void assert_refused(const fid_rig *rig, const char *code, const char *message) {
    fid_error err = {0};
    fid_report report = {0};
    fid_program *program;
    assert_int_equal(fid_program_compile(rig, &report, &program, &err), FID_UNSOUND);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].code, code);
    assert_non_null(strstr(report.findings.at[0].message, message));
    fid_report_clear(&report);
}

static void an_axis_along_the_tail_is_refused(void **state) {
    (void)state;
    tail one;
    fid_constraint_def def = make_guides(&one, 10, true, (fid_vec3){0, -3, 0});
    rig_constrain(one.rig, &def);
    assert_refused(one.rig, "S204", "lies along the chain");
    fid_rig_free(one.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_straight_tail_rests_straight),
        cmocka_unit_test(every_joint_turns_by_the_angle_of_the_regular_polygon),
        cmocka_unit_test(a_tail_goes_smoothly_from_full_length_to_its_own_base),
        cmocka_unit_test(every_goal_within_reach_is_met),
        cmocka_unit_test(a_swivel_turns_the_plane_of_a_tail),
        cmocka_unit_test(an_axis_along_the_tail_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
