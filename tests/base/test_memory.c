#include "support/memory_fail.h"

#include <stdint.h>
#include <string.h>

static void blocks_are_aligned_to_16_bytes(void **state) {
    (void)state;
    void *blocks[8];
    for (size_t i = 0; i < 8; i++) {
        blocks[i] = fid_memory_get(16 + i);
        assert_non_null(blocks[i]);
        assert_int_equal((uintptr_t)blocks[i] % 16, 0);
    }
    for (size_t i = 0; i < 8; i++) {
        fid_memory_free(blocks[i]);
    }
}

static void zeroed_blocks_are_zero(void **state) {
    (void)state;
    // The block that is freed is dirty, and is what the C library likes to give out next.
    unsigned char *dirty = fid_memory_get(300);
    assert_non_null(dirty);
    memset(dirty, 0xa5, 300);
    fid_memory_free(dirty);
    unsigned char *zero = fid_memory_get_zero(100, 3);
    assert_non_null(zero);
    for (size_t i = 0; i < 300; i++) {
        assert_int_equal(zero[i], 0);
    }
    fid_memory_free(zero);
}

static void a_product_that_overflows_gives_nothing(void **state) {
    (void)state;
    assert_null(fid_memory_get_zero(SIZE_MAX / 2 + 1, 2));
    assert_null(fid_memory_get_zero(2, SIZE_MAX / 2 + 1));
}

static void nothing_is_asked_for_where_the_size_is_zero(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 0);
    void *got = fid_memory_get(0);
    void *zero = fid_memory_get_zero(0, 4);
    void *none = fid_memory_get_zero(4, 0);
    fid_memory_free(NULL);
    memory_fail_end();
    assert_null(got);
    assert_null(zero);
    assert_null(none);
    assert_int_equal(fail.asked, 0);
    assert_int_equal(fail.live, 0);
}

static void a_block_is_untouched_where_resizing_fails(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 2);
    char *block = fid_memory_get(4);
    memcpy(block, "shin", 4);
    void *grown = fid_memory_resize(block, 4000);
    void *empty = fid_memory_resize(block, 0);
    bool same = memcmp(block, "shin", 4) == 0;
    char *again = fid_memory_resize(block, 5000);
    bool kept = again != NULL && memcmp(again, "shin", 4) == 0;
    fid_memory_free(again);
    memory_fail_end();
    assert_null(grown);
    assert_null(empty);
    assert_true(same);
    assert_true(kept);
    assert_int_equal(fail.live, 0);
}

static void allocation_goes_back_to_the_library(void **state) {
    (void)state;
    memory_fail fail;
    memory_fail_begin(&fail, 0);
    memory_fail_end();
    void *block = fid_memory_get(8);
    assert_non_null(block);
    fid_memory_free(block);
    assert_int_equal(fail.asked, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_are_aligned_to_16_bytes),
        cmocka_unit_test(zeroed_blocks_are_zero),
        cmocka_unit_test(a_product_that_overflows_gives_nothing),
        cmocka_unit_test(nothing_is_asked_for_where_the_size_is_zero),
        cmocka_unit_test(a_block_is_untouched_where_resizing_fails),
        cmocka_unit_test(allocation_goes_back_to_the_library),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
