#include "script/bind_object.h"

#include "script/bind_rig.h"
#include "script/host.h"
#include "script/library.h"
#include "script/raise.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

/// Their addresses are the keys of the registry: metatables by kind, methods by kind, boxes by rig, their number.
static const char metatable_keys[FID_OBJECT_KINDS];
static const char method_keys[FID_OBJECT_KINDS];
static const char boxes_key = 'b';
static const char count_key = 'n';

/// What one element costs of the budget.
enum { ELEMENT_STEPS = 1000, NAME_COUNT = 64, FEW_NAMES = 12 };

/// The names that are right where `key` is not; the error of an unknown attribute.
static void raise_unknown(lua_State *L, const fid_object_class *class, const char *key) {
    const char *names[NAME_COUNT];
    int32_t count = 0;
    for (int i = 0; class->attributes != NULL && class->attributes[i] != NULL && count < NAME_COUNT; i++) {
        names[count++] = class->attributes[i];
    }
    fid_object_push_methods(L, class->kind);
    fid_library_push_keys(L, -1);
    for (lua_Integer i = 1; count < NAME_COUNT && lua_rawgeti(L, -1, i) == LUA_TSTRING; i++) {
        // The text stays alive as a key of the methods.
        names[count++] = lua_tostring(L, -1);
        lua_pop(L, 1);
    }
    const char *nearest = fid_text_nearest(key, names, count);
    if (nearest != NULL) {
        fid_raisef(L, FID_UNKNOWN, NULL, "a %s has no '%s'; did you mean '%s'?", class->name, key, nearest);
    }
    char list[192] = "";
    if (count > FEW_NAMES) {
        snprintf(list, sizeof list, "; 'fid help %s' lists what it has", class->name);
    }
    for (int32_t i = 0; i < count && count <= FEW_NAMES; i++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "; there is ", names[i]);
    }
    fid_raisef(L, FID_UNKNOWN, NULL, "a %s has no '%.64s'%s", class->name, key, list);
}

/// Upvalues: class, methods.
static int get_attribute(lua_State *L) {
    const fid_object_class *class = lua_touserdata(L, lua_upvalueindex(1));
    lua_settop(L, 2);
    fid_object_need(L, 1, class->kind, class->name);
    const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : NULL;
    for (int i = 0; key != NULL && class->attributes != NULL && class->attributes[i] != NULL; i++) {
        if (strcmp(key, class->attributes[i]) == 0) {
            class->get(L, i);
            return 1;
        }
    }
    if (key != NULL) {
        lua_pushvalue(L, 2);
        if (lua_rawget(L, lua_upvalueindex(2)) != LUA_TNIL) {
            return 1;
        }
    }
    if (class->item != NULL && (key != NULL || lua_type(L, 2) == LUA_TNUMBER)) {
        lua_settop(L, 2);
        class->item(L);
        if (lua_gettop(L) > 2) {
            return 1;
        }
    }
    if (key == NULL) {
        fid_raisef(L, FID_UNKNOWN, NULL, "a %s has nothing for a key of type %s", class->name, luaL_typename(L, 2));
    }
    raise_unknown(L, class, key);
    return 0;
}

/// Upvalue: class.
static int refuse_write(lua_State *L) {
    const fid_object_class *class = lua_touserdata(L, lua_upvalueindex(1));
    return fid_raisef(L, FID_INVALID, NULL, "a %s cannot be written to; what it is made of is told when it is made",
                      class->name);
}

static int show(lua_State *L) {
    const fid_object_class *class = lua_touserdata(L, lua_upvalueindex(1));
    lua_pushfstring(L, "a %s", class->name);
    return 1;
}

void fid_object_add_class(lua_State *L, const fid_object_class *class) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    void *address = (void *)(uintptr_t) class;
    lua_createtable(L, 0, 0);
    if (class->methods != NULL) {
        luaL_setfuncs(L, class->methods, 0);
    }
    lua_pushvalue(L, -1);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &method_keys[class->kind]);
    lua_createtable(L, 0, 8);
    lua_pushlightuserdata(L, address);
    lua_pushvalue(L, -3);
    lua_pushcclosure(L, get_attribute, 2);
    lua_setfield(L, -2, "__index");
    lua_pushlightuserdata(L, address);
    lua_pushcclosure(L, refuse_write, 1);
    lua_setfield(L, -2, "__newindex");
    lua_pushlightuserdata(L, address);
    lua_pushcclosure(L, show, 1);
    lua_setfield(L, -2, "__tostring");
    lua_pushstring(L, class->name);
    lua_setfield(L, -2, "__name");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    if (class->meta != NULL) {
        luaL_setfuncs(L, class->meta, 0);
    }
    lua_rawsetp(L, LUA_REGISTRYINDEX, &metatable_keys[class->kind]);
    lua_pop(L, 1);
}

