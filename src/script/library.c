#include "script/library.h"

#include "script/inside.h"

#include <lauxlib.h>
#include <lualib.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// Addresses are keys: of the shared library in the registry, and of the original in the copy of a metatable.
static const char library_key = 'l';
static const char original_key = 'o';

/// What `setmetatable` copies. Anything else in the table is of no meaning there.
static const char *const kept_names[] = {"__index", "__newindex", "__call", "__tostring", "__name", "__len",
                                         "__eq",    "__lt",       "__le",   "__concat",   "__unm",  "__add",
                                         "__sub",   "__mul",      "__div",  "__mod",      "__pow",  "__idiv",
                                         "__band",  "__bor",      "__bxor", "__shl",      "__shr",  "__bnot"};
static const char *const refused_names[] = {"__gc", "__mode", "__close", "__metatable"};

static int take_metatable(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    int type = lua_type(L, 2);
    luaL_argexpected(L, type == LUA_TNIL || type == LUA_TTABLE, 2, "nil or table");
    if (lua_getmetatable(L, 1) != 0 && lua_rawgetp(L, -1, &original_key) == LUA_TNIL) {
        return fid_raisef(L, FID_INVALID, NULL, "this table is read-only: its metatable cannot be changed");
    }
    lua_settop(L, 2);
    if (type == LUA_TNIL) {
        lua_setmetatable(L, 1);
        return 1;
    }
    for (size_t i = 0; i < sizeof refused_names / sizeof refused_names[0]; i++) {
        lua_pushstring(L, refused_names[i]);
        if (lua_rawget(L, 2) != LUA_TNIL) {
            return fid_raisef(L, FID_INVALID, refused_names[i], "setmetatable does not take '%s'", refused_names[i]);
        }
        lua_pop(L, 1);
    }
    // Lua goes through a circle of tables that stand for one another as functions without ever looking at the budget.
    lua_pushliteral(L, "__call");
    int callable = lua_rawget(L, 2);
    if (callable != LUA_TNIL && callable != LUA_TFUNCTION) {
        return fid_raisef(L, FID_INVALID, "__call", "setmetatable takes a function as '__call', not a value of type %s",
                          lua_typename(L, callable));
    }
    lua_pop(L, 1);
    // The copy is never shown, so that nothing of the refused can be added later.
    lua_createtable(L, 0, 6);
    for (size_t i = 0; i < sizeof kept_names / sizeof kept_names[0]; i++) {
        lua_pushstring(L, kept_names[i]);
        lua_pushvalue(L, -1);
        if (lua_rawget(L, 2) != LUA_TNIL) {
            lua_rawset(L, 3);
        } else {
            lua_pop(L, 2);
        }
    }
    lua_pushvalue(L, 2);
    lua_rawsetp(L, 3, &original_key);
    lua_setmetatable(L, 1);
    lua_settop(L, 1);
    return 1;
}

static int give_metatable(lua_State *L) {
    luaL_checkany(L, 1);
    if (lua_getmetatable(L, 1) == 0) {
        lua_pushnil(L);
        return 1;
    }
    if (lua_type(L, 1) == LUA_TTABLE && lua_rawgetp(L, -1, &original_key) == LUA_TTABLE) {
        return 1;
    }
    lua_pushboolean(L, 0);
    return 1;
}

const char *fid_library_push_text(lua_State *L, int index, size_t *length) {
    index = lua_absindex(L, index);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    int type = lua_type(L, index);
    if (type != LUA_TSTRING && luaL_callmeta(L, index, "__tostring") != 0) {
        if (lua_type(L, -1) != LUA_TSTRING) {
            luaL_error(L, "'__tostring' must return a string");
        }
    } else if (type == LUA_TNUMBER && lua_isinteger(L, index) == 0 && isnan(lua_tonumber(L, index))) {
        // The sign of what is no number differs between processors.
        lua_pushliteral(L, "nan");
    } else if (type <= LUA_TSTRING && type != LUA_TLIGHTUSERDATA) {
        luaL_tolstring(L, index, NULL);
    } else {
        int top = lua_gettop(L);
        if (luaL_getmetafield(L, index, "__name") != LUA_TSTRING) {
            lua_settop(L, top);
            lua_pushstring(L, lua_typename(L, type));
        }
    }
    return lua_tolstring(L, -1, length);
}

