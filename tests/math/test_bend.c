#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/bend.h"
#include "math/scalar.h"
#include "support/assert.h"

enum { MOST = 16 };

/// A chain under test, with room for its numbers.
typedef struct chain {
    double length[MOST], angle[MOST], share[MOST];
    fid_vec3d direction[MOST], hinge[MOST];
    fid_bend bend;
} chain;

/// A plane chain in YZ that bends about X by `degrees` at each joint.
static void make_plane(chain *out, int32_t count, const double *length, double degrees) {
    for (int32_t i = 0; i < count; i++) {
        double turn = fid_radians(degrees) * i;
        out->length[i] = length ? length[i] : 1;
        out->angle[i] = i ? fid_radians(degrees) : 0;
        out->share[i] = 1;
        out->direction[i] = (fid_vec3d){0, -fid_sin(turn), fid_cos(turn)};
        out->hinge[i] = (fid_vec3d){1, 0, 0};
    }
    out->bend = (fid_bend){.count = count,
                           .plane = true,
                           .length = out->length,
                           .direction = out->direction,
                           .hinge = out->hinge,
                           .angle = out->angle,
                           .share = out->share};
}

/// A chain whose joints turn about different hinges.
static void make_twisted(chain *out, int32_t count) {
    make_plane(out, count, NULL, 0);
    fid_vec3d direction = {0, 0, 1};
    out->direction[0] = direction;
    for (int32_t i = 1; i < count; i++) {
        fid_vec3d any = {fid_cos(1.7 * i), fid_sin(1.7 * i), 0.3};
        out->hinge[i] = fid_vec3d_normalize(fid_vec3d_off(any, direction), any);
        out->angle[i] = fid_radians(20 + 3 * i);
        direction = fid_quatd_rotate(fid_quatd_about(out->hinge[i], out->angle[i]), direction);
        out->direction[i] = direction;
    }
    out->bend.plane = false;
}

/// The turn from rest of a segment of a plane chain about X, radians.
static double turned(const fid_quatd *rotation, int32_t segment) {
    return 2 * fid_atan2(rotation[segment].x, rotation[segment].w);
}

static double reached(const chain *of, double distance, double top) {
    fid_quatd rotation[MOST];
    double longest = fid_bend_distance(&of->bend, 0);
    return fid_vec3d_length(fid_bend_solve(&of->bend, longest, top, longest - distance, rotation));
}

static void two_segments_take_the_angle_of_the_closed_form(void **state) {
    (void)state;
    // Closed-form 2R solutions (law of cosines), calculated in double: goal distance and elbow angle.
    static const struct {
        double first, second, x, y, elbow;
    } cases[] = {{1, 1, 0.366025, 1.366025, 90.0}, {3, 4, 3, 4, 90.0}, {1, 2, 2.5, 1.4, 36.630498}};
    for (size_t i = 0; i < 3; i++) {
        chain arm;
        double length[2] = {cases[i].first, cases[i].second};
        fid_quatd rotation[2];
        make_plane(&arm, 2, length, 25);
        double distance = sqrt(cases[i].x * cases[i].x + cases[i].y * cases[i].y), longest = length[0] + length[1];
        double top = fid_bend_top(&arm.bend);
        fid_bend_solve(&arm.bend, longest, top, longest - distance, rotation);
        assert_near(fid_degrees(turned(rotation, 1)) + 25, cases[i].elbow, 1e-4);
        fid_bend_prepare(&arm.bend, longest, top);
        fid_bend_solve(&arm.bend, longest, top, longest - distance, rotation);
        assert_near(fid_degrees(turned(rotation, 1)) + 25, cases[i].elbow, 1e-4);
    }
}

static void rest_is_at_k_1_and_straight_at_k_0(void **state) {
    (void)state;
    chain arm;
    make_plane(&arm, 4, NULL, 20);
    double turn[4];
    fid_bend_turns(&arm.bend, 1, turn);
    for (int i = 0; i < 4; i++) {
        assert_near(turn[i], 0, 0);
    }
    assert_near(fid_bend_distance(&arm.bend, 0), 4, 1e-12);
}

static void the_end_comes_to_every_distance_between_the_two_ends(void **state) {
    (void)state;
    for (int32_t count = 2; count <= 12; count++) {
        for (int k = 0; k < 6; k++) {
            int kind = k % 3;
            bool prepared = k >= 3;
            chain arm;
            if (kind == 2) {
                make_twisted(&arm, count);
            } else {
                make_plane(&arm, count, NULL, 12);
            }
            for (int32_t i = 1; i < count && kind == 1; i++) {
                arm.share[i] = 0.5 + 0.25 * i;
            }
            double top = fid_bend_top(&arm.bend);
            assert_true(top > 1.05);
            double longest = fid_bend_distance(&arm.bend, 0), shortest = fid_bend_distance(&arm.bend, top);
            if (prepared) {
                fid_bend_prepare(&arm.bend, longest, top);
                assert_true(arm.bend.seeded);
            }
            for (int i = 0; i <= 200; i++) {
                double distance = shortest + (longest - shortest) * i / 200;
                assert_near(reached(&arm, distance, top), distance, 1e-6 * longest);
            }
            // Close to full length, where the difference of squares would lose the bend.
            for (double gap = 1e-3; gap > 1e-9; gap *= 0.1) {
                assert_near(longest - reached(&arm, longest - gap * longest, top), gap * longest, 1e-3 * gap * longest);
            }
        }
    }
}

