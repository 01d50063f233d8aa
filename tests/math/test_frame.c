#include "math/frame.h"
#include "math/matrix.h"
#include "math/random.h"
#include "math/scalar.h"
#include "support/assert_frame.h"

#include <float.h>

static const fid_vec3 axis_x = {1, 0, 0}, axis_y = {0, 1, 0}, axis_z = {0, 0, 1};

static bool is_same(fid_frame a, fid_frame b) {
    const float p[] = {a.t.x, a.t.y, a.t.z, a.q.x, a.q.y, a.q.z, a.q.w, a.s.x, a.s.y, a.s.z};
    const float q[] = {b.t.x, b.t.y, b.t.z, b.q.x, b.q.y, b.q.z, b.q.w, b.s.x, b.s.y, b.s.z};
    for (int i = 0; i < 10; ++i) {
        if (p[i] != q[i]) {
            return false;
        }
    }
    return true;
}

static fid_vec3 upright(double degrees_from_y) {
    double angle = fid_radians(degrees_from_y);
    return (fid_vec3){(float)sin(angle), (float)cos(angle), 0};
}

static void relation_and_composition_undo_each_other(void **state) {
    (void)state;
    random_source source = random_begin(51);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source), b = random_frame(&source);
        assert_frame_near(fid_frame_compose(a, fid_frame_relation(a, b)), b, 5e-6, 1e-4);
        assert_frame_near(fid_frame_relation(a, fid_frame_compose(a, b)), b, 5e-6, 1e-4);
        assert_frame_near(fid_frame_relation(a, a), FID_FRAME_IDENTITY, 0.0, 1e-4);
        assert_frame_near(fid_frame_compose(FID_FRAME_IDENTITY, a), a, 0.0, 1e-5);
        assert_frame_near(fid_frame_compose(a, FID_FRAME_IDENTITY), a, 0.0, 1e-5);
    }
}

static void composition_is_that_of_rigid_frames_with_scales_on_top(void **state) {
    (void)state;
    const fid_frame a = {{1, 2, 3}, fid_quat_about(axis_z, fid_radians(90.0)), {2, 3, 4}};
    const fid_frame b = {{10, 0, 0}, fid_quat_about(axis_x, fid_radians(90.0)), {5, 6, 7}};
    fid_frame c = fid_frame_compose(a, b);
    assert_vec3_near(c.t, ((fid_vec3){1, 12, 3}), 1e-5); // the scale of `a` does not act on the translation of b
    assert_vec3_near(c.s, ((fid_vec3){10, 18, 28}), 0.0);
    assert_vec3_near(fid_quat_z(c.q), axis_x, 1e-6); // z to -y by b, -y to x by a
    assert_frame_near(fid_frame_rigid(a), ((fid_frame){a.t, a.q, {1, 1, 1}}), 0.0, 0.0);
}

static void rigid_composition_takes_points_one_after_the_other(void **state) {
    (void)state;
    random_source source = random_begin(52);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = fid_frame_rigid(random_frame(&source)), b = random_frame(&source);
        fid_vec3 p = random_vec3(&source, 1.0);
        assert_vec3_near(fid_frame_point(fid_frame_compose(a, b), p), fid_frame_point(a, fid_frame_point(b, p)), 1e-5);
        assert_vec3_near(fid_frame_to_own(b, fid_frame_point(b, p)), p, 2e-5);
    }
}

static void matrix_moves_points_as_the_frame_does(void **state) {
    (void)state;
    random_source source = random_begin(53);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source), b = random_frame(&source);
        fid_vec3 p = random_vec3(&source, 1.0);
        float m[16], n[16], product[16];
        fid_frame_to_matrix(a, m);
        assert_vec3_near(fid_matrix_point(m, p), fid_frame_point(a, p), 5e-6);
        assert_true(m[3] == 0.0f && m[7] == 0.0f && m[11] == 0.0f && m[15] == 1.0f);
        fid_frame_to_matrix(fid_frame_rigid(a), m);
        fid_frame_to_matrix(b, n);
        fid_matrix_mul(m, n, product);
        fid_frame_to_matrix(fid_frame_compose(fid_frame_rigid(a), b), m);
        for (int k = 0; k < 16; ++k) {
            assert_near((double)m[k], (double)product[k], 1e-5);
        }
    }
}

