#ifndef FID_BASE_THREADS_H
#define FID_BASE_THREADS_H

#include <stdint.h>

/// Calls `each(user, i)` once for every i from 0 to `count` - 1, on up to `threads` threads (at least 1, at most 64),
/// of which the calling one is the first, and returns when all are done. Which thread takes which i is left to chance,
/// so that calls must not depend on each other. Where a thread cannot be started the others do its work. Started
/// threads take no signals.
void fid_threads_each(int64_t count, int32_t threads, void (*each)(void *user, int64_t i), void *user);

#endif
