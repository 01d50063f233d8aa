#include "script/use.h"

#include "rig/rig.h"
#include "script/bind_bone.h"
#include "script/bind_rig.h"
#include "script/embedded.h"
#include "script/host.h"
#include "script/loader.h"
#include "script/raise.h"
#include "script/scope.h"

#include <lauxlib.h>
#include <sha2.h>
#include <stdio.h>
#include <string.h>

/// Room for "outer.inner (left) of stretch_leg 1.0.0".
enum { LABEL_SIZE = 256 };

/// Raises the lack of memory where the host could keep no copy.
static const char *keep(lua_State *L, const char *text) {
    const char *kept = fid_host_intern(fid_host_of(L), text);
    if (kept == NULL) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    return kept;
}

/// "leg1 (left)", or "leg1" without a side.
static void write_instance(const char *id, fid_side side, char out[LABEL_SIZE]) {
    if (side == FID_CENTER) {
        snprintf(out, LABEL_SIZE, "%s", id);
    } else {
        snprintf(out, LABEL_SIZE, "%s (%s)", id, fid_side_names[side]);
    }
}

/// core.scope(rig): refuses a rig of another scope, and tells about this one: id, label, module, sided, parent.
static int tell_scope(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1);
    const fid_scope *scope = fid_scope_now(L);
    lua_createtable(L, 0, 4);
    if (scope->id != NULL) {
        char instance[LABEL_SIZE];
        write_instance(scope->id, scope->side, instance);
        lua_pushstring(L, scope->id);
        lua_setfield(L, -2, "id");
        lua_pushfstring(L, "%s of %s", instance, scope->module);
        lua_setfield(L, -2, "label");
        lua_pushstring(L, scope->module);
        lua_setfield(L, -2, "module");
    }
    lua_pushboolean(L, scope->sided);
    lua_setfield(L, -2, "sided");
    fid_bone_push(L, rig, scope->parent);
    lua_setfield(L, -2, "parent");
    return 1;
}

