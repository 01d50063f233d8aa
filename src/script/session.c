#include "script/session.h"

#include "base/file.h"
#include "format/skeleton_read.h"
#include "script/bind_rig.h"
#include "script/complete.h"
#include "script/fid.h"
#include "script/hold.h"
#include "script/inspect.h"
#include "script/loader.h"
#include "script/raise.h"
#include "script/recording.h"
#include "script/scope.h"
#include "script/words.h"

#include <lauxlib.h>
#include <string.h>

struct fid_session {
    fid_host *host;
    const char *file; ///< recipe or skeleton, or NULL
    const fid_recipe_options *options;
    fid_inputs inputs;
    fid_session_wish *wish; ///< of the form that is running
};

/// One form on its way.
typedef struct form {
    fid_session *session;
    const char *text;
    bool is_whole;
} form;

/// Its address is the key of the session in the registry.
static const char session_key = 's';

static fid_session *session_of(lua_State *L) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &session_key);
    fid_session *session = lua_touserdata(L, -1);
    lua_pop(L, 1);
    return session;
}

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

/// Pushes the rig of a skeleton file.
static void push_skeleton(lua_State *L, const char *file) {
    fid_text *text = fid_hold_text(L);
    fid_report *report = fid_hold_report(L);
    fid_error err;
    fid_rig *rig = NULL;
    fid_code code = fid_host_read(fid_host_of(L), NULL, file, FID_FILE_MOST, text, &err);
    if (code == FID_OK) {
        code = fid_skeleton_read(text->at != NULL ? text->at : "", (size_t)text->count, file, &rig, report);
        if (code != FID_OK) {
            fid_fail(&err, code, "%s", report->findings.count > 0 ? report->findings.at[0].message : "out of memory");
            if (report->findings.count > 0) {
                fid_error_about(&err, report->findings.at[0].subject);
            }
        }
    }
    if (code != FID_OK) {
        fid_raise(L, &err);
    }
    // What is adopted is freed with the machine; where that raises there is no memory, and the process ends.
    fid_rig_adopt(L, &rig, fid_scope_now(L)->serial);
}

/// core.run_file(): what the recipe's file returns, read anew with all its modules, or the rig of the skeleton file.
static int run_file(lua_State *L) {
    const fid_session *session = session_of(L);
    if (fid_text_ends_with(session->file, ".json")) {
        push_skeleton(L, session->file);
        return 1;
    }
    fid_loader_forget(L);
    fid_loader_run_recipe(L);
    return 1;
}

/// core.session_file(): the file that run() runs, or nil.
static int push_file(lua_State *L) {
    lua_pushstring(L, session_of(L)->file);
    return 1;
}

/// core.set_file(path): the file that run() runs from now on.
static int set_file(lua_State *L) {
    fid_session *session = session_of(L);
    fid_host *host = fid_host_of(L);
    const char *path = luaL_checkstring(L, 1);
    fid_text *folder = fid_hold_text(L);
    fid_path_add_folder(folder, path);
    fid_error err;
    if (!fid_text_ends_with(path, ".lua") && !fid_text_ends_with(path, ".json")) {
        return fid_raisef(L, FID_INVALID, path, "'%.200s' is neither a recipe (.lua) nor a skeleton file (.json)",
                          path);
    }
    if (fid_text_ends_with(path, ".lua") && fid_file_is_same(path, path) && folder->at != NULL &&
        !fid_file_is_same(folder->at, fid_host_folder(host))) {
        fid_fail(&err, FID_INVALID, "'%.200s' is not in the folder of the session, '%.200s'", path,
                 fid_host_folder(host));
        fid_error_about(&err, path);
        return fid_raise_with(L, &err, NULL, "modules are looked for from there: begin a session with that file");
    }
    fid_code code = fid_host_set_recipe(host, path, &err);
    code = code == FID_OK ? fid_inputs_add(&session->inputs, NULL, path, &err) : code;
    if (code != FID_OK) {
        return fid_raise(L, &err);
    }
    session->file = fid_host_recipe(host);
    return 0;
}

/// core.params(): the parameters of the command line by name.
static int push_params(lua_State *L) {
    fid_recipe_push_params(L, session_of(L)->options);
    return 1;
}

/// core.undo(n): asks for n forms back, or forth.
static int undo(lua_State *L) {
    session_of(L)->wish->undo = (int32_t)luaL_checkinteger(L, 1);
    return 0;
}

static int open_session(lua_State *L) {
    static const luaL_Reg functions[] = {{"session", push_globals},
                                         {"session_rig", push_rig},
                                         {"run_file", run_file},
                                         {"undo", undo},

                                         {"session_file", push_file},
                                         {"params", push_params},
                                         {"set_file", set_file},
                                         {"words", fid_words_push},
                                         {"keywords", fid_words_push_keywords},
                                         {NULL, NULL}};
    fid_session *session = lua_touserdata(L, 1);
    lua_pushlightuserdata(L, session);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &session_key);
    fid_open(L);
    fid_loader_push_core(L);
    luaL_setfuncs(L, functions, 0);
    fid_recording_open(L);
    fid_inspect_open(L);
    fid_complete_open(L);
    lua_settop(L, 1);
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "open");
    lua_pushboolean(L, session->file != NULL);
    lua_call(L, 1, 0);
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

static int is_whole(lua_State *L) {
    form *at = lua_touserdata(L, 1);
    at->is_whole = true;
    at->is_whole = load_form(L, at->text);
    return 0;
}

