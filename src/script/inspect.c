#include "script/inspect.h"

#include "base/file.h"
#include "format/cost_text.h"
#include "format/difference.h"
#include "format/skeleton_write.h"
#include "format/svg_write.h"
#include "format/why_text.h"
#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/bind_solve.h"
#include "script/hold.h"
#include "script/host.h"
#include "script/path.h"
#include "script/raise.h"
#include "solve/solve.h"

#include <string.h>

/// The pose at `index` of the rig at 1, solved. Leaves on the stack what owns it.
static fid_pose *need_pose(lua_State *L, int index, const char *call, fid_rig *rig) {
    lua_createtable(L, 0, 0);
    int notes = lua_gettop(L);
    fid_pose *pose = fid_pose_apply(L, index, call, rig, notes);
    fid_host_charge(L, (int64_t)100 * rig->bones.count);
    fid_solve(pose->program, pose);
    return pose;
}

/// Pushes a text that was held.
static int push_held(lua_State *L, const fid_text *text) {
    fid_error err;
    if (text->failed) {
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    lua_pushlstring(L, text->at != NULL ? text->at : "", (size_t)text->count);
    return 1;
}

/// core.why(rig, bone, pose): what made the bone's frame, as text.
static int why(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1), *owner = NULL;
    fid_bone_id id;
    if (!fid_bone_get(L, 2, &owner, &id) || owner != rig) {
        return fid_raisef(L, FID_INVALID, NULL, "why takes a bone of this rig");
    }
    fid_text *text = fid_hold_text(L);
    fid_pose *pose = need_pose(L, 3, "why", rig);
    // The origins of a skeleton file are of files that may be anywhere.
    const fid_host *host = fid_host_of(L);
    const char *file = fid_host_recipe(host);
    bool is_skeleton = file != NULL && fid_text_ends_with(file, ".json");
    fid_origin_style style = {fid_path_add_shown, is_skeleton ? NULL : fid_host_folder(host)};
    fid_why_add(rig, pose, fid_rig_bone_index(rig, id), &style, text);
    return push_held(L, text);
}

/// core.skeleton(rig): its skeleton file, as text.
static int write_skeleton(lua_State *L) {
    const fid_rig *rig = fid_rig_get(L, 1);
    fid_text *text = fid_hold_text(L);
    fid_error err;
    if (fid_skeleton_write(rig, text, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    return push_held(L, text);
}

static int clear_difference(lua_State *L) {
    fid_difference_clear(lua_touserdata(L, 1));
    return 0;
}

/// core.diff(before, after): what is different in two skeletons, as text.
static int diff(lua_State *L) {
    const char *before = luaL_checkstring(L, 1), *after = luaL_checkstring(L, 2);
    fid_text *text = fid_hold_text(L);
    fid_difference *difference = lua_newuserdatauv(L, sizeof *difference, 0);
    *difference = (fid_difference){0};
    lua_createtable(L, 0, 1);
    lua_pushcfunction(L, clear_difference);
    lua_setfield(L, -2, "__gc");
    lua_setmetatable(L, -2);
    fid_error err;
    if (fid_difference_find(before, after, 0, difference, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    fid_difference_add_text(difference, text);
    return push_held(L, text);
}

/// core.time(rig, poses, threads): what solves cost, as text.
static int measure_time(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1);
    fid_cost cost = {.poses = (int32_t)luaL_checkinteger(L, 2), .threads = (int32_t)luaL_checkinteger(L, 3)};
    fid_text *text = fid_hold_text(L);
    const fid_pose *pose = fid_program_need(L, rig);
    fid_error err;
    if (fid_cost_measure(rig, pose->program, &cost, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    fid_cost_add_text(rig, &cost, text);
    return push_held(L, text);
}

/// core.picture(rig, pose, views): the SVG of a pose; `views` is a list of names, without any all.
static int draw_picture(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1);
    fid_svg_wishes wishes = {0};
    for (lua_Integer i = 1; i <= luaL_len(L, 3); i++) {
        lua_geti(L, 3, i);
        for (int view = 0; view < FID_VIEW_COUNT; view++) {
            wishes.views |= strcmp(luaL_checkstring(L, -1), fid_view_names[view]) == 0 ? 1u << view : 0;
        }
        lua_pop(L, 1);
    }
    wishes.views = wishes.views != 0 ? wishes.views : (1u << FID_VIEW_COUNT) - 1;
    fid_text *text = fid_hold_text(L);
    const fid_pose *pose = need_pose(L, 2, "picture", rig);
    fid_error err;
    if (fid_svg_write(rig, pose, &wishes, text, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    return push_held(L, text);
}

/// core.view_names(): of pictures.
static int push_view_names(lua_State *L) {
    lua_createtable(L, FID_VIEW_COUNT, 0);
    for (int view = 0; view < FID_VIEW_COUNT; view++) {
        lua_pushstring(L, fid_view_names[view]);
        lua_seti(L, -2, view + 1);
    }
    return 1;
}

/// core.write(path, text, ending, call): writes a file of the session, never onto one that was read.
static int write_file(lua_State *L) {
    size_t count = 0;
    const char *path = lua_type(L, 1) == LUA_TSTRING ? lua_tostring(L, 1) : NULL,
               *text = luaL_checklstring(L, 2, &count);
    const char *ending = luaL_checkstring(L, 3), *call = luaL_checkstring(L, 4);
    fid_error err;
    if (path == NULL) {
        return fid_raisef(L, FID_INVALID, NULL, "%s takes the path of a file that ends in %s", call, ending);
    }
    if (fid_host_is_input(fid_host_of(L), path)) {
        return fid_raisef(L, FID_INVALID, path, "'%.200s' was read in this session and is not written over", path);
    }
    if (!fid_text_ends_with(path, ending)) {
        return fid_raisef(L, FID_INVALID, path, "%s writes a file whose name ends in %s, not '%.200s'", call, ending,
                          path);
    }
    return fid_file_write(path, text, count, &err) == FID_OK ? 0 : fid_raise(L, &err);
}

void fid_inspect_open(lua_State *L) {
    static const luaL_Reg functions[] = {{"why", why},
                                         {"skeleton", write_skeleton},
                                         {"diff", diff},
                                         {"time", measure_time},
                                         {"picture", draw_picture},
                                         {"view_names", push_view_names},
                                         {"write", write_file},
                                         {NULL, NULL}};
    luaL_setfuncs(L, functions, 0);
}
