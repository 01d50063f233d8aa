#ifndef FID_TESTS_SCRIPT_RUN_TEXT_H
#define FID_TESTS_SCRIPT_RUN_TEXT_H

#include "support/assert.h"

#include "script/bind_rig.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/scope.h"

#include <lauxlib.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/// What became of a script.
typedef struct outcome {
    fid_code code;
    char place[64];    ///< "test.lua:3"
    char message[600]; ///< of the error, "" without
} outcome;

/// What every script of these tests can use: `rig` and `root` are there.
static const char prelude[] = "local fid = require 'fid' local rig = fid.rig{name = 'arm', height = 2} "
                              "local root = rig:control{part = 'root', at = {0, 0, 0}} ";

/// within(rig, {id, side, mirrored, parent}, function(rig) ... end): runs the function as the code of an instance.
static int call_within(lua_State *L) {
    fid_scope scope = *fid_scope_now(L);
    fid_rig *rig = fid_rig_get(L, 1);
    lua_getfield(L, 2, "id");
    lua_getfield(L, 2, "side");
    lua_getfield(L, 2, "mirrored");
    scope.rig = rig;
    scope.id = lua_tostring(L, 4);
    scope.sided = lua_isstring(L, 5) != 0;
    scope.side = !scope.sided ? FID_CENTER : strcmp(lua_tostring(L, 5), "right") == 0 ? FID_RIGHT : FID_LEFT;
    scope.mirrored = lua_toboolean(L, 6) != 0;
    fid_scope_push(L, &scope);
    lua_pushvalue(L, 3);
    fid_rig_push(L, rig, fid_scope_now(L)->serial);
    int status = lua_pcall(L, 1, 1, 0);
    fid_scope_pop(L);
    return status == LUA_OK ? 1 : lua_error(L);
}

/// attempt(rig, function): takes back what it made if it fails, and tells the message.
static int attempt(lua_State *L) {
    fid_rig *rig = fid_rig_get(L, 1);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    lua_settop(L, 2);
    if (lua_pcall(L, 0, 0, 0) != LUA_OK) {
        fid_rig_rollback(rig, &mark);
        lua_getfield(L, -1, "message");
        return 1;
    }
    return 0;
}

/// release(rig): takes the rig out of the script's hands and frees it.
static int release(lua_State *L) {
    fid_rig_free(fid_rig_release(L, 1));
    return 0;
}

/// near(a, b): whether two numbers or points differ by less than 1e-5.
static const char helpers[] =
    "function near(a, b) if type(a) == 'number' then return math.abs(a - b) < 1e-5 end "
    "return near(a.x, b.x) and near(a.y, b.y) and near(a.z, b.z) end "
    "function refused(f, part) local ok, err = pcall(f) "
    "if ok then error('it is not refused', 2) end "
    "if not tostring(err):find(part, 1, true) then error(tostring(err), 2) end return true end ";

static int run_body(lua_State *L) {
    static const luaL_Reg functions[] = {
        {"within", call_within}, {"attempt", attempt}, {"release", release}, {NULL, NULL}};
    const char *text = lua_touserdata(L, 1);
    fid_open(L);
    fid_loader_push_session(L);
    luaL_setfuncs(L, functions, 0);
    lua_pushvalue(L, -1);
    fid_loader_load_text(L, helpers, strlen(helpers), "helpers.lua");
    lua_call(L, 0, 0);
    fid_loader_load_text(L, text, strlen(text), "test.lua");
    lua_call(L, 0, 0);
    return 0;
}

/// Runs a script after the prelude.
static inline outcome run_text(const char *script) {
    outcome out = {FID_OK, "", ""};
    char text[8192];
    fid_host *host = NULL;
    fid_report report = {0};
    fid_error err;
    int length = snprintf(text, sizeof text, "%s\n%s", prelude, script);
    if (length < 0 || (size_t)length >= sizeof text) {
        out.code = FID_LIMIT;
        return out;
    }
    out.code = fid_host_open(NULL, NULL, &host, &err);
    if (out.code == FID_OK) {
        out.code = fid_host_run(host, run_body, text, &report);
    }
    if (report.findings.count > 0) {
        const fid_finding *finding = &report.findings.at[0];
        snprintf(out.message, sizeof out.message, "%s", finding->message);
        if (finding->place_count > 0) {
            snprintf(out.place, sizeof out.place, "%s:%d", finding->places[0].file, (int)finding->places[0].line);
        }
    }
    fid_report_clear(&report);
    fid_host_close(host);
    return out;
}

static inline void assert_runs_at(const char *script, const char *file, int line) {
    outcome out = run_text(script);
    if (out.code != FID_OK) {
        print_error("%s: %s\n", out.place, out.message);
        _fail(file, line);
    }
}

static inline void assert_refused_at(const char *script, const char *part, const char *file, int line) {
    outcome out = run_text(script);
    if (out.code == FID_OK || strstr(out.message, part) == NULL || strcmp(out.place, "test.lua:2") != 0) {
        print_error("%s\n    gives \"%s\" at %s\n    instead of \"%s\" at test.lua:2\n", script, out.message, out.place,
                    part);
        _fail(file, line);
    }
}

/// Fails unless the script, all of whose checks are its own `assert`, runs to its end.
#define assert_runs(script) assert_runs_at((script), __FILE__, __LINE__)

/// Fails unless the one line of script is refused, with `part` in the message and the blame on that line.
#define assert_refused(script, part) assert_refused_at((script), (part), __FILE__, __LINE__)

#endif
