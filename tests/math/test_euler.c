#include "math/quat.h"
#include "math/random.h"
#include "math/scalar.h"
#include "support/assert_frame.h"

static const fid_order orders[6] = {FID_ORDER_XYZ, FID_ORDER_XZY, FID_ORDER_YXZ,
                                    FID_ORDER_YZX, FID_ORDER_ZXY, FID_ORDER_ZYX};
/// The axes of each, first turn first.
static const int sequences[6][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};

static fid_vec3 list(int order, float first, float middle, float last) {
    float angles[3];
    angles[sequences[order][0]] = first;
    angles[sequences[order][1]] = middle;
    angles[sequences[order][2]] = last;
    return (fid_vec3){angles[0], angles[1], angles[2]};
}

static float pick(fid_vec3 angles, int axis) { return axis == 0 ? angles.x : axis == 1 ? angles.y : angles.z; }

/// The product of three turns about single axes, first turn on the left.
static fid_quat by_turns(fid_vec3 degrees, int order) {
    const fid_vec3 axes[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    fid_quat q = FID_QUAT_IDENTITY;
    for (int i = 0; i < 3; ++i) {
        int axis = sequences[order][i];
        q = fid_quat_mul(q, fid_quat_about(axes[axis], fid_radians(pick(degrees, axis))));
    }
    return q;
}

static void check_rows(fid_quat q, const double rows[9]) {
    double m[9];
    fid_quat_to_matrix(q, m);
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column) {
            assert_near(m[3 * column + row], rows[3 * row + column], 2e-7);
        }
    }
}

static void matrices_of_angles_are_the_published_ones(void **state) {
    (void)state;
    // Test suite of SciPy's spatial.transform.Rotation (revision 3dbf660a): intrinsic zxy, and about fixed axes z, x,
    // y, which is the intrinsic order yxz; z 30, x 60, y 45 degrees.
    const double zxy[9] = {0.3061862,  -0.25,      0.9185587, 0.8838835, 0.4330127,
                           -0.1767767, -0.3535534, 0.8660254, 0.3535534};
    check_rows(fid_quat_from_euler((fid_vec3){60, 45, 30}, FID_ORDER_ZXY), zxy);
    const double yxz[9] = {0.91855865, 0.1767767,   0.35355339, 0.25,      0.4330127,
                           -0.8660254, -0.30618622, 0.88388348, 0.35355339};
    check_rows(fid_quat_from_euler((fid_vec3){60, 45, 30}, FID_ORDER_YXZ), yxz);
}

static void angles_are_three_turns_in_their_order(void **state) {
    (void)state;
    random_source source = random_begin(41);
    for (int i = 0; i < 1200; ++i) {
        fid_vec3 degrees = random_vec3(&source, i % 2 == 0 ? 180.0 : 1000.0);
        assert_quat_near(fid_quat_from_euler(degrees, orders[i % 6]), by_turns(degrees, i % 6), 5e-7);
    }
}

static void angles_come_back_in_every_order(void **state) {
    (void)state;
    random_source source = random_begin(42);
    for (int i = 0; i < 6000; ++i) {
        int order = i % 6;
        float first = (float)random_between(&source, -179.9, 179.9);
        float middle = (float)random_between(&source, -85.0, 85.0);
        float last = (float)random_between(&source, -179.9, 179.9);
        fid_vec3 degrees = list(order, first, middle, last);
        assert_vec3_near(fid_quat_to_euler(fid_quat_from_euler(degrees, orders[order]), orders[order]), degrees, 2e-4);
    }
}

static void any_turn_comes_back_in_every_order(void **state) {
    (void)state;
    random_source source = random_begin(43);
    for (int i = 0; i < 6000; ++i) {
        int order = i % 6;
        fid_quat q = random_quat(&source);
        if (i % 3 == 0) { // at the pole, or as close as single precision comes
            float near = (float)(90.0 - pow(10.0, random_between(&source, -9.0, 0.0)));
            q = fid_quat_from_euler(list(order, random_vec3(&source, 180.0).x, i % 2 == 0 ? near : -near, 17.0f),
                                    orders[order]);
        }
        fid_vec3 degrees = fid_quat_to_euler(q, orders[order]);
        float middle = pick(degrees, sequences[order][1]);
        assert_true(middle >= -90.0f && middle <= 90.0f);
        assert_true(assert_frame_degrees(fid_quat_from_euler(degrees, orders[order]), q) <= 1e-4);
    }
}

static void last_angle_is_zero_at_the_pole(void **state) {
    (void)state;
    // The cases of the gimbal tests of the same suite, for all six orders; rotations are compared.
    const float cases[4][3] = {{45, 90, 35}, {35, -90, 20}, {35, 90, 25}, {25, -90, 15}};
    for (int order = 0; order < 6; ++order) {
        for (int i = 0; i < 4; ++i) {
            fid_vec3 degrees = list(order, cases[i][0], cases[i][1], cases[i][2]);
            fid_quat q = fid_quat_from_euler(degrees, orders[order]);
            fid_vec3 back = fid_quat_to_euler(q, orders[order]);
            assert_true(pick(back, sequences[order][2]) == 0.0f);
            assert_near((double)pick(back, sequences[order][1]), (double)cases[i][1], 1e-4);
            assert_true(assert_frame_degrees(fid_quat_from_euler(back, orders[order]), q) <= 5e-5);
            assert_true(assert_frame_degrees(q, by_turns(degrees, order)) <= 5e-5);
        }
    }
}

static void last_angle_is_zero_as_close_to_the_pole_as_single_precision_comes(void **state) {
    (void)state;
    for (int order = 0; order < 6; ++order) {
        fid_quat q = fid_quat_from_euler(list(order, 25, nextafterf(90, 0), 15), orders[order]);
        fid_vec3 back = fid_quat_to_euler(q, orders[order]);
        assert_true(pick(back, sequences[order][2]) == 0.0f);
        assert_true(assert_frame_degrees(fid_quat_from_euler(back, orders[order]), q) <= 5e-5);
    }
}

static void identity_gives_plain_zeros(void **state) {
    (void)state;
    const fid_vec3 zeros = {0, 0, 0};
    const fid_quat same[] = {{0, 0, 0, 1}, {0, 0, 0, -1}, {-0.0f, -0.0f, -0.0f, 1}, {0, 0, 0, 0}, {NAN, 0, 0, 1}};
    for (int order = 0; order < 6; ++order) {
        for (size_t i = 0; i < sizeof same / sizeof same[0]; ++i) {
            fid_vec3 degrees = fid_quat_to_euler(same[i], orders[order]);
            assert_memory_equal(&degrees, &zeros, sizeof zeros); // tells 0 from -0
        }
        assert_quat_near(fid_quat_from_euler(zeros, orders[order]), FID_QUAT_IDENTITY, 0.0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(matrices_of_angles_are_the_published_ones),
        cmocka_unit_test(angles_are_three_turns_in_their_order),
        cmocka_unit_test(angles_come_back_in_every_order),
        cmocka_unit_test(any_turn_comes_back_in_every_order),
        cmocka_unit_test(last_angle_is_zero_at_the_pole),
        cmocka_unit_test(last_angle_is_zero_as_close_to_the_pole_as_single_precision_comes),
        cmocka_unit_test(identity_gives_plain_zeros),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