static void the_distance_falls_all_the_way_to_the_top(void **state) {
    (void)state;
    chain arm;
    make_plane(&arm, 7, NULL, 10);
    double top = fid_bend_top(&arm.bend), before = fid_bend_distance(&arm.bend, 0);
    for (int i = 1; i <= 500; i++) {
        double here = fid_bend_distance(&arm.bend, top * i / 500);
        assert_true(here < before);
        before = here;
    }
    // Seven equal segments with equal turns close into a regular heptagon: 360 / 7 degrees at each joint (plane
    // geometry).
    assert_near(before, 0, 1e-6);
    assert_near(top * 10, 360.0 / 7, 1e-6);
}

static void two_equal_segments_fold_until_the_joint_stands_at_180(void **state) {
    (void)state;
    chain arm;
    make_plane(&arm, 2, NULL, 30);
    assert_near(fid_bend_top(&arm.bend), 6, 1e-9);
}

static void distances_beyond_either_end_give_that_end(void **state) {
    (void)state;
    chain arm;
    make_plane(&arm, 5, NULL, 15);
    double top = fid_bend_top(&arm.bend);
    assert_near(reached(&arm, 9, top), 5, 1e-9);
    assert_near(reached(&arm, 0, top), fid_bend_distance(&arm.bend, top), 1e-6);
}

static void an_axis_bends_a_straight_chain_by_30_degrees_a_joint(void **state) {
    (void)state;
    chain arm;
    make_plane(&arm, 3, NULL, 0);
    arm.bend.about_axis = true;
    double turn[3];
    fid_bend_turns(&arm.bend, 0, turn);
    assert_near(turn[1], 0, 0);
    fid_bend_turns(&arm.bend, 1, turn);
    assert_near(fid_degrees(turn[1]), 30, 1e-12);
    assert_near(fid_degrees(turn[2]), 30, 1e-12);
    assert_near(reached(&arm, 2.5, fid_bend_top(&arm.bend)), 2.5, 1e-6);
}

static void limits_hold_the_joints_and_leave_the_rest_to_the_others(void **state) {
    (void)state;
    chain arm;
    double lo[5] = {0}, hi[5] = {0};
    make_plane(&arm, 5, NULL, 15);
    for (int i = 1; i < 5; i++) {
        lo[i] = fid_radians(i == 2 ? 10 : 0);
        hi[i] = fid_radians(i == 3 ? 20 : 70);
    }
    arm.bend.lo = lo;
    arm.bend.hi = hi;
    arm.bend.bottom = fid_bend_bottom(&arm.bend);
    // One joint keeps 10 degrees: the others are straight at the bottom.
    assert_near(arm.bend.bottom, 0, 1e-12);
    double top = fid_bend_top(&arm.bend), longest = fid_bend_distance(&arm.bend, arm.bend.bottom);
    fid_quatd rotation[5];
    assert_true(longest < 5);
    double shortest = fid_bend_distance(&arm.bend, top);
    for (int i = 0; i <= 100; i++) {
        double distance = shortest + (longest - shortest) * i / 100;
        fid_vec3d end = fid_bend_solve(&arm.bend, longest, top, longest - distance, rotation);
        assert_near(fid_vec3d_length(end), distance, 1e-6);
        for (int j = 1; j < 5; j++) {
            double angle = arm.angle[j] + turned(rotation, j) - turned(rotation, j - 1);
            assert_true(angle >= lo[j] - 1e-9 && angle <= hi[j] + 1e-9);
        }
    }
}

static void a_lower_limit_on_every_joint_keeps_the_chain_bent(void **state) {
    (void)state;
    chain arm;
    double lo[3] = {0, fid_radians(10), fid_radians(5)}, hi[3] = {0, fid_radians(90), fid_radians(90)};
    fid_quatd rotation[3];
    make_plane(&arm, 3, NULL, 20);
    arm.bend.lo = lo;
    arm.bend.hi = hi;
    arm.bend.bottom = fid_bend_bottom(&arm.bend);
    // Joint 2 leaves its 5 degrees first, at a quarter of the bend at rest.
    assert_near(arm.bend.bottom, 0.25, 1e-12);
    double longest = fid_bend_distance(&arm.bend, arm.bend.bottom);
    fid_bend_solve(&arm.bend, longest, fid_bend_top(&arm.bend), 0, rotation);
    assert_near(fid_degrees(arm.angle[1] + turned(rotation, 1)), 10, 1e-9);
    assert_near(fid_degrees(arm.angle[2] + turned(rotation, 2) - turned(rotation, 1)), 5, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_segments_take_the_angle_of_the_closed_form),
        cmocka_unit_test(rest_is_at_k_1_and_straight_at_k_0),
        cmocka_unit_test(the_end_comes_to_every_distance_between_the_two_ends),
        cmocka_unit_test(the_distance_falls_all_the_way_to_the_top),
        cmocka_unit_test(two_equal_segments_fold_until_the_joint_stands_at_180),
        cmocka_unit_test(distances_beyond_either_end_give_that_end),
        cmocka_unit_test(limits_hold_the_joints_and_leave_the_rest_to_the_others),
        cmocka_unit_test(a_lower_limit_on_every_joint_keeps_the_chain_bent),
        cmocka_unit_test(an_axis_bends_a_straight_chain_by_30_degrees_a_joint),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
