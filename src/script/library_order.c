#include "script/inside.h"

#include <lauxlib.h>
#include <string.h>

/// What goes through a table in an order, or puts it into one: the same at every run.

typedef enum key_kind { KEY_NUMBER, KEY_TEXT, KEY_ELEMENT } key_kind;

typedef struct key {
    key_kind kind;
    bool is_integer;
    int64_t integer; ///< also the rank of an element
    double number;
    const char *text;
    size_t length;
    lua_Integer place; ///< in the list of keys as they were found
} key;

static int compare_integers(int64_t a, int64_t b) { return a < b ? -1 : a > b; }

/// An integer and a number that is none, exactly: the doubles next to 2^63 are whole, so what is beyond is decided
/// first.
static int compare_mixed(int64_t a, double b) {
    if (b >= 9223372036854775808.0) {
        return -1;
    }
    if (b < -9223372036854775808.0) {
        return 1;
    }
    int64_t whole = (int64_t)b;
    if (a != whole) {
        return compare_integers(a, whole);
    }
    double rest = b - (double)whole;
    return rest > 0.0 ? -1 : rest < 0.0;
}

static int compare_numbers(const key *a, const key *b) {
    if (a->is_integer && b->is_integer) {
        return compare_integers(a->integer, b->integer);
    }
    if (a->is_integer) {
        return compare_mixed(a->integer, b->number);
    }
    if (b->is_integer) {
        return -compare_mixed(b->integer, a->number);
    }
    return a->number < b->number ? -1 : a->number > b->number;
}

static int compare_keys(const key *a, const key *b) {
    if (a->kind != b->kind) {
        return a->kind < b->kind ? -1 : 1;
    }
    if (a->kind == KEY_NUMBER) {
        return compare_numbers(a, b);
    }
    if (a->kind == KEY_ELEMENT) {
        return compare_integers(a->integer, b->integer);
    }
    size_t shorter = a->length < b->length ? a->length : b->length;
    int order = shorter > 0 ? memcmp(a->text, b->text, shorter) : 0;
    return order != 0 ? order : a->length < b->length ? -1 : a->length > b->length;
}

static void sift(key *keys, size_t root, size_t count) {
    for (;;) {
        size_t child = 2 * root + 1;
        if (child >= count) {
            return;
        }
        if (child + 1 < count && compare_keys(&keys[child], &keys[child + 1]) < 0) {
            child++;
        }
        if (compare_keys(&keys[root], &keys[child]) >= 0) {
            return;
        }
        key swap = keys[root];
        keys[root] = keys[child];
        keys[child] = swap;
        root = child;
    }
}

/// In place, without recursion and without an allocation of its own; no two keys are equal.
static void sort_keys(key *keys, size_t count) {
    for (size_t root = count / 2; root > 0; root--) {
        sift(keys, root - 1, count);
    }
    for (size_t end = count; end > 1; end--) {
        key swap = keys[0];
        keys[0] = keys[end - 1];
        keys[end - 1] = swap;
        sift(keys, 0, end - 1);
    }
}

/// Reads the key on top of the stack.
static void read_key(lua_State *L, key *out) {
    fid_library_rank rank = fid_host_of(L)->rank;
    int type = lua_type(L, -1);
    if (type == LUA_TNUMBER) {
        out->kind = KEY_NUMBER;
        out->is_integer = lua_isinteger(L, -1) != 0;
        out->integer = out->is_integer ? lua_tointeger(L, -1) : 0;
        out->number = lua_tonumber(L, -1);
        return;
    }
    if (type == LUA_TSTRING) {
        out->kind = KEY_TEXT;
        out->text = lua_tolstring(L, -1, &out->length);
        return;
    }
    out->kind = KEY_ELEMENT;
    out->integer = type == LUA_TUSERDATA && rank != NULL ? rank(L, lua_gettop(L)) : -1;
    if (out->integer < 0) {
        fid_raisef(L, FID_INVALID, NULL,
                   "a key of type %s has no order: tables are gone through by numbers, texts and bones as keys",
                   luaL_typename(L, -1));
    }
}

/// About the binary logarithm.
static int64_t count_rounds(int64_t count) {
    int64_t rounds = 1;
    for (; count > 1; count /= 2) {
        rounds++;
    }
    return rounds;
}

