#include "script/scope.h"

#include "script/host.h"
#include "script/raise.h"
#include "script/relative.h"

#include <stdio.h>
#include <string.h>

/// Its address is the key of the stack in the registry.
static const char stack_key = 's';

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

int32_t fid_scope_origin(lua_State *L, fid_rig *rig) {
    fid_place places[FID_LIMIT_PLACES];
    int count = fid_host_places(L, places);
    const char *folder = fid_host_folder(fid_host_of(L));
    int32_t used_at = -1;
    for (int i = count - 1; i >= 0; i--) {
        char file[FID_RELATIVE_SIZE];
        if (places[i].file == NULL) {
            // Code that no file holds makes nothing that could be looked up.
            continue;
        }
        fid_relative_path(folder, places[i].file, file);
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
