#ifndef FID_SCRIPT_SESSION_H
#define FID_SCRIPT_SESSION_H

#include "script/recipe.h"

/// An interactive session: forms are run one after the other in one sandbox, with globals that stay, the rig of a
/// recipe as `rig`, and the calls of lua/session.lua. A form that fails leaves things half done: who runs it does so in
/// a copy of the process (app/worker.h).
typedef struct fid_session fid_session;

/// What a form asks of who runs it.
typedef struct fid_session_wish {
    int32_t undo; ///< forms to take back; negative: to do again
    bool is_look; ///< it only looked at something: there is nothing to take back
} fid_session_wish;

/// Begins a session; `file` is the recipe or skeleton that `run()` runs, run once here, or NULL. `print` of the options
/// takes values and what scripts print. `is_stopped`, or NULL, ends a form once it gives true.
/// @return FID_OK, or the code of the error, which is a finding in `report`; `*out` is NULL then
FID_NODISCARD fid_code fid_session_open(const char *file, const fid_recipe_options *options, bool (*is_stopped)(void),
                                        fid_session **out, fid_report *report);

/// Whether the text is a whole form, be it a faulty one; false where more must follow.
bool fid_session_is_whole(fid_session *session, const char *text);

/// Runs one form and prints its values; `*wish` says what it asks of the caller.
/// @return FID_OK, or the code of the error, which is a finding in `report`
FID_NODISCARD fid_code fid_session_run(fid_session *session, const char *form, fid_session_wish *wish,
                                       fid_report *report);

/// How a form that is being typed may go on (script/complete.h).
FID_NODISCARD fid_code fid_session_complete(fid_session *session, const char *text, fid_text *out, fid_report *report);

void fid_session_close(fid_session *session);

#endif
