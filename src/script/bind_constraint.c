#include "script/bind_constraint.h"

#include "script/bind_bone.h"
#include "script/bind_chain.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/scope.h"

#include <string.h>

typedef struct constraint_object {
    fid_constraint_id id;
} constraint_object;

void fid_constraint_push(lua_State *L, fid_rig *rig, fid_constraint_id id) {
    fid_box_push(L, rig);
    constraint_object *object = fid_object_new(L, FID_OBJECT_CONSTRAINT, sizeof *object, lua_gettop(L), 0);
    object->id = id;
    lua_remove(L, -2);
}

static const fid_constraint *need_constraint(lua_State *L, int index, fid_rig **rig, fid_constraint_id id) {
    fid_error err;
    *rig = fid_object_rig(L, index);
    const fid_constraint *constraint = fid_rig_constraint(*rig, id, &err);
    if (constraint == NULL) {
        fid_raise(L, &err);
    }
    return constraint;
}

bool fid_constraint_get(lua_State *L, int index, fid_rig **rig, fid_constraint_id *id) {
    const constraint_object *object = fid_object_test(L, index, FID_OBJECT_CONSTRAINT);
    if (object == NULL) {
        return false;
    }
    fid_rig *owner = NULL;
    need_constraint(L, index, &owner, object->id);
    *id = object->id;
    if (rig != NULL) {
        *rig = owner;
    }
    return true;
}

enum { CONSTRAINT_ADDRESS, CONSTRAINT_KIND, CONSTRAINT_WEIGHT, CONSTRAINT_BONE, CONSTRAINT_CHAIN };
static const char *const attributes[] = {"address", "kind", "weight", "bone", "chain", NULL};

static void get_attribute(lua_State *L, int attribute) {
    const constraint_object *object = lua_touserdata(L, 1);
    fid_rig *rig = NULL;
    const fid_constraint *constraint = need_constraint(L, 1, &rig, object->id);
    const fid_constraint_def *def = &constraint->def;
    switch (attribute) {
    case CONSTRAINT_ADDRESS:
        lua_pushstring(L, constraint->address);
        break;
    case CONSTRAINT_KIND:
        lua_pushstring(L, fid_constraint_schemas[def->kind]->name);
        break;
    case CONSTRAINT_WEIGHT:
        if (fid_schema_find(fid_constraint_schemas[def->kind], "weight") == NULL) {
            fid_raisef(L, FID_INVALID, NULL, "a %s has no weight: it always acts in full",
                       fid_constraint_schemas[def->kind]->name);
        }
        fid_channel_push(L, rig, (fid_channel){FID_CHANNEL_WEIGHT, FID_TRANSLATION_X, object->id.handle});
        break;
    case CONSTRAINT_BONE:
        fid_bone_push(L, rig, def->bone);
        break;
    default:
        if (fid_handle_is_null(def->chain.handle)) {
            lua_pushnil(L);
        } else {
            fid_chain_push(L, rig, def->chain);
        }
        break;
    }
}

static int is_equal(lua_State *L) {
    const constraint_object *a = fid_object_test(L, 1, FID_OBJECT_CONSTRAINT);
    const constraint_object *b = fid_object_test(L, 2, FID_OBJECT_CONSTRAINT);
    lua_pushboolean(L, a != NULL && b != NULL && fid_object_box(L, 1) == fid_object_box(L, 2) &&
                           memcmp(&a->id, &b->id, sizeof a->id) == 0);
    return 1;
}

static int show(lua_State *L) {
    const constraint_object *object = fid_object_need(L, 1, FID_OBJECT_CONSTRAINT, "tostring");
    const fid_box *box = fid_object_box(L, 1);
    const fid_constraint *constraint = box->rig != NULL ? fid_rig_constraint(box->rig, object->id, NULL) : NULL;
    if (constraint == NULL) {
        lua_pushliteral(L, "a constraint that is gone");
    } else {
        lua_pushfstring(L, "constraint '%s'", constraint->address);
    }
    return 1;
}

/// Adds choices to spaces: constraint:add{among = {...}}.
static int add_among(lua_State *L) {
    static const char call[] = "constraint:add{}";
    static const char *const keys[] = {"among", NULL};
    const constraint_object *object = fid_object_need(L, 1, FID_OBJECT_CONSTRAINT, call);
    fid_rig *rig = NULL;
    const fid_constraint *constraint = need_constraint(L, 1, &rig, object->id);
    if (constraint->def.kind != FID_CONSTRAINT_SPACES) {
        fid_raisef(L, FID_INVALID, NULL, "%s: '%s' is no spaces: only they have choices that can be added to", call,
                   constraint->address);
    }
    lua_settop(L, 2);
    fid_field field = *fid_schema_find(fid_constraint_schemas[FID_CONSTRAINT_SPACES], keys[0]);
    const fid_schema schema = {"add", "", sizeof(fid_constraint_def), &field, 1};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    fid_fields_target target = {&schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    fid_error err;
    if (fid_scope_now(L)->mirrored) {
        fid_object_check(L, call, fid_schema_mirror(&schema, &def, arena, &err), &err);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_code code = fid_rig_add_spaces(rig, object->id, &def.as.spaces.among, fid_scope_origin(L, rig), &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    lua_pushvalue(L, 1);
    return 1;
}

static const luaL_Reg constraint_methods[] = {{"add", add_among}, {NULL, NULL}};
static const luaL_Reg meta[] = {{"__eq", is_equal}, {"__tostring", show}, {NULL, NULL}};
static const fid_object_class constraint_class = {.kind = FID_OBJECT_CONSTRAINT,
                                                  .name = "Constraint",
                                                  .attributes = attributes,
                                                  .get = get_attribute,
                                                  .methods = constraint_methods,
                                                  .meta = meta};

static int make_constraint(lua_State *L, fid_constraint_kind kind, const char *call) {
    fid_rig *rig = fid_rig_begin(L, call);
    const fid_schema *schema = fid_constraint_schemas[kind];
    fid_constraint_def def = fid_constraint_default(kind);
    fid_fields_target target = {schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    fid_error err;
    if (fid_scope_now(L)->mirrored) {
        fid_object_check(L, call, fid_schema_mirror(schema, &def, arena, &err), &err);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_constraint_id id;
    fid_code code = fid_rig_add_constraint(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_constraint_push(L, rig, id);
    return 1;
}

static int make_follow(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_FOLLOW, "rig:follow{}"); }
static int make_aim(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_AIM, "rig:aim{}"); }
static int make_span(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_SPAN, "rig:span{}"); }
static int make_ik(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_IK, "rig:ik{}"); }
static int make_limit(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_LIMIT, "rig:limit{}"); }
static int make_spaces(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_SPACES, "rig:spaces{}"); }
static int make_twist(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_TWIST, "rig:twist{}"); }
static int make_spline(lua_State *L) { return make_constraint(L, FID_CONSTRAINT_SPLINE, "rig:spline{}"); }

void fid_constraint_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"follow", make_follow}, {"aim", make_aim},       {"span", make_span},
                                       {"ik", make_ik},         {"limit", make_limit},   {"spaces", make_spaces},
                                       {"twist", make_twist},   {"spline", make_spline}, {NULL, NULL}};
    fid_object_add_class(L, &constraint_class);
    fid_rig_add_methods(L, methods);
}
