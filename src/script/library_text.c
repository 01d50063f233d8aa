#include "script/inside.h"

#include <lauxlib.h>
#include <string.h>

/// Texts, lists and coroutines of the library: work in C is charged to the budget or bounded by size, no address gets
/// into a text, and an error of the budget goes through.

/// Raises where a text would be too long.
static void check_length(lua_State *L, bool is_long_enough) {
    if (!is_long_enough) {
        fid_raisef(L, FID_LIMIT, NULL, "the text would be longer than 16 MiB");
    }
}

/// Lua counts in steps what C does in bytes.
static void charge_bytes(lua_State *L, size_t bytes) {
    fid_host_charge(L, (int64_t)(bytes / FID_HOST_BYTES_PER_STEP) + 1);
}

static int repeat(lua_State *L) {
    size_t length = 0;
    size_t between = 0;
    const char *text = luaL_checklstring(L, 1, &length);
    lua_Integer times = luaL_checkinteger(L, 2);
    const char *separator = luaL_optlstring(L, 3, "", &between);
    size_t whole = length + between;
    if (times <= 0 || whole == 0) {
        lua_pushliteral(L, "");
        return 1;
    }
    check_length(L, whole <= FID_LIMIT_TEXT && times <= (lua_Integer)(FID_LIMIT_TEXT / whole));
    size_t total = whole * (size_t)times - between;
    charge_bytes(L, total);
    luaL_Buffer buffer;
    char *out = luaL_buffinitsize(L, &buffer, total);
    for (lua_Integer i = 0; i < times; i++) {
        if (length > 0) {
            memcpy(out, text, length);
            out += length;
        }
        if (between > 0 && i + 1 < times) {
            memcpy(out, separator, between);
            out += between;
        }
    }
    luaL_pushresultsize(&buffer, total);
    return 1;
}

/// Replaces the arguments that `format` would show by address by the text that `tostring` gives, then calls the
/// original.
static int format(lua_State *L) {
    size_t length = 0;
    const char *text = luaL_checklstring(L, 1, &length);
    int last = lua_gettop(L);
    size_t total = length;
    int argument = 1;
    for (size_t i = 0; i < length; i++) {
        if (text[i] != '%') {
            continue;
        }
        i++;
        if (i < length && text[i] == '%') {
            continue;
        }
        argument++;
        while (i < length && strchr("-+ #0123456789.", text[i]) != NULL && text[i] != '\0') {
            i++;
        }
        if (i < length && text[i] == 'p') {
            return fid_raisef(L, FID_INVALID, "format", "'%%p' is not available: addresses differ from run to run");
        }
        if (i < length && text[i] == 's' && argument <= last) {
            fid_library_push_text(L, argument, NULL);
            lua_replace(L, argument);
        }
        // The longest number, "%99.99f" of 1e308, has 418 characters; a quoted byte takes four.
        size_t more = argument <= last && lua_type(L, argument) == LUA_TSTRING ? lua_rawlen(L, argument) : 512;
        total += text[i < length ? i : length - 1] == 'q' ? 4 * more : more;
        check_length(L, total <= (size_t)4 * FID_LIMIT_TEXT);
    }
    charge_bytes(L, total);
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, last, 1);
    check_length(L, lua_rawlen(L, -1) <= FID_LIMIT_TEXT);
    return 1;
}

void fid_library_guard_text(lua_State *L) {
    static const char *const charged[] = {"char", "find", "gmatch", "gsub",    "lower", "match",
                                          "pack", "sub",  "unpack", "reverse", "upper", "packsize"};
    for (size_t i = 0; i < sizeof charged / sizeof charged[0]; i++) {
        lua_getfield(L, -1, charged[i]);
        fid_library_wrap(L);
        lua_setfield(L, -2, charged[i]);
    }
    lua_getfield(L, -1, "format");
    lua_pushcclosure(L, format, 1);
    lua_setfield(L, -2, "format");
    lua_pushcfunction(L, repeat);
    lua_setfield(L, -2, "rep");
}

void fid_library_guard_utf8(lua_State *L) {
    static const char *const charged[] = {"char", "codepoint", "len", "offset"};
    for (size_t i = 0; i < sizeof charged / sizeof charged[0]; i++) {
        lua_getfield(L, -1, charged[i]);
        fid_library_wrap(L);
        lua_setfield(L, -2, charged[i]);
    }
}

static int join(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    size_t between = 0;
    const char *separator = luaL_optlstring(L, 2, "", &between);
    lua_Integer first = luaL_optinteger(L, 3, 1);
    lua_Integer last = lua_isnoneornil(L, 4) ? luaL_len(L, 1) : luaL_checkinteger(L, 4);
    size_t total = 0;
    luaL_Buffer buffer;
    luaL_buffinit(L, &buffer);
    for (lua_Integer i = first; i <= last; i++) {
        // Before the value is fetched: a raise in the middle is fine, the buffer belongs to Lua.
        fid_host_charge(L, 1);
        lua_geti(L, 1, i);
        size_t length = 0;
        if (lua_isstring(L, -1) == 0) {
            return luaL_error(L, "invalid value (type %s) at index %I in table for 'concat'", luaL_typename(L, -1),
                              (LUAI_UACINT)i);
        }
        (void)lua_tolstring(L, -1, &length);
        size_t added = length + (i < last ? between : 0);
        check_length(L, added <= FID_LIMIT_TEXT && total + added <= FID_LIMIT_TEXT);
        total += added;
        luaL_addvalue(&buffer);
        if (i == last) {
            break;
        }
        luaL_addlstring(&buffer, separator, between);
    }
    charge_bytes(L, total);
    luaL_pushresult(&buffer);
    return 1;
}