static void matrix_is_that_of_the_published_quaternion(void **state) {
    (void)state;
    // (1, 2, 3, 4) / sqrt 30: test suite of SciPy's spatial.transform.Rotation (revision 3dbf660a). Columns scaled by
    // 3, 6 and 30.
    const float unit = sqrtf(30.0f);
    const fid_frame a = {{7, 8, 9}, {1 / unit, 2 / unit, 3 / unit, 4 / unit}, {3, 6, 30}};
    const double expected[16] = {0.4, 2.8, -1, 0, -4, 2, 4, 0, 22, 4, 20, 0, 7, 8, 9, 1};
    float m[16];
    double world[16];
    fid_frame_to_matrix(a, m);
    fid_frame_to_world(FID_FRAME_IDENTITY, a, world);
    for (int k = 0; k < 16; ++k) {
        assert_near((double)m[k], expected[k], 4e-6);
        assert_near(world[k], expected[k], 4e-6);
    }
}

static void placement_multiplies_last_and_in_double(void **state) {
    (void)state;
    random_source source = random_begin(54);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source), p = random_frame(&source);
        p.s = (fid_vec3){p.s.x, p.s.x, p.s.x};
        double world[16];
        float m[16], n[16], product[16];
        fid_frame_to_world(p, a, world);
        fid_frame_to_matrix(p, m);
        fid_frame_to_matrix(a, n);
        fid_matrix_mul(m, n, product);
        for (int k = 0; k < 16; ++k) {
            assert_near(world[k], (double)product[k], 3e-5);
        }
        // A kilometer away the frame keeps its shape.
        fid_frame far_away = p;
        far_away.t = (fid_vec3){1000, 0, -1000};
        double distant[16];
        fid_frame_to_world(far_away, a, distant);
        const double by[3] = {1000.0 - (double)p.t.x, -(double)p.t.y, -1000.0 - (double)p.t.z};
        for (int k = 0; k < 3; ++k) {
            assert_near(distant[12 + k] - world[12 + k], by[k], 1e-12);
        }
    }
}

static void mirror_twice_is_the_identity(void **state) {
    (void)state;
    random_source source = random_begin(55);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source);
        assert_true(is_same(fid_frame_mirror(fid_frame_mirror(a)), a));
    }
}

/// The definition: Sigma R Sigma with Sigma = diag(-1, 1, 1). So a mirrored point of the mirrored frame is the mirrored
/// point.
static void mirrored_frame_is_the_reflection_of_the_frame(void **state) {
    (void)state;
    random_source source = random_begin(56);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source), b = random_frame(&source);
        fid_vec3 p = random_vec3(&source, 1.0);
        assert_vec3_near(fid_frame_point(fid_frame_mirror(a), fid_vec3_mirror(p)),
                         fid_vec3_mirror(fid_frame_point(a, p)), 0.0);
        assert_frame_near(fid_frame_mirror(fid_frame_compose(a, b)),
                          fid_frame_compose(fid_frame_mirror(a), fid_frame_mirror(b)), 0.0, 0.0);
        // Aim and up reflect; across points the other way, so that the frame stays right-handed.
        fid_quat q = fid_frame_mirror(a).q;
        assert_vec3_near(fid_quat_z(q), fid_vec3_mirror(fid_quat_z(a.q)), 1e-6);
        assert_vec3_near(fid_quat_y(q), fid_vec3_mirror(fid_quat_y(a.q)), 1e-6);
        assert_vec3_near(fid_quat_x(q), fid_vec3_scale(fid_vec3_mirror(fid_quat_x(a.q)), -1.0f), 1e-6);
    }
}

