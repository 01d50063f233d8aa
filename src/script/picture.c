#include "script/picture.h"

#include "format/svg_write.h"
#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/bind_solve.h"
#include "script/host.h"
#include "script/loader.h"
#include "solve/solve.h"

#include <string.h>

/// Pixels: as wide as a page shows it, so that names can be read there.
enum { WIDTH = 1000, HEIGHT = 640 };
/// Fewer bones than on a sheet have room for their names.
enum { CROWD = 26 };

/// Pushes a flag for each bone: true for controls that are not in the list at `index`.
static bool *push_skip(lua_State *L, int index, const fid_rig *rig) {
    size_t size = (size_t)rig->bones.count + 1;
    bool *skip = lua_newuserdatauv(L, size, 0);
    memset(skip, 0, size);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        skip[i] = rig->bones.at[i].def.role == FID_CONTROL;
    }
    for (lua_Integer i = 1; lua_geti(L, index, i) != LUA_TNIL; i++) {
        fid_bone_id id;
        if (fid_bone_get(L, -1, NULL, &id)) {
            skip[id.handle.slot] = false;
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    return skip;
}

static fid_code write(const fid_rig *rig, const fid_pose *pose, bool is_posed, const bool *skip, fid_text *out,
                      fid_error *err) {
    fid_pose *rest = NULL;
    fid_code code = fid_pose_new(pose->program, &rest, err);
    if (code == FID_OK) {
        fid_solve(rest->program, rest);
        fid_svg_wishes wishes = {.views = 1u << fid_svg_straight_view(rig, rest, skip) | 1u << FID_VIEW_THREE_QUARTER,
                                 .rest = is_posed ? rest : NULL,
                                 .skip = skip,
                                 .crowd = CROWD,
                                 .width = WIDTH,
                                 .height = HEIGHT};
        code = fid_svg_write(rig, pose, &wishes, out, err);
    }
    fid_pose_free(rest);
    return code;
}

static int draw(lua_State *L) {
    static const char call[] = "core.picture()";
    enum { BONES = 3, NOTES };
    lua_settop(L, BONES);
    luaL_checktype(L, BONES, LUA_TTABLE);
    fid_rig *rig = fid_rig_get(L, 1);
    bool is_posed = !lua_isnil(L, 2);
    fid_text text = {0};
    fid_error err;
    lua_createtable(L, 0, 0);
    fid_pose *pose = fid_pose_apply(L, 2, call, rig, NOTES);
    fid_host_charge(L, (int64_t)1000 * rig->bones.count);
    const bool *skip = push_skip(L, BONES, rig);
    fid_solve(pose->program, pose);
    fid_code code = write(rig, pose, is_posed, skip, &text, &err);
    if (code != FID_OK) {
        fid_text_clear(&text);
    }
    fid_object_check(L, NULL, code, &err);
    fid_object_push_text(L, &text);
    return 1;
}

void fid_picture_open(lua_State *L) {
    fid_loader_push_core(L);
    lua_pushcfunction(L, draw);
    lua_setfield(L, -2, "picture");
    lua_pop(L, 1);
}