/// Calls the original with all arguments as they are.
static int call_original(lua_State *L) {
    lua_pushvalue(L, lua_upvalueindex(1));
    lua_insert(L, 1);
    lua_call(L, lua_gettop(L) - 1, LUA_MULTRET);
    return lua_gettop(L);
}

/// `insert` and `remove` move everything behind the place.
static int call_shifting(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    bool is_at_end = lua_gettop(L) == (lua_toboolean(L, lua_upvalueindex(2)) != 0 ? 2 : 1);
    lua_Integer length = is_at_end ? 1 : luaL_len(L, 1);
    fid_host_charge(L, length / 2 + 1);
    return call_original(L);
}

static int call_moving(lua_State *L) {
    lua_Integer first = luaL_checkinteger(L, 2);
    lua_Integer last = luaL_checkinteger(L, 3);
    if (last >= first) {
        // Unsigned: the difference of two integers may be larger than any.
        lua_Unsigned moved = (lua_Unsigned)last - (lua_Unsigned)first;
        fid_host_charge(L, moved < INT64_MAX / 4 ? (int64_t)moved + 1 : INT64_MAX / 4);
    }
    return call_original(L);
}

static int call_counted(lua_State *L) {
    fid_host_charge(L, lua_gettop(L));
    int results = call_original(L);
    fid_host_charge(L, results);
    return results;
}

static void guard(lua_State *L, const char *name, lua_CFunction function) {
    lua_getfield(L, -1, name);
    lua_pushboolean(L, strcmp(name, "insert") == 0);
    lua_pushcclosure(L, function, 2);
    lua_setfield(L, -2, name);
}

void fid_library_guard_table(lua_State *L) {
    guard(L, "insert", call_shifting);
    guard(L, "remove", call_shifting);
    guard(L, "move", call_moving);
    guard(L, "pack", call_counted);
    guard(L, "unpack", call_counted);
    lua_pushcfunction(L, join);
    lua_setfield(L, -2, "concat");
    lua_pushcfunction(L, fid_library_sort);
    lua_setfield(L, -2, "sort");
}

static int create(lua_State *L) {
    luaL_checktype(L, 1, LUA_TFUNCTION);
    // Steps below FID_HOST_STEP of a coroutine that is dropped are never counted, so they are paid in advance.
    fid_host_charge(L, FID_HOST_STEP);
    lua_State *made = lua_newthread(L);
    lua_pushvalue(L, 1);
    lua_xmove(L, made, 1);
    return 1;
}

/// Resumes `from` with the `arguments` on top of `L`. On success its results are on top of `L` and their number is
/// returned; else the error value is there, and the result is -1 (the error arose in the coroutine, which keeps its
/// activations) or -2 (it cannot be resumed).
static int resume_coroutine(lua_State *L, lua_State *from, int arguments) {
    lua_Debug activation;
    int status = lua_status(from);
    bool is_fresh = status == LUA_OK && lua_getstack(from, 0, &activation) == 0 && lua_gettop(from) > 0;
    if (from == L || (status == LUA_OK && lua_getstack(from, 0, &activation) != 0)) {
        lua_pushliteral(L, "cannot resume non-suspended coroutine");
        return -2;
    }
    if (status != LUA_YIELD && !is_fresh) {
        lua_pushliteral(L, "cannot resume dead coroutine");
        return -2;
    }
    if (lua_checkstack(from, arguments) == 0) {
        lua_pushliteral(L, "too many arguments to resume");
        return -2;
    }
    fid_host *host = fid_host_of(L);
    int depth = host->instance_count;
    fid_resumer link = {.L = L, .outer = host->resumer};
    host->resumer = &link;
    lua_xmove(L, from, arguments);
    int results = 0;
    status = lua_resume(from, L, arguments, &results);
    host->resumer = link.outer;
    if (status != LUA_OK && status != LUA_YIELD) {
        fid_host_leave_to(host, depth);
        lua_xmove(from, L, 1);
        return -1;
    }
    if (lua_checkstack(L, results + 1) == 0) {
        lua_pop(from, results);
        lua_pushliteral(L, "too many results to resume");
        return -2;
    }
    lua_xmove(from, L, results);
    return results;
}

static int resume(lua_State *L) {
    lua_State *from = lua_tothread(L, 1);
    luaL_argexpected(L, from != NULL, 1, "coroutine");
    fid_host_charge(L, 1);
    int results = resume_coroutine(L, from, lua_gettop(L) - 1);
    if (results < 0) {
        fid_host_check_budget(L);
        lua_pushboolean(L, 0);
        lua_insert(L, -2);
        return 2;
    }
    lua_pushboolean(L, 1);
    lua_insert(L, -(results + 1));
    return results + 1;
}

static int resume_wrapped(lua_State *L) {
    lua_State *from = lua_tothread(L, lua_upvalueindex(1));
    fid_host_charge(L, 1);
    int results = resume_coroutine(L, from, lua_gettop(L));
    if (results >= 0) {
        return results;
    }
    fid_host_check_budget(L);
    if (results == -1) {
        fid_raise_dress_from(L, from);
    }
    return lua_error(L);
}

static int wrap(lua_State *L) {
    create(L);
    lua_pushcclosure(L, resume_wrapped, 1);
    return 1;
}

void fid_library_guard_coroutine(lua_State *L) {
    static const luaL_Reg own[] = {{"create", create}, {"resume", resume}, {"wrap", wrap}, {NULL, NULL}};
    luaL_setfuncs(L, own, 0);
}