void fid_object_push_methods(lua_State *L, fid_object_kind kind) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &method_keys[kind]);
}

void *fid_object_new(lua_State *L, fid_object_kind kind, size_t size, int box_index, int values) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    box_index = box_index != 0 ? lua_absindex(L, box_index) : 0;
    void *object = lua_newuserdatauv(L, size, 1 + values);
    memset(object, 0, size);
    if (box_index != 0) {
        lua_pushvalue(L, box_index);
        lua_setiuservalue(L, -2, 1);
    }
    lua_rawgetp(L, LUA_REGISTRYINDEX, &metatable_keys[kind]);
    lua_setmetatable(L, -2);
    return object;
}

void *fid_object_test(lua_State *L, int index, fid_object_kind kind) {
    if (lua_type(L, index) != LUA_TUSERDATA || lua_getmetatable(L, index) == 0) {
        return NULL;
    }
    lua_rawgetp(L, LUA_REGISTRYINDEX, &metatable_keys[kind]);
    bool is_same = lua_rawequal(L, -1, -2) != 0;
    lua_pop(L, 2);
    return is_same ? lua_touserdata(L, index) : NULL;
}

void *fid_object_need(lua_State *L, int index, fid_object_kind kind, const char *call) {
    void *object = fid_object_test(L, index, kind);
    if (object == NULL) {
        fid_raisef(L, FID_INVALID, NULL, "%s is called on something else (%s); write the colon, as in object:name(...)",
                   call, fid_object_describe(L, index));
    }
    return object;
}

const char *fid_object_describe(lua_State *L, int index) {
    const char *kind = fid_value_kind(L, index);
    if (lua_type(L, index) != LUA_TUSERDATA) {
        return kind;
    }
    return lua_pushfstring(L, strchr("aeiou", kind[0]) != NULL ? "an %s" : "a %s", kind);
}

static ptrdiff_t measure(const fid_rig *rig) {
    size_t bytes = sizeof *rig + rig->arena.total;
    bytes += (size_t)rig->bones.capacity * sizeof *rig->bones.at;
    bytes += (size_t)rig->chains.capacity * sizeof *rig->chains.at;
    bytes += (size_t)rig->constraints.capacity * sizeof *rig->constraints.at;
    bytes += (size_t)rig->sliders.capacity * sizeof *rig->sliders.at;
    bytes += (size_t)rig->drives.capacity * sizeof *rig->drives.at;
    bytes += (size_t)rig->origins.capacity * sizeof *rig->origins.at;
    bytes += (size_t)rig->outlines.capacity * sizeof *rig->outlines.at;
    bytes += (size_t)rig->sets.capacity * sizeof *rig->sets.at;
    bytes += (size_t)rig->names.capacity * (sizeof *rig->names.keys + sizeof *rig->names.values);
    return (ptrdiff_t)bytes;
}

/// Charges for the rig of a box what it holds now.
static void account(lua_State *L, fid_box *box) {
    ptrdiff_t bytes = box->rig != NULL ? measure(box->rig) : 0;
    ptrdiff_t more = bytes - box->held;
    box->held = bytes;
    fid_host_hold(fid_host_of(L), more);
}

static int free_box(lua_State *L) {
    fid_box *box = fid_object_test(L, 1, FID_OBJECT_BOX);
    if (box != NULL && box->rig != NULL) {
        fid_rig *rig = box->rig;
        box->rig = NULL;
        account(L, box);
        fid_rig_free(rig);
    }
    return 0;
}

static const luaL_Reg box_meta[] = {{"__gc", free_box}, {NULL, NULL}};
static const fid_object_class box_class = {.kind = FID_OBJECT_BOX, .name = "box", .meta = box_meta};