static int show(lua_State *L) {
    luaL_checkany(L, 1);
    fid_library_push_text(L, 1, NULL);
    return 1;
}

static int print(lua_State *L) {
    int last = lua_gettop(L);
    luaL_Buffer line;
    luaL_buffinit(L, &line);
    for (int i = 1; i <= last; i++) {
        if (i > 1) {
            luaL_addchar(&line, '\t');
        }
        // The buffer wants the value on top of what it keeps on the stack itself.
        fid_library_push_text(L, i, NULL);
        luaL_addvalue(&line);
    }
    luaL_pushresult(&line);
    size_t length = 0;
    const char *text = lua_tolstring(L, -1, &length);
    fid_host_charge(L, (int64_t)(length / FID_HOST_BYTES_PER_STEP) + 100);
    fid_host_print(fid_host_of(L), text, length);
    return 0;
}

static int raise_error(lua_State *L) {
    int type = lua_type(L, 1);
    if (type != LUA_TSTRING && type != LUA_TTABLE) {
        return fid_raisef(L, FID_INVALID, NULL, "error takes a text or a table, not a value of type %s",
                          luaL_typename(L, 1));
    }
    int level = (int)luaL_optinteger(L, 2, 1);
    lua_settop(L, 1);
    if (type == LUA_TSTRING && level > 0) {
        luaL_where(L, level);
        lua_pushvalue(L, 1);
        lua_concat(L, 2);
    }
    return lua_error(L);
}

/// The rest of `pcall`, also where the function yielded in between. The context is the depth of instances.
static int finish_call(lua_State *L, int status, lua_KContext context) {
    if (status == LUA_OK || status == LUA_YIELD) {
        return lua_gettop(L);
    }
    fid_host_leave_to(fid_host_of(L), (int)context);
    fid_host_check_budget(L);
    lua_pushboolean(L, 0);
    lua_pushvalue(L, -2);
    return 2;
}

static int call_protected(lua_State *L) {
    luaL_checkany(L, 1);
    lua_pushboolean(L, 1);
    lua_insert(L, 1);
    lua_KContext depth = fid_host_of(L)->instance_count;
    int status = lua_pcallk(L, lua_gettop(L) - 2, LUA_MULTRET, 0, depth, finish_call);
    return finish_call(L, status, depth);
}

static int64_t sum_text(lua_State *L) {
    size_t sum = 0;
    int last = lua_gettop(L);
    for (int i = 1; i <= last; i++) {
        if (lua_type(L, i) == LUA_TSTRING) {
            sum += lua_rawlen(L, i);
        }
    }
    return (int64_t)(sum / FID_HOST_BYTES_PER_STEP) + last;
}

static int call_charged(lua_State *L) {
    fid_host_charge(L, sum_text(L));
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
    fid_host_charge(L, sum_text(L));
    return lua_gettop(L);
}

void fid_library_wrap(lua_State *L) { lua_pushcclosure(L, call_charged, 1); }

static int refuse_write(lua_State *L) {
    const char *key = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : luaL_typename(L, 2);
    const char *name = lua_tostring(L, lua_upvalueindex(1));
    return fid_raisef(L, FID_LOCKED, name, "'%s' is read-only: '%.64s' cannot be set", name, key);
}

