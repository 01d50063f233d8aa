#include "script/loader.h"

#include "base/file.h"
#include "script/embedded.h"
#include "script/inside.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// Their addresses are keys in the registry.
static const char fid_key = 'f', core_key = 'c', own_key = 'o', modules_key = 'm', files_key = 'r', session_key = 's';

enum { MAX_SOURCE = 16 << 20, MAX_PATH = 1024 };

/// A file's text while it is loaded: a userdata, so that an error in between frees it.
typedef struct source_text {
    fid_text text;
} source_text;

static int free_source(lua_State *L) {
    source_text *source = lua_touserdata(L, 1);
    fid_text_clear(&source->text);
    return 0;
}

/// Pushes an empty text that is freed with its userdata.
static fid_text *push_source(lua_State *L) {
    source_text *source = lua_newuserdatauv(L, sizeof *source, 0);
    memset(source, 0, sizeof *source);
    if (luaL_newmetatable(L, "fid.source")) {
        lua_pushcfunction(L, free_source);
        lua_setfield(L, -2, "__gc");
    }
    lua_setmetatable(L, -2);
    return &source->text;
}

void fid_loader_open(lua_State *L) {
    const char *const keys[] = {&core_key, &own_key, &modules_key, &files_key};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        lua_createtable(L, 0, 8);
        lua_rawsetp(L, LUA_REGISTRYINDEX, keys[i]);
    }
}

fid_code fid_loader_set_path(fid_host *host, const char *folders, fid_error *err) {
    host->module_path = fid_host_intern(host, folders);
    return folders != NULL && host->module_path == NULL ? fid_no_memory(err) : FID_OK;
}

void fid_loader_set_fid(lua_State *L) { lua_rawsetp(L, LUA_REGISTRYINDEX, &fid_key); }

void fid_loader_push_core(lua_State *L) { lua_rawgetp(L, LUA_REGISTRYINDEX, &core_key); }

/// Pushes a table whose reads fall through to the one on top of the stack, which it replaces.
static void push_view(lua_State *L) {
    lua_createtable(L, 0, 4);
    lua_createtable(L, 0, 2);
    lua_pushvalue(L, -3);
    lua_setfield(L, -2, "__index");
    lua_pushboolean(L, 0);
    lua_setfield(L, -2, "__metatable");
    lua_setmetatable(L, -2);
    lua_replace(L, -2);
}

/// The first line of a syntax error is "[string "..."]:LINE: what"; takes it apart.
static void raise_syntax(lua_State *L, const char *shown) {
    const char *text = lua_tostring(L, -1);
    const char *found = text;
    fid_place place = {.file = fid_host_intern(fid_host_of(L), shown), .line = 0};
    // The chunk's name in the message is shortened by Lua, and may hold colons itself: the last ":digits: " before the
    // text counts.
    for (const char *at = text; (at = strchr(at, ':')) != NULL; at++) {
        int line = 0, used = 0;
        if (sscanf(at, ":%d: %n", &line, &used) == 1 && used > 0) {
            place.line = line;
            found = at + used;
            break;
        }
    }
    fid_error err;
    fid_fail(&err, FID_SYNTAX, "%s", found);
    fid_raise_at(L, &err, &place, NULL);
}

void fid_loader_load_text(lua_State *L, const char *bytes, size_t count, const char *shown) {
    char name[MAX_PATH + 2];
    fid_error err;
    fid_place place = {.file = fid_host_intern(fid_host_of(L), shown), .line = 0};
    if (count >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0) {
        bytes += 3;
        count -= 3;
    }
    if (count > 0 && bytes[0] == LUA_SIGNATURE[0]) {
        fid_fail(&err, FID_SYNTAX, "'%s' is a compiled chunk; only Lua text is read", shown);
        fid_raise_at(L, &err, &place, "give the source file");
    }
    if (!fid_text_is_utf8(bytes, count)) {
        fid_fail(&err, FID_SYNTAX, "'%s' is no UTF-8 text", shown);
        fid_raise_at(L, &err, &place, "save the file as UTF-8");
    }
    snprintf(name, sizeof name, "%s%s", shown[0] == '=' ? "" : "@", shown);
    fid_host_charge(L, (int64_t)(count / 16));
    if (luaL_loadbufferx(L, bytes, count, name, "t") != LUA_OK) {
        raise_syntax(L, shown);
    }
    // The environment lies below the function.
    lua_insert(L, -2);
    if (lua_setupvalue(L, -2, 1) == NULL) {
        lua_pop(L, 1);
    }
}

