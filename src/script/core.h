#ifndef FID_SCRIPT_CORE_H
#define FID_SCRIPT_CORE_H

#include <lua.h>

/// What the files of `lua/` call in C: puts plain functions into the table `core`. The table on top of the stack is the
/// one that holds `vec`, `frame` and `curve`. Once for each state.
void fid_core_open(lua_State *L);

#endif
