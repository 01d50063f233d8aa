#include "base/threads.h"

#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>

enum { MOST_THREADS = 64, MOST_AT_ONCE = 8, TURNS = 4 };

/// What the threads share: they take numbers off the front until none is left.
typedef struct shared {
    int64_t count, at_once;
    void (*each)(void *user, int64_t i);
    void *user;
    atomic_llong next;
} shared;

static void *work(void *of_all) {
    shared *of = of_all;
    for (;;) {
        int64_t first = atomic_fetch_add(&of->next, of->at_once);
        if (first >= of->count) {
            return NULL;
        }
        for (int64_t i = first; i < first + of->at_once && i < of->count; i++) {
            of->each(of->user, i);
        }
    }
}

void fid_threads_each(int64_t count, int32_t threads, void (*each)(void *user, int64_t i), void *user) {
    shared of = {count, 1, each, user, 0};
    pthread_t others[MOST_THREADS];
    sigset_t all, before;
    int64_t most = threads < MOST_THREADS ? threads : MOST_THREADS;
    most = most < count ? most : count;
    int32_t started = 0;
    if (most > 1) {
        // Few at once where there are few, so that each thread gets some and none waits long for the last.
        of.at_once = count / (TURNS * most);
        of.at_once = of.at_once < 1 ? 1 : of.at_once > MOST_AT_ONCE ? MOST_AT_ONCE : of.at_once;
        sigfillset(&all);
        pthread_sigmask(SIG_SETMASK, &all, &before);
        while (started + 1 < most && pthread_create(&others[started], NULL, work, &of) == 0) {
            started++;
        }
        pthread_sigmask(SIG_SETMASK, &before, NULL);
    }
    work(&of);
    for (int32_t i = 0; i < started; i++) {
        pthread_join(others[i], NULL);
    }
}
