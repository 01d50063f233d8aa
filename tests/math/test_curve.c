#include "math/curve.h"
#include "math/random.h"
#include "support/assert.h"

#include <float.h>

enum { MOST = 12 };

/// Rising x, and y that rises (or falls) or stays; returns the number of points.
static int32_t make_monotone(random_source *source, float *x, float *y, bool falling) {
    int32_t count = 2 + (int32_t)random_between(source, 0.0, MOST - 2.0 + 0.999);
    float at = (float)random_between(source, -5.0, 5.0), value = (float)random_between(source, -5.0, 5.0);
    for (int32_t i = 0; i < count; ++i) {
        x[i] = at;
        y[i] = value;
        at += (float)pow(10.0, random_between(source, -2.0, 1.0));
        double step = random_between(source, 0.0, 1.0) < 0.2 ? 0.0 : pow(10.0, random_between(source, -3.0, 2.0));
        value += (float)(falling ? -step : step);
    }
    return count;
}

static void curve_passes_through_its_points(void **state) {
    (void)state;
    random_source source = random_begin(21);
    for (int i = 0; i < 1000; ++i) {
        float x[MOST], y[MOST], slopes[MOST];
        int32_t count = make_monotone(&source, x, y, i % 2 == 1);
        fid_curve_slopes(count, x, y, slopes);
        for (int32_t k = 0; k < count; ++k) {
            assert_true(fid_curve_at(count, x, y, slopes, x[k]) == y[k]);
            assert_true(fid_curve_at(count, x, y, NULL, x[k]) == y[k]);
        }
    }
}

static void curve_is_monotone_where_its_points_are(void **state) {
    (void)state;
    random_source source = random_begin(22);
    for (int i = 0; i < 1000; ++i) {
        float x[MOST], y[MOST], slopes[MOST];
        bool falling = i % 2 == 1;
        int32_t count = make_monotone(&source, x, y, falling);
        fid_curve_slopes(count, x, y, slopes);
        float before = y[0];
        for (int k = 0; k <= 1000; ++k) {
            float at = (float)(x[0] + ((double)x[count - 1] - x[0]) * k / 1000.0);
            float value = fid_curve_at(count, x, y, slopes, at);
            assert_true(falling ? value <= before : value >= before);
            before = value;
        }
    }
}

/// Fritsch and Carlson 1980: a cubic on one interval is monotone if both slopes have the sign of the secant d and
/// (m0/d)^2 + (m1/d)^2 <= 9; where d is 0 both are 0.
static void slopes_lie_in_the_region_of_fritsch_and_carlson(void **state) {
    (void)state;
    random_source source = random_begin(23);
    int on_the_edge = 0;
    for (int i = 0; i < 1000; ++i) {
        float x[MOST], y[MOST], slopes[MOST];
        int32_t count = make_monotone(&source, x, y, i % 2 == 1);
        fid_curve_slopes(count, x, y, slopes);
        for (int32_t k = 0; k + 1 < count; ++k) {
            double d = ((double)y[k + 1] - y[k]) / ((double)x[k + 1] - x[k]);
            if (d == 0.0) {
                assert_true(slopes[k] == 0.0f && slopes[k + 1] == 0.0f);
                continue;
            }
            double a = slopes[k] / d, b = slopes[k + 1] / d;
            assert_true(a >= 0.0 && b >= 0.0 && a * a + b * b <= 9.0 * (1.0 + 1e-6));
            on_the_edge += a * a + b * b > 8.99;
        }
    }
    assert_true(on_the_edge > 100);
}

