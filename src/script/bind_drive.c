#include "script/bind_drive.h"

#include "rig/mirror.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/scope.h"

typedef struct drive_object {
    fid_drive_id id;
} drive_object;

enum { DRIVE_TO, DRIVE_FROM };
static const char *const attributes[] = {"to", "from", NULL};

static void get_attribute(lua_State *L, int attribute) {
    const drive_object *object = lua_touserdata(L, 1);
    fid_rig *rig = fid_object_rig(L, 1);
    int32_t index = fid_pool_index(&rig->drive_pool, object->id.handle);
    if (index < 0) {
        fid_raisef(L, FID_STALE, NULL, "this drive is gone: what made it was taken back");
    }
    const fid_drive_def *def = &rig->drives.at[index].def;
    if (attribute == DRIVE_TO || (def->from.count == 1 && def->from.at[0].kind == FID_FACTOR_CHANNEL)) {
        fid_channel_push(L, rig, attribute == DRIVE_TO ? def->to : def->from.at[0].channel);
    } else {
        lua_pushnil(L); // a measure, or a product: no Channel
    }
}

static const fid_object_class drive_class = {
    .kind = FID_OBJECT_DRIVE, .name = "Drive", .attributes = attributes, .get = get_attribute};

static int make_drive(lua_State *L) {
    static const char call[] = "rig:drive{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_drive_def def = fid_drive_default();
    fid_fields_target target = {&fid_drive_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    fid_error err;
    if (fid_scope_now(L)->mirrored) {
        fid_object_check(L, call, fid_mirror_drive(&def, arena, &err), &err);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_drive_id id;
    fid_code code = fid_rig_add_drive(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_box_push(L, rig);
    drive_object *object = fid_object_new(L, FID_OBJECT_DRIVE, sizeof *object, lua_gettop(L), 0);
    object->id = id;
    return 1;
}

void fid_drive_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"drive", make_drive}, {NULL, NULL}};
    fid_object_add_class(L, &drive_class);
    fid_rig_add_methods(L, methods);
}
