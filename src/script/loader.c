#include "script/loader.h"

#include "base/file.h"
#include "script/embedded.h"
#include "script/inside.h"
#include "script/path.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// Keys of the registry: the address counts.
static const char files_key = 'f'; ///< path as shown: value of the file, or `running_key` as a light userdata
static const char own_key = 'o';   ///< name: value of the product's own file
static const char core_key = 'c';
static const char fid_key = 'v';
static const char session_key = 'e';
static const char running_key = 'r';

const struct fid_embedded *fid_loader_find_embedded(const char *path) {
    for (size_t i = 0; i < fid_embedded_count; i++) {
        if (strcmp(fid_embedded_files[i].path, path) == 0) {
            return &fid_embedded_files[i];
        }
    }
    return NULL;
}

/// Pushes the part of the chunk's name that messages of Lua show.
static void get_short_name(lua_State *L, const char *chunk_name, char out[LUA_IDSIZE]) {
    lua_Debug activation;
    out[0] = '\0';
    if (luaL_loadbufferx(L, "", 0, chunk_name, "t") == LUA_OK) {
        lua_getinfo(L, ">S", &activation);
        memcpy(out, activation.short_src, LUA_IDSIZE);
    } else {
        lua_pop(L, 1);
    }
}

/// Raises the error of the parser on top of the stack: "FILE:LINE: text".
static void raise_syntax(lua_State *L, const char *chunk_name, const char *shown) {
    char name[LUA_IDSIZE];
    get_short_name(L, chunk_name, name);
    size_t length = strlen(name);
    fid_place place = {.file = shown};
    fid_error err;
    if (lua_type(L, -1) != LUA_TSTRING) {
        // The parser reports all errors as text but one, which the message handler has seen.
        fid_fail(&err, FID_LIMIT, "'%.300s' is nested too deeply", shown);
        fid_error_about(&err, shown);
        fid_raise_at(L, &err, &place, NULL);
    }
    const char *text = lua_tostring(L, -1);
    if (strncmp(text, name, length) == 0 && text[length] == ':') {
        const char *digits = text + length + 1;
        int32_t line = 0;
        while (*digits >= '0' && *digits <= '9' && line < 100000000) {
            line = line * 10 + (*digits++ - '0');
        }
        if (digits[0] == ':' && digits[1] == ' ') {
            place.line = line;
            text = digits + 2;
        }
    }
    fid_fail(&err, FID_SYNTAX, "%s", text);
    fid_error_about(&err, shown);
    fid_raise_at(L, &err, &place, NULL);
}

/// How many bytes the mark of UTF-8 takes at the begin of a text.
static size_t measure_mark(const char *bytes, size_t count) {
    return count >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
}

/// Why bytes are no Lua text, or NULL.
static const char *find_flaw(const char *bytes, size_t count) {
    size_t begin = measure_mark(bytes, count);
    if (count > begin && bytes[begin] == LUA_SIGNATURE[0]) {
        return "is a compiled chunk; only Lua text is read";
    }
    if (count > FID_LIMIT_SOURCE) {
        return "is longer than 4 MiB";
    }
    return fid_text_is_utf8(bytes, count) ? NULL : "is not UTF-8 text";
}

/// Parses; the function, or the parser's error, is on top of the stack then. Nothing raises.
static int parse(lua_State *L, const char *bytes, size_t count, const char *chunk_name) {
    size_t begin = measure_mark(bytes, count);
    bytes += begin;
    count -= begin;
    if (count > 0 && bytes[0] == '#') {
        // A first line for the shell; its end stays, so that lines keep their numbers.
        while (count > 0 && bytes[0] != '\n') {
            bytes++;
            count--;
        }
    }
    return luaL_loadbufferx(L, bytes, count, chunk_name, "t");
}

static void raise_flaw(lua_State *L, const char *shown, const char *flaw) {
    fid_error err;
    fid_place place = {.file = shown};
    fid_fail(&err, FID_SYNTAX, "'%.300s' %s", shown, flaw);
    fid_error_about(&err, shown);
    fid_raise_at(L, &err, &place, NULL);
}

/// Ends what load_bytes and load_file have in common: takes the function on top of the stack, gives it the environment
/// below it.
static void finish_load(lua_State *L, int status, const char *chunk_name, const char *shown) {
    if (status == LUA_ERRMEM) {
        lua_error(L);
    }
    if (status != LUA_OK) {
        raise_syntax(L, chunk_name, shown);
    }
    lua_insert(L, -2);
    lua_setupvalue(L, -2, 1);
}

/// Replaces the environment on top of the stack by the function of `bytes`, which need not be freed.
static void load_bytes(lua_State *L, const char *bytes, size_t count, const char *source, const char *shown) {
    const char *flaw = find_flaw(bytes, count);
    if (flaw != NULL) {
        raise_flaw(L, shown, flaw);
    }
    fid_host_charge(L, (int64_t)count);
    int status = parse(L, bytes, count, source);
    finish_load(L, status, source, shown);
}

