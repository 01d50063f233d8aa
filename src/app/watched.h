#ifndef FID_APP_WATCHED_H
#define FID_APP_WATCHED_H

#include "app/options.h"
#include "base/inputs.h"
#include "base/watch.h"

#include <time.h>

/// Seconds without a change after which what was saved counts as whole.
extern const double fid_watched_quiet;

/// A recipe with all that it has read, watched, and the folders where files may come that it looked for in vain.
typedef struct fid_watched {
    const char *file;
    fid_watch *watch;
    fid_inputs inputs; ///< of the last build, and of those before
} fid_watched;

/// Begins to watch the recipe and its folders. The caller clears it in any case.
/// @return FID_OK, FID_INVALID (no recipe), FID_IO, FID_LIMIT, FID_NO_MEMORY
FID_NODISCARD fid_code fid_watched_begin(fid_watched *of, const char *file, fid_error *err);

/// In a process that has read the recipe: hands the names of its inputs on to who began it.
void fid_watched_hand_back(const fid_inputs *inputs, int to);

/// Takes what such a process hands back through `from` until it closes it, and watches that, too. `*is_late` becomes
/// true where a file that was not watched yet has changed since `begun`. Where a signal comes `is_stopped` is asked.
/// @return FID_OK, FID_LIMIT, FID_NO_MEMORY
FID_NODISCARD fid_code fid_watched_take(fid_watched *of, int from, struct timespec begun, bool (*is_stopped)(void),
                                        bool *is_late, fid_error *err);

/// Reads the recipe in a process aside, whose messages nobody sees, to know its inputs.
FID_NODISCARD fid_code fid_watched_find(fid_watched *of, const fid_arguments *arguments, fid_error *err);

void fid_watched_clear(fid_watched *of);

#endif