/// Whether it can be parsed, as an expression or as it is.
static bool is_lua(lua_State *L, const char *text) {
    int top = lua_gettop(L);
    lua_pushfstring(L, "return %s", text);
    const char *expression = lua_tostring(L, -1);
    bool is = luaL_loadbufferx(L, expression, strlen(expression), "=", "t") == LUA_OK ||
              luaL_loadbufferx(L, text, strlen(text), "=", "t") == LUA_OK;
    lua_settop(L, top);
    return is;
}

/// Pushes the form that is meant by one that ends in a question mark and is no Lua: a call of help. Else the text.
static const char *push_meant(lua_State *L, const char *text) {
    lua_pushstring(L, text);
    size_t count = strlen(text);
    while (count > 0 && strchr(" \t\n", text[count - 1]) != NULL) {
        count--;
    }
    // A text or a comment may end in one, too.
    if (count == 0 || text[count - 1] != '?' || is_lua(L, text)) {
        return text;
    }
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "help_form");
    lua_pushvalue(L, -3);
    lua_call(L, 1, 1);
    lua_remove(L, -2);
    if (lua_type(L, -1) != LUA_TSTRING) {
        lua_pop(L, 1);
        return text;
    }
    lua_remove(L, -2);
    return lua_tostring(L, -1);
}

/// Notes whether the form only looks.
static void tell_look(lua_State *L, const form *at) {
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "is_look");
    lua_pushstring(L, at->text);
    lua_call(L, 1, 1);
    at->session->wish->is_look = lua_toboolean(L, -1) != 0;
    lua_pop(L, 2);
}

/// The edits of what the session calls `rig`; 0 where that is none.
static uint64_t count_edits(lua_State *L) {
    push_rig(L);
    bool is_there = fid_rig_is(L, -1);
    uint64_t edits = is_there ? fid_rig_get(L, -1)->edits + 1 : 0;
    lua_pop(L, 2);
    return edits;
}

/// Lets the session note a form that succeeded, where there is something to note.
static void note_form(lua_State *L, const form *at) {
    const fid_session_wish *wish = at->session->wish;
    if (wish->is_look || wish->undo != 0) {
        return;
    }
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "note");
    lua_pushstring(L, at->text);
    lua_call(L, 1, 0);
    lua_pop(L, 1);
}

static int run_form(lua_State *L) {
    form meant = *(const form *)lua_touserdata(L, 1);
    const form *at = &meant;
    meant.text = push_meant(L, meant.text);
    tell_look(L, at);
    if (!load_form(L, at->text)) {
        fid_raisef(L, FID_SYNTAX, NULL, "the form has no end: '%.64s'", at->text);
    }
    int function = lua_gettop(L);
    uint64_t edits = count_edits(L);
    lua_call(L, 0, LUA_MULTRET);
    int count = lua_gettop(L) - function + 1;
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_loader_run_own(L, "session");
    lua_getfield(L, -1, "print");
    lua_remove(L, -2);
    lua_insert(L, -count - 1);
    lua_call(L, count, 0);
    at->session->wish->is_look &= count_edits(L) == edits;
    note_form(L, at);
    return 0;
}

static fid_code open_file(const char *file, fid_session *session, fid_error *err) {
    if (file != NULL && !fid_text_ends_with(file, ".lua") && !fid_text_ends_with(file, ".json")) {
        return fid_fail(err, FID_INVALID, "'%.200s' is neither a recipe (.lua) nor a skeleton file (.json)", file);
    }
    session->file = file;
    return file != NULL ? fid_inputs_add(&session->inputs, NULL, file, err) : FID_OK;
}

fid_code fid_session_open(const char *file, const fid_recipe_options *options, bool (*is_stopped)(void),
                          fid_session **out, fid_report *report) {
    *out = NULL;
    fid_session *session = fid_memory_get_zero(1, sizeof *session);
    fid_error err;
    fid_code code = session == NULL ? fid_no_memory(&err) : open_file(file, session, &err);
    if (code != FID_OK) {
        fid_finding finding = {.severity = FID_ERROR, .message = err.message};
        fid_report_add(report, &finding);
        fid_session_close(session);
        return code;
    }
    session->options = options;
    // The folder of a skeleton file is where a session looks for poses and modules, as it is for a recipe.
    code = fid_recipe_open(file, options, &session->host, report);
    if (code != FID_OK) {
        fid_session_close(session);
        return code;
    }
    fid_host_set_inputs(session->host, &session->inputs);
    fid_host_set_stop(session->host, is_stopped);
    code = fid_host_run(session->host, open_session, session, report);
    if (code != FID_OK) {
        fid_session_close(session);
        return code;
    }
    code = fid_host_blame(session->host, NULL, NULL);
    *out = session;
    return code;
}

bool fid_session_is_whole(fid_session *session, const char *text) {
    form at = {session, text, true};
    fid_report ignored = {0};
    // A fault of syntax is told when the form is run.
    fid_code code = fid_host_run(session->host, is_whole, &at, &ignored);
    fid_report_clear(&ignored);
    return code != FID_OK || at.is_whole;
}

fid_code fid_session_run(fid_session *session, const char *text, fid_session_wish *wish, fid_report *report) {
    form at = {session, text, true};
    *wish = (fid_session_wish){0};
    session->wish = wish;
    fid_code code = fid_host_run(session->host, run_form, &at, report);
    session->wish = NULL;
    return code;
}

fid_code fid_session_complete(fid_session *session, const char *text, fid_text *out, fid_report *report) {
    return fid_complete(session->host, text, out, report);
}

void fid_session_close(fid_session *session) {
    if (session != NULL) {
        fid_host_close(session->host);
        fid_inputs_clear(&session->inputs);
        fid_memory_free(session);
    }
}