/// Joins a folder and a path and takes out "." and "..": "recipes/../modules/x" is "modules/x".
static bool join(const char *folder, const char *path, char out[MAX_PATH]) {
    char whole[2 * MAX_PATH];
    if (snprintf(whole, sizeof whole, "%s/%s", folder, path) >= (int)sizeof whole) {
        return false;
    }
    size_t used = whole[0] == '/' ? 1 : 0, floor = used;
    out[0] = '/';
    for (const char *at = whole; *at != '\0';) {
        size_t length = strcspn(at, "/");
        bool up = length == 2 && at[0] == '.' && at[1] == '.';
        if (up && used > floor) {
            // The last part goes away.
            used--;
            while (used > floor && out[used - 1] != '/') {
                used--;
            }
            used -= used > floor ? 1 : 0;
        } else if (length > 0 && !(length == 1 && at[0] == '.') && !(up && whole[0] == '/')) {
            if (used + length + 2 >= MAX_PATH) {
                return false;
            }
            if (used > 0 && out[used - 1] != '/') {
                out[used++] = '/';
            }
            memcpy(out + used, at, length);
            used += length;
            // Above the working folder there is nothing to take away.
            floor = up ? used : floor;
        }
        at += length + (at[length] == '/' ? 1 : 0);
    }
    out[used] = '\0';
    if (used == 0) {
        memcpy(out, ".", 2);
    }
    return true;
}

static int require(lua_State *L);

/// Pushes the environment of a chunk: the shared library and a `require` for its folder.
static void push_environment(lua_State *L, const char *folder) {
    fid_library_push(L);
    push_view(L);
    lua_pushstring(L, folder);
    lua_pushcclosure(L, require, 1);
    lua_setfield(L, -2, "require");
}

/// Runs the text of a chunk in its own environment and leaves its one value on the stack.
static void run_chunk(lua_State *L, const char *bytes, size_t count, const char *shown, const char *folder) {
    push_environment(L, folder);
    fid_loader_load_text(L, bytes, count, shown);
    lua_call(L, 0, 1);
}

/// Reads the file `path` below `folder`; the text's userdata is left on the stack. False where there is no such file.
static const fid_text *read_beneath(lua_State *L, const char *folder, const char *path, fid_error *err,
                                    fid_code *code) {
    fid_text *text = push_source(L);
    *code = fid_file_read_beneath(folder, path, MAX_SOURCE, text, err);
    if (*code == FID_OK) {
        fid_host_charge(L, text->count / 16);
    }
    return text;
}

/// require "name.part": a file below the folder of the chunk that asks, each run once.
static int require(lua_State *L) {
    size_t length = 0;
    const char *name = lua_type(L, 1) == LUA_TSTRING ? lua_tolstring(L, 1, &length) : NULL;
    const char *folder = lua_tostring(L, lua_upvalueindex(1));
    if (name == NULL || length == 0 || length > 200 || strlen(name) != length) {
        return fid_raisef(L, FID_INVALID, NULL,
                          "require takes \"fid\" or the name of a file in the script's own folder");
    }
    if (strcmp(name, "fid") == 0) {
        lua_rawgetp(L, LUA_REGISTRYINDEX, &fid_key);
        return 1;
    }
    char path[256], shown[MAX_PATH];
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        char c = name[i];
        bool word = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
        bool dot = c == '.' && i > 0 && i + 1 < length && name[i - 1] != '.';
        if (!word && !dot) {
            return fid_raisef(
                L, FID_INVALID, name,
                "'%s' is no name that require takes: words of letters, digits, '_' and '-', joined by '.'", name);
        }
        path[used++] = dot ? '/' : c;
    }
    memcpy(path + used, ".lua", 5);
    if (!join(folder, path, shown)) {
        return fid_raisef(L, FID_LIMIT, name, "the path of '%s' is too long", name);
    }
    lua_rawgetp(L, LUA_REGISTRYINDEX, &files_key);
    if (lua_getfield(L, -1, shown) != LUA_TNIL) {
        if (lua_islightuserdata(L, -1)) {
            return fid_raisef(L, FID_INVALID, name, "'%s' requires itself, directly or through another file", shown);
        }
        return 1;
    }
    lua_pop(L, 1);
    fid_error err;
    fid_code code;
    const fid_text *text = read_beneath(L, folder, path, &err, &code);
    if (code != FID_OK) {
        fid_error_about(&err, name);
        return code == FID_IO ? fid_raisef(L, FID_UNKNOWN, name, "require finds no '%s' below '%s': %.200s", path,
                                           folder, err.message)
                              : fid_raise(L, &err);
    }
    lua_pushlightuserdata(L, (void *)(uintptr_t)&files_key);
    lua_setfield(L, 2, shown);
    char inside[MAX_PATH];
    snprintf(inside, sizeof inside, "%s", shown);
    *strrchr(inside, '/') = '\0';
    run_chunk(L, text->at, (size_t)text->count, shown, strchr(shown, '/') != NULL ? inside : folder);
    if (lua_isnil(L, -1)) {
        lua_pushboolean(L, 1);
        lua_replace(L, -2);
    }
    lua_pushvalue(L, -1);
    lua_setfield(L, 2, shown);
    return 1;
}

