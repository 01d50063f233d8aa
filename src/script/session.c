#include "script/session.h"

#include "base/file.h"
#include "format/skeleton_write.h"
#include "script/bind_rig.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <string.h>

/// Its address is the key of what a form found, to be put back where it fails: globals, and the rig.
static const char before_key = 'b';

struct fid_session {
    fid_host *host;
    fid_inputs inputs;
    fid_rig *rig; ///< the global `rig` before the form, kept alive by the registry; NULL: none
    fid_rig_mark mark;
    uint64_t edits;
};

/// One form on its way.
typedef struct form {
    fid_session *session;
    const char *text;
    bool incomplete;
} form;

/// core.session(): the globals of the session.
static int push_globals(lua_State *L) {
    fid_loader_push_session(L);
    return 1;
}

/// What the session calls `rig`, or nil.
static int push_rig(lua_State *L) {
    fid_loader_push_session(L);
    lua_pushliteral(L, "rig");
    lua_rawget(L, -2);
    return 1;
}

/// core.run_recipe(): the value of the recipe's file, read anew with all its modules.
static int run_recipe(lua_State *L) {
    fid_loader_forget(L);
    fid_loader_run_recipe(L);
    return 1;
}

/// A text whose memory goes with its userdata.
static int clear_text(lua_State *L) {
    fid_text_clear(lua_touserdata(L, 1));
    return 0;
}

/// core.export(rig, path): writes the skeleton file.
static int export_rig(lua_State *L) {
    const fid_rig *rig = fid_rig_get(L, 1);
    const char *path = lua_type(L, 2) == LUA_TSTRING ? lua_tostring(L, 2) : NULL;
    if (path == NULL) {
        return fid_raisef(L, FID_INVALID, NULL, "export takes the path of a file, as in export(\"rig.json\")");
    }
    if (fid_host_is_input(fid_host_of(L), path)) {
        return fid_raisef(L, FID_INVALID, path, "'%.200s' was read in this session and is not written over", path);
    }
    fid_text *text = lua_newuserdatauv(L, sizeof *text, 0);
    memset(text, 0, sizeof *text);
    if (luaL_newmetatable(L, "fid.text")) {
        lua_pushcfunction(L, clear_text);
        lua_setfield(L, -2, "__gc");
    }
    lua_setmetatable(L, -2);
    fid_error err;
    fid_code code = fid_skeleton_write(rig, text, &err);
    code = code == FID_OK ? fid_file_write(path, text->at, (size_t)text->count, &err) : code;
    return code == FID_OK ? 0 : fid_raise(L, &err);
}

static int open_session(lua_State *L) {
    static const luaL_Reg functions[] = {{"session", push_globals},
                                         {"session_rig", push_rig},
                                         {"run_recipe", run_recipe},
                                         {"export", export_rig},
                                         {NULL, NULL}};
    const fid_session *session = lua_touserdata(L, 1);
    fid_open(L);
    fid_loader_push_core(L);
    luaL_setfuncs(L, functions, 0);
    lua_settop(L, 1);
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "open");
    lua_pushboolean(L, fid_host_recipe(session->host) != NULL);
    lua_call(L, 1, 0);
    return 0;
}

/// Copies the table at the top of the stack, without its metatable.
static void push_copy(lua_State *L) {
    lua_newtable(L);
    for (lua_pushnil(L); lua_next(L, -3) != 0;) {
        lua_pushvalue(L, -2);
        lua_insert(L, -2);
        lua_rawset(L, -4);
    }
}

/// Notes globals and the rig.
static void keep(lua_State *L, fid_session *session) {
    fid_loader_push_session(L);
    push_copy(L);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &before_key);
    lua_pushliteral(L, "rig");
    lua_rawget(L, -2);
    session->rig = fid_rig_is(L, -1) ? fid_rig_get(L, -1) : NULL;
    if (session->rig != NULL) {
        session->mark = fid_rig_get_mark(session->rig);
        session->edits = session->rig->edits;
    }
    lua_pop(L, 2);
}

