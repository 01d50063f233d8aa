#include "script/embedded.h"
#include "script/inside.h"
#include "script/loader.h"
#include "script/module_lock.h"
#include "script/module_search.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// Modules by name, each run once.

/// Keys of the registry: the address counts.
static const char modules_key = 'm'; ///< name: value
static const char sources_key = 's'; ///< name: path as shown

static void set_entry(lua_State *L, const char *table, const char *key, const char *value) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, table);
    lua_pushstring(L, value);
    lua_setfield(L, -2, key);
    lua_pop(L, 1);
}

void fid_loader_load_module(lua_State *L, const char *folder, const char *name, fid_file_path *shown) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_path_set(L, shown, folder, name);
    if (strncmp(folder, "fid:", 4) != 0) {
        fid_loader_load_beneath(L, folder, name, shown->at, folder);
        return;
    }
    const struct fid_embedded *file = fid_loader_find_embedded(shown->at + strlen("fid:"));
    if (file == NULL) {
        fid_raisef(L, FID_UNKNOWN, folder, "there is no file '%.300s'", shown->at);
    }
    fid_loader_push_user_environment(L, folder, true);
    fid_loader_load_text(L, (const char *)file->bytes, file->size, shown->at);
}

void fid_loader_set_locked(fid_host *host, bool locked) { host->is_locked = locked; }

fid_code fid_loader_place_module(fid_host *host, const char *name, const char *folder, fid_error *err) {
    host->placed_name = fid_host_intern(host, name);
    host->placed_folder = fid_host_intern(host, folder);
    return host->placed_name == NULL || host->placed_folder == NULL ? fid_no_memory(err) : FID_OK;
}

/// Its place where it was given one, else where the search finds it.
static fid_code find_folder(const fid_host *host, const char *name, fid_file_path *out, fid_error *err) {
    if (host->placed_name != NULL && host->placed_folder != NULL && strcmp(name, host->placed_name) == 0) {
        snprintf(out->at, sizeof out->at, "%s", host->placed_folder);
        return FID_OK;
    }
    return fid_module_find(host->folder, host->module_path, name, out, err);
}

/// Warns of a module that is not as in the lock of its project, or refuses it.
static void check_lock(lua_State *L, const char *name, const char *folder) {
    fid_host *host = fid_host_of(L);
    fid_text difference = {0};
    fid_error err;
    fid_code code = fid_module_lock_compare(host, name, folder, host->is_locked, &difference, &err);
    bool differs = code == FID_OK && difference.count > 0;
    if (differs) {
        (void)fid_fail(&err, FID_LOCKED, "%s", difference.at);
        fid_error_about(&err, name);
    }
    fid_text_clear(&difference);
    static const char hint[] = "if that is meant, 'fid modules lock' takes it as it is now";
    if (code != FID_OK || (differs && host->is_locked)) {
        fid_raise_with(L, &err, NULL, differs ? hint : NULL);
    } else if (differs) {
        fid_host_warn(L, name, err.message, hint);
    }
}

void fid_loader_find_module(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    if (fid_module_is_name(name) && fid_loader_push_known(L, &modules_key, name)) {
        return;
    }
    const fid_host *host = fid_host_of(L);
    fid_host_charge(L, FID_HOST_STEP);
    fid_file_path folder, shown;
    fid_error err;
    if (find_folder(host, name, &folder, &err) != FID_OK) {
        fid_raise_with(L, &err, NULL,
                       err.code == FID_UNKNOWN
                           ? "'fid modules' lists those that there are; 'fid modules add' brings one in"
                           : NULL);
    }
    check_lock(L, name, folder.at);
    fid_loader_load_module(L, folder.at, "module.lua", &shown);
    set_entry(L, &sources_key, name, shown.at);
    fid_loader_run_once(L, &modules_key, name);
}

const char *fid_loader_module_source(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &sources_key);
    lua_getfield(L, -1, name);
    const char *source = lua_type(L, -1) == LUA_TSTRING ? fid_host_intern(fid_host_of(L), lua_tostring(L, -1)) : NULL;
    lua_pop(L, 2);
    return source;
}

fid_code fid_loader_set_path(fid_host *host, const char *folders, fid_error *err) {
    host->module_path = fid_host_intern(host, folders);
    return folders != NULL && host->module_path == NULL ? fid_no_memory(err) : FID_OK;
}

const char *fid_loader_path(const fid_host *host) { return host->module_path; }

void fid_loader_open_modules(lua_State *L) {
    lua_createtable(L, 0, 8);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &modules_key);
    lua_createtable(L, 0, 8);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &sources_key);
}

void fid_loader_push_modules(lua_State *L) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, &modules_key);
    lua_rawgetp(L, LUA_REGISTRYINDEX, &sources_key);
}

void fid_loader_set_modules(lua_State *L) {
    lua_rawsetp(L, LUA_REGISTRYINDEX, &sources_key);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &modules_key);
}
