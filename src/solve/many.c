#include "solve/solve.h"

#include <pthread.h>
#include <stdatomic.h>

enum { MOST_THREADS = 64, AT_ONCE = 8 };

/// What the threads share: they take poses off the front until none is left.
typedef struct batch {
    const fid_program *program;
    fid_pose *const *poses;
    int64_t count;
    atomic_llong next;
} batch;

static void *work(void *shared) {
    batch *of = shared;
    for (;;) {
        int64_t first = atomic_fetch_add(&of->next, AT_ONCE);
        if (first >= of->count) {
            return NULL;
        }
        for (int64_t i = first; i < first + AT_ONCE && i < of->count; i++) {
            fid_solve(of->program, of->poses[i]);
        }
    }
}

void fid_solve_many(const fid_program *program, fid_pose *const *poses, int32_t count, int32_t threads) {
    batch of = {program, poses, count, 0};
    pthread_t others[MOST_THREADS];
    int32_t most = (count + AT_ONCE - 1) / AT_ONCE, started = 0;
    most = most < threads ? most : threads;
    most = most < MOST_THREADS ? most : MOST_THREADS;
    // This thread works, too: where none can be started it does all.
    while (started + 1 < most && pthread_create(&others[started], NULL, work, &of) == 0) {
        started++;
    }
    work(&of);
    for (int32_t i = 0; i < started; i++) {
        pthread_join(others[i], NULL);
    }
}