/// Puts back what the failed form found. The copy of the globals keeps the rig alive.
static int put_back(lua_State *L) {
    fid_session *session = lua_touserdata(L, 1);
    fid_loader_push_session(L);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &before_key);
    if (lua_istable(L, -1)) {
        for (lua_pushnil(L); lua_next(L, -3) != 0; lua_pop(L, 1)) {
            lua_pushvalue(L, -2);
            lua_pushnil(L);
            lua_rawset(L, -6);
        }
        for (lua_pushnil(L); lua_next(L, -2) != 0;) {
            lua_pushvalue(L, -2);
            lua_insert(L, -2);
            lua_rawset(L, -5);
        }
        if (session->rig != NULL && session->rig->edits != session->edits) {
            fid_rig_rollback(session->rig, &session->mark);
        }
    }
    return 0;
}

/// Leaves the function of the form on the stack; false where the text goes on.
static bool load_form(lua_State *L, const char *text) {
    static const char name[] = "@session";
    size_t count = strlen(text);
    luaL_Buffer buffer;
    luaL_buffinit(L, &buffer);
    luaL_addstring(&buffer, "return ");
    luaL_addlstring(&buffer, text, count);
    luaL_pushresult(&buffer);
    size_t length = 0;
    const char *expression = lua_tolstring(L, -1, &length);
    if (luaL_loadbufferx(L, expression, length, name, "t") != LUA_OK) {
        lua_pop(L, 1);
        if (luaL_loadbufferx(L, text, count, name, "t") != LUA_OK) {
            static const char end[] = "<eof>";
            size_t size = 0;
            const char *message = lua_tolstring(L, -1, &size);
            if (size >= sizeof end - 1 && strcmp(message + size - (sizeof end - 1), end) == 0) {
                return false;
            }
            lua_pop(L, 1);
            fid_loader_push_session(L);
            fid_loader_load_text(L, text, count, "session");
        }
    }
    fid_loader_push_session(L);
    if (lua_setupvalue(L, -2, 1) == NULL) {
        lua_pop(L, 1);
    }
    return true;
}

static int run_form(lua_State *L) {
    form *at = lua_touserdata(L, 1);
    keep(L, at->session);
    if (!load_form(L, at->text)) {
        at->incomplete = true;
        return 0;
    }
    int function = lua_gettop(L);
    lua_call(L, 0, LUA_MULTRET);
    int count = lua_gettop(L) - function + 1;
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "print");
    lua_remove(L, -2);
    lua_insert(L, -count - 1);
    lua_call(L, count, 0);
    return 0;
}

fid_code fid_session_open(const char *file, const fid_recipe_options *options, fid_session **out, fid_report *report) {
    *out = NULL;
    fid_session *session = fid_memory_get_zero(1, sizeof *session);
    fid_error err;
    fid_code code = session == NULL ? fid_no_memory(&err) : FID_OK;
    code = code == FID_OK && file != NULL ? fid_inputs_add(&session->inputs, NULL, file, &err) : code;
    if (code != FID_OK) {
        fid_finding finding = {.severity = FID_ERROR, .message = err.message};
        fid_report_add(report, &finding);
        fid_session_close(session);
        return code;
    }
    code = fid_recipe_open(file, options, &session->host, report);
    if (code != FID_OK) {
        fid_session_close(session);
        return code;
    }
    fid_host_set_inputs(session->host, &session->inputs);
    code = fid_host_run(session->host, open_session, session, report);
    if (code != FID_OK) {
        fid_session_close(session);
        return code;
    }
    code = fid_host_blame(session->host, NULL, NULL);
    *out = session;
    return code;
}

fid_code fid_session_run(fid_session *session, const char *text, bool *incomplete, fid_report *report) {
    form at = {session, text, false};
    fid_code code = fid_host_run(session->host, run_form, &at, report);
    *incomplete = at.incomplete;
    if (code != FID_OK) {
        fid_report ignored = {0};
        fid_code again = fid_host_run(session->host, put_back, session, &ignored);
        fid_report_clear(&ignored);
        return again == FID_NO_MEMORY ? again : code;
    }
    return FID_OK;
}

void fid_session_close(fid_session *session) {
    if (session != NULL) {
        fid_host_close(session->host);
        fid_inputs_clear(&session->inputs);
        fid_memory_free(session);
    }
}
