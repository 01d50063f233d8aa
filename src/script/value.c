#include "script/value.h"

#include "base/number.h"
#include "base/text.h"
#include "math/scalar.h"
#include "script/helpers.h"
#include "script/library.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

static const char vec_name[] = "vec", frame_name[] = "frame";

void fid_vec_push(lua_State *L, fid_vec3d value) {
    // Asked so that what is not a number is refused, too.
    if (!(fabs(value.x) <= 1e30 && fabs(value.y) <= 1e30 && fabs(value.z) <= 1e30)) {
        fid_raisef(L, FID_RANGE, NULL, "the result is no point: a coordinate is beyond 1e30");
    }
    fid_vec3d *at = lua_newuserdatauv(L, sizeof *at, 0);
    *at = (fid_vec3d){value.x + 0.0, value.y + 0.0, value.z + 0.0};
    luaL_setmetatable(L, vec_name);
}

void fid_frame_push(lua_State *L, fid_frame value) {
    fid_frame *at = lua_newuserdatauv(L, sizeof *at, 0);
    *at = fid_frame_rigid(value);
    luaL_setmetatable(L, frame_name);
}

const char *fid_value_kind(lua_State *L, int index) {
    int type = lua_type(L, index);
    switch (type) {
    case LUA_TNONE:
    case LUA_TNIL:
        return "nothing";
    case LUA_TBOOLEAN:
        return "a boolean";
    case LUA_TNUMBER:
        return "a number";
    case LUA_TSTRING:
        return "a text";
    case LUA_TTABLE:
        return "a table";
    case LUA_TFUNCTION:
        return "a function";
    default:
        break;
    }
    if (luaL_getmetafield(L, index, "__name") == LUA_TSTRING) {
        // The metatable keeps the text alive.
        const char *name = lua_tostring(L, -1);
        lua_pop(L, 1);
        return name;
    }
    lua_settop(L, lua_gettop(L));
    return lua_typename(L, type);
}

static bool get_list(lua_State *L, int index, const char *what, fid_vec3d *out) {
    double values[3];
    lua_Integer count = (lua_Integer)lua_rawlen(L, index);
    if (count != 3) {
        fid_raisef(L, FID_INVALID, what, "%s has %d values; a point is a fid.vec or a list of three numbers", what,
                   (int)count);
    }
    for (int i = 0; i < 3; i++) {
        lua_rawgeti(L, index, i + 1);
        if (lua_type(L, -1) != LUA_TNUMBER) {
            fid_raisef(L, FID_INVALID, what, "value %d of %s is %s; a point is a fid.vec or a list of three numbers",
                       i + 1, what, fid_value_kind(L, -1));
        }
        values[i] = lua_tonumber(L, -1);
        if (!(fabs(values[i]) <= 1e30)) {
            fid_raisef(L, FID_RANGE, what, "value %d of %s is not finite", i + 1, what);
        }
        lua_pop(L, 1);
    }
    *out = (fid_vec3d){values[0], values[1], values[2]};
    return true;
}

bool fid_vec_get(lua_State *L, int index, const char *what, fid_vec3d *out) {
    index = lua_absindex(L, index);
    luaL_checkstack(L, 4, NULL);
    if (lua_type(L, index) == LUA_TTABLE) {
        return lua_getmetatable(L, index) ? (lua_pop(L, 1), false) : get_list(L, index, what, out);
    }
    const fid_vec3d *at = luaL_testudata(L, index, vec_name);
    if (at) {
        *out = *at;
        return true;
    }
    if (lua_type(L, index) == LUA_TUSERDATA && luaL_getmetafield(L, index, "__point") == LUA_TFUNCTION) {
        lua_pushvalue(L, index);
        lua_call(L, 1, 1);
        at = luaL_testudata(L, -1, vec_name);
        if (at) {
            *out = *at;
        }
        lua_pop(L, 1);
        return at != NULL;
    }
    return false;
}

fid_vec3 fid_vec_need(lua_State *L, int index, const char *what) {
    fid_vec3d out;
    if (!fid_vec_get(L, index, what, &out)) {
        fid_raisef(L, FID_INVALID, what, "%s is %s; it takes a fid.vec or a list of three numbers", what,
                   fid_value_kind(L, index));
    }
    return fid_vec3d_round(out);
}

bool fid_frame_get(lua_State *L, int index, fid_frame *out) {
    const fid_frame *at = luaL_testudata(L, index, frame_name);
    if (at) {
        *out = *at;
    }
    return at != NULL;
}