/// As load_bytes for text that was read from a file and is cleared here in any case.
static void load_read(lua_State *L, fid_text *bytes, const char *shown) {
    fid_file_path source;
    snprintf(source.at, sizeof source.at, "@%.*s", FID_PATH_SIZE - 2, shown);
    const char *flaw = find_flaw(bytes->at, (size_t)bytes->count);
    int status = flaw == NULL ? parse(L, bytes->at, (size_t)bytes->count, source.at) : LUA_OK;
    int64_t cost = bytes->count;
    fid_text_clear(bytes);
    if (flaw != NULL) {
        raise_flaw(L, shown, flaw);
    }
    finish_load(L, status, source.at, shown);
    fid_host_charge(L, cost);
}

void fid_loader_load_text(lua_State *L, const char *bytes, size_t count, const char *shown) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_file_path source;
    snprintf(source.at, sizeof source.at, "@%.*s", FID_PATH_SIZE - 2, shown);
    load_bytes(L, bytes, count, source.at, shown);
}

static int refuse_second_run(lua_State *L, const char *shown) {
    return fid_raisef(L, FID_INVALID, shown, "'%.300s' requires itself, directly or through other files", shown);
}

bool fid_loader_push_known(lua_State *L, const char *cache, const char *key) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, cache);
    lua_getfield(L, -1, key);
    lua_remove(L, -2);
    if (lua_touserdata(L, -1) == (void *)(uintptr_t)&running_key) {
        refuse_second_run(L, key);
    }
    if (!lua_isnil(L, -1)) {
        return true;
    }
    lua_pop(L, 1);
    return false;
}

static void set_known(lua_State *L, const char *cache, const char *key) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, cache);
    lua_insert(L, -2);
    lua_setfield(L, -2, key);
    lua_pop(L, 1);
}

void fid_loader_run_once(lua_State *L, const char *cache, const char *key) {
    lua_pushlightuserdata(L, (void *)(uintptr_t)&running_key);
    set_known(L, cache, key);
    lua_pushcfunction(L, fid_raise_handle);
    lua_insert(L, -2);
    int status = lua_pcall(L, 0, 1, -2);
    lua_remove(L, -2);
    if (status != LUA_OK) {
        // To nil, so that it can be tried again: a field that is there needs no memory.
        lua_pushnil(L);
        set_known(L, cache, key);
        fid_host_check_budget(L);
        lua_error(L);
    }
    if (lua_isnil(L, -1)) {
        lua_pop(L, 1);
        lua_pushboolean(L, 1);
    }
    lua_pushvalue(L, -1);
    set_known(L, cache, key);
}

/// Pushes a new environment whose `require` is the function `require` with the `upvalues` values on top of the stack,
/// which it takes.
static void push_environment(lua_State *L, lua_CFunction require, int upvalues) {
    lua_pushcclosure(L, require, upvalues);
    lua_createtable(L, 0, 2);
    lua_insert(L, -2);
    lua_setfield(L, -2, "require");
    lua_createtable(L, 0, 2);
    fid_library_push(L);
    lua_setfield(L, -2, "__index");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_setmetatable(L, -2);
}

static int require_file(lua_State *L);

void fid_loader_push_user_environment(lua_State *L, const char *folder, bool is_embedded) {
    lua_pushstring(L, folder);
    lua_pushboolean(L, is_embedded);
    push_environment(L, require_file, 2);
}

/// Makes "name/part.lua" of "name.part"; false if that is no name of a file below a folder.
static bool make_relative(const char *name, char out[FID_PATH_SIZE]) {
    size_t length = strlen(name);
    if (length == 0 || length > 200) {
        return false;
    }
    bool is_begin = true;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)name[i];
        bool is_word =
            (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
        if (!is_word && (c != '.' || is_begin)) {
            return false;
        }
        is_begin = c == '.';
        out[i] = is_begin ? '/' : name[i];
    }
    memcpy(out + length, ".lua", 5);
    return !is_begin;
}

