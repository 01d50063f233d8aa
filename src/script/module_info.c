#include "script/module_info.h"

#include "script/embedded.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/module_tests.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// What the run hands in and out.
typedef struct reading {
    const char *folder;
    fid_module_depth depth;
    fid_text readme; ///< of FID_MODULE_CHECKED
    fid_module_info *out;
} reading;

const char *fid_module_take_text(lua_State *L, fid_arena *arena) {
    size_t count = 0;
    const char *text = luaL_checklstring(L, -1, &count);
    const char *copy = fid_arena_copy(arena, text, count);
    if (copy == NULL) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    lua_pop(L, 1);
    return copy;
}

void fid_module_take_texts(lua_State *L, const char *key, fid_arena *arena, fid_module_words *out) {
    lua_getfield(L, -1, key);
    for (lua_Integer i = 1; lua_rawgeti(L, -1, i) == LUA_TSTRING; i++) {
        const char *text = fid_module_take_text(L, arena);
        if (!fid_array_push(out, text)) {
            fid_error err;
            fid_no_memory(&err);
            fid_raise(L, &err);
        }
    }
    lua_pop(L, 2);
}

static const char *take_field(lua_State *L, const char *key, fid_arena *arena) {
    lua_getfield(L, -1, key);
    return fid_module_take_text(L, arena);
}

void fid_module_read_readme(fid_host *host, const char *folder, fid_text *out) {
    static const char name[] = "README.md";
    fid_file_path path;
    fid_error err;
    if (strncmp(folder, "fid:", 4) != 0) {
        if (fid_host_read(host, folder, name, FID_LIMIT_SOURCE, out, &err) != FID_OK) {
            return;
        }
    } else if (fid_path_join(&path, folder, name)) {
        const struct fid_embedded *file = fid_loader_find_embedded(path.at + 4);
        if (file != NULL) {
            fid_text_add_bytes(out, (const char *)file->bytes, file->size);
        }
    }
    if (out->count > 0 && !fid_text_is_utf8(out->at, (size_t)out->count)) {
        fid_text_clear(out);
    }
}

