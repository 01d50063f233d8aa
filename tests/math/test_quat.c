#include "math/quat.h"
#include "math/random.h"
#include "math/scalar.h"
#include "support/assert_frame.h"

#include <float.h>

static const fid_vec3 axis_x = {1, 0, 0}, axis_y = {0, 1, 0}, axis_z = {0, 0, 1};

/// Compares R(q) with nine numbers, row by row.
static void check_rows(fid_quat q, const double rows[9], double tolerance) {
    double m[9];
    fid_quat_to_matrix(q, m);
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column) {
            assert_near(m[3 * column + row], rows[3 * row + column], tolerance);
        }
    }
    const fid_vec3 columns[3] = {fid_quat_x(q), fid_quat_y(q), fid_quat_z(q)};
    for (int column = 0; column < 3; ++column) {
        fid_vec3 expected = {(float)rows[column], (float)rows[3 + column], (float)rows[6 + column]};
        assert_vec3_near(columns[column], expected, tolerance + 1e-6);
    }
}

/// From the columns of a matrix given row by row.
static fid_quat from_rows(const double r[9]) {
    return fid_quat_from_axes((fid_vec3){(float)r[0], (float)r[3], (float)r[6]},
                              (fid_vec3){(float)r[1], (float)r[4], (float)r[7]},
                              (fid_vec3){(float)r[2], (float)r[5], (float)r[8]});
}

static fid_quat scaled(double x, double y, double z, double w, double divisor) {
    return (fid_quat){(float)(x / divisor), (float)(y / divisor), (float)(z / divisor), (float)(w / divisor)};
}

static bool is_same(fid_quat a, fid_quat b) { return a.x == b.x && a.y == b.y && a.z == b.z && a.w == b.w; }

// Published values of this file come from the test suite of SciPy's spatial.transform.Rotation (revision 3dbf660a)
// unless said otherwise.

static void matrix_of_a_quaternion_is_the_published_one(void **state) {
    (void)state;
    const double rows[9] = {0.4 / 3, -2.0 / 3, 2.2 / 3, 2.8 / 3, 1.0 / 3, 0.4 / 3, -1.0 / 3, 2.0 / 3, 2.0 / 3};
    check_rows(scaled(1, 2, 3, 4, sqrt(30.0)), rows, 1e-7);
}

static void quaternion_of_a_matrix_is_the_published_one(void **state) {
    (void)state;
    const double rows[9] = {-0.8974359, -0.2564103, 0.3589744, 0.3589744, -0.8974359,
                            0.2564103,  0.2564103,  0.3589744, 0.8974359};
    assert_quat_near(from_rows(rows), scaled(1, 1, 6, 1, sqrt(39.0)), 2e-7);
    // Half a turn, from the tests of the Python package spatialmath: (x, y, z, w) = (1, -1, 0, 0) / sqrt 2.
    const double half_turn[9] = {0, -1, 0, -1, 0, 0, 0, 0, -1};
    assert_quat_near(from_rows(half_turn), scaled(1, -1, 0, 0, sqrt(2.0)), 1e-7);
}

static void axes_and_quaternion_say_the_same(void **state) {
    (void)state;
    random_source source = random_begin(31);
    const fid_quat special[] = {{0, 0, 0, 1}, {1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0.5f, 0.5f, 0.5f, -0.5f}};
    for (int i = 0; i < 1000; ++i) {
        fid_quat q = i < 5 ? special[i] : random_quat(&source);
        assert_quat_near(fid_quat_from_axes(fid_quat_x(q), fid_quat_y(q), fid_quat_z(q)), q, 5e-7);
    }
}

static void exponential_is_the_published_one(void **state) {
    (void)state;
    assert_quat_near(fid_quat_exp((fid_vec3){1, 2, 2}), ((fid_quat){0.3324983f, 0.6649967f, 0.6649967f, 0.0707372f}),
                     1e-7);
    assert_quat_near(fid_quat_exp((fid_vec3){1, -1, 0.5f}),
                     ((fid_quat){0.4544258f, -0.4544258f, 0.2272129f, 0.7316889f}), 1e-7);
    // K. M. Lynch, F. C. Park, "Modern Robotics", library, MatrixExp3.
    const double rows[9] = {-0.69492056, 0.71352099, 0.08929286, -0.19200697, -0.30378504,
                            0.93319235,  0.69297817, 0.6313497,  0.34810748};
    check_rows(fid_quat_exp((fid_vec3){1, 2, 3}), rows, 3e-7);
}