static const struct fid_embedded *find_embedded(const char *path) {
    for (size_t i = 0; i < fid_embedded_count; i++) {
        if (strcmp(fid_embedded_files[i].path, path) == 0) {
            return &fid_embedded_files[i];
        }
    }
    return NULL;
}

static int require_own(lua_State *L) {
    fid_loader_run_own(L, luaL_checkstring(L, 1));
    return 1;
}

void fid_loader_run_own(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &own_key);
    if (lua_getfield(L, -1, name) == LUA_TNIL) {
        char path[64];
        snprintf(path, sizeof path, "lua/%.48s.lua", name);
        const struct fid_embedded *file = find_embedded(path);
        if (file == NULL) {
            fid_raisef(L, FID_UNKNOWN, name, "the program has no file '%s'", path);
            return;
        }
        lua_pop(L, 1);
        fid_library_push(L);
        push_view(L);
        fid_loader_push_core(L);
        lua_setfield(L, -2, "core");
        lua_pushcfunction(L, require_own);
        lua_setfield(L, -2, "require");
        fid_loader_load_text(L, (const char *)file->bytes, file->size, "=fid");
        lua_call(L, 0, 1);
        lua_pushvalue(L, -1);
        lua_setfield(L, -3, name);
    }
    lua_remove(L, -2);
}

void fid_loader_run_recipe(lua_State *L) {
    fid_host *host = fid_host_of(L);
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_text *text = push_source(L);
    fid_error err;
    if (fid_file_read(host->recipe, MAX_SOURCE, text, &err) != FID_OK) {
        // The finding stands for the file; its name is said once.
        fid_place place = {.file = host->recipe};
        fid_raise_at(L, &err, &place, NULL);
    }
    run_chunk(L, text->at != NULL ? text->at : "", (size_t)text->count, host->recipe, host->folder);
    lua_remove(L, -2);
}

void fid_loader_push_session(lua_State *L) {
    if (lua_rawgetp(L, LUA_REGISTRYINDEX, &session_key) == LUA_TNIL) {
        lua_pop(L, 1);
        push_environment(L, fid_host_of(L)->folder);
        lua_pushvalue(L, -1);
        lua_rawsetp(L, LUA_REGISTRYINDEX, &session_key);
    }
}

/// The names of modules that were met while looking, for the nearest one, and where was looked.
typedef struct search {
    char looked[256];
} search;

static void note_looked(search *state, const char *folder) {
    size_t used = strlen(state->looked);
    snprintf(state->looked + used, sizeof state->looked - used, "%s%s", used > 0 ? ", " : "", folder);
}

static bool is_module_name(const char *name) {
    if (name[0] < 'a' || name[0] > 'z' || strlen(name) > 64) {
        return false;
    }
    return strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_") == strlen(name);
}

/// Keeps what was found: the module's value (on top of the stack) and the path of its file.
static void keep_module(lua_State *L, const char *name, const char *shown) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &modules_key);
    lua_createtable(L, 2, 0);
    lua_pushvalue(L, -3);
    lua_rawseti(L, -2, 1);
    lua_pushstring(L, shown);
    lua_rawseti(L, -2, 2);
    lua_setfield(L, -2, name);
    lua_pop(L, 1);
}

/// Marks the module as loading, so that one that loads itself is told so.
static void mark_loading(lua_State *L, const char *name) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &modules_key);
    lua_pushboolean(L, 1);
    lua_setfield(L, -2, name);
    lua_pop(L, 1);
}

/// Runs `folder`/NAME/module.lua where it is there; false, with nothing on the stack, where not.
static bool try_folder(lua_State *L, const char *folder, const char *name, search *state) {
    char path[128], shown[MAX_PATH], inside[MAX_PATH];
    snprintf(path, sizeof path, "%s/module.lua", name);
    if (!join(folder, path, shown) || !join(folder, name, inside)) {
        return false;
    }
    fid_error err;
    fid_code code;
    const fid_text *text = read_beneath(L, folder, path, &err, &code);
    if (code == FID_IO) {
        lua_pop(L, 1);
        note_looked(state, folder);
        return false;
    }
    if (code != FID_OK) {
        fid_error_about(&err, name);
        fid_raise(L, &err);
    }
    mark_loading(L, name);
    run_chunk(L, text->at, (size_t)text->count, shown, inside);
    keep_module(L, name, shown);
    lua_remove(L, -2);
    return true;
}