void fid_module_push_tests(lua_State *L, const char *folder) {
    fid_module_tests_place place = {.name = "test.lua"};
    fid_file_path shown;
    fid_error err;
    int first = lua_gettop(L) + 1;
    snprintf(place.folder.at, sizeof place.folder.at, "%s", folder);
    if (!fid_module_tests_are_there(&place)) {
        lua_pushnil(L);
        return;
    }
    fid_loader_load_module(L, folder, place.name, &shown);
    lua_call(L, 0, 1);
    fid_loader_run_own(L, "tests");
    lua_getfield(L, -1, "open");
    lua_pushvalue(L, first);
    lua_pushstring(L, shown.at);
    lua_call(L, 2, 1);
    lua_getfield(L, -1, "module");
    if (fid_loader_place_module(fid_host_of(L), lua_tostring(L, -1), folder, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    lua_settop(L, first);
}

/// The function that is handed to describe.module.
static int load_tests(lua_State *L) {
    fid_module_push_tests(L, lua_tostring(L, lua_upvalueindex(1)));
    return 1;
}

/// The field of the table on top of the stack, or NULL where it is nil.
static const char *take_maybe(lua_State *L, const char *key, fid_arena *arena) {
    if (lua_getfield(L, -1, key) == LUA_TNIL) {
        lua_pop(L, 1);
        return NULL;
    }
    return fid_module_take_text(L, arena);
}

/// The module's value stands at 3.
static void check(lua_State *L, const reading *now, const char *shown) {
    fid_loader_run_own(L, "contract");
    lua_getfield(L, -1, "check");
    lua_pushvalue(L, 3);
    lua_pushstring(L, shown);
    lua_pushstring(L, now->folder);
    lua_pushcclosure(L, load_tests, 1);
    lua_pushlstring(L, now->readme.at ? now->readme.at : "", (size_t)now->readme.count);
    if (now->readme.count == 0) {
        lua_pop(L, 1);
        lua_pushnil(L);
    }
    lua_call(L, 4, 1);
    for (lua_Integer i = 1; lua_rawgeti(L, -1, i) == LUA_TTABLE; i++) {
        fid_arena *arena = &now->out->arena;
        fid_module_flaw flaw = {.is_error = strcmp(take_field(L, "severity", arena), "error") == 0};
        flaw.file = take_field(L, "file", arena);
        flaw.subject = take_field(L, "subject", arena);
        flaw.message = take_field(L, "message", arena);
        flaw.hint = take_maybe(L, "hint", arena);
        lua_getfield(L, -1, "line");
        flaw.line = (int32_t)lua_tointeger(L, -1);
        lua_pop(L, 2);
        if (!fid_array_push(&now->out->flaws, flaw)) {
            fid_error err;
            fid_no_memory(&err);
            fid_raise(L, &err);
        }
    }
    lua_pop(L, 3);
}

static int run(lua_State *L) {
    const reading *now = lua_touserdata(L, 1);
    fid_file_path shown;
    fid_open(L);
    lua_settop(L, 1);
    fid_loader_run_own(L, "describe");
    fid_loader_load_module(L, now->folder, "module.lua", &shown);
    lua_call(L, 0, 1);
    lua_getfield(L, 2, "module");
    lua_pushvalue(L, 3);
    lua_pushstring(L, shown.at);
    if (now->depth == FID_MODULE_RESULTS) {
        lua_pushstring(L, now->folder);
        lua_pushcclosure(L, load_tests, 1);
    } else {
        lua_pushnil(L);
    }
    lua_call(L, 3, 1);
    fid_arena *arena = &now->out->arena;
    now->out->name = take_field(L, "name", arena);
    now->out->version = take_field(L, "version", arena);
    now->out->summary = take_field(L, "summary", arena);
    now->out->text = take_field(L, "text", arena);
    now->out->json = take_field(L, "json", arena);
    fid_module_take_texts(L, "names", arena, &now->out->params);
    if (now->depth == FID_MODULE_EDITORS) {
        fid_loader_run_own(L, "annotations");
        lua_getfield(L, -1, "write");
        lua_pushvalue(L, 3);
        lua_pushstring(L, shown.at);
        lua_pushstring(L, now->folder);
        lua_pushcclosure(L, load_tests, 1);
        lua_call(L, 3, 1);
        now->out->classes = take_field(L, "classes", arena);
        now->out->requests = take_field(L, "requests", arena);
    } else if (now->depth == FID_MODULE_CHECKED) {
        check(L, now, shown.at);
    }
    if (now->depth == FID_MODULE_NEEDED || now->depth == FID_MODULE_CHECKED) {
        lua_getfield(L, 2, "check_needs");
        lua_pushvalue(L, 3);
        lua_call(L, 1, 0);
    }
    return 0;
}

fid_code fid_module_open(const char *folder, const fid_recipe_options *options, fid_host **out, fid_report *report) {
    fid_code code = fid_recipe_open(NULL, options, out, report);
    if (code == FID_OK) {
        fid_file_path file;
        // A call that is returned leaves no line behind: then the file is named at least.
        code = fid_host_blame(*out, fid_path_join(&file, folder, "module.lua") ? file.at : folder, NULL);
        if (code != FID_OK) {
            fid_host_close(*out);
            *out = NULL;
        }
    }
    return code;
}

fid_code fid_module_read_info(const char *folder, const fid_recipe_options *options, fid_module_depth depth,
                              fid_module_info *out, fid_report *report) {
    fid_host *host = NULL;
    reading now = {.folder = folder, .depth = depth, .out = out};
    fid_code code = fid_module_open(folder, options, &host, report);
    if (code == FID_OK && depth == FID_MODULE_CHECKED) {
        fid_module_read_readme(host, folder, &now.readme);
    }
    code = code == FID_OK ? fid_host_run(host, run, &now, report) : code;
    fid_text_clear(&now.readme);
    fid_host_close(host);
    return code;
}

void fid_module_info_clear(fid_module_info *info) {
    fid_array_clear(&info->params);
    fid_array_clear(&info->flaws);
    fid_arena_clear(&info->arena);
}