static void logarithm_is_the_published_one(void **state) {
    (void)state;
    // The same library, MatrixLog3 of the cyclic permutation.
    const double rows[9] = {0, 0, 1, 1, 0, 0, 0, 1, 0};
    assert_vec3_near(fid_quat_log(from_rows(rows)), ((fid_vec3){1.20919958f, 1.20919958f, 1.20919958f}), 3e-7);
}

static void logarithm_undoes_the_exponential(void **state) {
    (void)state;
    random_source source = random_begin(32);
    for (int i = 0; i < 1000; ++i) {
        double size = pow(10.0, random_between(&source, -30.0, 0.49));
        fid_vec3 r = fid_vec3_scale(fid_vec3_normalize(random_vec3(&source, 1.0), axis_x), (float)size);
        assert_vec3_near(fid_quat_log(fid_quat_exp(r)), r, 4e-7 * size);
        fid_quat q = random_quat(&source);
        fid_vec3 log = fid_quat_log(q);
        assert_true(fid_vec3_length(log) <= (float)FID_PI);
        assert_quat_near(fid_quat_exp(log), q, 2e-7);
    }
}

static void exponential_of_whole_turns_is_the_identity(void **state) {
    (void)state;
    assert_frame_near(((fid_frame){{0, 0, 0}, fid_quat_exp((fid_vec3){0, (float)(2.0 * FID_PI), 0}), {1, 1, 1}}),
                      FID_FRAME_IDENTITY, 0.0, 2e-5);
    assert_true(is_same(fid_quat_exp((fid_vec3){0, 0, 0}), FID_QUAT_IDENTITY));
}

static void slerp_is_the_published_one(void **state) {
    (void)state;
    // SciPy's documentation of Slerp: angles about the fixed axes x, y, z in turn, which is the intrinsic order zyx.
    fid_quat a = fid_quat_from_euler((fid_vec3){14.31443779f, -27.50095894f, -3.7275787f}, FID_ORDER_ZYX);
    fid_quat b = fid_quat_from_euler((fid_vec3){-1.79924227f, -24.69421529f, 164.57701743f}, FID_ORDER_ZYX);
    assert_vec3_near(fid_quat_to_euler(fid_quat_slerp(a, b, 0.25f), FID_ORDER_ZYX),
                     ((fid_vec3){10.71094749f, -31.56690154f, 38.06896408f}), 2e-5);
    assert_vec3_near(fid_quat_to_euler(fid_quat_slerp(a, b, 0.5f), FID_ORDER_ZYX),
                     ((fid_vec3){4.74588574f, -32.44683966f, 81.25139984f}), 2e-5);
}

static void slerp_is_exact_at_its_ends(void **state) {
    (void)state;
    random_source source = random_begin(33);
    for (int i = 0; i < 1000; ++i) {
        fid_quat a = random_quat(&source), b = random_quat(&source);
        assert_true(is_same(fid_quat_slerp(a, b, 0.0f), a) && is_same(fid_quat_slerp(a, b, 1.0f), b));
    }
}

static void slerp_turns_evenly_along_the_shorter_arc(void **state) {
    (void)state;
    random_source source = random_begin(34);
    for (int i = 0; i < 1000; ++i) {
        fid_quat a = random_quat(&source), b = random_quat(&source);
        float t = (float)random_between(&source, 0.0, 1.0);
        fid_quat mixed = fid_quat_slerp(a, b, t);
        double whole = assert_frame_degrees(a, b);
        assert_true(whole <= 180.0);
        assert_near(assert_frame_degrees(a, mixed), t * whole, 5e-5);
        assert_near(assert_frame_degrees(mixed, b), (1.0 - t) * whole, 5e-5);
        assert_quat_near(fid_quat_slerp(a, (fid_quat){-b.x, -b.y, -b.z, -b.w}, t), mixed, 1e-6);
    }
}

