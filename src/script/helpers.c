#include "script/helpers.h"

#include "math/curve.h"
#include "rig/display.h"
#include "rig/naming.h"
#include "script/bind_rig.h"
#include "script/core.h"
#include "script/data.h"
#include "script/fields.h"
#include "script/library.h"
#include "script/loader.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

static const char outline_name[] = "outline", curve_name[] = "curve", random_name[] = "random";

/// Most points of an outline or a curve.
enum { MOST_POINTS = 4096 };

static void check_count(lua_State *L, const char *what, lua_Unsigned count, lua_Unsigned least) {
    if (count < least || count > MOST_POINTS) {
        fid_raisef(L, FID_RANGE, what, "'%s' has %llu points; it takes %llu to %d", what, (unsigned long long)count,
                   (unsigned long long)least, (int)MOST_POINTS);
    }
}

/// Makes a metatable whose values are read through `index`, closed over a table of `methods`, and cannot be changed.
static void open_kind(lua_State *L, const char *name, const luaL_Reg *methods) {
    luaL_newmetatable(L, name);
    lua_newtable(L);
    luaL_setfuncs(L, methods, 0);
    lua_setfield(L, -2, "__index");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pop(L, 1);
}

// Outlines

/// The userdata holds the strokes and their points behind itself.
static void push_outline(lua_State *L, const fid_strokes *strokes) {
    size_t points = 0;
    for (int32_t i = 0; i < strokes->count; i++) {
        points += (size_t)strokes->at[i].count;
    }
    size_t stroke_bytes = (size_t)strokes->count * sizeof(fid_stroke);
    fid_strokes *out = lua_newuserdatauv(L, sizeof *out + stroke_bytes + points * sizeof(fid_vec3), 0);
    fid_stroke *stroke_at = (fid_stroke *)(void *)(out + 1);
    fid_vec3 *point_at = (fid_vec3 *)(void *)(stroke_at + strokes->count);
    out->at = stroke_at;
    out->count = strokes->count;
    for (int32_t i = 0; i < strokes->count; i++) {
        const fid_stroke *stroke = &strokes->at[i];
        memcpy(point_at, stroke->points, (size_t)stroke->count * sizeof *point_at);
        stroke_at[i] = (fid_stroke){stroke->closed, point_at, stroke->count};
        point_at += stroke->count;
    }
    luaL_setmetatable(L, outline_name);
}

bool fid_outline_get(lua_State *L, int index, fid_strokes *out) {
    const fid_strokes *at = luaL_testudata(L, index, outline_name);
    if (at != NULL) {
        *out = *at;
    }
    return at != NULL;
}

/// Turns what is square to +Y so that it is square to the axis: the axes change places in a ring.
static fid_vec3 turn_to_axis(fid_vec3 p, char axis) {
    if (axis == 'x') {
        return (fid_vec3){p.y, p.z, p.x};
    }
    return axis == 'z' ? (fid_vec3){p.z, p.x, p.y} : p;
}