/// The data set RPN15A of the paper (from memory): measurements that rise from 0 to 1 with one steep step, where
/// splines overshoot.
static void curve_through_the_papers_data_is_monotone_and_stays_in_range(void **state) {
    (void)state;
    static const float x[] = {7.99f, 8.09f, 8.19f, 8.7f, 9.2f, 10, 12, 15, 20};
    static const float y[] = {0,        2.76429e-5f, 4.37498e-2f, 0.169183f, 0.469428f,
                              0.94374f, 0.998636f,   0.999919f,   0.999994f};
    float slopes[9], before = 0.0f;
    fid_curve_slopes(9, x, y, slopes);
    for (int k = 0; k <= 12010; ++k) {
        float value = fid_curve_at(9, x, y, slopes, 7.99f + (float)k * 0.001f);
        assert_true(value >= before && value <= y[8]);
        before = value;
    }
    assert_true(before > 0.99999f);
}

static void slopes_follow_the_rule_by_hand(void **state) {
    (void)state;
    // Secants 1 and 10. The parabola through the three points has slope 5.5 in the middle. On the first interval 1
    // + 5.5^2 = 31.25 > 9, so both of its slopes are multiplied by 3 / sqrt(31.25); on the second 0.55^2 + 1 < 9, so
    // its far slope stays.
    const float x[] = {0, 1, 2}, y[] = {0, 1, 11};
    float slopes[3];
    fid_curve_slopes(3, x, y, slopes);
    assert_near((double)slopes[0], 3.0 / sqrt(31.25), 1e-6);
    assert_near((double)slopes[1], 5.5 * 3.0 / sqrt(31.25), 1e-6);
    assert_near((double)slopes[2], 10.0, 1e-6);
    // Uneven spacing: of x^2 at 0, 1 and 3 the parabola's slope at 1 is 2, and nothing has to be shrunk.
    const float uneven[] = {0, 1, 3}, squares[] = {0, 1, 9};
    fid_curve_slopes(3, uneven, squares, slopes);
    assert_near((double)slopes[1], 2.0, 1e-6);
    // Slopes 1 and 0 over a unit interval: (3 - 2t) t^2 + t (1 - t)^2 is 0.625 at t = 0.5. Then it is level.
    const float step[] = {0, 1, 1};
    fid_curve_slopes(3, x, step, slopes);
    assert_near((double)fid_curve_at(3, x, step, slopes, 0.5f), 0.625, 1e-7);
    assert_near((double)fid_curve_at(3, x, step, slopes, 1.5f), 1.0, 0.0);
}

static void extremum_of_the_points_is_one_of_the_curve(void **state) {
    (void)state;
    const float x[] = {-1, 0, 2, 3}, y[] = {0, 1, -1, 5};
    float slopes[4];
    fid_curve_slopes(4, x, y, slopes);
    assert_true(slopes[1] == 0.0f && slopes[2] == 0.0f);
    for (int k = -100; k <= 300; ++k) {
        float value = fid_curve_at(4, x, y, slopes, (float)k / 100.0f);
        assert_true(value >= -1.0f && value <= (k <= 200 ? 1.0f : 5.0f));
    }
}

static void straight_line_stays_straight(void **state) {
    (void)state;
    const float x[] = {-3, -1, 0, 4, 5}, y[] = {-5, -1, 1, 9, 11};
    float slopes[5];
    fid_curve_slopes(5, x, y, slopes);
    for (int k = 0; k <= 80; ++k) {
        float at = -3.0f + (float)k * 0.1f;
        assert_near((double)fid_curve_at(5, x, y, slopes, at), 2.0 * at + 1.0, 2e-6);
        assert_near((double)fid_curve_at(5, x, y, NULL, at), 2.0 * at + 1.0, 2e-6);
    }
}

static void reflected_points_give_the_reflected_curve(void **state) {
    (void)state;
    random_source source = random_begin(24);
    for (int i = 0; i < 1000; ++i) {
        float x[MOST], y[MOST], slopes[MOST], back_x[MOST], back_y[MOST], back_slopes[MOST];
        int32_t count = make_monotone(&source, x, y, false);
        for (int32_t k = 0; k < count; ++k) {
            back_x[k] = -x[count - 1 - k];
            back_y[k] = -y[count - 1 - k];
        }
        fid_curve_slopes(count, x, y, slopes);
        fid_curve_slopes(count, back_x, back_y, back_slopes);
        for (int32_t k = 0; k < count; ++k) {
            double slope = slopes[k];
            assert_near((double)back_slopes[count - 1 - k], slope, 1e-6 * fabs(slope));
        }
    }
}

