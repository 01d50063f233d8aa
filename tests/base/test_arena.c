#include "base/arena.h"
#include "support/memory_fail.h"

#include <stdint.h>
#include <string.h>

static void bytes_are_aligned_zero_and_apart(void **state) {
    (void)state;
    fid_arena arena = {0};
    unsigned char *at[64];
    size_t total = 0;
    for (size_t i = 0; i < 64; i++) {
        size_t size = i * 97; // crosses the first block several times
        at[i] = fid_arena_get(&arena, size);
        assert_non_null(at[i]);
        assert_int_equal((uintptr_t)at[i] % 16, 0);
        for (size_t j = 0; j < size; j++) {
            assert_int_equal(at[i][j], 0);
        }
        memset(at[i], (int)i, size);
        total += size;
    }
    for (size_t i = 0; i < 64; i++) {
        for (size_t j = 0; j < i * 97; j++) {
            assert_int_equal(at[i][j], (int)i);
        }
    }
    assert_true(arena.total >= total);
    fid_arena_clear(&arena);
    assert_null(arena.last);
    assert_int_equal(arena.total, 0);
}

static void empty_requests_have_addresses_of_their_own(void **state) {
    (void)state;
    fid_arena arena = {0};
    void *first = fid_arena_get(&arena, 0);
    void *second = fid_arena_get(&arena, 0);
    assert_non_null(first);
    assert_non_null(second);
    assert_ptr_not_equal(first, second);
    fid_arena_clear(&arena);
}

static void release_goes_back_to_the_mark(void **state) {
    (void)state;
    fid_arena arena = {0};
    char *kept = fid_arena_copy(&arena, "pelvis", 6);
    assert_non_null(kept);
    size_t total = arena.total;
    fid_arena_mark mark = fid_arena_get_mark(&arena);
    unsigned char *first = fid_arena_get(&arena, 100);
    assert_non_null(first);
    memset(first, 0xff, 100);
    for (int i = 0; i < 100; i++) {
        assert_non_null(fid_arena_get(&arena, 1000));
    }
    fid_arena_release(&arena, mark);
    assert_int_equal(arena.total, total);
    assert_string_equal(kept, "pelvis");
    // The same place is given out again, and is zero again.
    unsigned char *again = fid_arena_get(&arena, 100);
    assert_ptr_equal(again, first);
    for (int i = 0; i < 100; i++) {
        assert_int_equal(again[i], 0);
    }
    fid_arena_clear(&arena);
}

static void release_to_the_begin_frees_all(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 0);
    fid_arena arena = {0};
    fid_arena_mark mark = fid_arena_get_mark(&arena);
    bool got = fid_arena_get(&arena, 10) != NULL && fid_arena_get(&arena, 100000) != NULL;
    long live = fail.live;
    fid_arena_release(&arena, mark);
    memory_fail_end();
    assert_true(got);
    assert_int_equal(live, 2);
    assert_int_equal(fail.live, 0);
}

static void a_copy_ends_with_a_nul(void **state) {
    (void)state;
    fid_arena arena = {0};
    char *part = fid_arena_copy(&arena, "left shin", 4);
    char *empty = fid_arena_copy(&arena, "", 0);
    assert_non_null(part);
    assert_non_null(empty);
    assert_string_equal(part, "left");
    assert_string_equal(empty, "");
    fid_arena_clear(&arena);
}

static void a_request_beyond_all_memory_gives_nothing(void **state) {
    (void)state;
    fid_arena arena = {0};
    assert_null(fid_arena_get(&arena, SIZE_MAX));
    assert_null(fid_arena_get(&arena, SIZE_MAX / 2 + 1));
    assert_null(fid_arena_copy(&arena, "", SIZE_MAX));
    assert_int_equal(arena.total, 0);
    fid_arena_clear(&arena);
}

static void many_small_requests_take_few_allocations(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 0);
    fid_arena arena = {0};
    bool got = true;
    for (int i = 0; i < 500000; i++) {
        got = got && fid_arena_get(&arena, 16) != NULL;
    }
    fid_arena_clear(&arena);
    memory_fail_end();
    assert_true(got);
    assert_true(fail.asked <= 20);
    assert_int_equal(fail.live, 0);
}

static bool fill(void *user) {
    (void)user;
    fid_arena arena = {0};
    bool done = fid_arena_get(&arena, 1) != NULL && fid_arena_copy(&arena, "shin", 4) != NULL &&
                fid_arena_get(&arena, 5000) != NULL && fid_arena_get(&arena, 50000) != NULL;
    fid_arena_clear(&arena);
    return done;
}

static void failed_allocations_lose_nothing(void **state) {
    (void)state;
    memory_fail_every(fill, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bytes_are_aligned_zero_and_apart),
        cmocka_unit_test(empty_requests_have_addresses_of_their_own),
        cmocka_unit_test(release_goes_back_to_the_mark),
        cmocka_unit_test(release_to_the_begin_frees_all),
        cmocka_unit_test(a_copy_ends_with_a_nul),
        cmocka_unit_test(a_request_beyond_all_memory_gives_nothing),
        cmocka_unit_test(many_small_requests_take_few_allocations),
        cmocka_unit_test(failed_allocations_lose_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
