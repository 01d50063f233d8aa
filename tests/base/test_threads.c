#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

#include "base/threads.h"

enum { MOST = 1000 };

typedef struct tally {
    atomic_int calls[MOST];
    atomic_int beyond;
} tally;

static void count(void *user, int64_t i) {
    tally *at = user;
    atomic_fetch_add(i >= 0 && i < MOST ? &at->calls[i] : &at->beyond, 1);
}

static void every_number_is_met_once_whatever_the_threads(void **state) {
    (void)state;
    static const int64_t counts[] = {0, 1, 2, 3, 7, 8, 9, 64, 65, 999, MOST};
    static const int32_t threads[] = {INT32_MIN, -1, 0, 1, 2, 3, 64, 65, INT32_MAX};
    for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++) {
        for (size_t t = 0; t < sizeof threads / sizeof threads[0]; t++) {
            tally at;
            memset(&at, 0, sizeof at);
            fid_threads_each(counts[c], threads[t], count, &at);
            for (int64_t i = 0; i < MOST; i++) {
                assert_int_equal(atomic_load(&at.calls[i]), i < counts[c]);
            }
            assert_int_equal(atomic_load(&at.beyond), 0);
        }
    }
}

/// Calls that end only once all have begun.
static void meet(void *user, int64_t i) {
    (void)i;
    pthread_barrier_wait(user);
}

static void few_long_pieces_of_work_are_shared_too(void **state) {
    (void)state;
    pthread_barrier_t barrier;
    assert_int_equal(pthread_barrier_init(&barrier, NULL, 3), 0);
    fid_threads_each(3, 3, meet, &barrier); // one after the other they would never end
    pthread_barrier_destroy(&barrier);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_number_is_met_once_whatever_the_threads),
        cmocka_unit_test(few_long_pieces_of_work_are_shared_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
