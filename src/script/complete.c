#include "script/complete.h"

#include "check/check.h"
#include "rig/rig.h"
#include "script/help_calls.h"
#include "script/library.h"
#include "script/loader.h"
#include "script/module_search.h"

#include <dirent.h>
#include <lauxlib.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/// How far fields are looked for behind a table, how many words of one place are told, the longest path.
enum { MOST_STEPS = 8, MOST_WORDS = 16384, PATH_SIZE = 1024 };

/// Replaces the table on top of the stack by the table in which it looks for what it has not; false where there is
/// none. Calls nothing.
static bool go_behind(lua_State *L) {
    if (lua_getmetatable(L, -1) == 0) {
        return false;
    }
    lua_pushliteral(L, "__index");
    lua_rawget(L, -2);
    lua_remove(L, -2);
    lua_remove(L, -2);
    return lua_type(L, -1) == LUA_TTABLE;
}

/// core.look(value, key): the field of a table as it lies there, or of one of our objects; else nil.
static int look(lua_State *L) {
    lua_settop(L, 2);
    if (lua_type(L, 1) == LUA_TUSERDATA) {
        lua_pushvalue(L, 2);
        lua_gettable(L, 1);
        return 1;
    }
    if (lua_type(L, 1) != LUA_TTABLE || lua_isnil(L, 2)) {
        return 0;
    }
    lua_pushvalue(L, 1);
    for (int i = 0; i < MOST_STEPS; i++) {
        lua_pushvalue(L, 2);
        if (lua_rawget(L, -2) != LUA_TNIL) {
            return 1;
        }
        lua_pop(L, 1);
        if (!go_behind(L)) {
            break;
        }
    }
    return 0;
}

/// core.is_same(a, b): without what a script may have put into `==`.
static int is_same(lua_State *L) {
    lua_settop(L, 2);
    lua_pushboolean(L, lua_rawequal(L, 1, 2));
    return 1;
}

/// core.keys(table): a list of the texts under which something lies in it, or in what it looks in.
static int list_keys(lua_State *L) {
    lua_Integer count = 0;
    lua_settop(L, 1);
    lua_createtable(L, 0, 0);
    lua_pushvalue(L, 1);
    for (int i = 0; i < MOST_STEPS && lua_type(L, -1) == LUA_TTABLE; i++) {
        lua_pushnil(L);
        while (count < MOST_WORDS && lua_next(L, -2) != 0) {
            lua_pop(L, 1);
            if (lua_type(L, -1) == LUA_TSTRING) {
                lua_pushvalue(L, -1);
                lua_rawseti(L, 2, ++count);
            }
        }
        if (!go_behind(L)) {
            break;
        }
    }
    lua_settop(L, 2);
    return 1;
}

/// core.library(): what all scripts have.
static int push_library(lua_State *L) {
    fid_library_push(L);
    return 1;
}

static void set_text(lua_State *L, const char *key, const char *value) {
    lua_pushstring(L, value);
    lua_setfield(L, -2, key);
}

/// Appends a table with the key, the words of the type and the choices of an argument to the list on top of the stack.
static void add_argument(lua_State *L, const char *key, const char *type, const char *const *choices) {
    lua_createtable(L, 0, 3);
    set_text(L, "key", key);
    set_text(L, "type", type);
    if (choices != NULL) {
        lua_createtable(L, 4, 0);
        for (int i = 0; choices[i] != NULL; i++) {
            lua_pushstring(L, choices[i]);
            lua_rawseti(L, -2, i + 1);
        }
        lua_setfield(L, -2, "choices");
    }
    lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
}

static void add_fields(lua_State *L, const fid_help_entry *call) {
    const fid_schema *schema;
    for (int i = 0; (schema = fid_help_schema(call, i)) != NULL; i++) {
        for (int32_t j = 0; j < schema->count; j++) {
            const fid_field *field = &schema->fields[j];
            if (!fid_help_is_taken(call, field)) {
                continue;
            }
            if (field->type == FID_TYPE_SOURCES) {
                add_argument(L, "source", "", NULL);
                add_argument(L, "sources", "", NULL);
            } else {
                add_argument(L, field->key,
                             field->type == FID_TYPE_AXES    ? "axes"
                             : field->type == FID_TYPE_TAKES ? "takes"
                                                             : "",
                             field->type == FID_TYPE_CHOICE ? field->choices : NULL);
            }
        }
    }
}

