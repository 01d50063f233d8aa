#include "math/random.h"
#include "math/scalar.h"
#include "support/assert.h"

#include <float.h>

// The C library's functions are the reference: their error is below one unit in the last place, far below the 1e-13
// promised.

static const double promised = 1e-13;

#define assert_relative(actual, expected) assert_near((actual), (expected), fabs(expected) * promised)

static void check_circle(double angle) {
    double s, c;
    fid_sincos(angle, &s, &c);
    assert_relative(s, sin(angle));
    assert_relative(c, cos(angle));
    assert_true(fid_sin(angle) == s && fid_cos(angle) == c);
    double t = tan(angle);
    assert_relative(fid_tan(angle), t > 1e16 ? 1e16 : t < -1e16 ? -1e16 : t);
}

static void circle_functions_agree_over_dense_angles(void **state) {
    (void)state;
    for (int i = -200000; i <= 200000; ++i) {
        check_circle((double)i * 1e-4);
    }
}

static void circle_functions_agree_over_random_angles_of_every_size(void **state) {
    (void)state;
    random_source source = random_begin(1);
    for (int i = 0; i < 200000; ++i) {
        check_circle(random_between(&source, -1.0, 1.0) * pow(10.0, random_between(&source, -300.0, 6.0)));
    }
}

static void circle_functions_agree_beside_multiples_of_a_quarter_turn(void **state) {
    (void)state;
    for (int k = -636619; k <= 636619; k += 7) {
        double angle = (double)k * (FID_PI / 2.0);
        check_circle(angle);
        check_circle(nextafter(angle, 1e9));
        check_circle(nextafter(angle, -1e9));
    }
}

static void sine_and_cosine_stay_on_the_circle_for_huge_angles(void **state) {
    (void)state;
    const double angles[] = {1e6, 1000001.0, 1e7, 1e15, 1e22, 1e100, 1e300, DBL_MAX, 0x1p1023, 3.0e17};
    for (size_t i = 0; i < sizeof angles / sizeof angles[0]; ++i) {
        double s, c, back_s, back_c;
        fid_sincos(angles[i], &s, &c);
        assert_true(s >= -1.0 && s <= 1.0 && c >= -1.0 && c <= 1.0);
        assert_near(s * s + c * c, 1.0, 1e-15);
        fid_sincos(-angles[i], &back_s, &back_c);
        assert_true(back_s == -s && back_c == c);
    }
}

static void reduction_loses_few_digits_just_beyond_a_million(void **state) {
    (void)state;
    assert_near(fid_sin(1000001.0), sin(1000001.0), 1e-10);
    assert_near(fid_cos(-1234567.0), cos(-1234567.0), 1e-10);
}

static void circle_functions_are_exact_at_zero_and_for_denormals(void **state) {
    (void)state;
    assert_true(fid_sin(0.0) == 0.0 && fid_cos(0.0) == 1.0 && fid_tan(0.0) == 0.0);
    assert_true(fid_sin(-0.0) == 0.0 && fid_cos(-0.0) == 1.0 && fid_tan(-0.0) == 0.0);
    const double tiny[] = {4.9406564584124654e-324, 1e-310, DBL_MIN, 1e-300, 1e-160};
    for (size_t i = 0; i < sizeof tiny / sizeof tiny[0]; ++i) {
        assert_true(fid_sin(tiny[i]) == tiny[i] && fid_sin(-tiny[i]) == -tiny[i]);
        assert_true(fid_tan(tiny[i]) == tiny[i] && fid_cos(tiny[i]) == 1.0);
        assert_true(fid_asin(tiny[i]) == tiny[i] && fid_atan2(tiny[i], 1.0) == tiny[i]);
    }
}

static void circle_functions_give_known_values(void **state) {
    (void)state;
    // Of the regular hexagon, square and octagon.
    assert_near(fid_sin(FID_PI / 6.0), 0.5, 1e-15);
    assert_near(fid_cos(FID_PI / 3.0), 0.5, 1e-15);
    assert_near(fid_tan(FID_PI / 4.0), 1.0, 1e-15);
    assert_near(fid_tan(FID_PI / 8.0), sqrt(2.0) - 1.0, 1e-15);
    assert_near(fid_cos(FID_PI), -1.0, 0.0);
}

