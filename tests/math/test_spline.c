#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/random.h"
#include "math/scalar.h"
#include "math/spline.h"

/// The curve from a cubic polynomial a + b t + c t^2 + d t^3 over 0 to 1, cut into `pieces`.
static void make_cubic(fid_spline *out, const fid_vec3d *c, int32_t pieces) {
    out->count = pieces + 1;
    for (int32_t i = 0; i <= pieces; i++) {
        double t = (double)i / pieces;
        out->point[i] = fid_vec3d_add(fid_vec3d_add(c[0], fid_vec3d_scale(c[1], t)),
                                      fid_vec3d_add(fid_vec3d_scale(c[2], t * t), fid_vec3d_scale(c[3], t * t * t)));
        out->slope[i] =
            fid_vec3d_add(c[1], fid_vec3d_add(fid_vec3d_scale(c[2], 2 * t), fid_vec3d_scale(c[3], 3 * t * t)));
        out->width[i] = 1.0 / pieces;
    }
    fid_spline_measure(out, (fid_vec3d){0, 0, 1});
}

/// The curve through points whose pieces are as wide as their distances.
static void make_through(fid_spline *out, const fid_vec3d *points, int32_t count) {
    out->count = count;
    for (int32_t i = 0; i < count; i++) {
        out->point[i] = points[i];
        out->width[i] = i + 1 < count ? fid_vec3d_length(fid_vec3d_sub(points[i + 1], points[i])) : 0;
    }
    fid_spline_slopes(count, out->point, out->width, out->slope);
    fid_spline_measure(out, (fid_vec3d){0, 0, 1});
}

static fid_vec3d point_at(const fid_spline *spline, double arc) {
    return fid_spline_at(spline, fid_spline_locate(spline, arc)).point;
}

static double distance(fid_vec3d a, fid_vec3d b) { return fid_vec3d_length(fid_vec3d_sub(a, b)); }

static const fid_vec3d cubic[] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 2.0 / 3.0}};
static const fid_vec3d hill[] = {{0, 0, 0}, {1, 1, 0.2}, {2.5, 0.4, 0.6}, {3, 1.5, 0}, {3.2, 3, -1}};

/// Lengths: 5/3 exactly, as the speed of (t, t^2, 2t^3/3) is 1 + 2 t^2; the parabola y = x^2 over 0 to 1, (2 sqrt 5 +
/// asinh 2) / 4; the cusp (t^3, t^2) over 0 to 1, (13 sqrt 13 - 8) / 27. Closed forms, evaluated in double precision.
static void curves_are_as_long_as_their_closed_forms_say(void **state) {
    (void)state;
    fid_spline spline;
    const fid_vec3d parabola[] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 0}};
    const fid_vec3d cusp[] = {{0, 0, 0}, {0, 0, 0}, {0, 1, 0}, {1, 0, 0}};
    make_cubic(&spline, cubic, 1);
    assert_near(fid_spline_length(&spline), 5.0 / 3.0, 1e-14);
    make_cubic(&spline, parabola, 1);
    assert_near(fid_spline_length(&spline), 1.4789428575446, 1e-12);
    make_cubic(&spline, cusp, 1);
    assert_near(fid_spline_length(&spline), 1.4397098733716, 1e-7);
}

/// Along (t, t^2, 2t^3/3) frames that do not turn about the curve lag behind its normal by -sqrt 2 atan sqrt 2 (the
/// total torsion, a closed form); the errors of double reflection fall by 16 as steps are halved (order four: Wang et
/// al. 2008, "Computation of rotation minimizing frames").
static void frames_turn_about_the_curve_with_an_error_of_order_four(void **state) {
    (void)state;
    double before = 0;
    for (int32_t pieces = 1; pieces <= 4; pieces *= 2) {
        fid_spline spline;
        make_cubic(&spline, cubic, pieces);
        fid_spline_carry(&spline, (fid_vec3d){0, 1, 0});
        fid_spline_place end = fid_spline_at(&spline, fid_spline_locate(&spline, fid_spline_length(&spline)));
        fid_vec3d tangent = {1.0 / 3, 2.0 / 3, 2.0 / 3}, binormal = {2.0 / 3, -2.0 / 3, 1.0 / 3};
        assert_near(distance(end.tangent, tangent), 0, 1e-14);
        double angle = fid_vec3d_turn(fid_vec3d_cross(binormal, tangent), end.up, tangent);
        double error = fabs(angle + sqrt(2) * atan(sqrt(2)));
        assert_true(error < 1e-6);
        if (before > 0) {
            assert_true(before / error > 15 && before / error < 17);
        }
        before = error;
    }
}

