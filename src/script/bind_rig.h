#ifndef FID_SCRIPT_BIND_RIG_H
#define FID_SCRIPT_BIND_RIG_H

#include "rig/rig.h"

#include <lauxlib.h>
#include <lua.h>

/// Rigs in scripts. A rig belongs to the script machine until fid_rig_release; every object of it (Rig, Bone, Chain,
/// ...) refers to it and becomes stale with it. The functions raise their errors (script/raise.h).

/// Makes the metatables; once for each state, in a protected call. Adds `rig` to the table on top of the stack.
void fid_rig_open(lua_State *L);

/// Gives a rig to the script machine and pushes a Rig for the scope `scope_serial`. `*rig` becomes NULL as soon as the
/// machine owns it: where this raises before, it is still the caller's.
void fid_rig_adopt(lua_State *L, fid_rig **rig, int32_t scope_serial);

/// Pushes a Rig for the scope `scope_serial` of a rig that belongs to the script machine.
void fid_rig_push(lua_State *L, fid_rig *rig, int32_t scope_serial);

/// True where the value is a Rig, of whatever scope, also one that is gone.
bool fid_rig_is(lua_State *L, int index);

/// The rig of the Rig at `index`. Raises where the value is none, where the rig is gone, and where it was made for
/// another scope than the one that runs now.
fid_rig *fid_rig_get(lua_State *L, int index);

/// Takes the rig of the Rig at `index` (of whatever scope) out of the machine's hands: the caller frees it, every
/// object of it is stale. Raises where the value is no Rig or the rig is gone.
fid_rig *fid_rig_release(lua_State *L, int index);

/// Pushes the table of the methods of Rig, where more may be added.
void fid_rig_methods(lua_State *L);

/// Adds functions to the methods of Rig; `methods` ends with an entry without a name.
void fid_rig_add_methods(lua_State *L, const luaL_Reg *methods);

/// Reads a table {template, index, sides, roles} (or nil: the default) that says how names are rendered.
void fid_naming_read(lua_State *L, int index, fid_naming *out);

#endif