/// What other Lua programs have and scripts here have not, and what to use.
static const struct {
    const char *name, *instead;
} absent[] = {
    {"io", "scripts reach no files; fid.data(path) reads guides"},
    {"os", "scripts have no clock and no environment"},
    {"random", "fid.random(seed) gives numbers that are the same on every run"},
    {"randomseed", "fid.random(seed) gives numbers that are the same on every run"},
    {"load", "scripts are read by require only"},
    {"loadfile", "scripts are read by require only"},
    {"dofile", "scripts are read by require only"},
    {"next", "pairs goes through a table in a fixed order"},
    {"xpcall", "pcall catches an error"},
    {"_G", "the names of a script are in _ENV"},
    {"rawget", "tables of scripts are read with t[key]"},
    {"rawset", "tables of scripts are written with t[key] = value"},
    {"unpack", "table.unpack gives the values of a list"},
    {"pow", "x ^ y is x to the power of y"},
    {"getfenv", "every script has its own names"},
    {"setfenv", "every script has its own names"},
    {"loadstring", "scripts are read by require only"},
};

enum { MOST_NAMES = 128 };

static int compare(const void *a, const void *b) { return strcmp(*(const char *const *)a, *(const char *const *)b); }

/// The key of the table at index 1 that is nearest to `word`, or NULL.
static const char *find_nearest(lua_State *L, const char *word) {
    const char *names[MOST_NAMES];
    int32_t count = 0;
    for (lua_pushnil(L); lua_next(L, 1) != 0; lua_pop(L, 1)) {
        if (lua_type(L, -2) == LUA_TSTRING && count < MOST_NAMES) {
            names[count++] = lua_tostring(L, -2);
        }
    }
    qsort(names, (size_t)count, sizeof *names, compare); // the order of a table differs from run to run
    return fid_text_nearest(word, names, count);
}

/// Raises for a name that a table of the library has not. Upvalue: what the table is called; nil for the globals.
static int refuse_unknown(lua_State *L) {
    if (lua_type(L, 2) != LUA_TSTRING) {
        return 0;
    }
    const char *key = lua_tostring(L, 2), *of = lua_tostring(L, lua_upvalueindex(1)), *instead = NULL;
    for (size_t i = 0; i < sizeof absent / sizeof *absent; i++) {
        instead = strcmp(absent[i].name, key) == 0 ? absent[i].instead : instead;
    }
    const char *near = instead == NULL ? find_nearest(L, key) : NULL;
    return fid_raisef(L, FID_UNKNOWN, key, "%s%s%s '%.64s'%s%s%s%s", of != NULL ? "'" : "",
                      of != NULL ? of : "there is", of != NULL ? "' has no" : " no", key,
                      instead != NULL ? ": "
                      : near != NULL  ? "; did you mean '"
                                      : "",
                      instead != NULL ? instead
                      : near != NULL  ? near
                                      : "",
                      near != NULL ? "'?" : "",
                      of == NULL && instead == NULL && near == NULL
                          ? "; a name is made by 'local' or by '=', with a value that is not nil"
                          : "");
}

/// Gives the table on top of the stack a metatable that refuses names which are not in it.
static void make_strict(lua_State *L, const char *name) {
    lua_createtable(L, 0, 1);
    lua_pushstring(L, name);
    lua_pushcclosure(L, refuse_unknown, 1);
    lua_setfield(L, -2, "__index");
    lua_setmetatable(L, -2);
}

void fid_library_seal(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    make_strict(L, name);
    lua_createtable(L, 0, 0);
    lua_createtable(L, 0, 3);
    lua_pushvalue(L, -3);
    lua_setfield(L, -2, "__index");
    lua_pushstring(L, name);
    lua_pushcclosure(L, refuse_write, 1);
    lua_setfield(L, -2, "__newindex");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_setmetatable(L, -2);
    lua_replace(L, -2);
}

void fid_library_push(lua_State *L) { lua_rawgetp(L, LUA_REGISTRYINDEX, &library_key); }

void fid_library_set_key_order(fid_host *host, fid_library_rank rank) { host->rank = rank; }

/// Copies the fields named in `names` (closed by NULL) from the table on top of the stack to the one below it.
static void copy_fields(lua_State *L, const char *const *names) {
    for (; *names != NULL; names++) {
        lua_getfield(L, -1, *names);
        lua_setfield(L, -3, *names);
    }
}