/// Most keys that are all told where none is near.
enum { FEW_KEYS = 9 };

void fid_value_check_keys(lua_State *L, int index, const char *call, const char *const *keys) {
    index = lua_absindex(L, index);
    if (lua_type(L, index) != LUA_TTABLE) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes one table of named arguments, not %s", call,
                   fid_value_kind(L, index));
    }
    fid_value_check_plain(L, index, call);
    int32_t count = 0;
    while (keys[count]) {
        count++;
    }
    // What is wrong first in the order of the keys is told, whatever the order of the table.
    const char *worst = NULL;
    lua_pushnil(L);
    while (lua_next(L, index)) {
        lua_pop(L, 1);
        if (lua_type(L, -1) != LUA_TSTRING) {
            fid_raisef(L, FID_INVALID, NULL, "%s takes named arguments only, as in {name = value}; it has %s as a key",
                       call, fid_value_kind(L, -1));
        }
        const char *key = lua_tostring(L, -1);
        bool known = false;
        for (int32_t i = 0; i < count; i++) {
            known |= strcmp(key, keys[i]) == 0;
        }
        if (!known && (!worst || strcmp(key, worst) < 0)) {
            worst = key;
        }
    }
    if (worst) {
        const char *near = fid_text_nearest(worst, keys, count);
        char list[160] = "";
        for (int32_t i = 0; !near && count <= FEW_KEYS && i < count; i++) {
            size_t used = strlen(list);
            snprintf(list + used, sizeof list - used, "%s%s", i > 0 ? ", " : "; it takes ", keys[i]);
        }
        fid_raisef(L, FID_UNKNOWN, worst, "%s has no argument '%.64s'%s%s%s", call, worst,
                   near ? "; did you mean '" : list, near ? near : "", near ? "'?" : "");
    }
}

void fid_value_check_plain(lua_State *L, int index, const char *what) {
    if (lua_getmetatable(L, index)) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a plain table, not one with a metatable", what);
    }
}

int32_t fid_value_check_list(lua_State *L, int index, const char *what, int32_t max) {
    index = lua_absindex(L, index);
    fid_value_check_plain(L, index, what);
    size_t count = lua_rawlen(L, index), found = 0;
    if (count > (size_t)max) {
        fid_raisef(L, FID_LIMIT, NULL, "%s has %zu entries; at most %d are taken", what, count, (int)max);
    }
    // The least wrong name is told, whatever the order of the table.
    const char *worst = NULL;
    for (lua_pushnil(L); lua_next(L, index); found++) {
        lua_pop(L, 1);
        if (lua_type(L, -1) == LUA_TSTRING && (!worst || strcmp(lua_tostring(L, -1), worst) < 0)) {
            worst = lua_tostring(L, -1);
        }
        if (found > (size_t)max) {
            break;
        }
    }
    if (worst) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a list; it has the key '%.64s'", what, worst);
    }
    if (found != count) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a list without holes, numbered from 1", what);
    }
    return (int32_t)count;
}

/// A point operand of an operator or method.
static fid_vec3d operand(lua_State *L, int index, const char *what) {
    fid_vec3d out;
    if (!fid_vec_get(L, index, what, &out)) {
        fid_raisef(L, FID_INVALID, NULL, "%s is %s; it takes a fid.vec or a list of three numbers", what,
                   fid_value_kind(L, index));
    }
    return out;
}

static double number(lua_State *L, int index, const char *what) {
    if (lua_type(L, index) != LUA_TNUMBER || !(fabs(lua_tonumber(L, index)) <= 1e30)) {
        bool beyond = lua_type(L, index) == LUA_TNUMBER;
        fid_raisef(L, beyond ? FID_RANGE : FID_INVALID, NULL, "%s is %s; it takes a finite number%s", what,
                   beyond ? fid_library_push_text(L, index, NULL) : fid_value_kind(L, index),
                   beyond ? " of at most 1e30" : "");
    }
    return lua_tonumber(L, index);
}

static int vec_make(lua_State *L) {
    fid_vec3d value;
    if (lua_gettop(L) == 1) {
        value = operand(L, 1, "the argument of fid.vec");
    } else {
        value.x = number(L, 1, "x of fid.vec");
        value.y = number(L, 2, "y of fid.vec");
        value.z = number(L, 3, "z of fid.vec");
    }
    fid_vec_push(L, value);
    return 1;
}

