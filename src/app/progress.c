#include "app/progress.h"

#include "base/clock.h"

#include <stdio.h>
#include <unistd.h>

enum { BAR_WIDTH = 30 };

fid_progress fid_progress_begin(const char *what, bool quiet) {
    return (fid_progress){.what = what, .begun = fid_clock_seconds(), .is_wanted = !quiet && isatty(STDERR_FILENO)};
}

void fid_progress_show(fid_progress *progress, int32_t done, int32_t total) {
    double now = progress->is_wanted ? fid_clock_seconds() : 0;
    if (!progress->is_wanted || total <= 0 || now < progress->begun + 0.5 || now < progress->drawn + 0.1) {
        return;
    }
    char bar[BAR_WIDTH + 1];
    for (int i = 0; i < BAR_WIDTH; i++) {
        bar[i] = (int64_t)i * total < (int64_t)done * BAR_WIDTH ? '=' : ' ';
    }
    bar[BAR_WIDTH] = '\0';
    fprintf(stderr, "\r|%s| %d of %d %s", bar, (int)done, (int)total, progress->what);
    fflush(stderr);
    progress->drawn = now;
    progress->is_shown = true;
}

void fid_progress_hide(fid_progress *progress) {
    if (progress->is_shown) {
        // Erases the line: ECMA-48, EL.
        fputs("\r\x1b[K", stderr);
        fflush(stderr);
        progress->is_shown = false;
        progress->drawn = 0;
    }
}
