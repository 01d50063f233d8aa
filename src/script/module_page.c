#include "script/module_page.h"

#include "script/embedded.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <string.h>

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

/// One that is missing or cannot be read says nothing by hand.
static void read_readme(fid_host *host, const char *folder, fid_text *out) {
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

fid_code fid_module_write_page(const char *folder, const fid_recipe_options *options, fid_module_page *out,
                               fid_report *report) {
    fid_host *host = NULL;
    writing now = {.folder = folder, .out = out};
    fid_code code = fid_module_open(folder, options, &host, report);
    if (code == FID_OK) {
        read_readme(host, folder, &now.readme);
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
