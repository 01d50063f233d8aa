#ifndef FID_SCRIPT_BIND_CONSTRAINT_H
#define FID_SCRIPT_BIND_CONSTRAINT_H

#include "rig/rig.h"

#include <lua.h>

/// Makes the metatables and adds `rig:follow`, `aim`, `span`, `ik`, `limit` and `spaces`; once for each state.
void fid_constraint_open(lua_State *L);

/// Pushes a Constraint of a rig that belongs to the script machine.
void fid_constraint_push(lua_State *L, fid_rig *rig, fid_constraint_id id);

/// False where the value is no Constraint; raises where it is gone. `rig` may be NULL.
bool fid_constraint_get(lua_State *L, int index, fid_rig **rig, fid_constraint_id *id);

#endif