static void arc_functions_agree_over_dense_and_random_arguments(void **state) {
    (void)state;
    random_source source = random_begin(2);
    for (int i = 0; i <= 200000; ++i) {
        double even = (double)(i - 100000) / 100000.0;
        double close = 1.0 - pow(10.0, random_between(&source, -16.0, 0.0));
        double small = pow(10.0, random_between(&source, -300.0, 0.0));
        const double arguments[] = {even, close, -close, small, -small};
        for (size_t j = 0; j < sizeof arguments / sizeof arguments[0]; ++j) {
            assert_relative(fid_asin(arguments[j]), asin(arguments[j]));
            assert_relative(fid_acos(arguments[j]), acos(arguments[j]));
        }
    }
}

static void arc_functions_clamp_what_is_out_of_range(void **state) {
    (void)state;
    const double beyond[] = {1.0, nextafter(1.0, 2.0), 2.0, 1e300, DBL_MAX};
    for (size_t i = 0; i < sizeof beyond / sizeof beyond[0]; ++i) {
        assert_near(fid_asin(beyond[i]), FID_PI / 2.0, 0.0);
        assert_near(fid_asin(-beyond[i]), -FID_PI / 2.0, 0.0);
        assert_near(fid_acos(beyond[i]), 0.0, 0.0);
        assert_near(fid_acos(-beyond[i]), FID_PI, 0.0);
    }
}

static void atan2_agrees_over_random_arguments_of_every_size(void **state) {
    (void)state;
    random_source source = random_begin(3);
    for (int i = 0; i < 300000; ++i) {
        double size = i % 2 == 0 ? 300.0 : 1.0;
        double y = random_between(&source, -1.0, 1.0) * pow(10.0, random_between(&source, -size, size));
        double x = random_between(&source, -1.0, 1.0) * pow(10.0, random_between(&source, -size, size));
        double expected = atan2(y, x);
        // A denormal quotient has fewer digits; its last one is allowed.
        assert_near(fid_atan2(y, x), expected, fabs(expected) * promised + 4.9406564584124654e-324);
    }
}

static void atan2_is_right_on_the_axes_and_never_minus_pi_for_minus_zero(void **state) {
    (void)state;
    const double zeros[] = {0.0, -0.0};
    for (int i = 0; i < 2; ++i) {
        for (int j = 0; j < 2; ++j) {
            assert_near(fid_atan2(zeros[i], zeros[j]), 0.0, 0.0);
        }
        const double sizes[] = {4.9406564584124654e-324, 1e-300, 1.0, 1e300, DBL_MAX};
        for (size_t k = 0; k < sizeof sizes / sizeof sizes[0]; ++k) {
            assert_near(fid_atan2(zeros[i], sizes[k]), 0.0, 0.0);
            assert_near(fid_atan2(zeros[i], -sizes[k]), FID_PI, 0.0);
            assert_near(fid_atan2(sizes[k], zeros[i]), FID_PI / 2.0, 0.0);
            assert_near(fid_atan2(-sizes[k], zeros[i]), -FID_PI / 2.0, 0.0);
        }
    }
    assert_near(fid_atan2(DBL_MAX, DBL_MAX), FID_PI / 4.0, 1e-15);
    assert_near(fid_atan2(-DBL_MAX, -DBL_MAX), -3.0 * FID_PI / 4.0, 1e-15);
}