void fid_loader_load_beneath(lua_State *L, const char *folder, const char *relative, const char *shown,
                             const char *own_folder) {
    fid_loader_push_user_environment(L, own_folder, false);
    fid_text bytes = {0};
    fid_error err;
    if (fid_host_read(fid_host_of(L), folder, relative, FID_LIMIT_SOURCE, &bytes, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    load_read(L, &bytes, shown);
}

/// Upvalues: the folder as shown; whether it is embedded ("fid:modules/NAME").
static int require_file(lua_State *L) {
    size_t length = 0;
    const char *name = luaL_checklstring(L, 1, &length);
    if (strcmp(name, "fid") == 0 && length == 3) {
        if (lua_rawgetp(L, LUA_REGISTRYINDEX, &fid_key) == LUA_TNIL) {
            return fid_raisef(L, FID_UNKNOWN, "fid", "'fid' is not available here");
        }
        return 1;
    }
    const char *folder = lua_tostring(L, lua_upvalueindex(1));
    bool is_embedded = lua_toboolean(L, lua_upvalueindex(2)) != 0;
    char relative[FID_PATH_SIZE];
    if (strlen(name) != length || !make_relative(name, relative)) {
        return fid_raisef(L, FID_INVALID, name,
                          "require takes \"fid\" or the name of a file below this one's folder, as in \"name.part\", "
                          "not \"%.100s\"",
                          name);
    }
    fid_file_path shown;
    fid_path_set(L, &shown, folder, relative);
    fid_path_normalize(&shown);
    if (fid_loader_push_known(L, &files_key, shown.at)) {
        return 1;
    }
    fid_host_charge(L, FID_HOST_STEP);
    if (is_embedded) {
        const struct fid_embedded *file = fid_loader_find_embedded(shown.at + strlen("fid:"));
        if (file == NULL) {
            return fid_raisef(L, FID_UNKNOWN, name, "there is no file '%.300s'", shown.at);
        }
        fid_loader_push_user_environment(L, folder, true);
        fid_loader_load_text(L, (const char *)file->bytes, file->size, shown.at);
    } else {
        if (!fid_path_is_present(shown.at)) {
            return fid_raisef(L, FID_UNKNOWN, name,
                              "there is no file '%.300s', which is what require \"%.100s\" asks for", shown.at, name);
        }
        fid_loader_load_beneath(L, folder, relative, shown.at, folder);
    }
    fid_loader_run_once(L, &files_key, shown.at);
    return 1;
}

static int require_own(lua_State *L) {
    const char *name = luaL_checkstring(L, 1);
    if (strcmp(name, "fid") == 0 && lua_rawgetp(L, LUA_REGISTRYINDEX, &fid_key) != LUA_TNIL) {
        return 1;
    }
    fid_loader_run_own(L, name);
    return 1;
}

void fid_loader_run_own(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    if (fid_loader_push_known(L, &own_key, name)) {
        return;
    }
    fid_file_path file;
    snprintf(file.at, sizeof file.at, "lua/%.200s.lua", name);
    const struct fid_embedded *found = fid_loader_find_embedded(file.at);
    if (found == NULL) {
        fid_raisef(L, FID_UNKNOWN, name, "the program has no library file '%.200s'", name);
    }
    push_environment(L, require_own, 0);
    fid_loader_push_core(L);
    lua_setfield(L, -2, "core");
    load_bytes(L, (const char *)found->bytes, found->size, "=fid", file.at);
    fid_loader_run_once(L, &own_key, name);
}

void fid_loader_set_fid(lua_State *L) { lua_rawsetp(L, LUA_REGISTRYINDEX, &fid_key); }

void fid_loader_push_core(lua_State *L) { lua_rawgetp(L, LUA_REGISTRYINDEX, &core_key); }

void fid_loader_push_session(lua_State *L) { lua_rawgetp(L, LUA_REGISTRYINDEX, &session_key); }

void fid_loader_run_recipe(lua_State *L) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_host *host = fid_host_of(L);
    if (host->recipe == NULL) {
        fid_raisef(L, FID_INVALID, NULL, "a session has no recipe");
    }
    fid_loader_push_user_environment(L, host->folder, false);
    fid_text bytes = {0};
    fid_error err;
    if (fid_host_read(host, NULL, host->recipe, FID_LIMIT_SOURCE, &bytes, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    load_read(L, &bytes, host->recipe);
    lua_call(L, 0, 1);
}

void fid_loader_forget(lua_State *L) {
    lua_createtable(L, 0, 8);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &files_key);
    fid_loader_open_modules(L);
}

void fid_loader_run_text(lua_State *L, const char *bytes, size_t count, const char *shown) {
    fid_loader_push_user_environment(L, fid_host_of(L)->folder, false);
    fid_loader_load_text(L, bytes, count, shown);
    lua_call(L, 0, 1);
}

void fid_loader_call_anew(lua_State *L) {
    fid_host *host = fid_host_of(L);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    int function = lua_gettop(L);
    fid_print_function print = host->print;
    fid_report *report = host->report;
    lua_rawgetp(L, LUA_REGISTRYINDEX, &files_key);
    fid_loader_push_modules(L);
    fid_loader_forget(L);
    host->print = NULL;
    host->report = NULL;
    lua_pushcfunction(L, fid_raise_handle);
    lua_pushvalue(L, function);
    int status = lua_pcall(L, 0, 1, -2);
    host->print = print;
    host->report = report;
    lua_replace(L, function);
    lua_pop(L, 1);
    fid_loader_set_modules(L);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &files_key);
    if (status != LUA_OK) {
        fid_host_check_budget(L);
        lua_error(L);
    }
}

void fid_loader_open(lua_State *L) {
    static const char *const tables[] = {&files_key, &own_key, &core_key};
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        lua_createtable(L, 0, 8);
        lua_rawsetp(L, LUA_REGISTRYINDEX, tables[i]);
    }
    fid_loader_open_modules(L);
    fid_loader_push_user_environment(L, fid_host_of(L)->folder, false);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &session_key);
}
