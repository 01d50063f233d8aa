#ifndef FID_TESTS_SUPPORT_MEMORY_FAIL_H
#define FID_TESTS_SUPPORT_MEMORY_FAIL_H

#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"
#include "support/assert.h"

/// Counts the allocations of the process and lets one of them fail.
typedef struct memory_fail {
    long fail_at; ///< the allocation that fails, counted from 1; 0: none
    long asked;   ///< allocations and resizes asked for so far
    long live;    ///< blocks got and not yet freed
} memory_fail;

static inline void *memory_fail_allocate(void *user, void *block, size_t size) {
    memory_fail *fail = user;
    if (size == 0) {
        fail->live--;
        free(block);
        return NULL;
    }
    fail->asked++;
    if (fail->asked == fail->fail_at) {
        return NULL;
    }
    void *result = realloc(block, size);
    if (result != NULL && block == NULL) {
        fail->live++;
    }
    return result;
}

/// From here on allocation number `fail_at` fails, counted from 1; 0: none fails. `fail` must live until
/// memory_fail_end.
static inline void memory_fail_begin(memory_fail *fail, long fail_at) {
    *fail = (memory_fail){fail_at, 0, 0};
    fid_memory_set(memory_fail_allocate, fail);
}

/// Back to plain allocation.
static inline void memory_fail_end(void) { fid_memory_set(NULL, NULL); }

static inline void memory_fail_every_at(bool (*act)(void *user), void *user, const char *file, int line) {
    bool failed = true;
    for (long fail_at = 1; failed; fail_at++) {
        memory_fail fail;
        memory_fail_begin(&fail, fail_at);
        bool done = act(user);
        memory_fail_end();
        failed = fail.asked >= fail_at;
        if (fail.live != 0) {
            print_error("allocation %ld fails: %ld blocks are left over\n", fail_at, fail.live);
            _fail(file, line);
        }
        if (done == failed) {
            print_error(failed ? "allocation %ld fails, but success is reported\n"
                               : "success is not reported although fewer than %ld allocations are made\n",
                        fail_at);
            _fail(file, line);
        }
    }
}

/// Calls `act(user)` with its first allocation failing, then with its second, and so on until none fails. Each time
/// `act` must free what it got and return whether it succeeded, which it must exactly when no allocation failed.
/// `act` contains no assertion, which would leave the allocation function in place.
#define memory_fail_every(act, user) memory_fail_every_at((act), (user), __FILE__, __LINE__)

#endif
