#ifndef FID_SCRIPT_SCOPE_H
#define FID_SCRIPT_SCOPE_H

#include "rig/rig.h"

#include <lua.h>

/// What the code that runs now builds for: the recipe itself, or one instance of a module. One stack per host; `use`
/// pushes and pops. Strings belong to the host.
typedef struct fid_scope {
    fid_rig *rig;       ///< the rig of the instance; NULL in the recipe
    const char *id;     ///< of the instance with those around it: "outer.inner"; NULL in the recipe
    fid_side side;      ///< FID_CENTER where no instance has a side
    bool sided;         ///< an instance gave a side: its code may not
    bool mirrored;      ///< the code builds in the mirrored world: everything read and written is reflected
    fid_bone_id parent; ///< default of `parent`; null: none
    const char *module; ///< "stretch_leg 1.0.0", or NULL
    int32_t used_at;    ///< origin of the line that used the instance, or -1
    int32_t serial;     ///< tells scopes apart: a rig handed to one build is refused in another; 0: the recipe
} fid_scope;

/// The scope of the code that runs now, never NULL. Valid until the next push.
const fid_scope *fid_scope_now(lua_State *L);

/// Enters a scope; its serial is set here. Raises where modules are nested too deeply. Who pushes also pops, whatever
/// happens between.
void fid_scope_push(lua_State *L, const fid_scope *scope);
void fid_scope_pop(lua_State *L);

/// The origin of the element that the running code makes, added to the rig: its innermost line in a recipe or module,
/// and the lines that used the modules. Files are made relative to the recipe's folder. Raises on lack of memory.
int32_t fid_scope_origin(lua_State *L, fid_rig *rig);

/// Prepares the stack of scopes; once for each state, in a protected call.
void fid_scope_open(lua_State *L);

#endif
