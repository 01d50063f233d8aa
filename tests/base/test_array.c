#include "base/array.h"
#include "support/memory_fail.h"

#include <string.h>

typedef FID_ARRAY(int32_t) numbers;

static void pushed_values_stay_in_order(void **state) {
    (void)state;
    numbers array = {0};
    for (int32_t i = 0; i < 10000; i++) {
        assert_true(fid_array_push(&array, i * 3));
    }
    assert_int_equal(array.count, 10000);
    for (int32_t i = 0; i < 10000; i++) {
        assert_int_equal(array.at[i], i * 3);
    }
    fid_array_clear(&array);
    assert_null(array.at);
    assert_int_equal(array.count, 0);
    assert_int_equal(array.capacity, 0);
}

static void reserved_room_needs_no_allocation(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 2);
    numbers array = {0};
    bool done = fid_array_reserve(&array, 1000) && fid_array_reserve(&array, 0);
    for (int32_t i = 0; i < 1000; i++) {
        done = done && fid_array_push(&array, i);
    }
    int32_t count = array.count;
    fid_array_clear(&array);
    memory_fail_end();
    assert_true(done);
    assert_int_equal(count, 1000);
    assert_int_equal(fail.asked, 1);
}

static void growth_takes_few_allocations(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 0);
    numbers array = {0};
    bool done = true;
    for (int32_t i = 0; i < 1000000; i++) {
        done = done && fid_array_push(&array, i);
    }
    fid_array_clear(&array);
    memory_fail_end();
    assert_true(done);
    assert_true(fail.asked <= 20);
}

static void an_array_is_unchanged_where_it_cannot_grow(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin_onward(&fail, 2);
    numbers array = {0};
    while (fid_array_push(&array, array.count)) {
    }
    int32_t count = array.count;
    int32_t capacity = array.capacity;
    bool kept = count > 0 && array.at[count - 1] == count - 1;
    fid_array_clear(&array);
    memory_fail_end();
    assert_true(kept);
    assert_int_equal(count, capacity);
    assert_int_equal(fail.live, 0);
}

static void more_than_can_be_counted_is_refused(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin_onward(&fail, 1);
    void *at = NULL;
    int32_t capacity = 0;
    bool negative = fid_array_grow(&at, &capacity, 0, -1, 1);
    bool beyond = fid_array_grow(&at, &capacity, 2, INT32_MAX - 1, 1);
    bool wide = fid_array_grow(&at, &capacity, 0, INT32_MAX, SIZE_MAX / 4);
    memory_fail_end();
    assert_false(negative);
    assert_false(beyond);
    assert_false(wide);
    assert_int_equal(fail.asked, 0);
    assert_int_equal(capacity, 0);
}

static void doubling_stops_at_the_largest_count(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin_onward(&fail, 1);
    void *at = NULL;
    int32_t capacity = INT32_MAX / 2 + 10;
    bool grown = fid_array_grow(&at, &capacity, capacity, 1, 1);
    memory_fail_end();
    assert_false(grown);
    assert_int_equal(fail.asked, 1); // asked for, not refused as too many
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pushed_values_stay_in_order),
        cmocka_unit_test(reserved_room_needs_no_allocation),
        cmocka_unit_test(growth_takes_few_allocations),
        cmocka_unit_test(an_array_is_unchanged_where_it_cannot_grow),
        cmocka_unit_test(more_than_can_be_counted_is_refused),
        cmocka_unit_test(doubling_stops_at_the_largest_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
