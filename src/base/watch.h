#ifndef FID_BASE_WATCH_H
#define FID_BASE_WATCH_H

#include "base/error.h"

#include <stdbool.h>

/// Waits until files change: by the folders that they are in, since programs that edit a file often put a new one in
/// its place.
typedef struct fid_watch fid_watch;

/// @return FID_OK, FID_LIMIT (the system watches no more, or has nothing to watch files with), FID_NO_MEMORY
FID_NODISCARD fid_code fid_watch_new(fid_watch **out, fid_error *err);

void fid_watch_free(fid_watch *watch);

/// From now on a change of that file counts, of what a link leads to, too; one that is not there yet may come. Again
/// for the same file does no harm. A folder that is missing is no error.
/// @return FID_OK, FID_LIMIT, FID_NO_MEMORY
FID_NODISCARD fid_code fid_watch_file(fid_watch *watch, const char *path, fid_error *err);

/// From now on any file of that folder counts whose name ends in one of the `endings` (closed by NULL, must live as
/// long), and any folder in it, in which the same counts from then on. Names that begin with a point never count.
FID_NODISCARD fid_code fid_watch_folder(fid_watch *watch, const char *path, const char *const *endings, fid_error *err);

/// That file never counts: what is written by ourselves.
FID_NODISCARD fid_code fid_watch_leave_out(fid_watch *watch, const char *path, fid_error *err);

/// A file that can be read as soon as something has happened: for those who wait for other files, too.
int fid_watch_descriptor(const fid_watch *watch);

/// Looks what has changed since it last gave 0, without waiting: below 0 where nothing has; 0 where something has, and
/// nothing more for `quiet` seconds, or for 2 in all; otherwise the seconds after which to look again.
double fid_watch_look(fid_watch *watch, double quiet);

/// Waits for a change, then until nothing has changed for `quiet` seconds, 2 at most. Changes since the last call
/// count. False where `is_stopped` gives true, which is asked whenever a signal comes.
bool fid_watch_wait(fid_watch *watch, double quiet, bool (*is_stopped)(void));

#endif