static int vec_add(lua_State *L) {
    fid_vec_push(L, fid_vec3d_add(operand(L, 1, "the left side of +"), operand(L, 2, "the right side of +")));
    return 1;
}

static int vec_sub(lua_State *L) {
    fid_vec_push(L, fid_vec3d_sub(operand(L, 1, "the left side of -"), operand(L, 2, "the right side of -")));
    return 1;
}

static int vec_mul(lua_State *L) {
    int scalar = lua_type(L, 1) == LUA_TNUMBER ? 1 : 2;
    fid_vec_push(L, fid_vec3d_scale(operand(L, 3 - scalar, "one side of *"), number(L, scalar, "one side of *")));
    return 1;
}

static int vec_div(lua_State *L) {
    double by = number(L, 2, "the right side of /");
    if (fabs(by) < 1e-30) {
        return fid_raisef(L, FID_RANGE, NULL, "a point cannot be divided by zero");
    }
    fid_vec_push(L, fid_vec3d_scale(operand(L, 1, "the left side of /"), 1.0 / by));
    return 1;
}

static int vec_unm(lua_State *L) {
    fid_vec_push(L, fid_vec3d_scale(operand(L, 1, "the operand of -"), -1));
    return 1;
}

static int vec_eq(lua_State *L) {
    const fid_vec3d *a = luaL_testudata(L, 1, vec_name), *b = luaL_testudata(L, 2, vec_name);
    lua_pushboolean(L, a && b && a->x == b->x && a->y == b->y && a->z == b->z);
    return 1;
}

static int vec_text(lua_State *L) {
    const fid_vec3d *at = luaL_checkudata(L, 1, vec_name);
    fid_vec3 v = fid_vec3d_round(*at);
    char text[3][FID_NUMBER_SIZE];
    fid_number_write(text[0], v.x);
    fid_number_write(text[1], v.y);
    fid_number_write(text[2], v.z);
    lua_pushfstring(L, "(%s, %s, %s)", text[0], text[1], text[2]);
    return 1;
}

static int vec_length(lua_State *L) {
    lua_pushnumber(L, fid_vec3d_length(operand(L, 1, "the point")));
    return 1;
}

static int vec_dot(lua_State *L) {
    lua_pushnumber(L, fid_vec3d_dot(operand(L, 1, "the point"), operand(L, 2, "the argument of dot")));
    return 1;
}

static int vec_cross(lua_State *L) {
    fid_vec_push(L, fid_vec3d_cross(operand(L, 1, "the point"), operand(L, 2, "the argument of cross")));
    return 1;
}

static int vec_normalized(lua_State *L) {
    fid_vec3d value = operand(L, 1, "the point");
    if (fid_vec3d_length(value) < 1e-30) {
        return fid_raisef(L, FID_RANGE, NULL, "a vector of no length has no direction");
    }
    fid_vec_push(L, fid_vec3d_normalize(value, value));
    return 1;
}

static int vec_distance(lua_State *L) {
    fid_vec3d way = fid_vec3d_sub(operand(L, 1, "the point"), operand(L, 2, "the argument of distance"));
    lua_pushnumber(L, fid_vec3d_length(way));
    return 1;
}

static int vec_lerp(lua_State *L) {
    fid_vec3d a = operand(L, 1, "the point"), b = operand(L, 2, "the first argument of lerp");
    double f = number(L, 3, "the second argument of lerp");
    fid_vec_push(L, fid_vec3d_add(a, fid_vec3d_scale(fid_vec3d_sub(b, a), f)));
    return 1;
}

/// Angle to another direction, degrees.
static int vec_angle(lua_State *L) {
    fid_vec3d a = operand(L, 1, "the vector"), b = operand(L, 2, "the argument of angle");
    double across = fid_vec3d_length(fid_vec3d_cross(a, b));
    lua_pushnumber(L, fid_degrees(fid_atan2(across, fid_vec3d_dot(a, b))));
    return 1;
}

static int unknown_attribute(lua_State *L, const char *of, const char *const *words) {
    const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : fid_value_kind(L, 2);
    int32_t count = 0;
    while (words[count]) {
        count++;
    }
    const char *near = fid_text_nearest(key, words, count);
    return fid_raisef(L, FID_UNKNOWN, key, "a %s has no '%.64s'%s%s%s", of, key, near ? "; did you mean '" : "",
                      near ? near : "", near ? "'?" : "");
}

