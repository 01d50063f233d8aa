#include "rig/constraint.h"
#include "script/bind_channel.h"
#include "script/fields_inside.h"
#include "script/raise.h"
#include "script/value.h"

#include <stdio.h>

/// The reader of what a drive reads: channels and measures of bones.

static const char wanted[] =
    "a Channel, {distance = {a, b}}, {angle = {bone, \"+z\", bone, \"+x\"}}, {twist = bone}, or a list of these";

/// The list of `count` values that a measure `key` has, on the top of the stack.
static int need_list(fid_reading *in, const char *key, lua_Unsigned count, const char *what) {
    lua_State *L = in->L;
    if (lua_type(L, -1) == LUA_TTABLE) {
        char name[96];
        snprintf(name, sizeof name, "%.40s: '%s' of '%.40s'", in->call, key, in->field->key);
        fid_value_check_plain(L, -1, name);
    }
    if (lua_type(L, -1) != LUA_TTABLE || lua_rawlen(L, -1) != count) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s: '%s' of '%s' takes a list %s", in->call, key, in->field->key,
                   what);
    }
    return lua_gettop(L);
}

static fid_source read_end(fid_reading *in, int list, int i) {
    lua_rawgeti(in->L, list, i);
    fid_source out = fid_reading_source(in, -1);
    lua_pop(in->L, 1);
    return out;
}

static int32_t read_axis(fid_reading *in, int list, int i) {
    lua_State *L = in->L;
    if (lua_rawgeti(L, list, i) != LUA_TSTRING) {
        fid_reading_raise_kind(in, -1, "a list {bone, \"+z\", bone, \"+x\"} of two bones and their axes as an angle");
    }
    int32_t axis = fid_reading_find_word(lua_tostring(L, -1), fid_aim_axis_names);
    if (axis < 0) {
        fid_reading_raise_choice(in, lua_tostring(L, -1), fid_aim_axis_names);
    }
    lua_pop(L, 1);
    return axis;
}

/// {distance = } or {angle = } or {twist = }.
static fid_factor read_measure(fid_reading *in, int index) {
    static const char *const keys[] = {"distance", "angle", "twist", NULL};
    lua_State *L = in->L;
    int top = lua_gettop(L);
    fid_factor out = {.kind = FID_FACTOR_DISTANCE};
    char what[128];
    snprintf(what, sizeof what, "%.40s: a measure of '%.40s'", in->call, in->field->key);
    fid_value_check_keys(L, index, what, keys);
    int given = 0;
    for (int i = 0; i < 3; i++) {
        given += lua_getfield(L, index, keys[i]) != LUA_TNIL;
        lua_pop(L, 1);
    }
    if (given != 1) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s has one of distance, angle, twist", what);
    }
    if (lua_getfield(L, index, "distance") != LUA_TNIL) {
        int list = need_list(in, "distance", 2, "{a, b} of two points");
        out.a = read_end(in, list, 1);
        out.b = read_end(in, list, 2);
    }
    if (lua_getfield(L, index, "angle") != LUA_TNIL) {
        int list = need_list(in, "angle", 4, "{bone, \"+z\", bone, \"+x\"} of two bones and their axes");
        out.kind = FID_FACTOR_ANGLE;
        out.a = read_end(in, list, 1);
        out.axis_a = read_axis(in, list, 2);
        out.b = read_end(in, list, 3);
        out.axis_b = read_axis(in, list, 4);
    }
    if (lua_getfield(L, index, "twist") != LUA_TNIL) {
        out = (fid_factor){.kind = FID_FACTOR_TWIST, .a = fid_reading_source(in, -1)};
        if (out.a.kind != FID_SOURCE_BONE) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: 'twist' of '%s' takes a Bone", in->call, in->field->key);
        }
    }
    lua_settop(L, top);
    return out;
}

static fid_factor read_factor(fid_reading *in, int index) {
    index = lua_absindex(in->L, index);
    if (lua_type(in->L, index) == LUA_TTABLE) {
        return read_measure(in, index);
    }
    if (!fid_channel_get(in->L, index, &(fid_rig *){NULL}, &(fid_channel){.kind = FID_CHANNEL_NONE})) {
        fid_reading_raise_kind(in, index, wanted);
    }
    return (fid_factor){.kind = FID_FACTOR_CHANNEL, .channel = fid_reading_channel(in, index)};
}

fid_factors fid_reading_factors(fid_reading *in, int index) {
    lua_State *L = in->L;
    index = lua_absindex(L, index);
    bool several = lua_type(L, index) == LUA_TTABLE;
    if (several) {
        fid_value_check_plain(L, index, "the 'from' of a drive");
        several = lua_rawgeti(L, index, 1) != LUA_TNIL;
        lua_pop(L, 1);
    }
    int32_t count = several ? fid_reading_count(in, index, wanted) : 1;
    fid_factor *at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        if (several) {
            lua_rawgeti(L, index, i + 1);
        } else {
            lua_pushvalue(L, index);
        }
        at[i] = read_factor(in, -1);
        lua_pop(L, 1);
    }
    return (fid_factors){at, count};
}
