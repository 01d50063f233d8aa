#include "support/assert.h"

#include <stdio.h>

static void nan_is_not_near_one(void **state) {
    (void)state;
    assert_near(NAN, 1.0, 0.5);
}

static void one_is_not_near_nan(void **state) {
    (void)state;
    assert_near(1.0, NAN, 0.5);
}

static void infinity_is_not_near_itself(void **state) {
    (void)state;
    assert_near(INFINITY, INFINITY, 0.5);
}

static void nothing_is_near_within_nan(void **state) {
    (void)state;
    assert_near(1.0, 1.0, NAN);
}

static void nothing_is_near_within_infinity(void **state) {
    (void)state;
    assert_near(1.0, 2.0, INFINITY);
}

static void far_is_not_near(void **state) {
    (void)state;
    assert_near(1.0, 1.75, 0.5);
}

static void text_does_not_contain_another(void **state) {
    (void)state;
    assert_text_contains("shin", "thigh");
}

static void no_text_contains_nothing(void **state) {
    (void)state;
    assert_text_contains(NULL, "shin");
}

static void near_includes_the_tolerance(void **state) {
    (void)state;
    assert_near(1.0, 1.5, 0.5);
    assert_near(1.5, 1.0, 0.5);
    assert_near(-2.0, -2.0, 0.0);
}

static void text_contains_its_parts(void **state) {
    (void)state;
    assert_text_contains("left shin", "shin");
    assert_text_contains("left shin", "left shin");
    assert_text_contains("left shin", "");
}

int main(void) {
    const struct CMUnitTest refused[] = {
        cmocka_unit_test(nan_is_not_near_one),
        cmocka_unit_test(one_is_not_near_nan),
        cmocka_unit_test(infinity_is_not_near_itself),
        cmocka_unit_test(nothing_is_near_within_nan),
        cmocka_unit_test(nothing_is_near_within_infinity),
        cmocka_unit_test(far_is_not_near),
        cmocka_unit_test(text_does_not_contain_another),
        cmocka_unit_test(no_text_contains_nothing),
    };
    const int refused_count = (int)(sizeof refused / sizeof refused[0]);
    const struct CMUnitTest accepted[] = {
        cmocka_unit_test(near_includes_the_tolerance),
        cmocka_unit_test(text_contains_its_parts),
    };
    int failed = cmocka_run_group_tests_name("must fail, every one", refused, NULL, NULL);
    if (failed != refused_count) {
        printf("%d of %d assertions failed that must\n", failed, refused_count);
        return 1;
    }
    return cmocka_run_group_tests_name("must pass", accepted, NULL, NULL);
}
