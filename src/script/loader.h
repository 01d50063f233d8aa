#ifndef FID_SCRIPT_LOADER_H
#define FID_SCRIPT_LOADER_H

#include "base/error.h"
#include "script/path.h"

#include <lua.h>

struct fid_host;

/// Functions that take a lua_State raise their errors (script/raise.h) and are called within a run. Only UTF-8 text is
/// loaded; a chunk's source is "@" and its path as shown. Each chunk has a fresh environment whose reads fall through
/// to the shared library and whose `require` knows
/// `"fid"` and the files below the chunk's own folder (`"name.part"` is `name/part.lua`).

/// The embedded file of that path ("lua/module.lua", "modules/post/module.lua"), or NULL. Runs nothing.
struct fid_embedded;
const struct fid_embedded *fid_loader_find_embedded(const char *path);

/// Prepares the registry; once for each state, in a protected call.
void fid_loader_open(lua_State *L);

/// More folders with modules, separated by colons (each holds `NAME/module.lua` or `modules/NAME/module.lua`); NULL:
/// none. Copied.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_loader_set_path(struct fid_host *host, const char *folders, fid_error *err);

/// Those folders, or NULL.
const char *fid_loader_path(const struct fid_host *host);

/// From now on a module that is not as in its `fid.lock`, or in none, is an error; else a warning where there is one.
void fid_loader_set_locked(struct fid_host *host, bool locked);

/// Takes the value on top of the stack as what `require "fid"` gives.
void fid_loader_set_fid(lua_State *L);

/// Pushes the table `core` that the product's own Lua sees; the owner puts C functions into it.
void fid_loader_push_core(lua_State *L);

/// Pushes the value of the product's own file `lua/NAME.lua`, which runs once (source "=fid", private environment with
/// `core`, and a `require` that leads to the other files of `lua/`).
void fid_loader_run_own(lua_State *L, const char *name);

/// Forgets files and modules that were read, so that they are read anew.
void fid_loader_forget(lua_State *L);

/// Calls the function on top of the stack, without arguments, as if no file or module had been read yet, and replaces
/// it by its one value. Afterwards all is known again that was; what it prints and warns of is not heard.
void fid_loader_call_anew(lua_State *L);

/// Runs text as a recipe of the host's folder that is shown as `shown`, and pushes its one value.
void fid_loader_run_text(lua_State *L, const char *bytes, size_t count, const char *shown);

/// Reads and runs the recipe of the host and pushes its one value (nil if it returns nothing).
void fid_loader_run_recipe(lua_State *L);

/// Pushes the environment of the session, the same at each call: globals stay from one form to the next.
void fid_loader_push_session(lua_State *L);

/// Pushes the function that `count` bytes of Lua text make, with the table on top of the stack (which is replaced) as
/// its environment. `shown` is the path in messages. The bytes may be freed by the caller only afterwards, so they must
/// not need freeing if this raises.
void fid_loader_load_text(lua_State *L, const char *bytes, size_t count, const char *shown);

/// From now on the module `name` is the one in `folder`, wherever else there is one. Copied.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_loader_place_module(struct fid_host *host, const char *name, const char *folder,
                                               fid_error *err);

/// Pushes the function of the file `name` ("module.lua") of the module in `folder` ("modules/post",
/// "fid:modules/post"); `shown` is its path.
void fid_loader_load_module(lua_State *L, const char *folder, const char *name, fid_file_path *shown);

/// Pushes the value of the module `name`; its chunk runs once. Looked for as fid_module_find does, whose errors are
/// raised, from the recipe's folder on.
void fid_loader_find_module(lua_State *L, const char *name);

/// The path as shown of the file that the module came from ("modules/stretch_leg/module.lua", "fid:modules/..."), or
/// NULL if it is not loaded. The string belongs to the host.
const char *fid_loader_module_source(lua_State *L, const char *name);

#endif
