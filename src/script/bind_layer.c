#include "script/bind_layer.h"

#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/scope.h"

typedef struct layer_object {
    fid_layer_id id;
} layer_object;

enum { LAYER_ADDRESS, LAYER_BY };
static const char *const attributes[] = {"address", "by", NULL};

static void get_attribute(lua_State *L, int attribute) {
    const layer_object *object = lua_touserdata(L, 1);
    fid_rig *rig = fid_object_rig(L, 1);
    const fid_layer *layer = fid_rig_layer(rig, object->id, NULL);
    if (layer == NULL) {
        fid_raisef(L, FID_STALE, NULL, "this pose layer is gone: what made it was taken back");
    }
    if (attribute == LAYER_ADDRESS) {
        lua_pushstring(L, layer->address);
    } else {
        fid_channel_push(L, rig, layer->def.by);
    }
}

static const fid_object_class layer_class = {
    .kind = FID_OBJECT_LAYER, .name = "Layer", .attributes = attributes, .get = get_attribute};

static int make_layer(lua_State *L) {
    static const char call[] = "rig:pose_layer{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_layer_def def = fid_layer_default();
    fid_fields_target target = {&fid_layer_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    const fid_scope *scope = fid_scope_now(L);
    def.id = scope->id;
    def.side = (int32_t)scope->side;
    fid_error err;
    if (scope->mirrored) {
        fid_object_check(L, call, fid_schema_mirror(&fid_layer_schema, &def, arena, &err), &err);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_layer_id id;
    fid_code code = fid_rig_add_layer(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_box_push(L, rig);
    layer_object *object = fid_object_new(L, FID_OBJECT_LAYER, sizeof *object, lua_gettop(L), 0);
    object->id = id;
    return 1;
}

void fid_layer_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"pose_layer", make_layer}, {NULL, NULL}};
    fid_object_add_class(L, &layer_class);
    fid_rig_add_methods(L, methods);
}