/// core.described(): what help tells of calls and objects: {name, shown, gives, rows, fields}, in its order.
static int list_described(lua_State *L) {
    lua_createtable(L, fid_help_entry_count, 0);
    for (int i = 0; i < fid_help_entry_count; i++) {
        const fid_help_entry *entry = &fid_help_entries[i];
        lua_createtable(L, 0, 5);
        set_text(L, "name", entry->name);
        set_text(L, "shown", entry->shown);
        set_text(L, "gives", entry->gives);
        lua_createtable(L, 0, 0);
        for (int j = 0; j < FID_HELP_ARGUMENTS && entry->arguments[j].key != NULL; j++) {
            add_argument(L, entry->arguments[j].key, entry->arguments[j].type, NULL);
        }
        lua_setfield(L, -2, "rows");
        lua_createtable(L, 0, 0);
        add_fields(L, entry);
        lua_setfield(L, -2, "fields");
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

/// core.rules(): the codes of the rules.
static int list_rules(lua_State *L) {
    lua_createtable(L, fid_rule_count, 0);
    for (int32_t i = 0; i < fid_rule_count; i++) {
        lua_pushstring(L, fid_rules[i].code);
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

/// core.modules(): a table of the modules that can be found: true where one is embedded, else false.
static int list_modules(lua_State *L) {
    fid_module_places places = {0};
    fid_error err;
    fid_host *host = fid_host_of(L);
    lua_createtable(L, 0, 0);
    // Where this raises there is no memory, and the process ends with all that it holds.
    if (fid_module_list(fid_host_folder(host), fid_loader_path(host), &places, &err) == FID_OK) {
        for (int32_t i = 0; i < places.list.count; i++) {
            const fid_module_place *place = &places.list.at[i];
            if (place->hidden_by == NULL) {
                lua_pushboolean(L, strncmp(place->folder, "fid:", 4) == 0);
                lua_setfield(L, -2, place->name);
            }
        }
    }
    fid_module_places_clear(&places);
    return 1;
}

/// core.files(folder, below_recipe): the names in a folder below the working folder, or the recipe's: those of folders
/// end in "/".
static int list_files(lua_State *L) {
    const char *inner = lua_tostring(L, 1);
    const char *outer = lua_toboolean(L, 2) ? fid_host_folder(fid_host_of(L)) : ".";
    char path[PATH_SIZE];
    lua_Integer count = 0;
    lua_createtable(L, 0, 0);
    int length = snprintf(path, sizeof path, "%s/%s", outer, inner);
    // What leads out of the folder is refused when it is read.
    if (length < 0 || length >= (int)sizeof path || inner[0] == '/' || strstr(inner, "..") != NULL) {
        return 1;
    }
    DIR *list = opendir(path);
    const struct dirent *entry;
    while (list != NULL && count < MOST_WORDS && (entry = readdir(list)) != NULL) {
        struct stat told;
        char whole[PATH_SIZE * 2];
        snprintf(whole, sizeof whole, "%s/%s", path, entry->d_name);
        if (entry->d_name[0] != '.' && stat(whole, &told) == 0) {
            lua_pushfstring(L, "%s%s", entry->d_name, S_ISDIR(told.st_mode) ? "/" : "");
            lua_rawseti(L, -2, ++count);
        }
    }
    if (list != NULL) {
        closedir(list);
    }
    return 1;
}

/// What is asked, and the answer.
typedef struct asking {
    const char *text;
    fid_text *out;
} asking;

static int complete(lua_State *L) {
    const asking *of = lua_touserdata(L, 1);
    fid_loader_run_own(L, "complete");
    lua_pushstring(L, of->text);
    lua_call(L, 1, 1);
    size_t count = 0;
    const char *told = lua_tolstring(L, -1, &count);
    if (told != NULL) {
        fid_text_add_bytes(of->out, told, count);
    }
    return 0;
}

void fid_complete_open(lua_State *L) {
    static const luaL_Reg functions[] = {{"look", look},
                                         {"is_same", is_same},
                                         {"keys", list_keys},
                                         {"library", push_library},
                                         {"described", list_described},
                                         {"rules", list_rules},
                                         {"modules", list_modules},
                                         {"files", list_files},
                                         {NULL, NULL}};
    fid_loader_push_core(L);
    luaL_setfuncs(L, functions, 0);
    lua_pop(L, 1);
}

fid_code fid_complete(fid_host *host, const char *text, fid_text *out, fid_report *report) {
    asking of = {text, out};
    out->count = 0;
    fid_code code = fid_host_run(host, complete, &of, report);
    if (code != FID_OK || out->failed) {
        fid_text_clear(out);
    }
    return code;
}