/// Index function of plain values: upvalue 1 is the table of methods.
static int vec_index(lua_State *L) {
    static const char *const words[] = {"x",     "y",          "z",        "length", "dot", "cross",
                                        "angle", "normalized", "distance", "lerp",   NULL};
    const fid_vec3d *at = luaL_checkudata(L, 1, vec_name);
    if (lua_isinteger(L, 2)) {
        lua_Integer i = lua_tointeger(L, 2);
        if (i >= 1 && i <= 3) {
            lua_pushnumber(L, i == 1 ? at->x : i == 2 ? at->y : at->z);
        } else {
            // So that ipairs ends.
            lua_pushnil(L);
        }
        return 1;
    } else if (lua_type(L, 2) == LUA_TSTRING) {
        const char *key = lua_tostring(L, 2);
        if (key[0] >= 'x' && key[0] <= 'z' && key[1] == '\0') {
            lua_pushnumber(L, key[0] == 'x' ? at->x : key[0] == 'y' ? at->y : at->z);
            return 1;
        }
        lua_pushvalue(L, 2);
        if (lua_rawget(L, lua_upvalueindex(1)) != LUA_TNIL) {
            return 1;
        }
    }
    return unknown_attribute(L, vec_name, words);
}

static int refuse_newindex(lua_State *L) {
    return fid_raisef(L, FID_LOCKED, NULL, "a %s cannot be changed; make a new one", fid_value_kind(L, 1));
}

static int frame_make(lua_State *L) {
    static const char *const keys[] = {"at", "aim", "up", "across", NULL};
    fid_value_check_keys(L, 1, "fid.frame{}", keys);
    fid_frame out = FID_FRAME_IDENTITY;
    fid_hint hint = FID_HINT_NONE;
    fid_vec3 vector = {0, 0, 0}, aim = {0, 0, 1};
    if (lua_getfield(L, 1, "at") != LUA_TNIL) {
        out.t = fid_vec_need(L, -1, "'at'");
    }
    bool aims = lua_getfield(L, 1, "aim") != LUA_TNIL;
    if (aims) {
        aim = fid_vec_need(L, -1, "'aim'");
    }
    if (lua_getfield(L, 1, "up") != LUA_TNIL) {
        hint = FID_HINT_UP;
        vector = fid_vec_need(L, -1, "'up'");
    }
    if (lua_getfield(L, 1, "across") != LUA_TNIL) {
        if (hint != FID_HINT_NONE) {
            return fid_raisef(L, FID_INVALID, "across", "fid.frame{} takes 'up' or 'across', not both");
        }
        hint = FID_HINT_ACROSS;
        vector = fid_vec_need(L, -1, "'across'");
    }
    if ((aims || hint != FID_HINT_NONE) && !fid_frame_aim(aim, hint, vector, &out.q)) {
        return fid_raisef(L, FID_RANGE, "aim", "'aim' has no length, or 'up' or 'across' lies along it");
    }
    fid_frame_push(L, out);
    return 1;
}

static const fid_frame *frame_at(lua_State *L, int index) { return luaL_checkudata(L, index, frame_name); }

static int frame_mul(lua_State *L) {
    const fid_frame *a = frame_at(L, 1);
    fid_frame b;
    if (fid_frame_get(L, 2, &b)) {
        fid_frame out = fid_frame_compose(*a, b);
        out.q = fid_quat_normalize(out.q);
        fid_frame_push(L, out);
    } else {
        fid_vec3d p = fid_quatd_rotate(fid_quatd_from(a->q), operand(L, 2, "the right side of *"));
        fid_vec_push(L, fid_vec3d_add(fid_vec3d_from(a->t), p));
    }
    return 1;
}

static int frame_inverse(lua_State *L) {
    fid_frame_push(L, fid_frame_relation(*frame_at(L, 1), FID_FRAME_IDENTITY));
    return 1;
}

static int frame_to_own(lua_State *L) {
    const fid_frame *a = frame_at(L, 1);
    fid_vec3d way = fid_vec3d_sub(operand(L, 2, "the argument of to_own"), fid_vec3d_from(a->t));
    fid_vec_push(L, fid_quatd_rotate(fid_quatd_inverse(fid_quatd_from(a->q)), way));
    return 1;
}

/// The frame `f` as seen from this one: frame * frame:turn_to(f) is f.
static int frame_turn_to(lua_State *L) {
    fid_frame other;
    if (!fid_frame_get(L, 2, &other)) {
        return fid_raisef(L, FID_INVALID, NULL, "turn_to takes a frame, not %s", fid_value_kind(L, 2));
    }
    fid_frame out = fid_frame_relation(*frame_at(L, 1), other);
    out.q = fid_quat_normalize(out.q);
    fid_frame_push(L, out);
    return 1;
}