static void frames_of_a_plane_curve_keep_their_normal(void **state) {
    (void)state;
    fid_spline spline;
    const fid_vec3d points[] = {{0, 0, 0}, {1, 1, 0}, {2, -1, 0}, {0, -2, 0}};
    make_through(&spline, points, 4);
    fid_spline_carry(&spline, (fid_vec3d){0, 0, 1});
    for (double arc = -1; arc < fid_spline_length(&spline) + 1; arc += 0.07) {
        fid_spline_place place = fid_spline_at(&spline, fid_spline_locate(&spline, arc));
        assert_near(distance(place.up, (fid_vec3d){0, 0, 1}), 0, 1e-12);
        fid_quatd turn = fid_spline_turn(&place);
        assert_near(distance(fid_quatd_rotate(turn, (fid_vec3d){0, 1, 0}), place.up), 0, 1e-12);
        assert_near(distance(fid_quatd_rotate(turn, (fid_vec3d){0, 0, 1}), place.tangent), 0, 1e-12);
    }
}

/// Three bends in three planes, x to y to z to x, enclose an eighth of the sphere of directions, whose area is half pi:
/// so far is what was carried round turned (the angle is the area: Gauss and Bonnet).
static void frames_carried_round_three_right_angles_are_turned_by_one(void **state) {
    (void)state;
    fid_spline spline = {.count = 4,
                         .point = {{0, 0, 0}, {1, 1, 0}, {1, 2, 1}, {2, 2, 2}},
                         .slope = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {1, 0, 0}},
                         .width = {1, 1, 1}};
    fid_spline_measure(&spline, (fid_vec3d){0, 0, 1});
    fid_spline_carry(&spline, (fid_vec3d){0, 1, 0});
    fid_vec3d up = spline.up[fid_spline_last(&spline)];
    assert_near(fabs(fid_vec3d_turn((fid_vec3d){0, 1, 0}, up, (fid_vec3d){1, 0, 0})), 0.5 * FID_PI, 1e-12);
}

static void slopes_are_centred_and_ends_do_not_bend(void **state) {
    (void)state;
    fid_spline spline;
    const fid_vec3d even[] = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {1, 1, 1}};
    make_through(&spline, even, 4);
    // From neighbour to neighbour over two units of the parameter.
    assert_near(distance(spline.slope[1], (fid_vec3d){0.5, 0.5, 0}), 0, 1e-15);
    assert_near(distance(spline.slope[2], (fid_vec3d){0, 0.5, 0.5}), 0, 1e-15);
    make_through(&spline, hill, 5);
    for (int32_t i = 0; i < 5; i++) {
        assert_near(distance(spline.at[i * FID_SPLINE_STEPS], hill[i]), 0, 1e-15);
    }
    // Second differences over three samples at either end.
    for (int end = 0; end < 2; end++) {
        const fid_vec3d *at = spline.at + (end ? fid_spline_last(&spline) - 3 : 0);
        fid_vec3d a = fid_vec3d_add(fid_vec3d_sub(at[0], fid_vec3d_scale(at[1], 2)), at[2]);
        fid_vec3d b = fid_vec3d_add(fid_vec3d_sub(at[1], fid_vec3d_scale(at[2], 2)), at[3]);
        // They change evenly along a cubic: one step farther out, at the end itself, they are gone.
        fid_vec3d gone = end ? fid_vec3d_sub(fid_vec3d_scale(b, 2), a) : fid_vec3d_sub(fid_vec3d_scale(a, 2), b);
        assert_near(fid_vec3d_length(gone), 0, 1e-13);
        assert_true(fid_vec3d_length(end ? a : b) > 1e-5);
    }
    make_through(&spline, hill, 2);
    assert_near(fid_spline_length(&spline), distance(hill[0], hill[1]), 1e-14);
}

static void arc_lengths_are_found_again(void **state) {
    (void)state;
    fid_spline spline;
    make_cubic(&spline, cubic, 3);
    for (int i = 0; i <= 50; i++) {
        // The arc length up to t is t + 2 t^3 / 3.
        double t = i / 50.0;
        fid_vec3d want = {t, t * t, 2 * t * t * t / 3};
        assert_near(distance(point_at(&spline, t + 2 * t * t * t / 3), want), 0, 1e-12);
    }
    fid_vec3d end = {1 + 0.5 / 3, 1 + 0.5 * 2 / 3, 2.0 / 3 + 0.5 * 2 / 3};
    assert_near(distance(point_at(&spline, 5.0 / 3 + 0.5), end), 0, 1e-12);
    assert_near(distance(point_at(&spline, -0.25), (fid_vec3d){-0.25, 0, 0}), 0, 1e-15);
}

