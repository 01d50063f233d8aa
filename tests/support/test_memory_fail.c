#include "support/memory_fail.h"

#include <stdio.h>

// Two blocks, the second of which grows once: three allocations.
static bool careful(void *user) {
    int *runs = user;
    (*runs)++;
    bool done = false;
    void *first = fid_memory_get(8);
    void *second = first != NULL ? fid_memory_get(8) : NULL;
    if (second != NULL) {
        void *grown = fid_memory_resize(second, 64);
        done = grown != NULL;
        second = done ? grown : second;
    }
    fid_memory_free(second);
    fid_memory_free(first);
    return done;
}

static void *lost;

static bool leaking(void *user) {
    (void)user;
    lost = fid_memory_get(8);
    return lost != NULL;
}

static bool boasting(void *user) {
    (void)user;
    fid_memory_free(fid_memory_get(8));
    return true;
}

static bool giving_up(void *user) {
    (void)user;
    fid_memory_free(fid_memory_get(8));
    return false;
}

static void a_leak_is_found(void **state) {
    (void)state;
    memory_fail_every(leaking, NULL);
}

static void success_in_spite_of_a_failure_is_found(void **state) {
    (void)state;
    memory_fail_every(boasting, NULL);
}

static void failure_without_a_cause_is_found(void **state) {
    (void)state;
    memory_fail_every(giving_up, NULL);
}

static void every_allocation_fails_once(void **state) {
    (void)state;
    int runs = 0;
    memory_fail_every(careful, &runs);
    assert_int_equal(runs, 8); // in both ways three that fail and one that does not
}

int main(void) {
    const struct CMUnitTest refused[] = {
        cmocka_unit_test(a_leak_is_found),
        cmocka_unit_test(success_in_spite_of_a_failure_is_found),
        cmocka_unit_test(failure_without_a_cause_is_found),
    };
    const int refused_count = (int)(sizeof refused / sizeof refused[0]);
    const struct CMUnitTest accepted[] = {
        cmocka_unit_test(every_allocation_fails_once),
    };
    int failed = cmocka_run_group_tests_name("must fail, every one", refused, NULL, NULL);
    fid_memory_free(lost);
    if (failed != refused_count) {
        printf("%d of %d assertions failed that must\n", failed, refused_count);
        return 1;
    }
    return cmocka_run_group_tests_name("must pass", accepted, NULL, NULL);
}
