#include "base/file.h"
#include "script/embedded.h"
#include "script/inside.h"
#include "script/loader.h"
#include "script/path.h"

#include <dirent.h>
#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// Where modules are, and what to say where one is not there.

/// Keys of the registry: the address counts.
static const char modules_key = 'm'; ///< name: value
static const char sources_key = 's'; ///< name: path as shown

enum { NAME_SIZE = 65, MOST_FOLDERS = 256, MOST_NAMES = 4096 };

static bool is_name(const char *name) {
    size_t length = strlen(name);
    if (length == 0 || length >= NAME_SIZE || name[0] < 'a' || name[0] > 'z') {
        return false;
    }
    return strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_") == length;
}

/// Names of modules as they turn up, for a suggestion.
typedef struct names {
    fid_arena arena;
    FID_ARRAY(const char *) list;
} names;

static void add_name(names *known, const char *name, size_t length) {
    char text[NAME_SIZE];
    if (length >= sizeof text || known->list.count >= MOST_NAMES) {
        return;
    }
    memcpy(text, name, length);
    text[length] = '\0';
    const char *copy = is_name(text) ? fid_arena_copy(&known->arena, text, length) : NULL;
    if (copy != NULL && !fid_array_push(&known->list, copy)) {
        // One name less to suggest.
        return;
    }
}

static void add_names_of_folder(names *known, const char *folder) {
    DIR *open = opendir(folder);
    if (open == NULL) {
        return;
    }
    for (const struct dirent *entry = readdir(open); entry != NULL; entry = readdir(open)) {
        char file[FID_PATH_SIZE + 300];
        snprintf(file, sizeof file, "%s/%s/module.lua", folder, entry->d_name);
        if (is_name(entry->d_name) && fid_path_is_present(file)) {
            add_name(known, entry->d_name, strlen(entry->d_name));
        }
    }
    closedir(open);
}

/// The length of NAME in "modules/NAME/module.lua", or 0.
static size_t measure_embedded_name(const char *file) {
    if (strncmp(file, "modules/", 8) != 0) {
        return 0;
    }
    size_t length = strcspn(file + 8, "/");
    return strcmp(file + 8 + length, "/module.lua") == 0 ? length : 0;
}

/// The order in which a folder gives its names is not ours, so that the smallest of the nearest is taken.
static void sort_names(names *known) {
    for (int32_t i = 1; i < known->list.count; i++) {
        const char *name = known->list.at[i];
        int32_t at = i;
        for (; at > 0 && strcmp(known->list.at[at - 1], name) > 0; at--) {
            known->list.at[at] = known->list.at[at - 1];
        }
        known->list.at[at] = name;
    }
}

/// Where modules are looked for: folder `index`, from the nearest on. False after the last.
typedef struct search {
    fid_path folder;  ///< of the recipe, or one above it
    int above;        ///< how many folders are still above
    const char *rest; ///< of the list of folders, or NULL
    bool is_nested;   ///< next is modules/ within the entry of the list
    bool is_started;
} search;

static bool next_folder(lua_State *L, search *at, fid_path *out) {
    if (!at->is_started) {
        at->is_started = true;
        fid_path_set(L, out, at->folder.at, "modules");
        fid_path_normalize(out);
        return true;
    }
    if (at->above > 0 && fid_path_step_up(&at->folder)) {
        at->above--;
        fid_path_set(L, out, at->folder.at, "modules");
        return true;
    }
    at->above = 0;
    while (at->rest != NULL && *at->rest != '\0') {
        size_t length = strcspn(at->rest, ":");
        bool is_kept = length > 0 && length + 16 < FID_PATH_SIZE;
        if (is_kept) {
            memcpy(out->at, at->rest, length);
            out->at[length] = '\0';
            if (at->is_nested) {
                memcpy(out->at + length, "/modules", 9);
            }
            fid_path_normalize(out);
        }
        if (at->is_nested || !is_kept) {
            at->rest += length;
            at->rest += *at->rest == ':';
        }
        at->is_nested = is_kept && !at->is_nested;
        if (is_kept) {
            return true;
        }
    }
    return false;
}

