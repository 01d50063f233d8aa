#include "script/bind_bone.h"
#include "script/fields_inside.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <stdlib.h>

enum { MOST_BONES = 1024 };

static int compare_entries(const void *a, const void *b) {
    uint32_t x = ((const fid_layer_entry *)a)->bone.handle.slot, y = ((const fid_layer_entry *)b)->bone.handle.slot;
    return (x > y) - (x < y);
}

/// Degrees in the bone's order; more than half a turn away cannot be told from the shorter way.
static fid_quat read_rotation(fid_reading *in, const fid_bone *bone) {
    fid_vec3 degrees = fid_vec_need(in->L, -1, "'rotation' of a layer");
    const float angles[3] = {degrees.x, degrees.y, degrees.z};
    for (int i = 0; i < 3; i++) {
        if (angles[i] > 180 || angles[i] < -180) {
            fid_raisef(
                in->L, FID_RANGE, in->field->key,
                "%s: the rotation of '%s' is over 180 degrees: a layer turns the shorter way; put a pose halfway",
                in->call, bone->name);
        }
    }
    return fid_quat_from_euler(degrees, (fid_order)bone->def.rotation_order);
}

static fid_quat read_quaternion(fid_reading *in, const fid_bone *bone) {
    float q[4] = {0, 0, 0, 0};
    bool good = lua_type(in->L, -1) == LUA_TTABLE && lua_rawlen(in->L, -1) == 4;
    double size = 0;
    for (int i = 0; i < 4 && good; i++) {
        lua_rawgeti(in->L, -1, i + 1);
        double value = lua_type(in->L, -1) == LUA_TNUMBER ? lua_tonumber(in->L, -1) : HUGE_VAL;
        good = fabs(value) <= 1e6;
        q[i] = (float)value;
        size += value * value;
        lua_pop(in->L, 1);
    }
    if (!good || !(size > 1e-12)) {
        fid_raisef(in->L, FID_INVALID, in->field->key,
                   "%s: the quaternion of '%s' takes four numbers {x, y, z, w} that are not all 0", in->call,
                   bone->name);
    }
    return fid_quat_normalize((fid_quat){q[0], q[1], q[2], q[3]});
}

/// The table {translation = , rotation = or quaternion = , scale = } on top of the stack.
static fid_frame read_delta(fid_reading *in, const fid_bone *bone) {
    static const char *const keys[] = {"translation", "rotation", "quaternion", "scale", NULL};
    lua_State *L = in->L;
    int table = lua_gettop(L);
    fid_frame out = FID_FRAME_IDENTITY;
    fid_value_check_keys(L, table, "a pose of a layer", keys);
    if (lua_getfield(L, table, "translation") != LUA_TNIL) {
        out.t = fid_vec_need(L, -1, "'translation' of a layer");
    }
    bool turned = lua_getfield(L, table, "rotation") != LUA_TNIL;
    if (turned) {
        out.q = read_rotation(in, bone);
    }
    if (lua_getfield(L, table, "quaternion") != LUA_TNIL) {
        if (turned) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: '%s' has rotation and quaternion: give one of them",
                       in->call, bone->name);
        }
        out.q = read_quaternion(in, bone);
    }
    if (lua_getfield(L, table, "scale") == LUA_TNUMBER) {
        float s = (float)lua_tonumber(L, -1);
        out.s = (fid_vec3){s, s, s};
    } else if (!lua_isnil(L, -1)) {
        out.s = fid_vec_need(L, -1, "'scale' of a layer");
    }
    out.q = fid_quat_canonical(out.q);
    lua_settop(L, table);
    return out;
}

/// The table {[bone] = {...}} on top of the stack, bones in order of creation.
static void read_pose(fid_reading *in, fid_layer_pose *out) {
    lua_State *L = in->L;
    int table = lua_gettop(L);
    if (lua_type(L, table) != LUA_TTABLE) {
        fid_reading_raise_kind(in, table, "poses with 'pose = {[bone] = {translation = , rotation = , scale = }}'");
    }
    fid_value_check_plain(L, table, "'pose' of a layer");
    int32_t count = 0;
    for (lua_pushnil(L); lua_next(L, table); lua_pop(L, 1)) {
        count++;
    }
    if (count > MOST_BONES) {
        fid_raisef(L, FID_LIMIT, in->field->key, "%s: a pose has %d bones; at most %d are taken", in->call, (int)count,
                   (int)MOST_BONES);
    }
    fid_layer_entry *entries = fid_reading_get(in, (size_t)count, sizeof *entries);
    count = 0;
    for (lua_pushnil(L); lua_next(L, table); lua_pop(L, 1)) {
        fid_rig *owner = NULL;
        fid_layer_entry *entry = &entries[count++];
        if (!fid_bone_get(L, -2, &owner, &entry->bone)) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: the keys of a pose are Bones, not %s", in->call,
                       fid_value_kind(L, -2));
        }
        fid_reading_check_owner(in, owner);
        const fid_bone *bone = fid_rig_bone(in->rig, entry->bone, NULL);
        if (lua_type(L, -1) != LUA_TTABLE || bone == NULL) {
            fid_reading_raise_kind(in, -1, "tables {translation = , rotation = , scale = } for each bone");
        }
        entry->delta = read_delta(in, bone);
    }
    qsort(entries, (size_t)count, sizeof *entries, compare_entries);
    out->entries = entries;
    out->count = count;
}

fid_pose_table fid_reading_poses(fid_reading *in, int index) {
    static const char *const keys[] = {"at", "pose", NULL};
    lua_State *L = in->L;
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    int32_t count = fid_reading_count(in, index, "a list of {at = value, pose = {...}}");
    fid_layer_pose *poses = fid_reading_get(in, (size_t)count, sizeof *poses);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(L, index, i + 1);
        fid_value_check_keys(L, -1, "an entry of 'poses'", keys);
        if (lua_getfield(L, -1, "at") != LUA_TNUMBER || !(fabs(lua_tonumber(L, -1)) <= 1e30)) {
            fid_reading_raise_kind(in, -1, "entries with 'at', a finite number");
        }
        poses[i].at = (float)lua_tonumber(L, -1);
        lua_pop(L, 1);
        lua_getfield(L, -1, "pose");
        read_pose(in, &poses[i]);
        lua_pop(L, 2);
    }
    return (fid_pose_table){poses, count};
}
