#include "script/raise.h"

#include "script/inside.h"

#include <lauxlib.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/// Its address is the key of the metatable of error tables.
static const char metatable_key = 'e';

static const struct {
    fid_code code;
    const char *name;
} kinds[] = {
    {FID_NO_MEMORY, "no_memory"},   {FID_INVALID, "invalid"}, {FID_RANGE, "range"},     {FID_UNKNOWN, "unknown"},
    {FID_NAME_TAKEN, "name_taken"}, {FID_STALE, "stale"},     {FID_LOCKED, "locked"},   {FID_SYNTAX, "syntax"},
    {FID_LIMIT, "limit"},           {FID_IO, "io"},           {FID_UNSOUND, "unsound"},
};

enum { KIND_COUNT = sizeof kinds / sizeof kinds[0] };

const char *fid_raise_kind(fid_code code) {
    for (size_t i = 0; i < KIND_COUNT; i++) {
        if (kinds[i].code == code) {
            return kinds[i].name;
        }
    }
    return "invalid";
}

static fid_code find_kind(const char *name) {
    for (size_t i = 0; i < KIND_COUNT; i++) {
        if (strcmp(kinds[i].name, name) == 0) {
            return kinds[i].code;
        }
    }
    return FID_INVALID;
}

static int show_error(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    lua_pushliteral(L, "message");
    lua_rawget(L, 1);
    if (lua_type(L, -1) != LUA_TSTRING) {
        lua_pushliteral(L, "error");
    }
    return 1;
}

void fid_raise_open(lua_State *L) {
    lua_createtable(L, 0, 3);
    lua_pushcfunction(L, show_error);
    lua_setfield(L, -2, "__tostring");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_pushliteral(L, "error");
    lua_setfield(L, -2, "__name");
    lua_rawsetp(L, LUA_REGISTRYINDEX, &metatable_key);
}

static void set_field(lua_State *L, const char *key, const char *value) {
    if (value != NULL && value[0] != '\0') {
        lua_pushstring(L, key);
        lua_pushstring(L, value);
        lua_rawset(L, -3);
    }
}

/// Pushes `places` as a list.
static void push_places(lua_State *L, const fid_place *places, int place_count) {
    lua_createtable(L, place_count, 0);
    for (int i = 0; i < place_count; i++) {
        lua_createtable(L, 0, 4);
        set_field(L, "file", places[i].file);
        lua_pushliteral(L, "line");
        lua_pushinteger(L, places[i].line);
        lua_rawset(L, -3);
        set_field(L, "instance", places[i].instance);
        set_field(L, "module", places[i].module);
        lua_rawseti(L, -2, i + 1);
    }
}

/// Pushes an error table.
static void push_error(lua_State *L, const fid_error *err, const char *rule, const char *hint, const fid_place *places,
                       int place_count) {
    lua_createtable(L, 0, 6);
    set_field(L, "message", err->message);
    set_field(L, "kind", fid_raise_kind(err->code));
    set_field(L, "subject", err->subject);
    set_field(L, "code", rule);
    set_field(L, "hint", hint);
    lua_pushliteral(L, "where");
    push_places(L, places, place_count);
    lua_rawset(L, -3);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &metatable_key);
    lua_setmetatable(L, -2);
}

int fid_raise_with(lua_State *L, const fid_error *err, const char *rule, const char *hint) {
    fid_place places[FID_LIMIT_PLACES];
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    push_error(L, err, rule, hint, places, fid_host_places(L, places));
    lua_error(L);
    // lua_error does not return, but is not declared so.
    for (;;) {
    }
}

int fid_raise(lua_State *L, const fid_error *err) { fid_raise_with(L, err, NULL, NULL); }

int fid_raisef(lua_State *L, fid_code code, const char *subject, const char *format, ...) {
    fid_error err;
    va_list args;
    va_start(args, format);
    (void)fid_fail_with(&err, code, format, args);
    va_end(args);
    if (subject != NULL) {
        fid_error_about(&err, subject);
    }
    fid_raise(L, &err);
}