void fid_object_open(lua_State *L) {
    fid_object_add_class(L, &box_class);
    lua_createtable(L, 0, 0);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &boxes_key);
    lua_pushinteger(L, 0);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &count_key);
}

fid_box *fid_box_new(lua_State *L) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &count_key);
    int64_t number = lua_tointeger(L, -1) + 1;
    lua_pop(L, 1);
    fid_box *box = fid_object_new(L, FID_OBJECT_BOX, sizeof *box, 0, 2);
    lua_createtable(L, 0, 0);
    lua_setiuservalue(L, -2, FID_BOX_BONES);
    box->number = number;
    lua_pushinteger(L, number);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &count_key);
    return box;
}

void fid_box_register(lua_State *L, int index) {
    fid_box *box = lua_touserdata(L, index);
    index = lua_absindex(L, index);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &boxes_key);
    lua_pushvalue(L, index);
    lua_rawsetp(L, -2, box->rig);
    lua_pop(L, 1);
    account(L, box);
}

void fid_box_push(lua_State *L, const fid_rig *rig) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &boxes_key);
    int type = lua_rawgetp(L, -1, rig);
    lua_remove(L, -2);
    if (type != LUA_TUSERDATA) {
        fid_raisef(L, FID_STALE, NULL, "this rig does not belong to the script");
    }
}

fid_rig *fid_box_release(lua_State *L, int index) {
    fid_box *box = lua_touserdata(L, index);
    fid_rig *rig = box->rig;
    lua_rawgetp(L, LUA_REGISTRYINDEX, &boxes_key);
    lua_pushnil(L);
    lua_rawsetp(L, -2, rig);
    lua_pop(L, 1);
    box->rig = NULL;
    account(L, box);
    return rig;
}

fid_box *fid_object_box(lua_State *L, int index) {
    lua_getiuservalue(L, index, 1);
    fid_box *box = lua_touserdata(L, -1);
    lua_pop(L, 1);
    return box;
}

fid_rig *fid_object_rig(lua_State *L, int index) {
    const fid_box *box = fid_object_box(L, index);
    if (box == NULL || box->rig == NULL) {
        fid_raisef(L, FID_STALE, NULL, "this is of a rig that is gone: it was handed on, or its recipe has ended");
    }
    return box->rig;
}

void fid_rig_account(lua_State *L, const fid_rig *rig) {
    fid_box_push(L, rig);
    account(L, lua_touserdata(L, -1));
    lua_pop(L, 1);
    fid_host_charge(L, ELEMENT_STEPS);
}

static int text_to_string(lua_State *L) {
    const fid_text *text = lua_touserdata(L, 1);
    lua_pushlstring(L, text->at != NULL ? text->at : "", (size_t)text->count);
    return 1;
}

void fid_object_push_text(lua_State *L, fid_text *text) {
    if (text->failed) {
        fid_text_clear(text);
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    // The string is made within a protected call, so that the text is cleared where there is no memory for it.
    lua_pushcfunction(L, text_to_string);
    lua_pushlightuserdata(L, text);
    int status = lua_pcall(L, 1, 1, 0);
    fid_text_clear(text);
    if (status != LUA_OK) {
        lua_error(L);
    }
}

fid_rig *fid_rig_begin(lua_State *L, const char *call) {
    lua_settop(L, 2);
    if (!fid_rig_is(L, 1)) {
        fid_raisef(L, FID_INVALID, NULL, "%s is called on %s; write a colon between rig and name", call,
                   fid_object_describe(L, 1));
    }
    return fid_rig_get(L, 1);
}

void fid_object_check(lua_State *L, const char *call, fid_code code, const fid_error *err) {
    if (code == FID_OK) {
        return;
    }
    if (call != NULL && err->message[0] == '\'') {
        fid_raisef(L, code, err->subject, "%s: %s", call, err->message);
    }
    fid_raise(L, err);
}

void fid_rig_finish(lua_State *L, const char *call, fid_rig *rig, const fid_rig_mark *mark, fid_code code,
                    const fid_error *err) {
    if (code != FID_OK) {
        fid_rig_rollback(rig, mark);
        fid_object_check(L, call, code, err);
    }
    fid_rig_account(L, rig);
}