static void walks_keep_their_chords_on_the_curve_and_beyond_it(void **state) {
    (void)state;
    fid_spline spline;
    make_through(&spline, hill, 5);
    for (double start = -0.7; start < 0.5; start += 0.4) {
        for (double chord = 0.02; chord < 1; chord *= 1.7) {
            fid_spline_spot at = fid_spline_locate(&spline, start);
            for (int i = 0; i < 60; i++) {
                fid_spline_spot next = fid_spline_walk(&spline, at, chord);
                assert_true(next.arc >= at.arc + chord * (1 - 1e-9));
                fid_vec3d here = point_at(&spline, at.arc), there = point_at(&spline, next.arc);
                assert_near(distance(here, there), chord, 1e-11);
                at = next;
            }
        }
    }
    fid_spline_spot still = fid_spline_locate(&spline, 1), same = fid_spline_walk(&spline, still, 0);
    assert_near(same.arc, still.arc, 0);
}

static void the_nearest_spot_is_square_to_the_curve(void **state) {
    (void)state;
    fid_spline spline;
    make_through(&spline, hill, 5);
    fid_spline_carry(&spline, fid_vec3d_normalize(fid_vec3d_off((fid_vec3d){0, 0, 1}, spline.tangent[0]), hill[1]));
    double length = fid_spline_length(&spline);
    for (double arc = -0.5; arc < length + 0.5; arc += 0.23) {
        fid_spline_place place = fid_spline_at(&spline, fid_spline_locate(&spline, arc));
        fid_vec3d off = fid_vec3d_add(place.point, fid_vec3d_scale(place.up, 0.05));
        assert_near(fid_spline_nearest(&spline, off, arc - 0.4, arc + 0.7), arc, 1e-9);
        assert_near(fid_spline_nearest(&spline, place.point, arc, arc + 0.7), arc, 1e-9);
        assert_near(fid_spline_nearest(&spline, place.point, arc - 0.6, arc), arc, 1e-9);
    }
}

/// Frames everywhere, and spots that do not go back.
static void assert_sound(fid_spline *spline) {
    fid_vec3d tangent = spline->tangent[0];
    fid_spline_carry(spline, fid_vec3d_normalize(fid_vec3d_off((fid_vec3d){0.3, 0.9, 0.1}, tangent), tangent));
    double length = fid_spline_length(spline);
    assert_true(isfinite(length));
    fid_spline_spot spot = fid_spline_locate(spline, -0.3);
    for (int i = 0; i < 40; i++) {
        fid_spline_place place = fid_spline_at(spline, spot);
        assert_near(fid_vec3d_length(place.tangent), 1, 1e-9);
        assert_near(fid_vec3d_length(place.up), 1, 1e-9);
        assert_near(fid_vec3d_dot(place.tangent, place.up), 0, 1e-9);
        fid_vec3d nearest = point_at(spline, fid_spline_nearest(spline, place.point, -1, length + 1));
        assert_true(spot.arc > length + 1 || distance(nearest, place.point) <= 0.01 * (length + 2));
        fid_spline_spot next = fid_spline_walk(spline, spot, 0.11);
        assert_true(next.arc >= spot.arc && isfinite(next.arc));
        spot = next;
    }
}

static void curves_that_stand_still_or_turn_back_have_frames(void **state) {
    (void)state;
    const fid_vec3d cases[][4] = {
        {{1, 2, 3}, {1, 2, 3}, {1, 2, 3}, {1, 2, 3}},          // one point
        {{0, 0, 0}, {0, 0, 0}, {1, 0, 0}, {2, 0, 0}},          // coincident at the start
        {{0, 0, 0}, {1, 0, 0}, {1, 0, 0}, {2, 1, 0}},          // inside
        {{0, 0, 0}, {1, 0, 0}, {2, 0, 1}, {2, 0, 1}},          // at the end
        {{0, 0, 0}, {1, 0, 0}, {0, 0, 0}, {1, 0, 0}},          // to and fro
        {{0, 0, 0}, {3, 0, 0}, {1, 0, 0}, {2, 0, 0}},          // back on a line
        {{0, 0, 0}, {1e-7, 0, 0}, {0, 1e-7, 0}, {0, 0, 1e-7}}, // almost one point
        {{0, 0, 0}, {1e8, 0, 0}, {0, 1e8, 0}, {0, 0, 1e8}},    // immense
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (int32_t count = 2; count <= 4; count++) {
            fid_spline spline = {.count = count, .width = {1, 0.5, 2}};
            for (int32_t k = 0; k < count; k++) {
                spline.point[k] = cases[i][k];
            }
            fid_spline_slopes(count, spline.point, spline.width, spline.slope);
            fid_spline_measure(&spline, (fid_vec3d){0, 0, 1});
            assert_sound(&spline);
        }
    }
    random_source random = random_begin(7);
    for (int i = 0; i < 300; i++) {
        fid_spline spline = {.count = 2 + i % (FID_SPLINE_POINTS - 1)};
        for (int32_t k = 0; k < spline.count; k++) {
            spline.point[k] = fid_vec3d_from(random_vec3(&random, 0.5));
            spline.width[k] = random_between(&random, 0.01, 1);
        }
        fid_spline_slopes(spline.count, spline.point, spline.width, spline.slope);
        fid_spline_measure(&spline, (fid_vec3d){0, 0, 1});
        assert_sound(&spline);
    }
}

