#ifndef FID_TESTS_SUPPORT_MEMORY_FAIL_H
#define FID_TESTS_SUPPORT_MEMORY_FAIL_H

#include <stdbool.h>
#include <stdlib.h>

#include "base/memory.h"
#include "support/assert.h"

/// Counts the allocations of the process and lets one of them fail, or one and all that follow.
typedef struct memory_fail {
    long fail_at; ///< the allocation that fails, counted from 1; 0: none
    long asked;   ///< allocations and resizes asked for so far
    long live;    ///< blocks got and not yet freed
    bool onward;  ///< all allocations after that one fail too
} memory_fail;

static inline void *memory_fail_allocate(void *user, void *block, size_t size) {
    memory_fail *fail = user;
    if (size == 0) {
        fail->live--;
        free(block);
        return NULL;
    }
    fail->asked++;
    if (fail->asked == fail->fail_at || (fail->onward && fail->fail_at > 0 && fail->asked > fail->fail_at)) {
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
    *fail = (memory_fail){fail_at, 0, 0, false};
    fid_memory_set(memory_fail_allocate, fail);
}

/// As memory_fail_begin, but all allocations after that one fail too.
static inline void memory_fail_begin_onward(memory_fail *fail, long fail_at) {
    memory_fail_begin(fail, fail_at);
    fail->onward = true;
}

/// Back to plain allocation.
static inline void memory_fail_end(void) { fid_memory_set(NULL, NULL); }

static inline void memory_fail_every_way_at(bool (*act)(void *user), void *user, bool onward, const char *file,
                                            int line) {
    bool failed = true;
    for (long fail_at = 1; failed; fail_at++) {
        memory_fail fail;
        memory_fail_begin(&fail, fail_at);
        fail.onward = onward;
        bool done = act(user);
        memory_fail_end();
        failed = fail.asked >= fail_at;
        if (fail.live != 0) {
            print_error("allocation %ld%s fails: %ld blocks are left over\n", fail_at, onward ? " and onward" : "",
                        fail.live);
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

static inline void memory_fail_every_at(bool (*act)(void *user), void *user, const char *file, int line) {
    memory_fail_every_way_at(act, user, false, file, line);
    memory_fail_every_way_at(act, user, true, file, line);
}

/// Calls `act(user)` with its first allocation failing, then with its second, and so on until none fails; then
/// the same with all later allocations failing too. Each time `act` must free what it got and return whether it
/// succeeded, which it must exactly when no allocation failed. `act` contains no assertion, which would leave the
/// allocation function in place.
#define memory_fail_every(act, user) memory_fail_every_at((act), (user), __FILE__, __LINE__)

#endif