static void mix_is_exact_at_its_ends_and_even_between(void **state) {
    (void)state;
    random_source source = random_begin(57);
    for (int i = 0; i < 1000; ++i) {
        fid_frame a = random_frame(&source), b = random_frame(&source);
        assert_true(is_same(fid_frame_mix(a, b, 0.0f), a) && is_same(fid_frame_mix(a, b, 1.0f), b));
        float t = (float)random_between(&source, 0.0, 1.0);
        fid_frame c = fid_frame_mix(a, b, t);
        assert_vec3_near(c.t, fid_vec3_lerp(a.t, b.t, t), 1e-6);
        assert_near((double)c.s.x, pow((double)a.s.x, 1.0 - t) * pow((double)b.s.x, t), 1e-6);
        assert_near((double)c.s.y, pow((double)a.s.y, 1.0 - t) * pow((double)b.s.y, t), 1e-6);
        assert_near((double)c.s.z, pow((double)a.s.z, 1.0 - t) * pow((double)b.s.z, t), 1e-6);
        assert_near(assert_frame_degrees(a.q, c.q), t * assert_frame_degrees(a.q, b.q), 5e-5);
    }
}

static void scales_mix_in_the_logarithm(void **state) {
    (void)state;
    assert_vec3_near(fid_scale_mix((fid_vec3){1, 4, 0.5f}, (fid_vec3){4, 1, 0.5f}, 0.5f), ((fid_vec3){2, 2, 0.5f}),
                     1e-6);
    assert_vec3_near(fid_scale_mix((fid_vec3){1, 1, 8}, (fid_vec3){1000, 1e-3f, 1}, 1.0f / 3.0f),
                     ((fid_vec3){10, 0.1f, 4}), 1e-5);
    const fid_vec3 from = {0.1f, -1, 0}, to = {0.7f, 0, 3};
    assert_vec3_near(fid_scale_mix(from, to, 0.0f), from, 0.0);
    assert_vec3_near(fid_scale_mix(from, to, 1.0f), to, 0.0);
    const fid_vec3 a = {0.1f, 0.3f, 0.7f}; // bit for bit where nothing differs
    fid_vec3 same = fid_scale_mix(a, a, 0.37f);
    assert_memory_equal(&same, &a, sizeof a);
    // No logarithm: a straight mix.
    assert_vec3_near(fid_scale_mix((fid_vec3){0, -1, 2}, (fid_vec3){2, 3, -2}, 0.25f), ((fid_vec3){0.5f, 0, 1}), 1e-7);
}

static void scale_taken_is_the_length_of_the_columns(void **state) {
    (void)state;
    const fid_vec3 parent = {2, 3, 5};
    // Turned by a about z, the columns of S R are (2 cos a, 3 sin a, 0), (-2 sin a, 3 cos a, 0), (0, 0, 5).
    const int angles[] = {0, 30, 45, 90};
    const double squares[] = {0.0, 0.25, 0.5, 1.0}; // of the sine
    for (int i = 0; i < 4; ++i) {
        fid_vec3 taken = fid_scale_take(parent, fid_quat_about(axis_z, fid_radians(angles[i])));
        double s = squares[i], c = 1.0 - s;
        assert_near((double)taken.x, sqrt(4.0 * c + 9.0 * s), 5e-7);
        assert_near((double)taken.y, sqrt(4.0 * s + 9.0 * c), 5e-7);
        assert_near((double)taken.z, 5.0, 0.0);
    }
    assert_vec3_near(fid_scale_take(parent, FID_QUAT_IDENTITY), parent, 0.0);
    assert_vec3_near(fid_scale_take((fid_vec3){-2, 0, 1}, FID_QUAT_IDENTITY), ((fid_vec3){2, 0, 1}), 0.0);
}