/// Points of which each is farther along +z than the one before, over widths that may be far from their distances.
static void a_curve_through_points_in_a_row_never_turns_back(void **state) {
    (void)state;
    random_source random = random_begin(77);
    for (int number = 0; number < 2000; number++) {
        fid_spline spline = {.count = 3 + number % 5};
        fid_vec3d at = {0, 0, 0};
        for (int32_t k = 0; k < spline.count; k++) {
            spline.point[k] = at;
            spline.width[k] = random_between(&random, 0.2, 1);
            // Some almost on each other; ways lean by up to 35 degrees, so that none is square to another.
            double way =
                number % 3 == 0 && k % 2 ? random_between(&random, 1e-4, 1e-2) : random_between(&random, 0.1, 1);
            at = fid_vec3d_add(at, (fid_vec3d){way * random_between(&random, -0.5, 0.5),
                                               way * random_between(&random, -0.5, 0.5), way});
        }
        fid_spline_slopes(spline.count, spline.point, spline.width, spline.slope);
        fid_spline_measure(&spline, (fid_vec3d){0, 0, 1});
        for (int32_t i = 0; i < fid_spline_last(&spline); i++) {
            int32_t piece = i / FID_SPLINE_STEPS;
            fid_vec3d way = fid_vec3d_sub(spline.point[piece + 1], spline.point[piece]);
            fid_vec3d step = fid_vec3d_sub(spline.at[i + 1], spline.at[i]);
            assert_true(fid_vec3d_dot(step, way) > 0);
            assert_true(fid_vec3d_dot(spline.tangent[i + 1], way) > 0);
        }
    }
}

static void slopes_are_shortened_only_where_a_neighbour_comes_near(void **state) {
    (void)state;
    // A row of four, 1 apart; the second is moved on: from half the way on its slope is twice the way that is left.
    static const double moved[] = {0, 0.3, 0.49, 0.6, 0.9, 1};
    for (size_t i = 0; i < sizeof moved / sizeof moved[0]; i++) {
        const fid_vec3d points[] = {{0, 0, 0}, {1 + moved[i], 0, 0}, {2, 0, 0}, {3, 0, 0}};
        const double width[] = {1, 1, 1};
        fid_vec3d slope[4];
        fid_spline_slopes(4, points, width, slope);
        assert_near(slope[1].x, fmin(1, 2 * (1 - moved[i])), 1e-15);
        assert_near(slope[2].x, fmin(1 - moved[i] / 2, 2 * (1 - moved[i])), 1e-15);
        assert_near(slope[0].x, (3 * (1 + moved[i]) - slope[1].x) / 2, 1e-15);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(curves_are_as_long_as_their_closed_forms_say),
        cmocka_unit_test(frames_turn_about_the_curve_with_an_error_of_order_four),
        cmocka_unit_test(frames_of_a_plane_curve_keep_their_normal),
        cmocka_unit_test(frames_carried_round_three_right_angles_are_turned_by_one),
        cmocka_unit_test(slopes_are_centred_and_ends_do_not_bend),
        cmocka_unit_test(slopes_are_shortened_only_where_a_neighbour_comes_near),
        cmocka_unit_test(a_curve_through_points_in_a_row_never_turns_back),
        cmocka_unit_test(arc_lengths_are_found_again),
        cmocka_unit_test(walks_keep_their_chords_on_the_curve_and_beyond_it),
        cmocka_unit_test(the_nearest_spot_is_square_to_the_curve),
        cmocka_unit_test(curves_that_stand_still_or_turn_back_have_frames),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