/// Pushes a new table with the fields of the standard table that `open` makes. That one is put among the loaded ones,
/// where messages about arguments find the names of its functions.
static void push_copy(lua_State *L, lua_CFunction open, const char *name, const char *const *names) {
    lua_createtable(L, 0, 20);
    lua_pushcfunction(L, open);
    lua_call(L, 0, 1);
    copy_fields(L, names);
    luaL_getsubtable(L, LUA_REGISTRYINDEX, LUA_LOADED_TABLE);
    lua_insert(L, -2);
    lua_setfield(L, -2, name);
    lua_pop(L, 1);
}

static void add_sealed(lua_State *L, const char *name) {
    fid_library_seal(L, name);
    lua_setfield(L, -2, name);
}

static void add_base(lua_State *L) {
    static const char *const names[] = {"assert", "ipairs", "select", "type", NULL};
    static const luaL_Reg own[] = {{"error", raise_error},
                                   {"getmetatable", give_metatable},
                                   {"pairs", fid_library_pairs},
                                   {"pcall", call_protected},
                                   {"print", print},
                                   {"setmetatable", take_metatable},
                                   {"tostring", show},
                                   {NULL, NULL}};
    // The standard functions come as globals of a table that nothing keeps afterwards.
    lua_pushcfunction(L, luaopen_base);
    lua_call(L, 0, 1);
    copy_fields(L, names);
    lua_getfield(L, -1, "tonumber");
    fid_library_wrap(L);
    lua_setfield(L, -3, "tonumber");
    lua_pop(L, 1);
    lua_createtable(L, 0, 0);
    lua_rawseti(L, LUA_REGISTRYINDEX, LUA_RIDX_GLOBALS);
    luaL_setfuncs(L, own, 0);
}

static void add_text(lua_State *L) {
    static const char *const text[] = {"byte",    "char",  "find",   "format", "gmatch",   "gsub",
                                       "len",     "lower", "match",  "pack",   "packsize", "rep",
                                       "reverse", "sub",   "unpack", "upper",  NULL};
    static const char *const utf8[] = {"char", "charpattern", "codepoint", "codes", "len", "offset", NULL};
    push_copy(L, luaopen_string, "string", text);
    fid_library_guard_text(L);
    // Methods of texts are the same functions, and the metatable of texts cannot be had.
    lua_pushliteral(L, "");
    lua_getmetatable(L, -1);
    lua_pushvalue(L, -3);
    lua_setfield(L, -2, "__index");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pop(L, 2);
    add_sealed(L, "string");
    push_copy(L, luaopen_utf8, "utf8", utf8);
    fid_library_guard_utf8(L);
    add_sealed(L, "utf8");
}

static void add_rest(lua_State *L) {
    static const char *const table[] = {"concat", "insert", "move", "pack", "remove", "sort", "unpack", NULL};
    static const char *const mathematics[] = {"abs", "acos",       "asin", "atan", "ceil", "cos", "deg",
                                              "exp", "floor",      "fmod", "huge", "log",  "max", "maxinteger",
                                              "min", "mininteger", "modf", "pi",   "rad",  "sin", "sqrt",
                                              "tan", "tointeger",  "type", "ult",  NULL};
    static const char *const coroutine[] = {"isyieldable", "running", "status", "yield", NULL};
    push_copy(L, luaopen_table, "table", table);
    fid_library_guard_table(L);
    add_sealed(L, "table");
    push_copy(L, luaopen_math, "math", mathematics);
    add_sealed(L, "math");
    push_copy(L, luaopen_coroutine, "coroutine", coroutine);
    fid_library_guard_coroutine(L);
    add_sealed(L, "coroutine");
}

void fid_library_open(lua_State *L) {
    lua_createtable(L, 0, 20);
    add_base(L);
    add_text(L);
    add_rest(L);
    make_strict(L, NULL);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &library_key);
}