static void exp_agrees_over_its_range_and_is_clamped_beyond(void **state) {
    (void)state;
    random_source source = random_begin(4);
    for (int i = -6907; i <= 6907; ++i) {
        assert_relative(fid_exp((double)i * 0.1), exp((double)i * 0.1));
    }
    for (int i = 0; i < 200000; ++i) {
        double x = random_between(&source, -1.0, 1.0) * pow(10.0, random_between(&source, -20.0, 2.8));
        assert_relative(fid_exp(x), exp(x));
    }
    assert_true(fid_exp(0.0) == 1.0 && fid_exp(-0.0) == 1.0 && fid_exp(1e-310) == 1.0);
    const double beyond[] = {690.8, 709.0, 710.0, 1e6, 1e300, DBL_MAX};
    for (size_t i = 0; i < sizeof beyond / sizeof beyond[0]; ++i) {
        assert_near(fid_exp(beyond[i]), 1e300, 0.0);
        assert_near(fid_exp(-beyond[i]), 1e-300, 0.0);
    }
}

static void log_agrees_over_its_range(void **state) {
    (void)state;
    random_source source = random_begin(5);
    for (int i = 0; i < 200000; ++i) {
        double x = pow(10.0, random_between(&source, -307.0, 308.0));
        assert_relative(fid_log(x), log(x));
        double close = 1.0 + random_between(&source, -0.6, 0.6) * pow(10.0, random_between(&source, -15.0, 0.0));
        assert_relative(fid_log(close), log(close));
    }
    assert_near(fid_log(1.0), 0.0, 0.0);
    assert_relative(fid_log(DBL_MAX), log(DBL_MAX));
    assert_relative(fid_log(DBL_MIN), log(DBL_MIN));
}

static void log_of_nothing_is_that_of_the_smallest_normal_number(void **state) {
    (void)state;
    const double nothing[] = {0.0, -0.0, -1.0, -1e300, 1e-310, 4.9406564584124654e-324};
    for (size_t i = 0; i < sizeof nothing / sizeof nothing[0]; ++i) {
        assert_relative(fid_log(nothing[i]), log(DBL_MIN));
    }
}

static void pow_agrees_over_its_range(void **state) {
    (void)state;
    random_source source = random_begin(6);
    int compared = 0;
    for (int i = 0; i < 300000; ++i) {
        double base =
            i % 2 == 0 ? pow(10.0, random_between(&source, -300.0, 300.0)) : 1.0 + random_between(&source, -0.5, 0.5);
        double exponent = random_between(&source, -1.0, 1.0) * pow(10.0, random_between(&source, -3.0, 3.0));
        double expected = pow(base, exponent);
        if (expected > 1e-299 && expected < 1e299) {
            assert_relative(fid_pow(base, exponent), expected);
            ++compared;
        } else {
            assert_true(fid_pow(base, exponent) >= 1e-300 && fid_pow(base, exponent) <= 1e300);
        }
    }
    assert_true(compared > 100000);
}

static void pow_is_exact_at_zero_one_and_the_ends(void **state) {
    (void)state;
    assert_true(fid_pow(0.0, 0.5) == 0.0 && fid_pow(-0.0, 3.0) == 0.0 && fid_pow(0.0, 0.0) == 1.0);
    assert_true(fid_pow(0.0, -1.0) == 1e300);
    assert_true(fid_pow(0.3, 1.0) == 0.3 && fid_pow(0.3, 0.0) == 1.0 && fid_pow(1.0, 1e300) == 1.0);
    assert_true(fid_pow(10.0, 1e300) == 1e300 && fid_pow(10.0, -1e300) == 1e-300);
    assert_true(fid_pow(DBL_MAX, DBL_MAX) == 1e300 && fid_pow(DBL_MAX, -DBL_MAX) == 1e-300);
    assert_true(fid_pow(DBL_MAX, 1.0) == 1e300 && fid_pow(DBL_MIN, 1.0) == 1e-300);
    assert_near(fid_pow(2.0, 10.0), 1024.0, 1e-10);
    assert_near(fid_pow(4.0, -0.5), 0.5, 1e-13);
}

/// Scales across a bone that keep its volume, s^(-1/2) for a length s: the law of the incompressible rod (Poisson ratio
/// 1/2 in finite strain; M. F. Beatty, D. O. Stalnaker, "The Poisson function of finite elasticity", J. Appl. Mech. 53,
/// 1986, formula from memory).
static void pow_gives_the_scales_that_keep_volume(void **state) {
    (void)state;
    static const double lengths[] = {0.25, 0.5, 0.8, 1.25, 1.5, 2.0, 4.0};
    static const double across[] = {2.0, 1.414214, 1.118034, 0.894427, 0.816497, 0.707107, 0.5};
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; ++i) {
        double a = fid_pow(lengths[i], -0.5);
        assert_near(a, across[i], 5e-7);
        assert_near(a * a * lengths[i], 1.0, 1e-12);
    }
}