/// core.check_id(rig, id): refuses an id that no bone of the rig could be named by.
static int check_id(lua_State *L) {
    const fid_rig *rig = fid_rig_get(L, 1);
    fid_name_fields fields = {.part = "part", .id = luaL_checkstring(L, 2)};
    fid_error err = {0};
    if (fid_name_fields_check(&rig->naming, &fields, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    return 0;
}

/// core.has(rig, bone): whether the bone is one of the rig.
static int has_bone(lua_State *L) {
    const fid_rig *rig = fid_rig_get(L, 1);
    fid_rig *owner = NULL;
    fid_bone_id id;
    lua_pushboolean(L, fid_bone_get(L, 2, &owner, &id) && owner == rig);
    return 1;
}

/// core.height(rig): in metres.
static int tell_height(lua_State *L) {
    lua_pushnumber(L, (lua_Number)fid_rig_get(L, 1)->height);
    return 1;
}

/// core.is_rig(value)
static int is_rig(lua_State *L) {
    lua_pushboolean(L, fid_rig_is(L, 1));
    return 1;
}

/// Refuses an instance that is there already: a bone tells which instance made it.
static void refuse_twin(lua_State *L, const fid_rig *rig, const char *instance) {
    for (int32_t i = 0; i < rig->bones.count; i++) {
        int32_t origin = rig->bones.at[i].def.origin;
        for (; origin >= 0 && origin < rig->origins.count; origin = rig->origins.at[origin].used_at) {
            const fid_origin *made = &rig->origins.at[origin];
            if (made->instance == NULL || strcmp(made->instance, instance) != 0 || made->used_at < 0) {
                continue;
            }
            const fid_origin *used = &rig->origins.at[made->used_at];
            fid_raisef(L, FID_NAME_TAKEN, instance, "there is an instance '%s' already, used at %s:%d, of %s", instance,
                       used->file != NULL ? used->file : "?", (int)used->line,
                       made->module != NULL ? made->module : "?");
        }
    }
}

/// What core.build keeps at hand while the build runs.
typedef struct building {
    fid_place use;
    fid_rig *rig;
    int32_t first_bone;
} building;

/// A bone of the instance that has the part, or the slider, of today gets the address of before.
static void note_moved(lua_State *L, fid_rig *rig, fid_bone_id id, const char *kind, const char *from, const char *to) {
    const fid_bone *bone = fid_rig_bone(rig, id, NULL);
    char address[FID_ADDRESS_SIZE];
    fid_text text = {0};
    fid_slider_id slider = {{0, 0}};
    fid_name_fields fields = fid_bone_fields(&bone->def);
    if (strcmp(kind, "parts") == 0 && strcmp(bone->def.part, to) == 0) {
        fields.part = from;
        fid_address_render(&fields, address);
        if (!fid_handle_is_null(fid_rig_find_bone(rig, address).handle)) {
            fid_raisef(L, FID_NAME_TAKEN, from, "the part '%s' has moved to '%s', and there is a bone '%s'", from, to,
                       address);
        }
        fid_text_add(&text, address);
    } else if (strcmp(kind, "sliders") == 0) {
        slider = fid_rig_find_slider(rig, id, to);
        if (!fid_handle_is_null(slider.handle)) {
            fid_text_addf(&text, "%s.%s", bone->address, from);
        }
    }
    fid_error err = {0};
    fid_code code = text.failed       ? fid_no_memory(&err)
                    : text.count == 0 ? FID_OK
                                      : fid_rig_add_moved(rig, text.at, id, slider, &err);
    fid_text_clear(&text);
    if (code != FID_OK) {
        fid_raise(L, &err);
    }
}

/// Notes the names of before that the list `moved` of the info at index 4 ({kind, old, new}) tells of.
static void note_all_moved(lua_State *L, fid_rig *rig, int32_t first) {
    const char *id = fid_scope_now(L)->id;
    lua_getfield(L, 4, "moved");
    for (lua_Integer i = 1; lua_type(L, -1) == LUA_TTABLE && lua_rawgeti(L, -1, i) == LUA_TTABLE; i++) {
        for (int k = 1; k <= 3; k++) {
            lua_rawgeti(L, -k, k);
        }
        for (int32_t bone = first; bone < rig->bones.count; bone++) {
            const char *own = rig->bones.at[bone].def.id;
            if (own != NULL && strcmp(own, id) == 0) {
                note_moved(L, rig, fid_rig_bone_at(rig, bone), lua_tostring(L, -3), lua_tostring(L, -2),
                           lua_tostring(L, -1));
            }
        }
        lua_pop(L, 4);
    }
    lua_settop(L, 4);
}

/// In a protected call: run, check, a light userdata of the building, and the info. Gives what the build returned,
/// checked.
static int run_build(lua_State *L) {
    const building *now = lua_touserdata(L, 3);
    lua_pushvalue(L, 2);
    lua_pushvalue(L, 1);
    fid_rig_push(L, now->rig, fid_scope_now(L)->serial);
    fid_host_call_within(L, 1, 1, &now->use);
    lua_call(L, 1, 1);
    lua_replace(L, 1);
    lua_settop(L, 4);
    note_all_moved(L, now->rig, now->first_bone);
    lua_settop(L, 1);
    return 1;
}

/// The digest of a module's file, as text.
static void write_digest(lua_State *L, const char *name, char out[SHA256_DIGEST_STRING_LENGTH]) {
    const char *shown = fid_loader_module_source(L, name);
    if (shown != NULL && strncmp(shown, "fid:", 4) == 0) {
        const struct fid_embedded *file = fid_loader_find_embedded(shown + 4);
        if (file != NULL) {
            SHA256Data(file->bytes, file->size, out);
            return;
        }
    }
    if (shown == NULL || SHA256File(shown, out) == NULL) {
        fid_raisef(L, FID_IO, name, "the file of module '%s' cannot be read again", name);
    }
}

/// Notes "stretch_leg 1.0.0" among the modules that took part.
static void add_module(lua_State *L, fid_rig *rig, const char *label) {
    char name[LABEL_SIZE], digest[SHA256_DIGEST_STRING_LENGTH];
    snprintf(name, sizeof name, "%s", label);
    char *space = strchr(name, ' ');
    if (space == NULL) {
        return;
    }
    *space = '\0';
    for (int32_t i = 0; i < rig->modules.count; i++) {
        const fid_module_mark *known = &rig->modules.at[i];
        if (strcmp(known->name, name) == 0 && strcmp(known->version, space + 1) == 0) {
            return;
        }
    }
    write_digest(L, name, digest);
    fid_module_mark mark = {.name = name, .version = space + 1, .sha256 = digest};
    fid_error err;
    if (fid_rig_add_module(rig, &mark, &err) != FID_OK) {
        fid_raise(L, &err);
    }
}

/// Once the outermost instance stands: it and all that it used. What failed on the way has left no origin.
static void add_modules(lua_State *L, fid_rig *rig, const char *label, int32_t first_origin) {
    add_module(L, rig, label);
    for (int32_t i = first_origin; i < rig->origins.count; i++) {
        if (rig->origins.at[i].module != NULL) {
            add_module(L, rig, rig->origins.at[i].module);
        }
    }
}

/// The error on top of the stack goes on. One that is laid at the line that uses the module loses its places until the
/// recipe is reached.
static int go_on(lua_State *L) {
    if (lua_type(L, -1) == LUA_TTABLE) {
        lua_pushliteral(L, "outward");
        bool outward = lua_rawget(L, -2) == LUA_TBOOLEAN && lua_toboolean(L, -1) != 0;
        lua_pop(L, 1);
        if (outward) {
            lua_pushliteral(L, "where");
            lua_pushnil(L);
            lua_rawset(L, -3);
            fid_raise_dress(L);
        }
    }
    return lua_error(L);
}

static fid_side read_side(lua_State *L, int info) {
    fid_side side = FID_CENTER;
    if (lua_getfield(L, info, "side") == LUA_TSTRING) {
        side = strcmp(lua_tostring(L, -1), "right") == 0 ? FID_RIGHT : FID_LEFT;
    }
    lua_pop(L, 1);
    return side;
}

/// The scope of the instance that the table at `info` describes, seen from the present one.
static fid_scope make_scope(lua_State *L, fid_rig *rig, int info) {
    fid_scope scope = *fid_scope_now(L);
    fid_side side = read_side(L, info);
    scope.rig = rig;
    lua_getfield(L, info, "id");
    if (scope.id != NULL) {
        lua_pushfstring(L, "%s.%s", scope.id, lua_tostring(L, -1));
    }
    scope.id = keep(L, lua_tostring(L, -1));
    if (strlen(scope.id) >= FID_WORD_SIZE) {
        fid_raisef(L, FID_LIMIT, scope.id, "the id '%s' with those around it is longer than %d bytes", scope.id,
                   FID_WORD_SIZE - 1);
    }
    lua_getfield(L, info, "module");
    scope.module = keep(L, lua_tostring(L, -1));
    if (side != FID_CENTER) {
        scope.side = side;
        scope.sided = true;
        scope.mirrored = side == FID_RIGHT;
    }
    fid_rig *owner = NULL;
    scope.parent = (fid_bone_id){{0, 0}};
    lua_getfield(L, info, "parent");
    if (fid_bone_get(L, -1, &owner, &scope.parent) && owner != rig) {
        fid_raisef(L, FID_INVALID, "parent", "'parent' is a bone of another rig");
    }
    return scope;
}

/// core.build(rig, run, check, info): calls check(run(scoped rig)) as the instance of `info` (id, side, parent, module,
/// moved) and gives its result and the list of all new bones. If anything fails the rig is as it was.
static int build(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1);
    luaL_checktype(L, 4, LUA_TTABLE);
    lua_settop(L, 4);
    fid_scope scope = make_scope(L, rig, 4);
    char instance[LABEL_SIZE];
    write_instance(scope.id, scope.side, instance);
    refuse_twin(L, rig, instance);

    fid_place places[FID_LIMIT_PLACES] = {{0}};
    (void)fid_host_places(L, places);
    building now = {{places[0].file, places[0].line, keep(L, instance), scope.module}, rig, rig->bones.count};
    fid_rig_mark mark = fid_rig_get_mark(rig);
    scope.used_at = fid_scope_origin(L, rig);
    bool outermost = fid_scope_now(L)->serial == 0;
    fid_scope_push(L, &scope);
    lua_pushcfunction(L, run_build);
    lua_pushvalue(L, 2);
    lua_pushvalue(L, 3);
    lua_pushlightuserdata(L, &now);
    lua_pushvalue(L, 4);
    int status = lua_pcall(L, 4, 1, 0);
    fid_scope_pop(L);
    if (status != LUA_OK) {
        fid_rig_rollback(rig, &mark);
        return go_on(L);
    }
    if (outermost) {
        add_modules(L, rig, scope.module, mark.origins);
    }
    lua_createtable(L, rig->bones.count - mark.bones, 0);
    for (int32_t i = mark.bones; i < rig->bones.count; i++) {
        fid_bone_push(L, rig, fid_rig_bone_at(rig, i));
        lua_rawseti(L, -2, i - mark.bones + 1);
    }
    return 2;
}

void fid_use_open(lua_State *L) {
    static const luaL_Reg functions[] = {
        {"scope", tell_scope}, {"is_rig", is_rig},      {"build", build}, {"check_id", check_id},
        {"has", has_bone},     {"height", tell_height}, {NULL, NULL}};
    static const char *const makers[] = {"module", "recipe", NULL};
    static const char *const methods[] = {"use", "mirror", "fail", NULL};
    int fid = lua_gettop(L);
    fid_scope_open(L);
    fid_loader_push_core(L);
    luaL_setfuncs(L, functions, 0);
    fid_loader_run_own(L, "module");
    for (int i = 0; makers[i] != NULL; i++) {
        lua_getfield(L, -1, makers[i]);
        lua_setfield(L, fid, makers[i]);
    }
    fid_loader_run_own(L, "tests");
    lua_getfield(L, -1, "tests");
    lua_setfield(L, fid, "tests");
    fid_rig_methods(L);
    fid_loader_run_own(L, "use");
    for (int i = 0; methods[i] != NULL; i++) {
        lua_getfield(L, -1, methods[i]);
        lua_setfield(L, -3, methods[i]);
    }
    lua_settop(L, fid);
}