void fid_library_push_keys(lua_State *L, int index) {
    index = lua_absindex(L, index);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    lua_createtable(L, 0, 0);
    int list = lua_gettop(L);
    lua_Integer count = 0;
    lua_pushnil(L);
    while (lua_next(L, index) != 0) {
        lua_pop(L, 1);
        lua_pushvalue(L, -1);
        lua_rawseti(L, list, ++count);
    }
    fid_host_charge(L, (int64_t)count * count_rounds(count) / 2 + 1);
    if (count < 2) {
        // One key has an order, too, if it can have one.
        key only;
        if (count == 1) {
            lua_rawgeti(L, list, 1);
            read_key(L, &only);
            lua_pop(L, 1);
        }
        return;
    }
    key *keys = lua_newuserdatauv(L, sizeof *keys * (size_t)count, 0);
    memset(keys, 0, sizeof *keys * (size_t)count);
    for (lua_Integer i = 0; i < count; i++) {
        lua_rawgeti(L, list, i + 1);
        read_key(L, &keys[i]);
        keys[i].place = i + 1;
        lua_pop(L, 1);
    }
    sort_keys(keys, (size_t)count);
    lua_createtable(L, count < INT32_MAX ? (int)count : 0, 0);
    for (lua_Integer i = 0; i < count; i++) {
        lua_rawgeti(L, list, keys[i].place);
        lua_rawseti(L, -2, i + 1);
    }
    lua_replace(L, list);
    lua_settop(L, list);
}

/// Upvalues: list of keys, how many were given. Argument: the table.
static int step(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_Integer at = lua_tointeger(L, lua_upvalueindex(2));
    for (;;) {
        at++;
        if (lua_rawgeti(L, lua_upvalueindex(1), at) == LUA_TNIL) {
            return 1;
        }
        lua_pushvalue(L, -1);
        if (lua_rawget(L, 1) != LUA_TNIL) {
            lua_pushinteger(L, at);
            lua_replace(L, lua_upvalueindex(2));
            return 2;
        }
        // Removed since.
        lua_pop(L, 2);
        fid_host_charge(L, 1);
    }
}

int fid_library_pairs(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    fid_library_push_keys(L, 1);
    lua_pushinteger(L, 0);
    lua_pushcclosure(L, step, 2);
    lua_pushvalue(L, 1);
    lua_pushnil(L);
    return 3;
}

/// Whether the value on top of the stack comes before the one below it. Index 2 is the function that tells, or nil.
static bool is_before(lua_State *L) {
    if (lua_isnil(L, 2)) {
        return lua_compare(L, -1, -2, LUA_OPLT) != 0;
    }
    lua_pushvalue(L, 2);
    lua_pushvalue(L, -2);
    lua_pushvalue(L, -4);
    lua_call(L, 2, 1);
    bool result = lua_toboolean(L, -1) != 0;
    lua_pop(L, 1);
    return result;
}

/// Merges the runs [first, middle) and [middle, end) of the list at `from` into the one at `to`.
static void merge(lua_State *L, int from, int to, lua_Integer first, lua_Integer middle, lua_Integer end) {
    lua_Integer left = first;
    lua_Integer right = middle;
    for (lua_Integer at = first; at < end; at++) {
        bool takes_right = left >= middle;
        if (left < middle && right < end) {
            lua_rawgeti(L, from, left);
            lua_rawgeti(L, from, right);
            takes_right = is_before(L);
            lua_pop(L, 2);
        }
        lua_rawgeti(L, from, takes_right ? right++ : left++);
        lua_rawseti(L, to, at);
    }
}

/// Merges upwards through two lists. The standard one takes its pivots from the clock; this one gives the same at every
/// run, keeps the order of equals, and leaves the table as it was where a comparison fails.
int fid_library_sort(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    if (!lua_isnoneornil(L, 2)) {
        luaL_checktype(L, 2, LUA_TFUNCTION);
    }
    lua_settop(L, 2);
    lua_Integer count = luaL_len(L, 1);
    if (count < 2) {
        return 0;
    }
    luaL_argcheck(L, count < INT32_MAX, 1, "array too big");
    fid_host_charge(L, (int64_t)count * count_rounds(count));
    lua_createtable(L, 0, 0);
    lua_createtable(L, 0, 0);
    for (lua_Integer i = 1; i <= count; i++) {
        lua_geti(L, 1, i);
        lua_rawseti(L, 3, i);
        lua_pushboolean(L, 0);
        lua_rawseti(L, 4, i);
    }
    int from = 3;
    int to = 4;
    for (lua_Integer width = 1; width < count; width *= 2) {
        for (lua_Integer first = 1; first <= count; first += 2 * width) {
            lua_Integer middle = first + width <= count + 1 ? first + width : count + 1;
            lua_Integer end = middle + width <= count + 1 ? middle + width : count + 1;
            merge(L, from, to, first, middle, end);
        }
        int swap = from;
        from = to;
        to = swap;
    }
    for (lua_Integer i = 1; i <= count; i++) {
        lua_rawgeti(L, from, i);
        lua_seti(L, 1, i);
    }
    return 0;
}