static void even_scale_is_taken_as_it_is_whatever_the_turn(void **state) {
    (void)state;
    random_source source = random_begin(58);
    for (int i = 0; i < 1000; ++i) {
        float size = (float)random_between(&source, 0.001, 1000.0);
        fid_vec3 parent = {size, size, size};
        assert_vec3_near(fid_scale_take(parent, random_quat(&source)), parent, 0.0);
    }
}

static void check_axes(fid_quat q, fid_vec3 x, fid_vec3 y, fid_vec3 z) {
    assert_vec3_near(fid_quat_x(q), x, 5e-7);
    assert_vec3_near(fid_quat_y(q), y, 5e-7);
    assert_vec3_near(fid_quat_z(q), z, 5e-7);
}

static void aim_follows_its_hint(void **state) {
    (void)state;
    fid_quat q;
    assert_true(fid_frame_aim((fid_vec3){0, 0, 5}, FID_HINT_UP, (fid_vec3){0, 3, 1}, &q));
    check_axes(q, axis_x, axis_y, axis_z);
    assert_true(fid_frame_aim((fid_vec3){1e-20f, 0, 0}, FID_HINT_UP, (fid_vec3){0, 1e20f, 0}, &q));
    check_axes(q, (fid_vec3){0, 0, -1}, axis_y, axis_x);
    assert_true(fid_frame_aim((fid_vec3){0, -1, 0}, FID_HINT_ACROSS, (fid_vec3){2, 7, 0}, &q));
    check_axes(q, axis_x, axis_z, (fid_vec3){0, -1, 0});
    assert_true(fid_frame_aim(axis_y, FID_HINT_UP, (fid_vec3){0, 0, -1}, &q));
    check_axes(q, axis_x, (fid_vec3){0, 0, -1}, axis_y);
}

static void aim_is_square_to_any_hint(void **state) {
    (void)state;
    random_source source = random_begin(59);
    for (int i = 0; i < 1000; ++i) {
        fid_vec3 aim = random_vec3(&source, 3.0), hint = random_vec3(&source, 3.0);
        double apart = fid_degrees(fid_vec3_angle(aim, hint));
        fid_quat q;
        bool across = i % 2 == 1;
        bool made = fid_frame_aim(aim, across ? FID_HINT_ACROSS : FID_HINT_UP, hint, &q);
        assert_true(made == (apart > 0.5 && apart < 179.5));
        if (made) {
            assert_vec3_near(fid_quat_z(q), fid_vec3_normalize(aim, axis_x), 1e-6);
            // The hint has no part along the third axis, and a positive one along its own.
            fid_vec3 own = across ? fid_quat_x(q) : fid_quat_y(q), third = across ? fid_quat_y(q) : fid_quat_x(q);
            assert_near((double)fid_vec3_dot(third, hint), 0.0, 1e-5);
            assert_true(fid_vec3_dot(own, hint) > 0.0f);
        }
    }
}

static void default_up_is_y_and_z_within_fifteen_degrees_of_the_vertical(void **state) {
    (void)state;
    const fid_vec3 unused = {NAN, NAN, NAN};
    fid_quat q;
    assert_true(fid_frame_aim(axis_x, FID_HINT_NONE, unused, &q));
    check_axes(q, (fid_vec3){0, 0, -1}, axis_y, axis_x);
    const double angles[] = {0.0, 5.0, 14.9, 15.1, 40.0, 140.0, 164.9, 165.1, 180.0};
    const bool vertical[] = {true, true, true, false, false, false, false, true, true};
    for (size_t i = 0; i < sizeof angles / sizeof angles[0]; ++i) {
        fid_vec3 aim = upright(angles[i]);
        assert_true(fid_frame_aim(aim, FID_HINT_NONE, unused, &q));
        assert_vec3_near(fid_quat_z(q), aim, 1e-6);
        fid_vec3 up = fid_quat_y(q);
        // In the plane of x and y, up +Z is square to the aim as it is; up +Y leans with it.
        assert_near((double)up.z, vertical[i] ? 1.0 : 0.0, 1e-6);
        assert_true(vertical[i] || up.y > 0.0f);
    }
}

