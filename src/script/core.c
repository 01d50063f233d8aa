#include "script/core.h"

#include "base/text.h"
#include "math/scalar.h"
#include "rig/chain.h"
#include "rig/mirror.h"
#include "script/bind_bone.h"
#include "script/bind_chain.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/data.h"
#include "script/helpers.h"
#include "script/host.h"
#include "script/loader.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// core.raise(kind, subject, message, hint): raises an error where the script stands.
static int raise(lua_State *L) {
    const char *kind = luaL_checkstring(L, 1);
    fid_code code = FID_INVALID;
    for (int i = FID_NO_MEMORY; i <= FID_UNSOUND; i++) {
        code = strcmp(fid_raise_kind((fid_code)i), kind) == 0 ? (fid_code)i : code;
    }
    fid_error err;
    fid_fail(&err, code, "%s", luaL_checkstring(L, 3));
    fid_error_about(&err, luaL_optstring(L, 2, ""));
    return fid_raise_with(L, &err, NULL, luaL_optstring(L, 4, NULL));
}

/// core.warn(subject, message, hint): a warning where the script stands.
static int warn(lua_State *L) {
    fid_host_warn(L, luaL_optstring(L, 1, ""), luaL_checkstring(L, 2), luaL_optstring(L, 3, NULL));
    return 0;
}

/// core.kind(value): what it is, for messages.
static int tell_kind(lua_State *L) {
    lua_pushstring(L, fid_value_kind(L, 1));
    return 1;
}

/// core.nearest(word, list): the nearest word of a list, or nil.
static int find_nearest(lua_State *L) {
    const char *words[128];
    int32_t count = 0;
    const char *word = luaL_checkstring(L, 1);
    lua_settop(L, 2);
    luaL_checkstack(L, 140, NULL);
    while (count < 128 && lua_rawgeti(L, 2, count + 1) == LUA_TSTRING) {
        // The list keeps it.
        words[count++] = lua_tostring(L, -1);
        lua_pop(L, 1);
    }
    lua_pushstring(L, fid_text_nearest(word, words, count));
    return 1;
}

/// core.point(value, what): a copy of the point as a vec, or nil where the value is none.
static int copy_point(lua_State *L) {
    fid_vec3d value;
    if (!fid_vec_get(L, 1, luaL_checkstring(L, 2), &value)) {
        lua_pushnil(L);
        return 1;
    }
    (void)fid_vec_need(L, 1, lua_tostring(L, 2));
    fid_vec_push(L, value);
    return 1;
}

/// core.is(value): "vec", "frame", "curve", "bone", "chain", "channel", or false.
static int tell_object(lua_State *L) {
    fid_frame frame;
    fid_curve curve;
    fid_bone_id bone;
    fid_channel channel;
    fid_row row;
    fid_vec3d point;
    const char *kind = NULL;
    lua_settop(L, 1);
    if (lua_type(L, 1) == LUA_TUSERDATA) {
        kind = fid_frame_get(L, 1, &frame)              ? "frame"
               : fid_curve_get(L, 1, &curve)            ? "curve"
               : fid_bone_get(L, 1, NULL, &bone)        ? "bone"
               : fid_chain_get(L, 1, &row)              ? "chain"
               : fid_channel_get(L, 1, NULL, &channel)  ? "channel"
               : fid_vec_get(L, 1, "the value", &point) ? "vec"
                                                        : NULL;
    }
    if (kind != NULL) {
        lua_pushstring(L, kind);
    } else {
        lua_pushboolean(L, 0);
    }
    return 1;
}

/// core.mirrored(value): a point or frame reflected in the plane X = 0.
static int mirror(lua_State *L) {
    fid_frame frame;
    fid_vec3d point;
    if (fid_frame_get(L, 1, &frame)) {
        fid_frame_push(L, fid_frame_mirror(frame));
    } else if (fid_vec_get(L, 1, "the value", &point)) {
        fid_vec_push(L, (fid_vec3d){-point.x, point.y, point.z});
    } else {
        return fid_raisef(L, FID_INVALID, NULL,
                          "%s cannot be reflected; a point, a list of three numbers or a frame can",
                          fid_value_kind(L, 1));
    }
    return 1;
}

/// core.counterpart(bone): the bone of the other side; the bone itself for the center; nil where there is none.
static int find_counterpart(lua_State *L) {
    fid_rig *rig;
    fid_bone_id id;
    if (!fid_bone_get(L, 1, &rig, &id)) {
        return fid_raisef(L, FID_INVALID, NULL, "%s has no counterpart; a bone has", fid_value_kind(L, 1));
    }
    fid_bone_id other = fid_mirror_bone(rig, id);
    const fid_bone *bone = fid_rig_bone(rig, id, NULL);
    int32_t index = fid_rig_bone_index(rig, id);
    if (bone != NULL && bone->def.side != FID_CENTER && index == fid_rig_bone_index(rig, other)) {
        lua_pushnil(L);
    } else {
        fid_bone_push(L, rig, other);
    }
    return 1;
}

