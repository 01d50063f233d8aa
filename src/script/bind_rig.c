#include "script/bind_rig.h"

#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/schemas.h"
#include "script/scope.h"
#include "script/value.h"

#include <string.h>

typedef struct rig_object {
    int32_t serial; ///< of the scope that it was made for
} rig_object;

/// What `fid.rig{}` takes.
typedef struct rig_def {
    const char *name;
    float height;
} rig_def;

static const fid_field rig_fields[] = {
    {"name", FID_TYPE_TEXT, FID_FIELD_REQUIRED, offsetof(rig_def, name), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What the rig is called: small letters, digits and '_'"},
    {"height", FID_TYPE_NUMBER, FID_FIELD_REQUIRED | FID_FIELD_ABOVE_MIN, offsetof(rig_def, height), "m", 0, 1e4f, 0,
     NULL, FID_REFLECT_NONE, "How tall the character is: tolerances and usual sizes follow from it"},
};

const fid_schema fid_rig_schema = {"rig", "Begins a rig", sizeof(rig_def), rig_fields,
                                   sizeof rig_fields / sizeof rig_fields[0]};

/// Reads one text of a naming into a field of it.
static void read_word(lua_State *L, int index, const char *key, char *out, size_t size) {
    int type = lua_getfield(L, index, key);
    if (type == LUA_TNIL) {
        lua_pop(L, 1);
        return;
    }
    size_t length = 0;
    const char *text = type == LUA_TSTRING ? lua_tolstring(L, -1, &length) : NULL;
    if (text == NULL || length >= size || strlen(text) != length) {
        fid_raisef(L, FID_INVALID, key, "naming: '%s' takes a text of less than %d bytes", key, (int)size);
    }
    memcpy(out, text, length + 1);
    lua_pop(L, 1);
}

static void read_words(lua_State *L, int index, const char *key, const char *const *words, char (*out)[16]) {
    if (lua_getfield(L, index, key) != LUA_TNIL) {
        int table = lua_gettop(L);
        fid_value_check_keys(L, table, key, words);
        for (int i = 0; i < 3; i++) {
            read_word(L, table, words[i], out[i], sizeof out[i]);
        }
    }
    lua_pop(L, 1);
}

void fid_naming_read(lua_State *L, int index, fid_naming *out) {
    static const char *const keys[] = {"template", "index", "sides", "roles", NULL};
    *out = fid_naming_default();
    if (lua_isnoneornil(L, index)) {
        return;
    }
    index = lua_absindex(L, index);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_value_check_keys(L, index, "naming", keys);
    read_word(L, index, "template", out->template_text, sizeof out->template_text);
    read_word(L, index, "index", out->index, sizeof out->index);
    read_words(L, index, "sides", fid_side_names, out->sides);
    read_words(L, index, "roles", fid_role_names, out->roles);
    fid_error err;
    fid_object_check(L, NULL, fid_naming_check(out, &err), &err);
}

/// Reads what `thresholds` of fid.rig{} gives into the rig.
static void read_thresholds(lua_State *L, int index, fid_rig *rig) {
    if (lua_isnil(L, index)) {
        return;
    }
    fid_thresholds thresholds = fid_thresholds_default();
    fid_fields_target target = {&fid_thresholds_schema, &thresholds};
    fid_fields_read(L, index, "thresholds", NULL, NULL, &target, 1, NULL);
    fid_error err;
    fid_object_check(L, "fid.rig{}", fid_rig_set_thresholds(rig, &thresholds, &err), &err);
}

static void push_object(lua_State *L, int box, int32_t serial) {
    rig_object *object = fid_object_new(L, FID_OBJECT_RIG, sizeof *object, box, 0);
    object->serial = serial;
}

static int make_rig(lua_State *L) {
    static const char *const extra[] = {"naming", "thresholds", NULL};
    lua_settop(L, 1);
    const fid_scope *scope = fid_scope_now(L);
    if (scope->rig != NULL) {
        fid_raisef(L, FID_INVALID, NULL, "a module adds to the rig that its build is given; it makes none of its own");
    }
    rig_def def;
    fid_schema_defaults(&fid_rig_schema, &def);
    fid_fields_target target = {&fid_rig_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 1, "fid.rig{}", NULL, arena, &target, 1, extra);
    fid_naming naming;
    lua_getfield(L, 1, "naming");
    fid_naming_read(L, -1, &naming);
    fid_box *box = fid_box_new(L);
    int box_index = lua_gettop(L);
    push_object(L, box_index, scope->serial);
    fid_error err;
    fid_object_check(L, "fid.rig{}", fid_rig_new(def.name, def.height, &naming, &box->rig, &err), &err);
    fid_arena_clear(arena);
    fid_box_register(L, box_index);
    box->rig->origin = fid_scope_origin(L, box->rig);
    lua_getfield(L, 1, "thresholds");
    read_thresholds(L, lua_gettop(L), box->rig);
    lua_pop(L, 1);
    fid_rig_account(L, box->rig);
    return 1;
}

void fid_rig_adopt(lua_State *L, fid_rig **rig, int32_t scope_serial) {
    fid_box *box = fid_box_new(L);
    int box_index = lua_gettop(L);
    push_object(L, box_index, scope_serial);
    box->rig = *rig;
    *rig = NULL;
    fid_box_register(L, box_index);
    lua_remove(L, box_index);
}

void fid_rig_push(lua_State *L, fid_rig *rig, int32_t scope_serial) {
    fid_box_push(L, rig);
    push_object(L, lua_gettop(L), scope_serial);
    lua_remove(L, -2);
}

bool fid_rig_is(lua_State *L, int index) { return fid_object_test(L, index, FID_OBJECT_RIG) != NULL; }

fid_rig *fid_rig_get(lua_State *L, int index) {
    const rig_object *object = fid_object_test(L, index, FID_OBJECT_RIG);
    if (object == NULL) {
        fid_raisef(L, FID_INVALID, NULL, "a rig is expected, not %s", fid_object_describe(L, index));
    }
    fid_rig *rig = fid_object_rig(L, index);
    if (object->serial != fid_scope_now(L)->serial) {
        fid_raisef(L, FID_INVALID, NULL,
                   "this rig was handed to another module or recipe; use the one that this build was given");
    }
    return rig;
}

fid_rig *fid_rig_release(lua_State *L, int index) {
    if (!fid_rig_is(L, index)) {
        fid_raisef(L, FID_INVALID, NULL, "a rig is expected, not %s", fid_object_describe(L, index));
    }
    fid_object_rig(L, index);
    lua_getiuservalue(L, index, 1);
    fid_rig *rig = fid_box_release(L, lua_gettop(L));
    lua_pop(L, 1);
    return rig;
}

void fid_rig_methods(lua_State *L) { fid_object_push_methods(L, FID_OBJECT_RIG); }

void fid_rig_add_methods(lua_State *L, const luaL_Reg *methods) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_rig_methods(L);
    luaL_setfuncs(L, methods, 0);
    lua_pop(L, 1);
}

