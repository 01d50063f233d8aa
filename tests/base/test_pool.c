#include "base/pool.h"
#include "support/memory_fail.h"

static void slots_come_in_order_and_handles_lead_to_them(void **state) {
    (void)state;
    fid_pool pool = {0};
    fid_handle handles[100];
    for (int32_t i = 0; i < 100; i++) {
        assert_true(fid_pool_add(&pool, &handles[i]));
        assert_false(fid_handle_is_null(handles[i]));
        assert_int_equal(fid_pool_index(&pool, handles[i]), i);
    }
    assert_int_equal(pool.count, 100);
    for (int32_t i = 0; i < 100; i++) {
        assert_int_equal(fid_pool_index(&pool, handles[i]), i);
        assert_int_equal(fid_pool_index(&pool, fid_pool_handle(&pool, i)), i);
    }
    fid_pool_clear(&pool);
    assert_int_equal(fid_pool_index(&pool, handles[0]), -1);
}

static void null_and_invented_handles_lead_nowhere(void **state) {
    (void)state;
    fid_pool pool = {0};
    fid_handle null = {0, 0};
    fid_handle handle;
    assert_true(fid_handle_is_null(null));
    assert_int_equal(fid_pool_index(&pool, null), -1);
    assert_true(fid_pool_add(&pool, &handle));
    assert_int_equal(fid_pool_index(&pool, null), -1);
    assert_int_equal(fid_pool_index(&pool, (fid_handle){1, handle.generation}), -1);
    assert_int_equal(fid_pool_index(&pool, (fid_handle){UINT32_MAX, handle.generation}), -1);
    assert_int_equal(fid_pool_index(&pool, (fid_handle){0, handle.generation + 1}), -1);
    assert_true(fid_handle_is_null(fid_pool_handle(&pool, -1)));
    assert_true(fid_handle_is_null(fid_pool_handle(&pool, 1)));
    fid_pool_clear(&pool);
}

static void handles_of_ended_elements_stay_stale(void **state) {
    (void)state;
    fid_pool pool = {0};
    fid_handle first;
    fid_handle gone;
    assert_true(fid_pool_add(&pool, &first));
    assert_true(fid_pool_add(&pool, &gone));
    for (int i = 0; i < 1000; i++) {
        fid_pool_cut(&pool, 1);
        assert_int_equal(pool.count, 1);
        assert_int_equal(fid_pool_index(&pool, gone), -1);
        fid_handle next;
        assert_true(fid_pool_add(&pool, &next));
        assert_int_equal(fid_pool_index(&pool, next), 1); // the slot is used again
        assert_int_equal(fid_pool_index(&pool, gone), -1);
        assert_int_equal(fid_pool_index(&pool, first), 0);
    }
    fid_pool_cut(&pool, 5); // more than there are
    assert_int_equal(pool.count, 2);
    fid_pool_clear(&pool);
}

static bool add_many(void *user) {
    (void)user;
    fid_pool pool = {0};
    fid_handle handle;
    int32_t added = 0;
    while (added < 100 && fid_pool_add(&pool, &handle)) {
        added++;
    }
    bool counted = pool.count == added;
    fid_pool_clear(&pool);
    return counted ? added == 100 : added != 100;
}

static void a_failed_allocation_adds_nothing(void **state) {
    (void)state;
    memory_fail_every(add_many, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slots_come_in_order_and_handles_lead_to_them),
        cmocka_unit_test(null_and_invented_handles_lead_nowhere),
        cmocka_unit_test(handles_of_ended_elements_stay_stale),
        cmocka_unit_test(a_failed_allocation_adds_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
