#include "script/editor.h"

#include "script/library.h"
#include "script/recipe.h"

#include <lauxlib.h>
#include <string.h>

/// Replaces the view on top of the stack (fid_library_seal) by the table behind it.
static void look_behind(lua_State *L) {
    if (lua_getmetatable(L, -1) != 0) {
        lua_getfield(L, -1, "__index");
        if (lua_istable(L, -1)) {
            lua_replace(L, -3);
            lua_pop(L, 1);
        } else {
            lua_pop(L, 2);
        }
    }
}

/// Adds the names in the table on top of the stack as a list of luacheck; those of tables within with their fields.
static void add_names(lua_State *L, fid_text *out, int depth) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    int table = lua_gettop(L);
    fid_library_push_keys(L, table);
    for (lua_Integer i = 1; lua_rawgeti(L, -1, i) != LUA_TNIL; i++) {
        const char *name = lua_tostring(L, -1);
        lua_pushvalue(L, -1);
        lua_rawget(L, table);
        fid_text_addf(out, "%*s%s = ", depth * 2, "", name);
        if (lua_istable(L, -1)) {
            look_behind(L);
            fid_text_add(out, "{ fields = {\n");
            add_names(L, out, depth + 1);
            fid_text_addf(out, "%*s} },\n", depth * 2, "");
        } else {
            fid_text_add(out, "{},\n");
        }
        lua_pop(L, 2);
    }
    lua_pop(L, 2);
}

static int tell_library(lua_State *L) {
    fid_text *out = lua_touserdata(L, 1);
    fid_library_push(L);
    look_behind(L);
    add_names(L, out, 1);
    return 0;
}

fid_code fid_editor_add_luacheck(fid_text *out, fid_report *report) {
    fid_recipe_options options = {.module_path = NULL};
    fid_host *host;
    fid_code code = fid_recipe_open(NULL, &options, &host, report);
    if (code) {
        return code;
    }
    fid_text_add(out, "-- Settings of luacheck: what scripts of fid see. Written by 'fid init'.\n"
                      "max_line_length = false\n"
                      "exclude_files = { \".fid\" }\n"
                      "stds.fid = { read_globals = {\n"
                      "  require = {},\n");
    code = fid_host_run(host, tell_library, out, report);
    fid_text_add(out, "} }\nstd = \"fid\"\n");
    fid_host_close(host);
    return code;
}

void fid_editor_add_luarc(const char *folder, fid_text *out) {
    fid_text_add(out, "{\n"
                      "  \"runtime.version\": \"Lua 5.4\",\n"
                      "  \"runtime.builtin\": {\n"
                      "    \"debug\": \"disable\",\n"
                      "    \"io\": \"disable\",\n"
                      "    \"os\": \"disable\",\n"
                      "    \"package\": \"disable\"\n"
                      "  },\n"
                      "  \"workspace.checkThirdParty\": false,\n"
                      "  \"workspace.library\": [");
    fid_text_add_json(out, folder);
    fid_text_add(out, "]\n}\n");
}
