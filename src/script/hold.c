#include "script/hold.h"

#include <lauxlib.h>
#include <string.h>

static int clear_text(lua_State *L) {
    fid_text_clear(lua_touserdata(L, 1));
    return 0;
}

static int clear_report(lua_State *L) {
    fid_report_clear(lua_touserdata(L, 1));
    return 0;
}

static void *push(lua_State *L, size_t size, const char *name, lua_CFunction clear) {
    void *held = lua_newuserdatauv(L, size, 0);
    memset(held, 0, size);
    if (luaL_newmetatable(L, name)) {
        lua_pushcfunction(L, clear);
        lua_setfield(L, -2, "__gc");
    }
    lua_setmetatable(L, -2);
    return held;
}

fid_text *fid_hold_text(lua_State *L) { return push(L, sizeof(fid_text), "fid.text", clear_text); }

fid_report *fid_hold_report(lua_State *L) { return push(L, sizeof(fid_report), "fid.report", clear_report); }