static void curve_is_held_beyond_its_ends(void **state) {
    (void)state;
    const float x[] = {0, 1, 3}, y[] = {2, 4, -1}, beyond[] = {1e-30f, 1.0f, 1e30f, FLT_MAX, INFINITY};
    float slopes[3];
    fid_curve_slopes(3, x, y, slopes);
    for (size_t i = 0; i < sizeof beyond / sizeof beyond[0]; ++i) {
        assert_true(fid_curve_at(3, x, y, slopes, -beyond[i]) == 2.0f);
        assert_true(fid_curve_at(3, x, y, NULL, -beyond[i]) == 2.0f);
        assert_true(fid_curve_at(3, x, y, slopes, 3.0f + beyond[i]) == -1.0f);
        assert_true(fid_curve_at(3, x, y, NULL, 3.0f + beyond[i]) == -1.0f);
    }
    assert_true(fid_curve_at(3, x, y, slopes, NAN) == 2.0f);
}

static void linear_curve_runs_straight_from_point_to_point(void **state) {
    (void)state;
    const float x[] = {0, 1, 3}, y[] = {2, 4, -1};
    assert_near((double)fid_curve_at(3, x, y, NULL, 0.25f), 2.5, 1e-7);
    assert_near((double)fid_curve_at(3, x, y, NULL, 2.0f), 1.5, 1e-7);
}

static void one_point_is_a_constant(void **state) {
    (void)state;
    const float x[] = {1}, y[] = {7};
    float slope;
    fid_curve_slopes(1, x, y, &slope);
    assert_true(slope == 0.0f);
    assert_true(fid_curve_at(1, x, y, &slope, -4) == 7.0f && fid_curve_at(1, x, y, NULL, 1) == 7.0f);
    assert_true(fid_curve_at(1, x, y, NULL, 9) == 7.0f);
}

static void extreme_points_give_no_nan(void **state) {
    (void)state;
    const float x[] = {-FLT_MAX, 0, 1e-45f, 1, FLT_MAX}, y[] = {-FLT_MAX, -1e-45f, FLT_MAX, FLT_MAX, FLT_MAX};
    float slopes[5];
    fid_curve_slopes(5, x, y, slopes);
    const float at[] = {-FLT_MAX, -1e30f, -1e-45f, 0, 1e-45f, 0.5f, 1e30f, FLT_MAX};
    for (size_t i = 0; i < sizeof at / sizeof at[0]; ++i) {
        assert_true(isfinite(fid_curve_at(5, x, y, slopes, at[i])) && isfinite(fid_curve_at(5, x, y, NULL, at[i])));
    }
    const float same[] = {1, 1, 1};
    fid_curve_slopes(3, same, y, slopes);
    for (int i = 0; i < 3; ++i) {
        assert_true(slopes[i] == 0.0f && isfinite(fid_curve_at(3, same, y, slopes, (float)i)));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(curve_passes_through_its_points),
        cmocka_unit_test(curve_is_monotone_where_its_points_are),
        cmocka_unit_test(slopes_lie_in_the_region_of_fritsch_and_carlson),
        cmocka_unit_test(curve_through_the_papers_data_is_monotone_and_stays_in_range),
        cmocka_unit_test(slopes_follow_the_rule_by_hand),
        cmocka_unit_test(extremum_of_the_points_is_one_of_the_curve),
        cmocka_unit_test(straight_line_stays_straight),
        cmocka_unit_test(reflected_points_give_the_reflected_curve),
        cmocka_unit_test(curve_is_held_beyond_its_ends),
        cmocka_unit_test(linear_curve_runs_straight_from_point_to_point),
        cmocka_unit_test(one_point_is_a_constant),
        cmocka_unit_test(extreme_points_give_no_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
