#include "script/scope.h"

#include "script/host.h"
#include "script/raise.h"

#include <stdio.h>
#include <string.h>

/// Its address is the key of the stack in the registry.
static const char stack_key = 's';

/// For a path that is shown.
enum { PATH_ROOM = 1200 };

typedef struct scope_stack {
    fid_scope at[FID_LIMIT_INSTANCES + 1];
    int32_t count; ///< 1 or more: the recipe is always there
    int32_t serial;
} scope_stack;

static scope_stack *get_stack(lua_State *L) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &stack_key);
    scope_stack *stack = lua_touserdata(L, -1);
    lua_pop(L, 1);
    return stack;
}

void fid_scope_open(lua_State *L) {
    scope_stack *stack = lua_newuserdatauv(L, sizeof *stack, 0);
    memset(stack, 0, sizeof *stack);
    stack->at[0].side = FID_CENTER;
    stack->at[0].used_at = -1;
    stack->count = 1;
    lua_rawsetp(L, LUA_REGISTRYINDEX, &stack_key);
}

const fid_scope *fid_scope_now(lua_State *L) {
    const scope_stack *stack = get_stack(L);
    return &stack->at[stack->count - 1];
}

void fid_scope_push(lua_State *L, const fid_scope *scope) {
    scope_stack *stack = get_stack(L);
    if (stack->count > FID_LIMIT_INSTANCES) {
        fid_raisef(L, FID_LIMIT, scope->id, "modules use one another more than %d deep", (int)FID_LIMIT_INSTANCES);
    }
    fid_scope *now = &stack->at[stack->count++];
    *now = *scope;
    now->serial = ++stack->serial;
}

void fid_scope_pop(lua_State *L) {
    scope_stack *stack = get_stack(L);
    if (stack->count > 1) {
        stack->count--;
    }
}

/// Where the part of `path` that follows a whole folder begins, and the same of `folder`: what both have in common is
/// passed over.
static void skip_common(const char **path, const char **folder) {
    const char *p = *path;
    const char *f = *folder;
    for (size_t i = 0;; i++) {
        bool ends = f[i] == '\0' || f[i] == '/';
        if (ends && p[i] == '/') {
            *path = p + i + 1;
            *folder = f[i] == '/' ? f + i + 1 : f + i;
        }
        if (f[i] == '\0' || p[i] != f[i]) {
            return;
        }
    }
}

/// Writes `path` as seen from `folder`. Both are as shown in messages: relative to the working folder, or absolute.
/// Where the way cannot be told from the texts alone, the path stays as it is.
static void make_relative(const char *folder, const char *path, char out[PATH_ROOM]) {
    const char *rest = path;
    const char *from = folder;
    bool is_apart = strncmp(path, "fid:", 4) == 0 || strcmp(folder, ".") == 0 || (folder[0] == '/') != (path[0] == '/');
    if (!is_apart) {
        skip_common(&rest, &from);
    }
    size_t used = 0;
    while (!is_apart && *from != '\0') {
        size_t length = strcspn(from, "/");
        is_apart = (length == 2 && strncmp(from, "..", 2) == 0) || used + 3 >= PATH_ROOM;
        if (!is_apart) {
            memcpy(out + used, "../", 3);
            used += 3;
            from += length + (from[length] == '/' ? 1 : 0);
        }
    }
    if (is_apart) {
        snprintf(out, PATH_ROOM, "%s", path);
    } else {
        snprintf(out + used, PATH_ROOM - used, "%s", rest);
    }
}

int32_t fid_scope_origin(lua_State *L, fid_rig *rig) {
    fid_place places[FID_LIMIT_PLACES];
    int count = fid_host_places(L, places);
    const char *folder = fid_host_folder(fid_host_of(L));
    int32_t used_at = -1;
    for (int i = count - 1; i >= 0; i--) {
        char file[PATH_ROOM];
        if (places[i].file == NULL) {
            // Code that no file holds makes nothing that could be looked up.
            continue;
        }
        make_relative(folder, places[i].file, file);
        fid_origin origin = {
            .file = file,
            .line = places[i].line,
            .module = places[i].module,
            .instance = places[i].instance,
            .used_at = used_at,
        };
        fid_error err;
        if (fid_rig_add_origin(rig, &origin, &used_at, &err) != FID_OK) {
            fid_raise(L, &err);
        }
    }
    return used_at;
}