int fid_raise_at(lua_State *L, const fid_error *err, const fid_place *place, const char *hint) {
    fid_place places[FID_LIMIT_PLACES + 1];
    places[0] = *place;
    int place_count = 1 + fid_host_places(L, places + 1);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    push_error(L, err, NULL, hint, places, place_count < FID_LIMIT_PLACES ? place_count : FID_LIMIT_PLACES);
    lua_error(L);
    for (;;) {
    }
}

/// Fills `*err` with a text of any origin: bounded, on one line, visible characters only.
static void read_text(fid_error *err, fid_code code, const char *text) {
    char line[FID_ERROR_MESSAGE_SIZE + 4];
    size_t length = 0;
    for (; text[length] != '\0' && length + 1 < sizeof line; length++) {
        line[length] = text[length] == '\n' || text[length] == '\t' ? ' ' : text[length];
    }
    line[length] = '\0';
    fid_fail(err, code, "%s", line);
}

/// How many bytes of `text` are "FILE:LINE: " of the activation; 0 if it does not begin so.
static size_t measure_prefix(const char *text, const lua_Debug *activation) {
    char prefix[LUA_IDSIZE + 16];
    if (activation->currentline <= 0) {
        return 0;
    }
    int length = snprintf(prefix, sizeof prefix, "%s:%d: ", activation->short_src, activation->currentline);
    return length > 0 && strncmp(text, prefix, (size_t)length) == 0 ? (size_t)length : 0;
}

/// Finds the activation of `from` that the text names at its beginning, takes that beginning off and makes it the
/// first of `places` if it is in a script of the user's: `error(text, 2)` lays the blame one call further out.
static const char *strip_prefix(fid_host *host, lua_State *from, const char *text, fid_place *places, int place_count) {
    lua_Debug activation;
    for (int level = 0; lua_getstack(from, level, &activation) != 0; level++) {
        size_t length = lua_getinfo(from, "Sl", &activation) != 0 ? measure_prefix(text, &activation) : 0;
        if (length > 0) {
            if (activation.source[0] == '@' && place_count > 0) {
                const char *file = fid_host_intern(host, activation.source + 1);
                places[0].file = file != NULL ? file : places[0].file;
                places[0].line = activation.currentline;
            }
            return text + length;
        }
    }
    return text;
}

/// The messages of Lua itself that say less than they could.
static const char *reword(const char *text, fid_code *code) {
    if (strncmp(text, "stack overflow", 14) == 0 || strcmp(text, "C stack overflow") == 0 ||
        strcmp(text, "error in error handling") == 0) {
        *code = FID_LIMIT;
        return "calls are nested too deeply (stack overflow)";
    }
    if (strcmp(text, "not enough memory") == 0) {
        *code = FID_NO_MEMORY;
        return "out of memory";
    }
    return text;
}

/// The table on top of the stack gets the places, unless it has some.
static void add_places(lua_State *L, const fid_place *places, int place_count) {
    lua_pushliteral(L, "where");
    if (lua_rawget(L, -2) == LUA_TNIL) {
        lua_pushliteral(L, "where");
        push_places(L, places, place_count);
        lua_rawset(L, -4);
    }
    lua_pop(L, 1);
}

void fid_raise_dress_from(lua_State *L, lua_State *from) {
    fid_host *host = fid_host_of(L);
    fid_place places[FID_LIMIT_PLACES];
    int place_count = fid_host_places(from, places);
    fid_error err;
    int type = lua_type(L, -1);
    if (type == LUA_TTABLE) {
        add_places(L, places, place_count);
        return;
    }
    if (type == LUA_TSTRING) {
        fid_code code = FID_INVALID;
        const char *text = strip_prefix(host, from, lua_tostring(L, -1), places, place_count);
        text = reword(text, &code);
        read_text(&err, code, text);
    } else {
        fid_fail(&err, FID_INVALID, "a script raised a value of type %s", lua_typename(L, type));
    }
    push_error(L, &err, NULL, NULL, places, place_count);
    lua_replace(L, -2);
}

void fid_raise_dress(lua_State *L) { fid_raise_dress_from(L, L); }

int fid_raise_handle(lua_State *L) {
    lua_settop(L, 1);
    fid_raise_dress(L);
    return 1;
}

