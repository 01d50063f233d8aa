#ifndef FID_SCRIPT_WATCHDOG_H
#define FID_SCRIPT_WATCHDOG_H

#include "base/error.h"

#include <pthread.h>
#include <stdbool.h>

enum { FID_WATCHDOG_MESSAGE_SIZE = 1024 };

/// A thread that ends the process when a run takes too long. It exists only between start and stop.
typedef struct fid_watchdog {
    pthread_t thread;
    pthread_mutex_t mutex; ///< guards message and is_over
    pthread_cond_t changed;
    double seconds;
    bool is_over;
    char message[FID_WATCHDOG_MESSAGE_SIZE]; ///< made before it is needed
} fid_watchdog;

/// Starts to wait: after `seconds` of wall clock the message is written to stderr and the process leaves with status 2.
/// @return FID_OK, FID_LIMIT (the system gives no thread)
FID_NODISCARD fid_code fid_watchdog_start(fid_watchdog *watchdog, double seconds, const char *message, fid_error *err);

/// Replaces the message of a watchdog that was started.
void fid_watchdog_tell(fid_watchdog *watchdog, const char *message);

/// Ends the thread.
void fid_watchdog_stop(fid_watchdog *watchdog);

/// Writes `message` to stderr and leaves the process at once with status 2.
_Noreturn void fid_watchdog_leave(const char *message);

#endif