static void slerp_is_continuous_down_to_equal_ends(void **state) {
    (void)state;
    const fid_quat a = fid_quat_about(axis_y, 1.0);
    for (int i = 0; i < 20; ++i) {
        double angle = 0.01 * pow(0.3, i);
        fid_quat b = fid_quat_about(axis_y, 1.0 + angle);
        assert_quat_near(fid_quat_slerp(a, b, 0.3f), fid_quat_about(axis_y, 1.0 + 0.3 * angle), 1e-7);
    }
    assert_quat_near(fid_quat_slerp(a, a, 0.3f), a, 1e-7);
}

static void power_takes_a_part_of_the_turn_the_shorter_way(void **state) {
    (void)state;
    fid_quat q = fid_quat_about(axis_z, fid_radians(300.0)); // 60 degrees the other way
    assert_quat_near(fid_quat_power(q, 0.5f), fid_quat_about(axis_z, fid_radians(-30.0)), 1e-7);
    assert_quat_near(fid_quat_power(q, -2.0f), fid_quat_about(axis_z, fid_radians(120.0)), 1e-7);
    random_source source = random_begin(35);
    for (int i = 0; i < 1000; ++i) {
        fid_quat any = random_quat(&source);
        float power = (float)random_between(&source, -3.0, 3.0);
        assert_quat_near(fid_quat_power(any, power), fid_quat_exp(fid_vec3_scale(fid_quat_log(any), power)), 2e-6);
        assert_true(is_same(fid_quat_power(any, 0.0f), FID_QUAT_IDENTITY));
        fid_quat minus = {-any.x, -any.y, -any.z, -any.w};
        fid_quat whole = fid_quat_power(any, 1.0f);
        assert_true(is_same(whole, any) || is_same(whole, minus));
        fid_quat third = fid_quat_power(any, 1.0f / 3.0f);
        assert_quat_near(fid_quat_mul(third, fid_quat_mul(third, third)), any, 1e-6);
    }
}

static void angle_is_precise_for_tiny_turns_and_half_turns(void **state) {
    (void)state;
    for (int i = 0; i <= 30; ++i) {
        double angle = 3.0 * pow(0.1, i);
        assert_near(fid_quat_angle(fid_quat_about(axis_x, angle)), angle, 2e-7 * angle);
        assert_near(fid_quat_angle(fid_quat_about(axis_x, -angle)), angle, 2e-7 * angle);
    }
    assert_near(fid_quat_angle((fid_quat){0, 1, 0, 0}), FID_PI, 0.0);
    assert_near(fid_quat_angle((fid_quat){0, 0.6f, 0, -0.8f}), 2.0 * atan2(0.6, 0.8), 1e-7);
    assert_near(fid_quat_angle_between(fid_quat_about(axis_x, 1.0), fid_quat_about(axis_x, 1.0 + 1e-3)), 1e-3, 1e-7);
    assert_near(fid_quat_angle_between(fid_quat_about(axis_x, 1.0), fid_quat_about(axis_x, -1.0)), 2.0, 1e-6);
    assert_near(fid_quat_angle_between(FID_QUAT_IDENTITY, (fid_quat){0, 0, 0, -1}), 0.0, 0.0);
}

static void swing_and_twist_are_the_published_ones(void **state) {
    (void)state;
    // Formulas: M. B. Reynolds, "Factoring quaternions", 2022, evaluated by hand in double precision.
    fid_quat swing, twist, q = scaled(2, 3, 4, 1, sqrt(30.0));
    fid_quat_swing_twist(q, axis_x, &swing, &twist);
    assert_quat_near(twist, ((fid_quat){0.894427f, 0, 0, 0.447214f}), 1e-6);
    assert_quat_near(swing, ((fid_quat){0, -0.408248f, 0.816497f, 0.408248f}), 1e-6);
    assert_near(fid_degrees(fid_quat_twist(q, axis_x)), 126.869898, 2e-5);
    assert_near(fid_degrees(fid_quat_angle(swing)), 131.810315, 2e-5);
    fid_quat_swing_twist((fid_quat){0.5f, 0.5f, 0.5f, 0.5f}, axis_z, &swing, &twist);
    assert_quat_near(twist, ((fid_quat){0, 0, 0.707107f, 0.707107f}), 1e-6);
    assert_quat_near(swing, ((fid_quat){0, 0.707107f, 0, 0.707107f}), 1e-6);
}