static void hint_within_half_a_degree_of_the_aim_is_refused(void **state) {
    (void)state;
    const fid_quat before = {0.1f, 0.2f, 0.3f, 0.4f};
    fid_quat q = before;
    const double close[] = {0.0, 0.2, 0.49, 179.51, 180.0}, apart[] = {0.51, 1.0, 90.0, 179.49};
    for (size_t i = 0; i < sizeof close / sizeof close[0]; ++i) {
        double angle = fid_radians(close[i]);
        fid_vec3 hint = {0, (float)sin(angle), (float)cos(angle)};
        assert_false(fid_frame_aim(axis_z, FID_HINT_UP, hint, &q) || fid_frame_aim(axis_z, FID_HINT_ACROSS, hint, &q));
    }
    assert_false(fid_frame_aim(axis_y, FID_HINT_UP, (fid_vec3){0, -1, 0}, &q));
    assert_false(fid_frame_aim(axis_y, FID_HINT_ACROSS, axis_y, &q));
    assert_memory_equal(&q, &before, sizeof q);
    for (size_t i = 0; i < sizeof apart / sizeof apart[0]; ++i) {
        double angle = fid_radians(apart[i]);
        fid_vec3 hint = {0, (float)sin(angle), (float)cos(angle)};
        assert_true(fid_frame_aim(axis_z, FID_HINT_UP, hint, &q));
        check_axes(q, axis_x, axis_y, axis_z);
        assert_true(fid_frame_aim(axis_z, FID_HINT_ACROSS, hint, &q));
        check_axes(q, axis_y, (fid_vec3){-1, 0, 0}, axis_z);
    }
}

static void hint_that_equals_the_default_is_never_refused(void **state) {
    (void)state;
    const double angles[] = {0.0, 0.4, 179.7, 180.0};
    for (size_t i = 0; i < sizeof angles / sizeof angles[0]; ++i) {
        fid_quat hinted, plain;
        assert_true(fid_frame_aim(upright(angles[i]), FID_HINT_UP, (fid_vec3){0, 2, 0}, &hinted));
        assert_true(fid_frame_aim(upright(angles[i]), FID_HINT_NONE, axis_y, &plain));
        assert_quat_near(hinted, plain, 0.0);
    }
    // Where it is not within half a degree it is a hint like any other.
    fid_quat q;
    assert_true(fid_frame_aim(upright(5.0), FID_HINT_UP, axis_y, &q));
    assert_true(fid_quat_y(q).x < 0.0f && fabsf(fid_quat_y(q).z) < 1e-6f);
}

static void aim_without_length_is_refused(void **state) {
    (void)state;
    const fid_vec3 none[] = {{0, 0, 0}, {NAN, 0, 1}, {INFINITY, 0, 0}};
    const fid_quat before = {0.1f, 0.2f, 0.3f, 0.4f};
    fid_quat q = before;
    for (int i = 0; i < 3; ++i) {
        assert_false(fid_frame_aim(none[i], FID_HINT_NONE, axis_y, &q));
        assert_false(fid_frame_aim(axis_z, FID_HINT_UP, none[i], &q));
        assert_false(fid_frame_aim(axis_z, FID_HINT_ACROSS, none[i], &q));
    }
    assert_memory_equal(&q, &before, sizeof q);
}

