#ifndef FID_SCRIPT_BIND_CHAIN_H
#define FID_SCRIPT_BIND_CHAIN_H

#include "rig/rig.h"

#include <lua.h>

/// Bones in a row, as scripts hold them. `at` lies in the object, valid while it is on the stack.
typedef struct fid_row {
    fid_rig *rig;
    fid_chain_id chain; ///< null where the rig has no chain of them (a span chain, a copy that hangs from each bone)
    bool with_end;
    int32_t count;
    const fid_bone_id *at;
} fid_row;

/// Makes the metatables and adds `rig:chain` and `rig:span_chain`; once for each state.
void fid_chain_open(lua_State *L);

/// Pushes a Chain of a rig that belongs to the script machine.
void fid_chain_push(lua_State *L, fid_rig *rig, fid_chain_id id);

/// Pushes a Chain of bones that are no chain of the rig.
void fid_chain_push_row(lua_State *L, fid_rig *rig, const fid_bone_id *bones, int32_t count, bool with_end);

/// False where the value is no Chain; raises where one of its bones is gone.
bool fid_chain_get(lua_State *L, int index, fid_row *row);

#endif