/// fid.outline.circle{size =, axis =, at =} and so on: the shape is the first upvalue.
static int make_outline(lua_State *L) {
    static const char *const keys[] = {"size", "axis", "at", NULL};
    fid_shape shape = (fid_shape)lua_tointeger(L, lua_upvalueindex(1));
    char call[48];
    snprintf(call, sizeof call, "fid.outline.%s{}", fid_shape_names[shape]);
    lua_settop(L, 1);
    fid_value_check_keys(L, 1, call, keys);
    if (lua_getfield(L, 1, "size") != LUA_TNUMBER || !(lua_tonumber(L, -1) > 0.0 && lua_tonumber(L, -1) <= 1e4)) {
        return fid_raisef(L, FID_RANGE, "size", "%s needs 'size', a number above 0, at most 10000, in m", call);
    }
    float size = (float)lua_tonumber(L, -1);
    char axis = 'y';
    if (lua_getfield(L, 1, "axis") != LUA_TNIL) {
        const char *text = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "";
        if (strlen(text) != 1 || text[0] < 'x' || text[0] > 'z') {
            return fid_raisef(L, FID_UNKNOWN, "axis", "%s: 'axis' must be \"x\", \"y\" or \"z\"", call);
        }
        axis = text[0];
    }
    fid_vec3 at = {0, 0, 0};
    if (lua_getfield(L, 1, "at") != LUA_TNIL) {
        at = fid_vec_need(L, -1, "'at'");
    }
    fid_arena *arena = fid_fields_push_arena(L);
    fid_strokes strokes = {0};
    fid_error err;
    if (fid_shape_strokes(shape, size, arena, &strokes, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    push_outline(L, &strokes);
    const fid_strokes *out = lua_touserdata(L, -1);
    for (int32_t i = 0; i < out->count; i++) {
        // The points lie in the userdata that was just made.
        fid_vec3 *points = (fid_vec3 *)(uintptr_t)out->at[i].points;
        for (int32_t j = 0; j < out->at[i].count; j++) {
            points[j] = fid_vec3_add(turn_to_axis(points[j], axis), at);
        }
    }
    return 1;
}

/// fid.outline.line{points =, closed =}
static int make_line(lua_State *L) {
    static const char *const keys[] = {"points", "closed", NULL};
    lua_settop(L, 1);
    fid_value_check_keys(L, 1, "fid.outline.line{}", keys);
    bool closed = lua_getfield(L, 1, "closed") != LUA_TNIL && lua_toboolean(L, -1) != 0;
    if (lua_getfield(L, 1, "points") != LUA_TTABLE) {
        return fid_raisef(L, FID_INVALID, "points", "fid.outline.line{} needs 'points', a list of points");
    }
    lua_Unsigned count = lua_rawlen(L, 3);
    check_count(L, "points", count, 2);
    fid_vec3 *points = lua_newuserdatauv(L, count * sizeof *points, 0);
    for (lua_Unsigned i = 0; i < count; i++) {
        char what[32];
        snprintf(what, sizeof what, "'points' [%llu]", (unsigned long long)i + 1);
        lua_rawgeti(L, 3, (lua_Integer)i + 1);
        points[i] = fid_vec_need(L, -1, what);
        lua_pop(L, 1);
    }
    fid_stroke stroke = {closed, points, (int32_t)count};
    fid_strokes strokes = {&stroke, 1};
    push_outline(L, &strokes);
    return 1;
}

// Curves

typedef struct curve_value {
    fid_curve curve; ///< x and y lie behind this
    float *slopes;   ///< NULL: linear
} curve_value;

bool fid_curve_get(lua_State *L, int index, fid_curve *out) {
    const curve_value *at = luaL_testudata(L, index, curve_name);
    if (at != NULL) {
        *out = at->curve;
    }
    return at != NULL;
}

bool fid_power_get(lua_State *L, int index, fid_curve *out) {
    static const char *const keys[] = {"power", NULL};
    index = lua_absindex(L, index);
    if (lua_type(L, index) != LUA_TTABLE) {
        return false;
    }
    fid_value_check_plain(L, index, "a curve");
    bool is_power = lua_getfield(L, index, "power") != LUA_TNIL;
    if (is_power) {
        fid_value_check_keys(L, index, "a curve with a power", keys);
        double power = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : 0;
        if (!((float)power > 0 && power <= 100)) {
            fid_raisef(L, FID_RANGE, "power", "the 'power' of a curve must be a number above 0 and at most 100");
        }
        *out = (fid_curve){.interpolation = FID_POWER, .power = (float)power, .sign = 1};
    }
    lua_pop(L, 1);
    return is_power;
}

static float read_coordinate(lua_State *L, int list, lua_Integer point, int axis) {
    if (lua_rawgeti(L, list, axis + 1) != LUA_TNUMBER || !(fabs(lua_tonumber(L, -1)) <= 1e30)) {
        fid_raisef(L, FID_INVALID, "points", "point %lld of fid.curve{} must be two finite numbers {x, y}",
                   (long long)point);
    }
    float value = (float)lua_tonumber(L, -1);
    lua_pop(L, 1);
    return value;
}

static int make_curve(lua_State *L) {
    static const char *const keys[] = {"points", "interpolation", "power", NULL};
    lua_settop(L, 1);
    fid_curve power;
    if (fid_power_get(L, 1, &power)) {
        curve_value *value = lua_newuserdatauv(L, sizeof *value, 0);
        *value = (curve_value){power, NULL};
        luaL_setmetatable(L, curve_name);
        return 1;
    }
    fid_value_check_keys(L, 1, "fid.curve{}", keys);
    fid_interpolation interpolation = FID_SMOOTH;
    if (lua_getfield(L, 1, "interpolation") != LUA_TNIL) {
        const char *text = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : "";
        interpolation = strcmp(text, "linear") == 0 ? FID_LINEAR : FID_SMOOTH;
        if (interpolation == FID_SMOOTH && strcmp(text, "smooth") != 0) {
            return fid_raisef(L, FID_UNKNOWN, "interpolation",
                              "fid.curve{}: 'interpolation' must be \"smooth\" or \"linear\"");
        }
    }
    if (lua_getfield(L, 1, "points") != LUA_TTABLE) {
        return fid_raisef(L, FID_INVALID, "points", "fid.curve{} needs 'points', a list of {x, y}, or 'power'");
    }
    lua_Unsigned count = lua_rawlen(L, 3);
    check_count(L, "points", count, 2);
    curve_value *value = lua_newuserdatauv(L, sizeof *value + 3 * count * sizeof(float), 0);
    float *x = (float *)(void *)(value + 1), *y = x + count, *slopes = y + count;
    for (lua_Unsigned i = 0; i < count; i++) {
        if (lua_rawgeti(L, 3, (lua_Integer)i + 1) != LUA_TTABLE || lua_rawlen(L, -1) != 2) {
            return fid_raisef(L, FID_INVALID, "points", "point %llu of fid.curve{} must be a list {x, y}",
                              (unsigned long long)i + 1);
        }
        x[i] = read_coordinate(L, 5, (lua_Integer)i + 1, 0);
        y[i] = read_coordinate(L, 5, (lua_Integer)i + 1, 1);
        lua_pop(L, 1);
        if (i > 0 && !(x[i] > x[i - 1])) {
            return fid_raisef(L, FID_RANGE, "points", "point %llu of fid.curve{}: x must rise from point to point",
                              (unsigned long long)i + 1);
        }
    }
    fid_curve_slopes((int32_t)count, x, y, slopes);
    value->curve = (fid_curve){.interpolation = interpolation, .x = x, .y = y, .count = (int32_t)count};
    value->slopes = interpolation == FID_SMOOTH ? slopes : NULL;
    luaL_setmetatable(L, curve_name);
    return 1;
}

static int get_value_at(lua_State *L) {
    const curve_value *value = luaL_checkudata(L, 1, curve_name);
    if (lua_type(L, 2) != LUA_TNUMBER || !(fabs(lua_tonumber(L, 2)) <= 1e30)) {
        return fid_raisef(L, FID_INVALID, NULL, "curve:at takes a finite number, not %s",
                          lua_type(L, 2) == LUA_TNUMBER ? "one beyond 1e30" : fid_value_kind(L, 2));
    }
    float x = (float)lua_tonumber(L, 2);
    const fid_curve *curve = &value->curve;
    float y = curve->interpolation == FID_POWER ? fid_curve_power(curve->power, x)
                                                : fid_curve_at(curve->count, curve->x, curve->y, value->slopes, x);
    lua_pushnumber(L, (double)y);
    return 1;
}

// Random numbers

/// The generator SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014.
static uint64_t draw(uint64_t *state) {
    uint64_t z = (*state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static int make_random(lua_State *L) {
    if (lua_isinteger(L, 1) == 0) {
        return fid_raisef(L, FID_INVALID, NULL, "fid.random takes a whole number as its seed, not %s",
                          lua_type(L, 1) == LUA_TNUMBER ? "one with a fraction" : fid_value_kind(L, 1));
    }
    uint64_t seed = (uint64_t)lua_tointeger(L, 1);
    uint64_t *state = lua_newuserdatauv(L, sizeof *state, 0);
    *state = seed;
    luaL_setmetatable(L, random_name);
    return 1;
}

static int draw_number(lua_State *L) {
    uint64_t *state = luaL_checkudata(L, 1, random_name);
    double low = lua_isnoneornil(L, 2) ? 0.0 : luaL_checknumber(L, 2);
    double high = lua_isnoneornil(L, 3) ? 1.0 : luaL_checknumber(L, 3);
    if (!(low <= high) || !isfinite(high - low)) {
        return fid_raisef(L, FID_RANGE, NULL, "random:number takes the lowest and the highest number");
    }
    // 53 bits are what a double holds.
    double share = (double)(draw(state) >> 11) / 9007199254740992.0;
    double value = low + (high - low) * share;
    lua_pushnumber(L, value < high ? value : high);
    return 1;
}

static int draw_integer(lua_State *L) {
    uint64_t *state = luaL_checkudata(L, 1, random_name);
    lua_Integer low = luaL_checkinteger(L, 2), high = luaL_checkinteger(L, 3);
    if (low > high) {
        return fid_raisef(L, FID_RANGE, NULL, "random:integer takes the lowest and the highest whole number");
    }
    uint64_t span = (uint64_t)high - (uint64_t)low;
    uint64_t value = draw(state);
    if (span < UINT64_MAX) {
        // What lies above the last whole round would make the low numbers more likely.
        uint64_t count = span + 1, rest = (UINT64_MAX % count + 1) % count;
        while (value > UINT64_MAX - rest) {
            value = draw(state);
        }
        value %= count;
    }
    lua_pushinteger(L, (lua_Integer)((uint64_t)low + value));
    return 1;
}

// Names

/// fid.name.parse(name, naming): the fields of a name.
static int parse_name(lua_State *L) {
    fid_naming naming;
    fid_name_parsed parsed;
    fid_error err;
    lua_settop(L, 2);
    if (lua_type(L, 1) != LUA_TSTRING) {
        return fid_raisef(L, FID_INVALID, NULL, "fid.name.parse takes a name, not %s", fid_value_kind(L, 1));
    }
    fid_naming_read(L, 2, &naming);
    if (fid_name_parse(&naming, lua_tostring(L, 1), &parsed, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    const fid_name_fields *fields = &parsed.fields;
    lua_createtable(L, 0, 5);
    lua_pushstring(L, fields->id);
    lua_setfield(L, -2, "id");
    lua_pushstring(L, fields->part);
    lua_setfield(L, -2, "part");
    if (fields->index_count == 1) {
        lua_pushinteger(L, fields->index[0]);
        lua_setfield(L, -2, "index");
    } else if (fields->index_count == 2) {
        lua_createtable(L, 2, 0);
        lua_pushinteger(L, fields->index[0]);
        lua_rawseti(L, -2, 1);
        lua_pushinteger(L, fields->index[1]);
        lua_rawseti(L, -2, 2);
        lua_setfield(L, -2, "index");
    }
    lua_pushstring(L, fid_side_names[fields->side]);
    lua_setfield(L, -2, "side");
    lua_pushstring(L, fid_role_names[fields->role]);
    lua_setfield(L, -2, "role");
    return 1;
}

static void add_outlines(lua_State *L) {
    lua_newtable(L);
    for (int i = 0; fid_shape_names[i] != NULL; i++) {
        lua_pushinteger(L, i);
        lua_pushcclosure(L, make_outline, 1);
        lua_setfield(L, -2, fid_shape_names[i]);
    }
    lua_pushcfunction(L, make_line);
    lua_setfield(L, -2, "line");
    fid_library_seal(L, "fid.outline");
    lua_setfield(L, -2, "outline");
}

void fid_helpers_open(lua_State *L) {
    static const luaL_Reg none[] = {{NULL, NULL}};
    static const luaL_Reg curve_methods[] = {{"at", get_value_at}, {NULL, NULL}};
    static const luaL_Reg random_methods[] = {{"number", draw_number}, {"integer", draw_integer}, {NULL, NULL}};
    static const luaL_Reg makers[] = {
        {"curve", make_curve}, {"random", make_random}, {"data", fid_data_read}, {NULL, NULL}};
    int fid = lua_gettop(L);
    open_kind(L, outline_name, none);
    open_kind(L, curve_name, curve_methods);
    open_kind(L, random_name, random_methods);
    luaL_setfuncs(L, makers, 0);
    add_outlines(L);
    lua_newtable(L);
    lua_pushcfunction(L, parse_name);
    lua_setfield(L, -2, "parse");
    fid_library_seal(L, "fid.name");
    lua_setfield(L, -2, "name");
    fid_core_open(L);
    fid_loader_run_own(L, "points");
    lua_setfield(L, fid, "points");
    fid_loader_run_own(L, "zip");
    lua_setfield(L, fid, "zip");
}