static void axis_error_is_the_largest_of_the_three(void **state) {
    (void)state;
    const double angles[] = {0.0, 1e-12, 1e-6, 0.1, 1.5, 3.14};
    for (size_t i = 0; i < sizeof angles / sizeof angles[0]; ++i) {
        fid_quat q = fid_quat_about(axis_z, angles[i]); // x and y turn by the angle, z stays
        assert_near(fid_frame_axis_error(FID_QUAT_IDENTITY, q), angles[i], 1e-7 * angles[i]);
        assert_near(fid_frame_axis_error(q, FID_QUAT_IDENTITY), angles[i], 1e-7 * angles[i]);
    }
    // A third of a turn about the diagonal carries each axis to the next.
    assert_near(fid_frame_axis_error(FID_QUAT_IDENTITY, (fid_quat){0.5f, 0.5f, 0.5f, 0.5f}), FID_PI / 2.0, 1e-15);
    assert_near(fid_frame_axis_error((fid_quat){0, 0, 0, -1}, FID_QUAT_IDENTITY), 0.0, 0.0);
}

static void is_finite_looks_at_every_number(void **state) {
    (void)state;
    assert_true(fid_frame_is_finite(FID_FRAME_IDENTITY));
    for (int i = 0; i < 10; ++i) {
        float n[10] = {1, 1, 1, 0, 0, 0, 1, 1, 1, 1};
        n[i] = i % 2 == 0 ? NAN : INFINITY;
        assert_false(
            fid_frame_is_finite((fid_frame){{n[0], n[1], n[2]}, {n[3], n[4], n[5], n[6]}, {n[7], n[8], n[9]}}));
    }
}

static void nothing_finite_gives_nan(void **state) {
    (void)state;
    const float odd[] = {0, -0.0f, 1e-45f, -1e-38f, 1, -1, 1e20f, FLT_MAX};
    enum { ODD = 8 };
    for (int i = 0; i < ODD * ODD * ODD * ODD; ++i) {
        float x = odd[i % ODD], y = odd[i / ODD % ODD], z = odd[i / ODD / ODD % ODD], w = odd[i / ODD / ODD / ODD];
        fid_frame a = {{x, y, z}, {x, y, z, w}, {w, z, y}}, b = {{w, -x, y}, {y, w, -x, z}, {x, -y, w}};
        assert_true(fid_frame_is_finite(fid_frame_mix(a, b, 0.5f)));
        assert_true(fid_vec3_is_finite(fid_scale_take(a.s, b.q)));
        assert_true(isfinite(fid_frame_axis_error(a.q, b.q)));
        fid_quat q = FID_QUAT_IDENTITY;
        for (int hint = 0; hint < 3; ++hint) {
            if (fid_frame_aim(a.t, (fid_hint)hint, b.t, &q)) {
                assert_near((double)fid_quat_dot(q, q), 1.0, 1e-6);
            }
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(relation_and_composition_undo_each_other),
        cmocka_unit_test(composition_is_that_of_rigid_frames_with_scales_on_top),
        cmocka_unit_test(rigid_composition_takes_points_one_after_the_other),
        cmocka_unit_test(matrix_moves_points_as_the_frame_does),
        cmocka_unit_test(matrix_is_that_of_the_published_quaternion),
        cmocka_unit_test(placement_multiplies_last_and_in_double),
        cmocka_unit_test(mirror_twice_is_the_identity),
        cmocka_unit_test(mirrored_frame_is_the_reflection_of_the_frame),
        cmocka_unit_test(mix_is_exact_at_its_ends_and_even_between),
        cmocka_unit_test(scales_mix_in_the_logarithm),
        cmocka_unit_test(scale_taken_is_the_length_of_the_columns),
        cmocka_unit_test(even_scale_is_taken_as_it_is_whatever_the_turn),
        cmocka_unit_test(aim_follows_its_hint),
        cmocka_unit_test(aim_is_square_to_any_hint),
        cmocka_unit_test(default_up_is_y_and_z_within_fifteen_degrees_of_the_vertical),
        cmocka_unit_test(hint_within_half_a_degree_of_the_aim_is_refused),
        cmocka_unit_test(hint_that_equals_the_default_is_never_refused),
        cmocka_unit_test(aim_without_length_is_refused),
        cmocka_unit_test(axis_error_is_the_largest_of_the_three),
        cmocka_unit_test(is_finite_looks_at_every_number),
        cmocka_unit_test(nothing_finite_gives_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
