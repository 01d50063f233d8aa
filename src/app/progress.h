#ifndef FID_APP_PROGRESS_H
#define FID_APP_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

/// A bar on stderr for work that takes longer than half a second; only on a terminal.
typedef struct fid_progress {
    const char *what; ///< is counted: "variants"
    double begun, drawn;
    bool is_shown;  ///< there is a bar on the terminal
    bool is_wanted; ///< it is a terminal, and nobody asked for quiet
} fid_progress;

fid_progress fid_progress_begin(const char *what, bool quiet);

/// So much is done. Draws at most ten times a second.
void fid_progress_show(fid_progress *progress, int32_t done, int32_t total);

/// Takes the bar off the terminal, so that other lines may be printed; the next fid_progress_show draws it again.
void fid_progress_hide(fid_progress *progress);

#endif