static search begin_search(const fid_host *host) {
    search at = {.above = fid_path_count_above(host->folder), .rest = host->module_path};
    at.above = at.above < MOST_FOLDERS ? at.above : MOST_FOLDERS;
    snprintf(at.folder.at, sizeof at.folder.at, "%s", host->folder);
    fid_path_normalize(&at.folder);
    return at;
}

/// Finds the name nearest to one that is not there; "" if none is near.
static void suggest(lua_State *L, const char *name, char out[NAME_SIZE]) {
    names known = {0};
    search at = begin_search(fid_host_of(L));
    fid_path folder;
    // The paths are those of the search before, which raised for none of them.
    while (next_folder(L, &at, &folder)) {
        add_names_of_folder(&known, folder.at);
    }
    for (size_t i = 0; i < fid_embedded_count; i++) {
        const char *file = fid_embedded_files[i].path;
        add_name(&known, file + 8, measure_embedded_name(file));
    }
    sort_names(&known);
    const char *nearest = fid_text_nearest(name, known.list.at, known.list.count);
    snprintf(out, NAME_SIZE, "%s", nearest != NULL ? nearest : "");
    fid_array_clear(&known.list);
    fid_arena_clear(&known.arena);
}

static int refuse_unknown(lua_State *L, const char *name) {
    char nearest[NAME_SIZE];
    suggest(L, name, nearest);
    const fid_host *host = fid_host_of(L);
    bool has_list = host->module_path != NULL && host->module_path[0] != '\0';
    return fid_raisef(
        L, FID_UNKNOWN, name,
        "there is no module '%s'%s%s%s; looked in modules/ of the folder '%.120s' and of each folder above "
        "it, %s%.120s%s and among the standard modules",
        name, nearest[0] != '\0' ? " (did you mean '" : "", nearest, nearest[0] != '\0' ? "'?)" : "", host->folder,
        has_list ? "in FID_PATH (" : "in FID_PATH (which is empty", has_list ? host->module_path : "", ")");
}

static void set_entry(lua_State *L, const char *table, const char *key, const char *value) {
    lua_rawgetp(L, LUA_REGISTRYINDEX, table);
    lua_pushstring(L, value);
    lua_setfield(L, -2, key);
    lua_pop(L, 1);
}

/// Pushes the function of the module's chunk; sets `shown`.
static void load_module(lua_State *L, const char *name, fid_path *shown) {
    search at = begin_search(fid_host_of(L));
    fid_path folder;
    while (next_folder(L, &at, &folder)) {
        fid_path own;
        char relative[NAME_SIZE + 16];
        fid_path_set(L, &own, folder.at, name);
        fid_path_set(L, shown, own.at, "module.lua");
        if (fid_path_is_present(shown->at)) {
            snprintf(relative, sizeof relative, "%s/module.lua", name);
            fid_loader_load_beneath(L, folder.at, relative, shown->at, own.at);
            return;
        }
    }
    snprintf(shown->at, sizeof shown->at, "fid:modules/%s/module.lua", name);
    const struct fid_embedded *file = fid_loader_find_embedded(shown->at + strlen("fid:"));
    if (file == NULL) {
        refuse_unknown(L, name);
        return;
    }
    fid_path own;
    snprintf(own.at, sizeof own.at, "fid:modules/%s", name);
    fid_loader_push_user_environment(L, own.at, true);
    fid_loader_load_text(L, (const char *)file->bytes, file->size, shown->at);
}

void fid_loader_find_module(lua_State *L, const char *name) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    if (!is_name(name)) {
        fid_raisef(L, FID_INVALID, name,
                   "the name of a module has lower-case letters, digits and '_', at most %d, beginning with a letter; "
                   "not '%.100s'",
                   NAME_SIZE - 1, name);
    }
    if (fid_loader_push_known(L, &modules_key, name)) {
        return;
    }
    fid_host_charge(L, FID_HOST_STEP);
    fid_path shown;
    load_module(L, name, &shown);
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

void fid_loader_open_modules(lua_State *L) {
    lua_createtable(L, 0, 8);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &modules_key);
    lua_createtable(L, 0, 8);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &sources_key);
}