static void values_that_are_not_finite_end_no_function_badly(void **state) {
    (void)state;
    const double odd[] = {(double)INFINITY, (double)-INFINITY, (double)NAN};
    for (int i = 0; i < 3; ++i) {
        double s, c;
        fid_sincos(odd[i], &s, &c);
        assert_near(s * s + c * c, 1.0, 1e-15);
        assert_true(isfinite(fid_tan(odd[i])) && isfinite(fid_asin(odd[i])) && isfinite(fid_acos(odd[i])));
        assert_true(isfinite(fid_exp(odd[i])) && isfinite(fid_log(odd[i])));
        assert_true(isfinite(fid_atan2(odd[i], 1.0)) && isfinite(fid_atan2(1.0, odd[i])));
        assert_true(isfinite(fid_pow(odd[i], 0.5)) && isfinite(fid_pow(2.0, odd[i])));
    }
    assert_true(fid_exp((double)INFINITY) == 1e300 && fid_exp((double)-INFINITY) == 1e-300);
}

static void is_finite_refuses_nan_and_infinity_alone(void **state) {
    (void)state;
    assert_true(fid_is_finite(0.0f) && fid_is_finite(-FLT_MAX) && fid_is_finite(1e-45f));
    assert_false(fid_is_finite(NAN) || fid_is_finite(INFINITY) || fid_is_finite(-INFINITY));
}

static void degrees_and_clamps_are_as_expected(void **state) {
    (void)state;
    assert_near(fid_radians(180.0), FID_PI, 0.0);
    assert_near(fid_degrees(fid_radians(33.0)), 33.0, 1e-14);
    assert_true(fid_clamp(2.0f, 0.0f, 1.0f) == 1.0f && fid_clamp(-2.0f, 0.0f, 1.0f) == 0.0f);
    assert_true(fid_clamp(0.25f, 0.0f, 1.0f) == 0.25f && fid_min(1.0f, 2.0f) == 1.0f && fid_max(1.0f, 2.0f) == 2.0f);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(circle_functions_agree_over_dense_angles),
        cmocka_unit_test(circle_functions_agree_over_random_angles_of_every_size),
        cmocka_unit_test(circle_functions_agree_beside_multiples_of_a_quarter_turn),
        cmocka_unit_test(sine_and_cosine_stay_on_the_circle_for_huge_angles),
        cmocka_unit_test(reduction_loses_few_digits_just_beyond_a_million),
        cmocka_unit_test(circle_functions_are_exact_at_zero_and_for_denormals),
        cmocka_unit_test(circle_functions_give_known_values),
        cmocka_unit_test(arc_functions_agree_over_dense_and_random_arguments),
        cmocka_unit_test(arc_functions_clamp_what_is_out_of_range),
        cmocka_unit_test(atan2_agrees_over_random_arguments_of_every_size),
        cmocka_unit_test(atan2_is_right_on_the_axes_and_never_minus_pi_for_minus_zero),
        cmocka_unit_test(exp_agrees_over_its_range_and_is_clamped_beyond),
        cmocka_unit_test(log_agrees_over_its_range),
        cmocka_unit_test(log_of_nothing_is_that_of_the_smallest_normal_number),
        cmocka_unit_test(pow_agrees_over_its_range),
        cmocka_unit_test(pow_is_exact_at_zero_one_and_the_ends),
        cmocka_unit_test(pow_gives_the_scales_that_keep_volume),
        cmocka_unit_test(values_that_are_not_finite_end_no_function_badly),
        cmocka_unit_test(is_finite_refuses_nan_and_infinity_alone),
        cmocka_unit_test(degrees_and_clamps_are_as_expected),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