static void roll_is_half_the_twist_as_an_open_standard_has_it(void **state) {
    (void)state;
    // Roll of VRMC_node_constraint-1.0: the twist part of the source's turn about the axis, by weight. Source Rz(45)
    // Rx(90), axis x, 0.5.
    fid_quat q = fid_quat_mul(fid_quat_about(axis_z, fid_radians(45.0)), fid_quat_about(axis_x, fid_radians(90.0)));
    fid_quat swing, twist;
    fid_quat_swing_twist(q, axis_x, &swing, &twist);
    assert_quat_near(fid_quat_power(twist, 0.5f), ((fid_quat){0.382683f, 0, 0, 0.923880f}), 1e-6);
    assert_quat_near(swing, fid_quat_about(axis_z, fid_radians(45.0)), 1e-6);
}

static void swing_times_twist_is_the_whole_turn(void **state) {
    (void)state;
    random_source source = random_begin(36);
    for (int i = 0; i < 1000; ++i) {
        fid_quat q = random_quat(&source), swing, twist;
        fid_vec3 axis = fid_vec3_normalize(random_vec3(&source, 1.0), axis_x);
        fid_quat_swing_twist(q, axis, &swing, &twist);
        assert_quat_near(fid_quat_mul(swing, twist), q, 1e-6);
        assert_near((double)fid_vec3_dot((fid_vec3){swing.x, swing.y, swing.z}, axis), 0.0, 1e-6);
        assert_vec3_near(fid_quat_rotate(twist, axis), axis, 1e-6);
        double angle = fid_quat_twist(q, axis);
        assert_true(angle > -FID_PI && angle <= FID_PI);
        assert_quat_near(fid_quat_about(axis, angle), twist, 1e-6);
    }
}

static void twist_is_signed_and_reaches_half_a_turn_on_one_side_only(void **state) {
    (void)state;
    for (int degrees = -179; degrees <= 180; ++degrees) {
        fid_quat q = fid_quat_about(axis_z, fid_radians(degrees));
        assert_near(fid_degrees(fid_quat_twist(q, axis_z)), degrees, 2e-5);
        assert_near(fid_degrees(fid_quat_twist((fid_quat){-q.x, -q.y, -q.z, -q.w}, axis_z)), degrees, 2e-5);
    }
    assert_near(fid_quat_twist((fid_quat){0, 0, -1, 0}, axis_z), FID_PI, 0.0);
    assert_near(fid_quat_twist((fid_quat){0, 0, 1, -0.0f}, axis_z), FID_PI, 0.0);
}

static void twist_of_a_swing_by_half_a_turn_is_nothing(void **state) {
    (void)state;
    fid_quat swing, twist;
    fid_quat_swing_twist((fid_quat){1, 0, 0, 0}, axis_z, &swing, &twist);
    assert_true(is_same(twist, FID_QUAT_IDENTITY));
    assert_quat_near(swing, ((fid_quat){1, 0, 0, 0}), 0.0);
    assert_near(fid_quat_twist((fid_quat){1, 0, 0, 0}, axis_z), 0.0, 0.0);
    // What rounding in single precision leaves of such a turn is no twist either.
    const fid_quat rounded[] = {fid_quat_about(axis_x, FID_PI), {1, 0, 2e-8f, -3e-8f}, {0, 1, -6e-8f, 0}};
    for (int i = 0; i < 3; ++i) {
        fid_quat_swing_twist(rounded[i], axis_z, &swing, &twist);
        assert_true(is_same(twist, FID_QUAT_IDENTITY));
        assert_quat_near(swing, rounded[i], 1e-7);
        assert_near(fid_quat_twist(rounded[i], axis_z), 0.0, 0.0);
    }
}