static int frame_eq(lua_State *L) {
    const fid_frame *a = luaL_testudata(L, 1, frame_name), *b = luaL_testudata(L, 2, frame_name);
    lua_pushboolean(L, a && b && memcmp(a, b, sizeof *a) == 0);
    return 1;
}

static int frame_index(lua_State *L) {
    static const char *const words[] = {"at", "aim", "up", "across", "rotation", "inverse", "to_own", "turn_to", NULL};
    const fid_frame *at = frame_at(L, 1);
    const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : "";
    if (strcmp(key, "at") == 0) {
        fid_vec_push(L, fid_vec3d_from(at->t));
    } else if (strcmp(key, "aim") == 0) {
        fid_vec_push(L, fid_vec3d_from(fid_quat_z(at->q)));
    } else if (strcmp(key, "up") == 0) {
        fid_vec_push(L, fid_vec3d_from(fid_quat_y(at->q)));
    } else if (strcmp(key, "across") == 0) {
        fid_vec_push(L, fid_vec3d_from(fid_quat_x(at->q)));
    } else if (strcmp(key, "rotation") == 0) {
        fid_quat q = fid_quat_canonical(at->q);
        const float values[4] = {q.x, q.y, q.z, q.w};
        lua_createtable(L, 4, 0);
        for (int i = 0; i < 4; i++) {
            lua_pushnumber(L, (double)values[i]);
            lua_rawseti(L, -2, i + 1);
        }
    } else {
        lua_pushvalue(L, 2);
        if (lua_rawget(L, lua_upvalueindex(1)) == LUA_TNIL) {
            return unknown_attribute(L, frame_name, words);
        }
    }
    return 1;
}

static int frame_text(lua_State *L) {
    const fid_frame *at = frame_at(L, 1);
    fid_vec3 angles = fid_quat_to_euler(at->q, FID_ORDER_XYZ);
    const float values[6] = {at->t.x, at->t.y, at->t.z, angles.x, angles.y, angles.z};
    char text[6][FID_NUMBER_SIZE];
    for (int i = 0; i < 6; i++) {
        fid_number_write(text[i], values[i]);
    }
    lua_pushfstring(L, "frame at (%s, %s, %s) turned (%s, %s, %s)", text[0], text[1], text[2], text[3], text[4],
                    text[5]);
    return 1;
}

/// Makes a metatable of plain values: operators, methods behind the index function.
static void open_kind(lua_State *L, const char *name, const luaL_Reg *operators, const luaL_Reg *methods,
                      lua_CFunction index) {
    luaL_newmetatable(L, name);
    luaL_setfuncs(L, operators, 0);
    lua_newtable(L);
    luaL_setfuncs(L, methods, 0);
    lua_pushcclosure(L, index, 1);
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, refuse_newindex);
    lua_setfield(L, -2, "__newindex");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pop(L, 1);
}

void fid_value_open(lua_State *L) {
    static const luaL_Reg vec_operators[] = {{"__add", vec_add},       {"__sub", vec_sub}, {"__mul", vec_mul},
                                             {"__div", vec_div},       {"__unm", vec_unm}, {"__eq", vec_eq},
                                             {"__tostring", vec_text}, {NULL, NULL}};
    static const luaL_Reg vec_methods[] = {
        {"length", vec_length},         {"dot", vec_dot},           {"cross", vec_cross}, {"angle", vec_angle},
        {"normalized", vec_normalized}, {"distance", vec_distance}, {"lerp", vec_lerp},   {NULL, NULL}};
    static const luaL_Reg frame_operators[] = {
        {"__mul", frame_mul}, {"__eq", frame_eq}, {"__tostring", frame_text}, {NULL, NULL}};
    static const luaL_Reg frame_methods[] = {
        {"inverse", frame_inverse}, {"to_own", frame_to_own}, {"turn_to", frame_turn_to}, {NULL, NULL}};
    open_kind(L, vec_name, vec_operators, vec_methods, vec_index);
    open_kind(L, frame_name, frame_operators, frame_methods, frame_index);
    lua_pushcfunction(L, vec_make);
    lua_setfield(L, -2, "vec");
    lua_pushcfunction(L, frame_make);
    lua_setfield(L, -2, "frame");
    fid_helpers_open(L);
}
