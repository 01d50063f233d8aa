#ifndef FID_SCRIPT_RAISE_H
#define FID_SCRIPT_RAISE_H

#include "base/report.h"

#include <lua.h>

#define FID_NORETURN _Noreturn

/// Errors in Lua are tables: `message`, `kind` (the name of the fid_code: "range", "unknown", ...), `subject`, `hint`
/// and `code` (of a rule) where there are any, and `where`, a list of `{file=, line=, instance=, module=}`, innermost
/// first (see fid_host_places). `tostring` gives the message.
///
/// None of these functions returns; the result type lets a binding write `return fid_raise(L, &err)`. They leave by
/// longjmp: the caller holds nothing that needs freeing.
FID_NORETURN int fid_raise(lua_State *L, const fid_error *err);

/// As fid_raise, with a message made as by fid_fail; `subject` may be NULL.
FID_NORETURN FID_PRINTF(4, 5) int fid_raisef(lua_State *L, fid_code code, const char *subject, const char *format, ...);

/// As fid_raise, with the code of a rule ("S204") and with what to do; both may be NULL.
FID_NORETURN int fid_raise_with(lua_State *L, const fid_error *err, const char *rule, const char *hint);

/// As fid_raise_with; `place` (line of a file that does not run, say one that cannot be read) comes first, before where
/// the script stands.
FID_NORETURN int fid_raise_at(lua_State *L, const fid_error *err, const fid_place *place, const char *hint);

/// An error value taken apart: bounded, without control characters. Places' strings belong to the host.
typedef struct fid_raised {
    fid_error error;
    char rule[16];
    char hint[256];
    fid_place places[16];
    int place_count;
} fid_raised;

/// Replaces the value on top of the stack (any type: error table, text of Lua's own, anything that a script raised) by
/// an error table with the places of `L`, unless it is a table already, and takes "file:line: " off the text. Calls
/// nothing of the script's. May raise (memory).
void fid_raise_dress(lua_State *L);

/// As fid_raise_dress for an error that ended the coroutine `from`: the value on top of `L`, the places of `from`, then
/// those of `L`.
void fid_raise_dress_from(lua_State *L, lua_State *from);

/// Reads the error value at `index` into `*out`. May call the script's `__tostring`; what that raises is replaced by a
/// text. May raise (memory, budget).
void fid_raise_read(lua_State *L, int index, fid_raised *out);

/// Makes the metatable of error tables; once for each state.
void fid_raise_open(lua_State *L);

/// "range" for FID_RANGE and so on.
const char *fid_raise_kind(fid_code code);

#endif
