#include "script/bind_set.h"

#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/scope.h"
#include "script/value.h"

#include <string.h>

typedef struct set_object {
    fid_set_id id;
} set_object;

enum { NAME_COUNT = 256 };

void fid_set_push(lua_State *L, fid_rig *rig, fid_set_id id) {
    if (fid_handle_is_null(id.handle)) {
        lua_pushnil(L);
        return;
    }
    fid_box_push(L, rig);
    set_object *object = fid_object_new(L, FID_OBJECT_SET, sizeof *object, lua_gettop(L), 0);
    object->id = id;
    lua_remove(L, -2);
}

fid_set_id fid_set_need(lua_State *L, int index, const char *call, fid_rig *rig) {
    const set_object *object = fid_object_test(L, index, FID_OBJECT_SET);
    if (object != NULL) {
        if (fid_object_rig(L, index) != rig) {
            fid_raisef(L, FID_INVALID, "display_set", "%s: 'display_set' belongs to another rig", call);
        }
        if (fid_pool_index(&rig->set_pool, object->id.handle) < 0) {
            fid_raisef(L, FID_STALE, "display_set", "%s: 'display_set' is gone", call);
        }
        return object->id;
    }
    if (lua_type(L, index) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, "display_set", "%s: 'display_set' is %s; it takes a Set or the name of one", call,
                   fid_object_describe(L, index));
    }
    const char *name = lua_tostring(L, index);
    fid_set_id id = fid_rig_find_set(rig, name);
    if (fid_handle_is_null(id.handle)) {
        const char *names[NAME_COUNT];
        int32_t count = 0;
        for (; count < rig->sets.count && count < NAME_COUNT; count++) {
            names[count] = rig->sets.at[count].name;
        }
        const char *near = fid_text_nearest(name, names, count);
        fid_raisef(L, FID_UNKNOWN, "display_set", "%s: no display set '%.48s'%s%s%s; rig:display_set{} makes one", call,
                   name, near != NULL ? "; did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?" : "");
    }
    return id;
}

enum { SET_NAME, SET_COLOR, SET_VISIBLE };
static const char *const attributes[] = {"name", "color", "visible", NULL};

static void get_attribute(lua_State *L, int attribute) {
    const set_object *object = lua_touserdata(L, 1);
    fid_rig *rig = fid_object_rig(L, 1);
    int32_t index = fid_pool_index(&rig->set_pool, object->id.handle);
    if (index < 0) {
        fid_raisef(L, FID_STALE, NULL, "this display set is gone: what made it was taken back");
    }
    const fid_set_def *set = &rig->sets.at[index];
    if (attribute == SET_VISIBLE) {
        lua_pushboolean(L, set->visible);
    } else {
        lua_pushstring(L, attribute == SET_NAME ? set->name : set->color);
    }
}

static int is_equal(lua_State *L) {
    const set_object *a = fid_object_test(L, 1, FID_OBJECT_SET), *b = fid_object_test(L, 2, FID_OBJECT_SET);
    lua_pushboolean(L, a != NULL && b != NULL && fid_object_box(L, 1) == fid_object_box(L, 2) &&
                           memcmp(&a->id, &b->id, sizeof a->id) == 0);
    return 1;
}

static const luaL_Reg meta[] = {{"__eq", is_equal}, {NULL, NULL}};
static const fid_object_class set_class = {
    .kind = FID_OBJECT_SET, .name = "Set", .attributes = attributes, .get = get_attribute, .meta = meta};

static int make_set(lua_State *L) {
    static const char call[] = "rig:display_set{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_set_def def = fid_set_default();
    fid_fields_target target = {&fid_set_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_set_id id;
    fid_error err;
    fid_code code = fid_rig_add_set(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_set_push(L, rig, id);
    return 1;
}

void fid_set_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"display_set", make_set}, {NULL, NULL}};
    fid_object_add_class(L, &set_class);
    fid_rig_add_methods(L, methods);
}
