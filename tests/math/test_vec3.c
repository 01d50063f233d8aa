#include "math/random.h"
#include "math/scalar.h"
#include "math/vec3.h"
#include "support/assert_frame.h"

#include <float.h>

static const fid_vec3 fallback = {0, 0, 1};

static void normalize_keeps_direction_of_any_finite_length(void **state) {
    (void)state;
    const float sizes[] = {1e-45f, 1e-38f, 1e-20f, 1.0f, 1e20f, 1e38f};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; ++i) {
        fid_vec3 unit = fid_vec3_normalize((fid_vec3){0, -sizes[i], sizes[i]}, fallback);
        assert_vec3_near(unit, ((fid_vec3){0, -0.70710678f, 0.70710678f}), 1e-7);
    }
    // 1:2:2 has length 3.
    assert_vec3_near(fid_vec3_normalize((fid_vec3){1, 2, 2}, fallback), ((fid_vec3){1 / 3.0f, 2 / 3.0f, 2 / 3.0f}),
                     1e-7);
}

static void normalize_falls_back_where_there_is_no_direction(void **state) {
    (void)state;
    assert_vec3_near(fid_vec3_normalize((fid_vec3){0, -0.0f, 0}, fallback), fallback, 0.0);
    assert_vec3_near(fid_vec3_normalize((fid_vec3){NAN, 0, 0}, fallback), fallback, 0.0);
    assert_vec3_near(fid_vec3_normalize((fid_vec3){INFINITY, 0, 0}, fallback), fallback, 0.0);
}

static void length_is_not_lost_for_tiny_and_huge_vectors(void **state) {
    (void)state;
    assert_near((double)fid_vec3_length((fid_vec3){3e-30f, 4e-30f, 0}), 5e-30, 1e-36);
    assert_near((double)fid_vec3_length((fid_vec3){0, 3e30f, 4e30f}), 5e30, 1e24);
    assert_near((double)fid_vec3_distance((fid_vec3){1, 1, 1}, (fid_vec3){2, 3, 3}), 3.0, 1e-7);
}

static void across_is_a_unit_square_to_its_argument(void **state) {
    (void)state;
    random_source source = random_begin(11);
    const fid_vec3 axes[] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {-1, 0, 0}, {0, -1, 0}, {0, 0, -1}};
    for (int i = 0; i < 1000; ++i) {
        fid_vec3 a = i < 6 ? axes[i] : fid_vec3_normalize(random_vec3(&source, 1.0), fallback);
        fid_vec3 b = fid_vec3_across(a);
        assert_near((double)fid_vec3_length(b), 1.0, 1e-6);
        assert_near((double)fid_vec3_dot(a, b), 0.0, 1e-6);
    }
    assert_near((double)fid_vec3_length(fid_vec3_across((fid_vec3){0, 0, 0})), 1.0, 0.0);
}

static void angle_is_precise_at_both_ends(void **state) {
    (void)state;
    assert_near(fid_vec3_angle((fid_vec3){2, 0, 0}, (fid_vec3){0, 0, 3}), FID_PI / 2.0, 1e-15);
    assert_near(fid_vec3_angle((fid_vec3){1, 0, 0}, (fid_vec3){1, 1e-9f, 0}), 1e-9, 1e-16);
    assert_near(fid_vec3_angle((fid_vec3){1, 0, 0}, (fid_vec3){-1, 1e-9f, 0}), FID_PI - 1e-9, 1e-15);
    assert_near(fid_vec3_angle((fid_vec3){1e-30f, 0, 0}, (fid_vec3){-1e30f, 0, 0}), FID_PI, 0.0);
    assert_near(fid_vec3_angle((fid_vec3){1, 2, 3}, (fid_vec3){1, 2, 3}), 0.0, 0.0);
    assert_near(fid_vec3_angle((fid_vec3){0, 0, 0}, (fid_vec3){1, 2, 3}), 0.0, 0.0);
    assert_near(fid_vec3_angle((fid_vec3){FLT_MAX, 0, 0}, (fid_vec3){FLT_MAX, FLT_MAX, 0}), FID_PI / 4.0, 1e-15);
}

static void products_follow_the_right_hand(void **state) {
    (void)state;
    const fid_vec3 x = {1, 0, 0}, y = {0, 1, 0}, z = {0, 0, 1};
    assert_vec3_near(fid_vec3_cross(x, y), z, 0.0);
    assert_vec3_near(fid_vec3_cross(y, z), x, 0.0);
    assert_vec3_near(fid_vec3_cross(z, x), y, 0.0);
    assert_near((double)fid_vec3_dot((fid_vec3){1, 2, 3}, (fid_vec3){4, -5, 6}), 12.0, 0.0);
    assert_vec3_near(fid_vec3_lerp((fid_vec3){1, 2, 3}, (fid_vec3){3, 2, -1}, 0.25f), ((fid_vec3){1.5f, 2, 2}), 1e-7);
}

static void is_finite_looks_at_all_three(void **state) {
    (void)state;
    assert_true(fid_vec3_is_finite((fid_vec3){FLT_MAX, 0, -1}));
    assert_false(fid_vec3_is_finite((fid_vec3){NAN, 0, 0}));
    assert_false(fid_vec3_is_finite((fid_vec3){0, INFINITY, 0}));
    assert_false(fid_vec3_is_finite((fid_vec3){0, 0, -INFINITY}));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(normalize_keeps_direction_of_any_finite_length),
        cmocka_unit_test(normalize_falls_back_where_there_is_no_direction),
        cmocka_unit_test(length_is_not_lost_for_tiny_and_huge_vectors),
        cmocka_unit_test(across_is_a_unit_square_to_its_argument),
        cmocka_unit_test(angle_is_precise_at_both_ends),
        cmocka_unit_test(products_follow_the_right_hand),
        cmocka_unit_test(is_finite_looks_at_all_three),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
