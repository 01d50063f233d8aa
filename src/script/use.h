#ifndef FID_SCRIPT_USE_H
#define FID_SCRIPT_USE_H

#include <lua.h>

/// Puts `module` and `recipe` into the table on top of the stack, and `use`, `mirror` and `fail` into the methods of
/// Rig. Prepares the scopes. Once for each state, after fid_value_open and fid_rig_open.
void fid_use_open(lua_State *L);

#endif
