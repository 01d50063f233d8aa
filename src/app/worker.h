#ifndef FID_APP_WORKER_H
#define FID_APP_WORKER_H

#include "base/text.h"
#include "script/recipe.h"

/// The states of a session, each a process of its own that sleeps: before a form is run, the process that is awake
/// makes a copy of itself, which keeps the state. Where the form succeeds the copy sleeps on; where it fails, is
/// stopped or breaks a limit, the process that ran it is gone, and the copy goes on in its place, as it was, whatever
/// the form had done. undo() wakes an earlier state, redo() a later one; a form that is run after undo() ends those
/// that were ahead.
typedef struct fid_worker fid_worker;

typedef enum fid_worker_outcome {
    FID_WORKER_DONE,
    FID_WORKER_FAILED, ///< what is wrong was printed
    FID_WORKER_LOST,   ///< the session has ended: standard output cannot be written, no memory, or the process of the
                       ///< present state was ended from outside; printed, too
} fid_worker_outcome;

/// Begins a session (script/session.h) in a process of its own. Prints what is wrong; returns an exit status, and
/// `*out` only with 0. `options` must live as long.
int fid_worker_start(const char *file, const fid_recipe_options *options, fid_worker **out);

/// Runs one form. A SIGINT that comes meanwhile stops it; a second one, or one that is not heard, ends its process.
fid_worker_outcome fid_worker_run(fid_worker *worker, const char *form);

/// Whether the text is a whole form: FID_WORKER_DONE or FID_WORKER_LOST.
fid_worker_outcome fid_worker_is_whole(fid_worker *worker, const char *text, bool *is_whole);

/// Puts into `out` how a form that is being typed may go on (script/complete.h); nothing where that is not known.
void fid_worker_complete(fid_worker *worker, const char *text, fid_text *out);

/// Ends all processes.
void fid_worker_stop(fid_worker *worker);

#endif
