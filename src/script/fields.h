#ifndef FID_SCRIPT_FIELDS_H
#define FID_SCRIPT_FIELDS_H

#include "rig/rig.h"

#include <lua.h>

/// A record to fill and the description of its fields.
typedef struct fid_fields_target {
    const fid_schema *schema;
    void *record;
} fid_fields_target;

/// Pushes an arena that is freed with its userdata: what is read into it lives until that is off the stack.
fid_arena *fid_fields_push_arena(lua_State *L);

/// Reads a table of named arguments into records that hold their defaults. Outlines are left to the caller. Raises
/// where a key is unknown (with the nearest right one), a value has the wrong type, is out of range or not finite, or a
/// required one is missing.
///
/// @param table   index of the arguments
/// @param call    "bone{}", for messages
/// @param rig     what the values have to belong to
/// @param extra   more keys that the caller reads itself, closed by NULL; may be NULL
void fid_fields_read(lua_State *L, int table, const char *call, fid_rig *rig, fid_arena *arena,
                     const fid_fields_target *targets, int32_t count, const char *const *extra);

/// Reads one source (a Bone, bone:point(f), {between = {a, b, f}}, "rig", "world"); raises where the value is none.
fid_source fid_fields_source(lua_State *L, int index, const char *call, const char *key, fid_rig *rig);

/// Reads one text of at most 1000 bytes of UTF-8 into the arena.
const char *fid_fields_text(lua_State *L, int index, const char *call, const char *key, fid_arena *arena);

#endif