enum { RIG_NAME, RIG_HEIGHT, RIG_PLACEMENT };
static const char *const rig_attributes[] = {"name", "height", "placement", NULL};

static void get_attribute(lua_State *L, int attribute) {
    fid_rig *rig = fid_object_rig(L, 1);
    if (attribute == RIG_NAME) {
        lua_pushstring(L, rig->name);
    } else if (attribute == RIG_HEIGHT) {
        lua_pushnumber(L, (lua_Number)rig->height);
    } else {
        fid_bone_push(L, rig, rig->placement);
    }
}

static int is_equal(lua_State *L) {
    bool both = fid_rig_is(L, 1) && fid_rig_is(L, 2);
    lua_pushboolean(L, both && fid_object_box(L, 1) == fid_object_box(L, 2));
    return 1;
}

static int show(lua_State *L) {
    fid_object_need(L, 1, FID_OBJECT_RIG, "tostring");
    lua_pushfstring(L, "rig '%s'", fid_object_rig(L, 1)->name);
    return 1;
}

static const luaL_Reg rig_meta[] = {{"__eq", is_equal}, {"__tostring", show}, {NULL, NULL}};
static const fid_object_class rig_class = {
    .kind = FID_OBJECT_RIG, .name = "Rig", .attributes = rig_attributes, .get = get_attribute, .meta = rig_meta};

void fid_rig_open(lua_State *L) {
    fid_object_open(L);
    fid_object_add_class(L, &rig_class);
    lua_pushcfunction(L, make_rig);
    lua_setfield(L, -2, "rig");
}
