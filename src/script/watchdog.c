#include "script/watchdog.h"

#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

void fid_watchdog_leave(const char *message) {
    size_t left = strlen(message);
    while (left > 0) {
        ssize_t written = write(STDERR_FILENO, message, left);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            break;
        }
        message += written;
        left -= (size_t)written;
    }
    _exit(2);
}

static void *watch(void *argument) {
    fid_watchdog *watchdog = argument;
    pthread_mutex_lock(&watchdog->mutex);
    struct timespec end;
    clock_gettime(CLOCK_MONOTONIC, &end);
    double whole = floor(watchdog->seconds);
    end.tv_sec += (time_t)whole;
    end.tv_nsec += (long)((watchdog->seconds - whole) * 1e9);
    if (end.tv_nsec >= 1000000000) {
        end.tv_nsec -= 1000000000;
        end.tv_sec++;
    }
    int result = 0;
    while (!watchdog->is_over && result != ETIMEDOUT) {
        result = pthread_cond_timedwait(&watchdog->changed, &watchdog->mutex, &end);
    }
    if (!watchdog->is_over) {
        fid_watchdog_leave(watchdog->message);
    }
    pthread_mutex_unlock(&watchdog->mutex);
    return NULL;
}

static void set_message(fid_watchdog *watchdog, const char *message) {
    snprintf(watchdog->message, sizeof watchdog->message, "%s", message);
}

fid_code fid_watchdog_start(fid_watchdog *watchdog, double seconds, const char *message, fid_error *err) {
    watchdog->seconds = seconds;
    watchdog->is_over = false;
    set_message(watchdog, message);
    pthread_condattr_t attributes;
    bool has_mutex = pthread_mutex_init(&watchdog->mutex, NULL) == 0;
    bool has_attributes = has_mutex && pthread_condattr_init(&attributes) == 0;
    bool has_condition = has_attributes && pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC) == 0 &&
                         pthread_cond_init(&watchdog->changed, &attributes) == 0;
    bool has_thread = false;
    if (has_condition) {
        // Signals are for the thread that runs the script.
        sigset_t all;
        sigset_t before;
        sigfillset(&all);
        pthread_sigmask(SIG_SETMASK, &all, &before);
        has_thread = pthread_create(&watchdog->thread, NULL, watch, watchdog) == 0;
        pthread_sigmask(SIG_SETMASK, &before, NULL);
    }
    if (has_attributes) {
        pthread_condattr_destroy(&attributes);
    }
    if (has_thread) {
        return FID_OK;
    }
    if (has_condition) {
        pthread_cond_destroy(&watchdog->changed);
    }
    if (has_mutex) {
        pthread_mutex_destroy(&watchdog->mutex);
    }
    return fid_fail(err, FID_LIMIT, "cannot run a script: the system gives no thread to watch its time");
}

void fid_watchdog_tell(fid_watchdog *watchdog, const char *message) {
    pthread_mutex_lock(&watchdog->mutex);
    set_message(watchdog, message);
    pthread_mutex_unlock(&watchdog->mutex);
}

void fid_watchdog_stop(fid_watchdog *watchdog) {
    pthread_mutex_lock(&watchdog->mutex);
    watchdog->is_over = true;
    pthread_cond_signal(&watchdog->changed);
    pthread_mutex_unlock(&watchdog->mutex);
    pthread_join(watchdog->thread, NULL);
    pthread_cond_destroy(&watchdog->changed);
    pthread_mutex_destroy(&watchdog->mutex);
}
