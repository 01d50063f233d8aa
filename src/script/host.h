#ifndef FID_SCRIPT_HOST_H
#define FID_SCRIPT_HOST_H

#include "base/inputs.h"
#include "base/report.h"
#include "base/text.h"
#include "script/limits.h"

#include <lua.h>

/// One Lua state in its sandbox: safe library, memory cap, budget of instructions and a watchdog. Used by one thread.
///
/// While scripts run, the memory cap and the wall clock end the process: it writes one message to stderr and leaves
/// with status 2. The budget of instructions is an ordinary error with a line, except that no `pcall` keeps it from
/// ending the run.
typedef struct fid_host fid_host;

/// Takes what scripts print: one line without its end, not NUL-terminated, as the script made it.
typedef void (*fid_print_function)(void *user, const char *line, size_t count);

/// Makes a host. `recipe_path` is shown in messages as it is given; it is copied. NULL: a session, whose files are
/// those of the working folder.
/// @param limits  NULL for the defaults
/// @return FID_OK, FID_RANGE (limits), FID_LIMIT (a path too long), FID_NO_MEMORY
FID_NODISCARD fid_code fid_host_open(const fid_limits *limits, const char *recipe_path, fid_host **out, fid_error *err);

/// Frees the state and every string that the host gave out; NULL is fine. Not from within a run.
void fid_host_close(fid_host *host);

/// The main thread of the state. Everything that can raise is done in fid_host_run.
lua_State *fid_host_state(fid_host *host);

/// The host of a state or of one of its coroutines.
fid_host *fid_host_of(lua_State *L);

/// The recipe's path as given, or NULL in a session.
const char *fid_host_recipe(const fid_host *host);

/// Makes another file of the same folder the recipe.
/// @return FID_OK, FID_LIMIT (a path too long), FID_NO_MEMORY
FID_NODISCARD fid_code fid_host_set_recipe(fid_host *host, const char *path, fid_error *err);

/// The file at which errors without a place are laid; the recipe at first. NULL: none, as for what is typed in a
/// session.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_host_blame(fid_host *host, const char *file, fid_error *err);

/// The recipe's folder as shown ("recipes", "." for a session): where files that a script names are looked for.
const char *fid_host_folder(const fid_host *host);

/// Runs `body` in a protected call under watchdog, memory cap and budget; it finds `user` as a light userdata at index
/// 1, its results are dropped. A run within a run is refused (FID_INVALID).
///
/// An error is added to `report` with severity error: code "" or the one that the error value carries, subject,
/// message, hint, places. Warnings of the script (fid_host_warn) are there, too, whatever the end.
/// @return FID_OK or the code of the error; an exceeded budget is FID_LIMIT whatever the script did with it
FID_NODISCARD fid_code fid_host_run(fid_host *host, lua_CFunction body, void *user, fid_report *report);

/// What scripts print goes to `function`, which must not raise; NULL discards it, as at the beginning.
void fid_host_set_print(fid_host *host, fid_print_function function, void *user);

/// Hands one line to the function set with fid_host_set_print.
void fid_host_print(fid_host *host, const char *line, size_t count);

/// Each file that scripts read is noted in `inputs`, which must live as long as the host; NULL notes none, as at the
/// beginning.
/// A function that ends a run with an error, as the budget does, once it gives true; NULL: none.
void fid_host_set_stop(fid_host *host, bool (*is_stopped)(void));

void fid_host_set_inputs(fid_host *host, fid_inputs *inputs);

/// Reads a file that a script names, beneath `folder` (fid_file_read_beneath), or the recipe itself with NULL
/// (fid_file_read), and notes it. Everything that scripts read goes through here. `*out` is empty on failure.
FID_NODISCARD fid_code fid_host_read(fid_host *host, const char *folder, const char *path, size_t max_bytes,
                                     fid_text *out, fid_error *err);

/// True if a file that scripts have read stands at `path`, by whatever name: no output goes there.
bool fid_host_is_input(const fid_host *host, const char *path);

/// Adds a warning to the report of the run, laid where the script stands; once for each place and message, at most a
/// thousand of them. `hint` may be NULL. Charges nothing, raises nothing.
void fid_host_warn(lua_State *L, const char *subject, const char *message, const char *hint);

/// Names what runs, for the messages of memory cap and watchdog: "leg1 (left) of stretch_leg 1.0.0". Copied and cut at
/// 159 bytes; NULL or "": nothing in particular. fid_host_enter and fid_host_leave set it by themselves.
void fid_host_set_activity(fid_host *host, const char *activity);

/// Charges `steps` to the budget and raises its error where it is used up. Bindings charge work that grows with their
/// input, and about a thousand steps for each element of a rig.
void fid_host_charge(lua_State *L, int64_t steps);

/// Raises the budget's error again where it is used up; does nothing otherwise. For bindings that catch errors.
void fid_host_check_budget(lua_State *L);

/// Counts `bytes` (negative: gives back) that a script made the program hold outside of Lua. Over the cap the process
/// ends as described above.
void fid_host_hold(fid_host *host, ptrdiff_t bytes);

/// A copy of `text` that lives as long as the host, the same for the same text; NULL if there is no memory (or `text`
/// is NULL).
const char *fid_host_intern(fid_host *host, const char *text);

/// Enters an instance. `use` tells the line at which it is used (file, line) and what is entered (instance, module); it
/// is copied. Leave must follow, also after an error: fid_host_call_within sees to both.
/// @return FID_OK, FID_LIMIT (modules nested too deeply), FID_NO_MEMORY
FID_NODISCARD fid_code fid_host_enter(fid_host *host, const fid_place *use, fid_error *err);

void fid_host_leave(fid_host *host);

/// Calls the function that lies below its `arguments` on the stack, as lua_call does, within the instance `use` (see
/// fid_host_enter). An error goes on to the caller, with the places of where it arose; coroutines cannot yield across.
void fid_host_call_within(lua_State *L, int arguments, int results, const fid_place *use);

/// Where the script stands, innermost first: the innermost line of a script of the user's (the product's own Lua, whose
/// source is "=fid", and C functions are passed over), then for each active instance the line that uses it. Strings
/// belong to the host. Charges nothing, raises nothing.
/// @return how many places were written; 0 outside of scripts, or without memory
int fid_host_places(lua_State *L, fid_place out[FID_LIMIT_PLACES]);

#endif
