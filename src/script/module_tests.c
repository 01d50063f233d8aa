#include "script/module_tests.h"

#include "script/embedded.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/raise.h"

#include <string.h>

/// What the run hands in and out.
typedef struct running {
    const fid_module_tests_place *place;
    fid_module_tests *out; ///< NULL: a case is run
    int32_t index;
} running;

static int run(lua_State *L) {
    const running *now = lua_touserdata(L, 1);
    enum { KIT = 2, FILE_VALUE, OPENED };
    fid_file_path shown;
    fid_error err;
    fid_open(L);
    lua_settop(L, 1);
    fid_loader_run_own(L, "tests");
    fid_loader_load_module(L, now->place->folder.at, now->place->name, &shown);
    lua_call(L, 0, 1);
    lua_getfield(L, KIT, "open");
    lua_pushvalue(L, FILE_VALUE);
    lua_pushstring(L, shown.at);
    lua_call(L, 2, 1);
    lua_getfield(L, OPENED, "module");
    if (fid_loader_place_module(fid_host_of(L), lua_tostring(L, -1), now->place->folder.at, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    lua_settop(L, OPENED);
    if (now->out != NULL) {
        lua_getfield(L, OPENED, "module");
        now->out->module = fid_module_take_text(L, &now->out->arena);
        fid_module_take_texts(L, "names", &now->out->arena, &now->out->cases);
        lua_getfield(L, KIT, "find_module");
        lua_pushvalue(L, FILE_VALUE);
        lua_call(L, 1, 0);
    } else {
        lua_getfield(L, KIT, "run");
        lua_pushvalue(L, FILE_VALUE);
        lua_pushinteger(L, now->index + 1);
        lua_call(L, 2, 0);
    }
    return 0;
}

static fid_code run_host(const running *now, const fid_recipe_options *options, fid_report *report) {
    fid_file_path file;
    fid_error err;
    fid_host *host = NULL;
    const char *path = fid_path_join(&file, now->place->folder.at, now->place->name) ? file.at : now->place->folder.at;
    fid_code code = fid_recipe_open(now->place->is_root ? path : NULL, options, &host, report);
    if (code == FID_OK) {
        // A call that is returned leaves no line behind: then the file is named at least.
        code = fid_host_blame(host, path, &err);
        code = code == FID_OK ? fid_host_run(host, run, (void *)(uintptr_t)now, report) : code;
        fid_host_close(host);
    }
    return code;
}

bool fid_module_tests_are_there(const fid_module_tests_place *place) {
    fid_file_path file;
    if (!fid_path_join(&file, place->folder.at, place->name)) {
        return false;
    }
    return strncmp(file.at, "fid:", 4) == 0 ? fid_loader_find_embedded(file.at + 4) != NULL
                                            : fid_path_is_present(file.at);
}

fid_code fid_module_tests_read(const fid_module_tests_place *place, const fid_recipe_options *options,
                               fid_module_tests *out, fid_report *report) {
    running now = {.place = place, .out = out};
    return run_host(&now, options, report);
}

fid_code fid_module_tests_run(const fid_module_tests_place *place, const fid_recipe_options *options, int32_t index,
                              fid_report *report) {
    running now = {.place = place, .index = index};
    return run_host(&now, options, report);
}

void fid_module_tests_clear(fid_module_tests *tests) {
    fid_array_clear(&tests->cases);
    fid_arena_clear(&tests->arena);
}