/// core.quaternion(bone, angles): the rotation {x, y, z, w} of angles in the order of the bone; nil where they are
/// none.
static int make_quaternion(lua_State *L) {
    fid_rig *rig = NULL;
    fid_bone_id id;
    fid_vec3d angles;
    if (!fid_bone_get(L, 1, &rig, &id)) {
        return fid_raisef(L, FID_INVALID, NULL, "%s has no order of rotation; a bone has", fid_value_kind(L, 1));
    }
    if (!fid_vec_get(L, 2, "the angles", &angles)) {
        lua_pushnil(L);
        return 1;
    }
    fid_error err;
    const fid_bone *bone = fid_rig_bone(rig, id, &err);
    if (bone == NULL) {
        return fid_raise(L, &err);
    }
    fid_quat q = fid_quat_from_euler(fid_vec3d_round(angles), (fid_order)bone->def.rotation_order);
    const float values[] = {q.x, q.y, q.z, q.w};
    lua_createtable(L, 4, 0);
    for (int i = 0; i < 4; i++) {
        lua_pushnumber(L, (lua_Number)values[i]);
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

/// core.turned(vec, axis, degrees)
static int turn(lua_State *L) {
    fid_vec3d v = {0, 0, 0};
    fid_vec3d axis = {0, 0, 0};
    if (!fid_vec_get(L, 1, "the vector", &v) || !fid_vec_get(L, 2, "the axis", &axis) ||
        !(fid_vec3d_length(axis) > 1e-100)) {
        return fid_raisef(L, FID_INVALID, NULL, "a turn takes a vector, an axis that has a length, and degrees");
    }
    double angle = fid_radians(luaL_checknumber(L, 3));
    fid_vec_push(L, fid_quatd_rotate(fid_quatd_about(fid_vec3d_normalize(axis, axis), angle), v));
    return 1;
}

/// core.bend_normal(points): the unit normal of the plane in which a list of vecs bends, or nil.
static int find_bend_normal(lua_State *L) {
    lua_settop(L, 1);
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_Unsigned count = lua_rawlen(L, 1);
    if (count > 4096) {
        return fid_raisef(L, FID_LIMIT, NULL, "a list of %llu points; at most 4096 are taken",
                          (unsigned long long)count);
    }
    fid_vec3 *points = lua_newuserdatauv(L, (count + 1) * sizeof *points, 0);
    for (lua_Unsigned i = 0; i < count; i++) {
        lua_rawgeti(L, 1, (lua_Integer)i + 1);
        points[i] = fid_vec_need(L, -1, "a point");
        lua_pop(L, 1);
    }
    fid_vec3 normal;
    // A tenth of a degree is what single precision still tells apart from a straight line.
    if (count >= 3 && fid_points_bend_normal(points, (int32_t)count, 0.1f, &normal)) {
        fid_vec_push(L, fid_vec3d_from(normal));
    } else {
        lua_pushnil(L);
    }
    return 1;
}

/// core.json(text, name): the value that a JSON text describes.
static int read_json(lua_State *L) {
    size_t count = 0;
    const char *text = luaL_checklstring(L, 1, &count);
    fid_data_push_json(L, text, count, luaL_checkstring(L, 2));
    return 1;
}

/// core.quote(text): it as a JSON string.
static int quote(lua_State *L) {
    const char *value = luaL_checkstring(L, 1);
    fid_text text = {0};
    fid_text_add_json(&text, value);
    fid_object_push_text(L, &text);
    return 1;
}

/// core.find_module(name): the value that the file of a module returns.
static int find_module(lua_State *L) {
    fid_loader_find_module(L, luaL_checkstring(L, 1));
    return 1;
}

/// core.module_source(name): the path of that file as shown.
static int find_module_source(lua_State *L) {
    lua_pushstring(L, fid_loader_module_source(L, luaL_checkstring(L, 1)));
    return 1;
}

void fid_core_open(lua_State *L) {
    static const luaL_Reg functions[] = {
        {"raise", raise},
        {"warn", warn},
        {"kind", tell_kind},
        {"nearest", find_nearest},
        {"point", copy_point},
        {"is", tell_object},
        {"mirrored", mirror},
        {"counterpart", find_counterpart},
        {"turned", turn},
        {"quaternion", make_quaternion},
        {"bend_normal", find_bend_normal},
        {"json", read_json},
        {"quote", quote},
        {"find_module", find_module},
        {"module_source", find_module_source},
        {NULL, NULL},
    };
    static const char *const shared[] = {"vec", "frame", "curve", NULL};
    int fid = lua_gettop(L);
    fid_loader_push_core(L);
    luaL_setfuncs(L, functions, 0);
    for (int i = 0; shared[i] != NULL; i++) {
        lua_getfield(L, fid, shared[i]);
        lua_setfield(L, -2, shared[i]);
    }
    lua_pop(L, 1);
}
