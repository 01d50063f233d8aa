#ifndef FID_APP_HISTORY_H
#define FID_APP_HISTORY_H

/// The forms that were entered on a terminal, kept from one session to the next: in the folder `.fid/` of the project
/// (that of the recipe, or the nearest one above it), else for each folder by itself below $XDG_STATE_HOME (XDG Base
/// Directory Specification 0.8; `~/.local/state` where it is not set). At most a thousand forms and a megabyte, the
/// latest ones. Several sessions may use one at once.
typedef struct fid_history fid_history;

/// Opens the one of a folder and hands what it holds to `each`, the oldest first. A file that is damaged is put aside,
/// and what cannot be kept is said, once. NULL where there is no memory or no place.
fid_history *fid_history_open(const char *folder, void (*each)(void *user, const char *form), void *user);

/// Keeps a form; NULL is fine.
void fid_history_add(fid_history *history, const char *form);

void fid_history_close(fid_history *history);

#endif