/// Pushes the raw field and returns it if it is text, else NULL.
static const char *push_field(lua_State *L, int index, const char *key) {
    lua_pushstring(L, key);
    return lua_rawget(L, index) == LUA_TSTRING ? lua_tostring(L, -1) : NULL;
}

/// Copies the raw field `key` of the table at `index`, visible characters only; "" if it is not text.
static void read_field(lua_State *L, int index, const char *key, char *out, size_t size) {
    const char *text = push_field(L, index, key);
    fid_error line;
    read_text(&line, FID_OK, text != NULL ? text : "");
    // Cut at the beginning of a character.
    size_t length = strlen(line.message);
    if (length >= size) {
        length = size - 1;
        while (length > 0 && ((unsigned char)line.message[length] & 0xc0) == 0x80) {
            length--;
        }
    }
    memcpy(out, line.message, length);
    out[length] = '\0';
    lua_pop(L, 1);
}

static const char *read_name(lua_State *L, int index, const char *key) {
    char name[FID_ERROR_MESSAGE_SIZE];
    read_field(L, index, key, name, sizeof name);
    return name[0] != '\0' ? fid_host_intern(fid_host_of(L), name) : NULL;
}

/// Reads the list `where` of the table at `index`; whatever a script put there instead is passed over.
static void read_places(lua_State *L, int index, fid_raised *out) {
    lua_pushliteral(L, "where");
    bool is_list = lua_rawget(L, index) == LUA_TTABLE;
    for (int i = 1; is_list && i <= FID_LIMIT_PLACES; i++) {
        if (lua_rawgeti(L, -1, i) != LUA_TTABLE) {
            lua_pop(L, 1);
            break;
        }
        int place_at = lua_gettop(L);
        fid_place place = {0};
        place.file = read_name(L, place_at, "file");
        place.instance = read_name(L, place_at, "instance");
        place.module = read_name(L, place_at, "module");
        lua_pushliteral(L, "line");
        lua_rawget(L, place_at);
        lua_Integer line = lua_isinteger(L, -1) ? lua_tointeger(L, -1) : 0;
        place.line = line > 0 && line <= INT32_MAX ? (int32_t)line : 0;
        lua_settop(L, place_at - 1);
        out->places[out->place_count++] = place;
    }
    lua_pop(L, 1);
}

static int show_value(lua_State *L) {
    fid_library_push_text(L, 1, NULL);
    return 1;
}

/// The text of a table that a script raised without `message`: what its `__tostring` says.
static void read_shown(lua_State *L, int index, fid_error *err) {
    lua_pushcfunction(L, show_value);
    lua_pushvalue(L, index);
    int status = lua_pcall(L, 1, 1, 0);
    fid_host_check_budget(L);
    const char *text = lua_type(L, -1) == LUA_TSTRING ? lua_tostring(L, -1) : NULL;
    if (status != LUA_OK) {
        fid_fail(err, FID_INVALID, "a script raised a table whose __tostring fails");
    } else if (text == NULL || strcmp(text, "table") == 0) {
        fid_fail(err, FID_INVALID, "a script raised a table without a message");
    } else {
        read_text(err, FID_INVALID, text);
    }
    lua_pop(L, 1);
}

void fid_raise_read(lua_State *L, int index, fid_raised *out) {
    memset(out, 0, sizeof *out);
    index = lua_absindex(L, index);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    if (lua_type(L, index) != LUA_TTABLE) {
        fid_code code = FID_INVALID;
        if (lua_type(L, index) == LUA_TSTRING) {
            const char *text = reword(lua_tostring(L, index), &code);
            read_text(&out->error, code, text);
        } else {
            fid_fail(&out->error, code, "a script raised a value of type %s", luaL_typename(L, index));
        }
        return;
    }
    char kind[32];
    read_field(L, index, "kind", kind, sizeof kind);
    const char *message = push_field(L, index, "message");
    if (message != NULL) {
        read_text(&out->error, find_kind(kind), message);
    } else {
        read_shown(L, index, &out->error);
    }
    lua_pop(L, 1);
    read_field(L, index, "subject", out->error.subject, sizeof out->error.subject);
    read_field(L, index, "code", out->rule, sizeof out->rule);
    read_field(L, index, "hint", out->hint, sizeof out->hint);
    read_places(L, index, out);
}