static void arc_is_the_published_one(void **state) {
    (void)state;
    // Aim of VRMC_node_constraint-1.0: the smallest turn that takes the axis +x to a target at (1, 2, 2).
    assert_quat_near(fid_quat_arc(axis_x, (fid_vec3){1, 2, 2}, axis_y),
                     ((fid_quat){0, -0.408248f, 0.408248f, 0.816497f}), 1e-6);
}

static void arc_carries_any_direction_to_any_other_the_shortest_way(void **state) {
    (void)state;
    random_source source = random_begin(37);
    for (int i = 0; i < 1000; ++i) {
        fid_vec3 from = random_vec3(&source, pow(10.0, random_between(&source, -18.0, 18.0)));
        fid_vec3 to = random_vec3(&source, pow(10.0, random_between(&source, -18.0, 18.0)));
        if (i % 2 == 1) { // nearly opposed
            double apart = pow(10.0, random_between(&source, -7.0, -1.0));
            to = fid_vec3_add(fid_vec3_scale(from, -1.0f),
                              fid_vec3_scale(fid_vec3_across(fid_vec3_normalize(from, axis_x)),
                                             (float)apart * fid_vec3_length(from)));
        }
        fid_quat q = fid_quat_arc(from, to, axis_y);
        fid_vec3 carried = fid_quat_rotate(q, fid_vec3_normalize(from, axis_x));
        assert_vec3_near(carried, fid_vec3_normalize(to, axis_x), 1e-6);
        assert_near(fid_quat_angle(q), fid_vec3_angle(from, to), 1e-6);
    }
    assert_quat_near(fid_quat_arc(axis_x, (fid_vec3){7, 0, 0}, axis_y), FID_QUAT_IDENTITY, 0.0);
}

static void arc_to_the_opposite_turns_about_the_spare_axis(void **state) {
    (void)state;
    assert_quat_near(fid_quat_arc(axis_x, (fid_vec3){-3, 0, 0}, (fid_vec3){5, 0, 2}), ((fid_quat){0, 0, 1, 0}), 1e-7);
    const fid_vec3 useless[] = {{1, 0, 0}, {-2, 0, 0}, {0, 0, 0}, {NAN, 0, 0}};
    for (size_t i = 0; i < sizeof useless / sizeof useless[0]; ++i) {
        fid_quat q = fid_quat_arc(axis_x, (fid_vec3){-3, 0, 0}, useless[i]);
        assert_vec3_near(fid_quat_rotate(q, axis_x), ((fid_vec3){-1, 0, 0}), 1e-7);
        assert_near(fid_quat_angle(q), FID_PI, 1e-7);
    }
}

static void arc_without_a_direction_is_the_identity(void **state) {
    (void)state;
    const fid_vec3 none = {0, 0, 0};
    assert_true(is_same(fid_quat_arc(none, axis_x, axis_y), FID_QUAT_IDENTITY));
    assert_true(is_same(fid_quat_arc(axis_x, none, axis_y), FID_QUAT_IDENTITY));
    assert_true(is_same(fid_quat_arc(axis_x, (fid_vec3){0, NAN, 0}, axis_y), FID_QUAT_IDENTITY));
}

static void canonical_sign_is_that_of_the_written_form(void **state) {
    (void)state;
    const fid_quat in[] = {
        {0.5f, 0.5f, 0.5f, -0.5f}, {-1, 0, 0, 0}, {0, -1, 0, -0.0f}, {-0.0f, 0, -1, 0}, {-0.0f, -0.0f, -0.0f, 1}};
    const fid_quat out[] = {{-0.5f, -0.5f, -0.5f, 0.5f}, {1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}};
    for (size_t i = 0; i < sizeof in / sizeof in[0]; ++i) {
        fid_quat q = fid_quat_canonical(in[i]);
        assert_memory_equal(&q, &out[i], sizeof q); // tells 0 from -0
    }
}

