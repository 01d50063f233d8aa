#ifndef FID_SCRIPT_LIBRARY_H
#define FID_SCRIPT_LIBRARY_H

#include "base/error.h"

#include <stdint.h>

#include <lua.h>

/// The rank of a userdata among keys, by order of creation, or -1 where it cannot be ordered. Must not raise.
typedef int64_t (*fid_library_rank)(lua_State *L, int index);

struct fid_host;

/// Builds the safe part of the standard library. Once for each state, in a protected call.
void fid_library_open(lua_State *L);

/// Pushes the shared, read-only table of everything that scripts see without `require`.
void fid_library_push(lua_State *L);

/// Tells how `pairs` and fid_library_push_keys order userdata as keys; without it they are an error.
void fid_library_set_key_order(struct fid_host *host, fid_library_rank rank);

/// Replaces the table on top of the stack by a view that cannot be written, has no visible metatable and shows no key
/// to `pairs`; a write is an error that speaks of `name`.
void fid_library_seal(lua_State *L, const char *name);

/// Pushes a list of the keys of the table at `index` in the order of `pairs`: numbers ascending, then text by its
/// bytes, then userdata by rank. Raises for any other key, naming it.
void fid_library_push_keys(lua_State *L, int index);

/// Pushes the text that `tostring` gives for the value at `index`: never an address. May call `__tostring`, may raise.
/// Returns the text.
const char *fid_library_push_text(lua_State *L, int index, size_t *length);

#endif
