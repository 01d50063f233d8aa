#include "script/module_page.h"

#include "script/fid.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>

/// What the run hands in and out.
typedef struct writing {
    const char *folder;
    fid_text readme; ///< what stands in README.md
    fid_module_page *out;
} writing;

static const char *take(lua_State *L, const char *key, fid_arena *arena) {
    lua_getfield(L, -1, key);
    return fid_module_take_text(L, arena);
}

static void take_pictures(lua_State *L, fid_module_page *out) {
    lua_getfield(L, -1, "pictures");
    for (lua_Integer i = 1; lua_rawgeti(L, -1, i) == LUA_TTABLE; i++) {
        fid_module_picture picture = {take(L, "name", &out->arena), take(L, "svg", &out->arena)};
        if (!fid_array_push(&out->pictures, picture)) {
            fid_error err;
            fid_no_memory(&err);
            fid_raise(L, &err);
        }
        lua_pop(L, 1);
    }
    lua_pop(L, 2);
}

static int run(lua_State *L) {
    const writing *now = lua_touserdata(L, 1);
    enum { PAGE = 2, VALUE };
    fid_file_path shown;
    fid_open(L);
    lua_settop(L, 1);
    fid_loader_run_own(L, "page");
    fid_loader_load_module(L, now->folder, "module.lua", &shown);
    lua_call(L, 0, 1);
    lua_getfield(L, PAGE, "write");
    lua_pushvalue(L, VALUE);
    lua_pushstring(L, shown.at);
    fid_module_push_tests(L, now->folder);
    if (now->readme.count > 0) {
        lua_pushlstring(L, now->readme.at, (size_t)now->readme.count);
    } else {
        lua_pushnil(L);
    }
    lua_call(L, 4, 1);
    now->out->name = take(L, "name", &now->out->arena);
    now->out->version = take(L, "version", &now->out->arena);
    now->out->summary = take(L, "summary", &now->out->arena);
    now->out->text = take(L, "text", &now->out->arena);
    take_pictures(L, now->out);
    return 0;
}

fid_code fid_module_write_page(const char *folder, const fid_recipe_options *options, fid_module_page *out,
                               fid_report *report) {
    fid_host *host = NULL;
    writing now = {.folder = folder, .out = out};
    fid_code code = fid_module_open(folder, options, &host, report);
    if (code == FID_OK) {
        fid_module_read_readme(host, folder, &now.readme);
        code = now.readme.failed ? FID_NO_MEMORY : fid_host_run(host, run, &now, report);
    }
    fid_text_clear(&now.readme);
    fid_host_close(host);
    return code;
}

void fid_module_page_clear(fid_module_page *page) {
    fid_array_clear(&page->pictures);
    fid_arena_clear(&page->arena);
}