static void normalize_gives_a_unit_or_the_identity(void **state) {
    (void)state;
    assert_quat_near(fid_quat_normalize((fid_quat){0, 3e-30f, 0, 4e-30f}), ((fid_quat){0, 0.6f, 0, 0.8f}), 1e-7);
    assert_quat_near(fid_quat_normalize((fid_quat){0, 3e30f, 0, 4e30f}), ((fid_quat){0, 0.6f, 0, 0.8f}), 1e-7);
    assert_true(is_same(fid_quat_normalize((fid_quat){0, 0, 0, 0}), FID_QUAT_IDENTITY));
    assert_true(is_same(fid_quat_normalize((fid_quat){0, NAN, 0, 1}), FID_QUAT_IDENTITY));
    assert_true(is_same(fid_quat_normalize((fid_quat){INFINITY, 0, 0, 1}), FID_QUAT_IDENTITY));
}

static void product_turns_by_the_right_factor_first(void **state) {
    (void)state;
    random_source source = random_begin(38);
    for (int i = 0; i < 1000; ++i) {
        fid_quat a = random_quat(&source), b = random_quat(&source);
        fid_vec3 v = random_vec3(&source, 1.0);
        assert_vec3_near(fid_quat_rotate(fid_quat_mul(a, b), v), fid_quat_rotate(a, fid_quat_rotate(b, v)), 2e-6);
        assert_quat_near(fid_quat_mul(fid_quat_inverse(a), a), FID_QUAT_IDENTITY, 1e-6);
        fid_vec3 mirrored = {-v.x, v.y, v.z}, turned = fid_quat_rotate(a, v);
        assert_vec3_near(fid_quat_rotate(fid_quat_mirror(a), mirrored), ((fid_vec3){-turned.x, turned.y, turned.z}),
                         1e-6);
    }
}

/// A function of turns alone commutes with the reflection; so does the way in which half a turn is halved.
static void parts_of_a_mirrored_turn_are_the_mirrored_parts(void **state) {
    (void)state;
    random_source source = random_begin(39);
    for (int i = 0; i < 1000; ++i) {
        fid_quat a = random_quat(&source), b = random_quat(&source);
        if (i % 4 == 0) {
            a = fid_quat_normalize((fid_quat){a.x, a.y, a.z, 0});
        }
        float t = (float)random_between(&source, 0.0, 1.0);
        assert_quat_near(fid_quat_power(fid_quat_mirror(a), t), fid_quat_mirror(fid_quat_power(a, t)), 0.0);
        assert_quat_near(fid_quat_slerp(fid_quat_mirror(a), fid_quat_mirror(b), t),
                         fid_quat_mirror(fid_quat_slerp(a, b, t)), 1e-7);
    }
}

static bool is_finite(fid_quat q) { return isfinite(q.x) && isfinite(q.y) && isfinite(q.z) && isfinite(q.w); }

static void nothing_finite_gives_nan(void **state) {
    (void)state;
    const float odd[] = {0, -0.0f, 1e-45f, -1e-38f, 1, -1, 1e20f, FLT_MAX};
    enum { ODD = 8 };
    for (int i = 0; i < ODD * ODD * ODD * ODD; ++i) {
        float x = odd[i % ODD], y = odd[i / ODD % ODD], z = odd[i / ODD / ODD % ODD], w = odd[i / ODD / ODD / ODD];
        fid_quat q = {x, y, z, w}, swing, twist;
        fid_vec3 v = {x, y, z}, u = {w, x, -y};
        fid_quat_swing_twist(q, axis_z, &swing, &twist);
        assert_true(is_finite(swing) && is_finite(twist) && isfinite(fid_quat_twist(q, axis_y)));
        assert_true(is_finite(fid_quat_normalize(q)) && is_finite(fid_quat_power(q, 0.3f)));
        assert_true(fid_vec3_is_finite(fid_quat_log(q)) && is_finite(fid_quat_exp(v)));
        assert_true(isfinite(fid_quat_angle(q)) && isfinite(fid_quat_angle_between(q, twist)));
        assert_true(is_finite(fid_quat_slerp(q, swing, 0.5f)) && is_finite(fid_quat_slerp(twist, q, 0.5f)));
        assert_true(is_finite(fid_quat_arc(v, u, v)) && is_finite(fid_quat_arc(u, v, (fid_vec3){y, z, w})));
        assert_true(is_finite(fid_quat_from_axes(v, u, (fid_vec3){z, w, x})));
        assert_true(fid_vec3_is_finite(fid_quat_to_euler(q, FID_ORDER_XYZ)));
        assert_true(is_finite(fid_quat_from_euler(v, FID_ORDER_XYZ)) && isfinite(fid_vec3_angle(u, v)));
    }
}

