#include "script/recipe.h"

#include "script/bind_rig.h"
#include "script/fid.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <string.h>

/// What the run hands in and out.
typedef struct recipe_run {
    const fid_recipe_options *options;
    fid_rig *rig;
} recipe_run;

void fid_recipe_push_params(lua_State *L, const fid_recipe_options *options) {
    lua_createtable(L, 0, options->param_count);
    for (int32_t i = 0; i < options->param_count; i++) {
        const fid_param *param = &options->params[i];
        lua_pushstring(L, param->key);
        if (lua_getfield(L, -2, param->key) != LUA_TNIL) {
            fid_raisef(L, FID_INVALID, param->key, "the parameter '%s' is given twice", param->key);
        }
        lua_pop(L, 1);
        lua_pushstring(L, param->value);
        lua_rawset(L, -3);
    }
}

static int run_recipe(lua_State *L) {
    recipe_run *run = lua_touserdata(L, 1);
    fid_open(L);
    lua_settop(L, 1);
    fid_loader_run_own(L, "module");
    lua_getfield(L, -1, "run");
    fid_loader_run_recipe(L);
    fid_recipe_push_params(L, run->options);
    lua_call(L, 2, 1);
    run->rig = fid_rig_release(L, -1);
    return 0;
}

/// Hands on a line as a text of C; a zero within it becomes a question mark.
static void print_line(void *user, const char *line, size_t count) {
    const fid_recipe_options *options = user;
    fid_text text = {0};
    fid_text_add_bytes(&text, line, count);
    fid_text_add(&text, "");
    for (int32_t i = 0; i < text.count; i++) {
        text.at[i] = text.at[i] == '\0' ? '?' : text.at[i];
    }
    options->print(options->print_user, text.at != NULL ? text.at : "");
    fid_text_clear(&text);
}

fid_code fid_recipe_open(const char *path, const fid_recipe_options *options, fid_host **out, fid_report *report) {
    fid_error err;
    fid_code code = fid_host_open(&options->limits, path, out, &err);
    if (code == FID_OK) {
        code = fid_loader_set_path(*out, options->module_path, &err);
    }
    if (code != FID_OK) {
        fid_place place = {.file = path};
        fid_finding finding = {.severity = FID_ERROR, .message = err.message, .places = &place, .place_count = 1};
        fid_report_add(report, &finding);
        fid_host_close(*out);
        *out = NULL;
        return code;
    }
    if (options->print != NULL) {
        fid_host_set_print(*out, print_line, (void *)(uintptr_t)options);
    }
    fid_host_set_inputs(*out, options->inputs);
    fid_loader_set_locked(*out, options->locked);
    return FID_OK;
}

fid_code fid_recipe_build(const char *path, const fid_recipe_options *options, fid_rig **out, fid_report *report) {
    *out = NULL;
    fid_host *host;
    fid_code code = fid_recipe_open(path, options, &host, report);
    if (code != FID_OK) {
        return code;
    }
    recipe_run run = {options, NULL};
    code = fid_host_run(host, run_recipe, &run, report);
    fid_host_close(host);
    if (code != FID_OK) {
        // The budget may be spent between the release and the end of the run.
        fid_rig_free(run.rig);
        return code;
    }
    *out = run.rig;
    return FID_OK;
}
