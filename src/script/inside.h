#ifndef FID_SCRIPT_INSIDE_H
#define FID_SCRIPT_INSIDE_H

#include "base/map.h"

#include "script/host.h"
#include "script/library.h"
#include "script/raise.h"
#include "script/watchdog.h"

/// The inside of a host: for host.c, raise.c, loader.c and the files of the library only.

enum {
    /// After how many steps of the script machine the budget is looked at.
    FID_HOST_STEP = 1000,
    /// Bytes of text that cost as much as one step.
    FID_HOST_BYTES_PER_STEP = 8,
    FID_HOST_ACTIVITY_SIZE = 160
};

/// A coroutine that waits for one that it resumed; on the C stack of that resume.
typedef struct fid_resumer {
    lua_State *L;
    struct fid_resumer *outer;
} fid_resumer;

struct fid_host {
    lua_State *L;
    fid_limits limits;
    size_t used; ///< bytes held by Lua
    size_t held; ///< bytes held elsewhere on behalf of scripts
    bool is_running;

    int64_t steps;
    bool is_spent;            ///< the budget is used up; every further step raises
    bool (*is_stopped)(void); ///< or NULL
    fid_raised spent;         ///< the first error that said so

    fid_watchdog watchdog;
    char activity[FID_HOST_ACTIVITY_SIZE];

    fid_place instances[FID_LIMIT_INSTANCES];
    int instance_count;
    fid_resumer *resumer;

    fid_print_function print;
    void *print_user;
    fid_inputs *inputs; ///< or NULL
    fid_report *report; ///< of the run; NULL outside of one
    fid_library_rank rank;

    fid_arena arena; ///< of interned strings
    fid_map names;
    FID_ARRAY(const char *) strings;

    const char *recipe;      ///< NULL in a session without one
    const char *blamed;      ///< the file of errors that have no other place; NULL: none
    const char *folder;      ///< of the recipe
    const char *module_path; ///< or NULL
    const char *placed_name; ///< a module that is in the folder that was told; NULL: none is
    const char *placed_folder;
    bool is_locked; ///< modules must be as in their fid.lock
};

/// Leaves all instances entered since the depth was `depth`.
void fid_host_leave_to(fid_host *host, int depth);

/// The message handler of protected calls: fid_raise_dress.
int fid_raise_handle(lua_State *L);

/// Puts fields `concat`, `sort`, ... of the tables `string`, `utf8` and `table` into the table on top of the stack,
/// which has the original ones.
void fid_library_guard_text(lua_State *L);
void fid_library_guard_utf8(lua_State *L);
void fid_library_guard_table(lua_State *L);

/// `pairs` and `table.sort`.
int fid_library_pairs(lua_State *L);
int fid_library_sort(lua_State *L);

/// Adds `coroutine.create`, `resume` and `wrap` to the table on top of the stack.
void fid_library_guard_coroutine(lua_State *L);

/// Looks up `key` in the table of the registry at `cache` (an address). True, with the value pushed, where it is there;
/// raises where it is still running.
bool fid_loader_push_known(lua_State *L, const char *cache, const char *key);

/// Calls the function on top of the stack once and replaces it by its value, which is kept as `key`. In the meantime a
/// second call is an error. A file that returns nothing counts as `true`.
void fid_loader_run_once(lua_State *L, const char *cache, const char *key);

/// Pushes the environment of a chunk that may require files below `folder`.
void fid_loader_push_user_environment(lua_State *L, const char *folder, bool is_embedded);

/// Pushes the function of the file `relative` below `folder`, shown as `shown`; it may require files below
/// `own_folder`.
void fid_loader_load_beneath(lua_State *L, const char *folder, const char *relative, const char *shown,
                             const char *own_folder);

/// Prepares the registry for modules.
void fid_loader_open_modules(lua_State *L);

/// Pushes the two tables of modules that were read; and takes two such tables from the stack.
void fid_loader_push_modules(lua_State *L);
void fid_loader_set_modules(lua_State *L);

/// Pushes a function that charges what its text arguments and results cost and calls the one on top of the stack, which
/// it replaces.
void fid_library_wrap(lua_State *L);

#endif