static void what_is_not_finite_gives_the_identity(void **state) {
    (void)state;
    const float odd[] = {NAN, INFINITY, -INFINITY};
    for (int i = 0; i < 3; ++i) {
        fid_quat q = {odd[i], 0, 0, 0.5f}, swing, twist;
        assert_true(is_same(fid_quat_exp((fid_vec3){odd[i], 0, 0}), FID_QUAT_IDENTITY));
        assert_true(is_same(fid_quat_power(q, 0.5f), FID_QUAT_IDENTITY));
        assert_vec3_near(fid_quat_log(q), ((fid_vec3){0, 0, 0}), 0.0);
        fid_quat_swing_twist(q, axis_x, &swing, &twist);
        assert_true(is_same(swing, FID_QUAT_IDENTITY) && is_same(twist, FID_QUAT_IDENTITY));
        assert_true(isfinite(fid_quat_twist(q, axis_x)) && isfinite(fid_quat_angle(q)));
        assert_true(is_same(fid_quat_from_axes((fid_vec3){odd[i], 0, 0}, axis_y, axis_z), FID_QUAT_IDENTITY));
        assert_true(is_same(fid_quat_arc((fid_vec3){odd[i], 0, 0}, axis_y, axis_z), FID_QUAT_IDENTITY));
    }
}

static void renormalizing_keeps_long_products_at_unit_length(void **state) {
    (void)state;
    fid_quat step = fid_quat_about((fid_vec3){0.6f, 0, 0.8f}, 0.01), q = FID_QUAT_IDENTITY;
    for (int i = 0; i < 100000; i++) {
        q = fid_quat_renormalize(fid_quat_mul(q, step));
        assert_near((double)fid_quat_dot(q, q), 1, 5e-7);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(matrix_of_a_quaternion_is_the_published_one),
        cmocka_unit_test(quaternion_of_a_matrix_is_the_published_one),
        cmocka_unit_test(axes_and_quaternion_say_the_same),
        cmocka_unit_test(exponential_is_the_published_one),
        cmocka_unit_test(logarithm_is_the_published_one),
        cmocka_unit_test(logarithm_undoes_the_exponential),
        cmocka_unit_test(exponential_of_whole_turns_is_the_identity),
        cmocka_unit_test(slerp_is_the_published_one),
        cmocka_unit_test(slerp_is_exact_at_its_ends),
        cmocka_unit_test(slerp_turns_evenly_along_the_shorter_arc),
        cmocka_unit_test(slerp_is_continuous_down_to_equal_ends),
        cmocka_unit_test(power_takes_a_part_of_the_turn_the_shorter_way),
        cmocka_unit_test(angle_is_precise_for_tiny_turns_and_half_turns),
        cmocka_unit_test(swing_and_twist_are_the_published_ones),
        cmocka_unit_test(roll_is_half_the_twist_as_an_open_standard_has_it),
        cmocka_unit_test(swing_times_twist_is_the_whole_turn),
        cmocka_unit_test(twist_is_signed_and_reaches_half_a_turn_on_one_side_only),
        cmocka_unit_test(twist_of_a_swing_by_half_a_turn_is_nothing),
        cmocka_unit_test(arc_is_the_published_one),
        cmocka_unit_test(arc_carries_any_direction_to_any_other_the_shortest_way),
        cmocka_unit_test(arc_to_the_opposite_turns_about_the_spare_axis),
        cmocka_unit_test(arc_without_a_direction_is_the_identity),
        cmocka_unit_test(canonical_sign_is_that_of_the_written_form),
        cmocka_unit_test(normalize_gives_a_unit_or_the_identity),
        cmocka_unit_test(product_turns_by_the_right_factor_first),
        cmocka_unit_test(parts_of_a_mirrored_turn_are_the_mirrored_parts),
        cmocka_unit_test(nothing_finite_gives_nan),
        cmocka_unit_test(what_is_not_finite_gives_the_identity),
        cmocka_unit_test(renormalizing_keeps_long_products_at_unit_length),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