/// `modules/` of the recipe's folder, then of each folder above it up to the root of the file system.
static bool try_recipe_folders(lua_State *L, const char *name, search *state) {
    char folder[MAX_PATH], above[MAX_PATH];
    if (!join(fid_host_of(L)->folder, ".", folder)) {
        return false;
    }
    for (int depth = 0; depth < 64; depth++) {
        if (!join(folder, "modules", above)) {
            return false;
        }
        if (try_folder(L, above, name, state)) {
            return true;
        }
        // Above a relative folder that is used up stand "..", "../.." and so on, until that is the root.
        bool is_root = strcmp(folder, "/") == 0 || (strncmp(folder, "..", 2) == 0 && fid_file_is_same(folder, "/"));
        if (is_root || !join(folder, "..", above)) {
            return false;
        }
        memcpy(folder, above, sizeof folder);
    }
    return false;
}

static bool try_path(lua_State *L, const char *name, search *state) {
    const char *at = fid_host_of(L)->module_path;
    while (at != NULL && *at != '\0') {
        size_t length = strcspn(at, ":");
        char folder[MAX_PATH], inner[MAX_PATH];
        if (length > 0 && length < MAX_PATH) {
            memcpy(folder, at, length);
            folder[length] = '\0';
            if (try_folder(L, folder, name, state) ||
                (join(folder, "modules", inner) && try_folder(L, inner, name, state))) {
                return true;
            }
        }
        at += length + (at[length] == ':' ? 1 : 0);
    }
    return false;
}

static bool try_embedded(lua_State *L, const char *name) {
    char path[128], shown[160], folder[160];
    snprintf(path, sizeof path, "modules/%s/module.lua", name);
    const struct fid_embedded *file = find_embedded(path);
    if (file == NULL) {
        return false;
    }
    snprintf(shown, sizeof shown, "fid:%s", path);
    snprintf(folder, sizeof folder, "fid:modules/%s", name);
    mark_loading(L, name);
    run_chunk(L, (const char *)file->bytes, file->size, shown, folder);
    keep_module(L, name, shown);
    return true;
}

/// The nearest name among the embedded modules and those already loaded.
static const char *nearest_module(lua_State *L, const char *name) {
    const char *words[128];
    int32_t count = 0;
    for (size_t i = 0; i < fid_embedded_count && count < 128; i++) {
        const char *path = fid_embedded_files[i].path, *end = strstr(path, "/module.lua");
        if (strncmp(path, "modules/", 8) == 0 && end != NULL) {
            lua_pushlstring(L, path + 8, (size_t)(end - path - 8));
            words[count++] = fid_host_intern(fid_host_of(L), lua_tostring(L, -1));
            lua_pop(L, 1);
            count -= words[count - 1] == NULL ? 1 : 0;
        }
    }
    return fid_text_nearest(name, words, count);
}

void fid_loader_find_module(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    if (!is_module_name(name)) {
        fid_raisef(L, FID_INVALID, name, "'%.64s' is no name of a module: lower-case letters, digits and '_'", name);
    }
    lua_rawgetp(L, LUA_REGISTRYINDEX, &modules_key);
    int type = lua_getfield(L, -1, name);
    if (type == LUA_TBOOLEAN) {
        fid_raisef(L, FID_INVALID, name, "module '%s' needs itself while it is loaded", name);
    }
    if (type == LUA_TTABLE) {
        lua_rawgeti(L, -1, 1);
        lua_replace(L, -3);
        lua_pop(L, 1);
        return;
    }
    lua_pop(L, 2);
    search state = {""};
    if (try_recipe_folders(L, name, &state) || try_path(L, name, &state) || try_embedded(L, name)) {
        return;
    }
    const char *nearest = nearest_module(L, name);
    fid_raisef(L, FID_UNKNOWN, name, "there is no module '%s'%s%s%s (looked in %s and among those of the program)",
               name, nearest != NULL ? "; did you mean '" : "", nearest != NULL ? nearest : "",
               nearest != NULL ? "'?" : "", state.looked);
}

const char *fid_loader_module_source(lua_State *L, const char *name) {
    const char *shown = NULL;
    lua_rawgetp(L, LUA_REGISTRYINDEX, &modules_key);
    if (lua_getfield(L, -1, name) == LUA_TTABLE) {
        lua_rawgeti(L, -1, 2);
        shown = fid_host_intern(fid_host_of(L), lua_tostring(L, -1));
        lua_pop(L, 1);
    }
    lua_pop(L, 2);
    return shown;
}
