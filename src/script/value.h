#ifndef FID_SCRIPT_VALUE_H
#define FID_SCRIPT_VALUE_H

#include "math/frame.h"
#include "math/vec3d.h"

#include <lua.h>

/// Points and frames as values in scripts. Both are immutable userdata with operators; points are kept in double
/// precision, frames are rigid.
/// All of these may raise through fid_raise; `what` names the argument in the message ("'at'", "'points' [3]").

void fid_vec_push(lua_State *L, fid_vec3d value);

/// Pushes the frame without its scale.
void fid_frame_push(lua_State *L, fid_frame value);

/// True if the value is a vec, a list of exactly three finite numbers, or a userdata whose metatable has a function
/// `__point` that gives a vec for it. Raises for a list of the wrong length or with a value that is not finite.
bool fid_vec_get(lua_State *L, int index, const char *what, fid_vec3d *out);

/// As fid_vec_get, rounded to single precision; raises where the value is no point.
fid_vec3 fid_vec_need(lua_State *L, int index, const char *what);

/// True if the value is a frame.
bool fid_frame_get(lua_State *L, int index, fid_frame *out);

/// What the value is, for messages: "a number", "a vec", "nothing" (nil). Lives as long as the value.
const char *fid_value_kind(lua_State *L, int index);

/// Refuses keys of the table at `index` that are not among the NULL-terminated `keys`, naming `call` ("fid.frame{}")
/// and the nearest right one; refuses a value that is no table, too.
/// Then nothing of a script runs while the arguments are read: a table with a metatable is refused as well.
void fid_value_check_keys(lua_State *L, int index, const char *call, const char *const *keys);

/// Refuses a table with a metatable: `what` ("rig:bone{}: 'tags'") takes a plain one.
void fid_value_check_plain(lua_State *L, int index, const char *what);

/// The length of the plain table at `index`; refuses a metatable, names as keys, and holes. `max` is the longest.
int32_t fid_value_check_list(lua_State *L, int index, const char *what, int32_t max);

/// Puts fid.vec and fid.frame, and the plain values of script/helpers.h, into the table on top of the stack. Once for
/// each state.
void fid_value_open(lua_State *L);

#endif
