#ifndef FID_SCRIPT_SESSION_H
#define FID_SCRIPT_SESSION_H

#include "script/recipe.h"

/// An interactive session: forms are run one after the other in one sandbox, with globals that stay, the rig of a
/// recipe as `rig`, and the calls of lua/session.lua (run, set, solve, check, show, export, help). A form that fails
/// leaves globals and rig as they were.
typedef struct fid_session fid_session;

/// Begins a session; `file` is the recipe that `run()` runs, run once here, or NULL. `print` of the options takes
/// values and what scripts print.
/// @return FID_OK, or the code of the error, which is a finding in `report`; `*out` is NULL then
FID_NODISCARD fid_code fid_session_open(const char *file, const fid_recipe_options *options, fid_session **out,
                                        fid_report *report);

/// Runs one form and prints its values. `*incomplete` says that the text goes on (nothing was run, no finding).
/// @return FID_OK, or the code of the error, which is a finding in `report`
FID_NODISCARD fid_code fid_session_run(fid_session *session, const char *form, bool *incomplete, fid_report *report);

void fid_session_close(fid_session *session);

#endif
