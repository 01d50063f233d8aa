#include "script/data.h"

#include "base/file.h"
#include "base/number.h"
#include "format/csv_table.h"
#include "format/json_read.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/// Longest file, bytes.
enum { MOST_BYTES = 16 * 1024 * 1024 };

/// What is held while a file is read: a userdata, so that an error in between frees it.
typedef struct holding {
    fid_text text;
    fid_json_reader json;
    fid_csv_table csv;
    fid_report report;
} holding;

static int release(lua_State *L) {
    holding *held = lua_touserdata(L, 1);
    fid_json_close(&held->json);
    fid_csv_table_clear(&held->csv);
    fid_report_clear(&held->report);
    fid_text_clear(&held->text);
    return 0;
}

static holding *push_holding(lua_State *L) {
    holding *held = lua_newuserdatauv(L, sizeof *held, 0);
    memset(held, 0, sizeof *held);
    if (luaL_newmetatable(L, "fid.data")) {
        lua_pushcfunction(L, release);
        lua_setfield(L, -2, "__gc");
    }
    lua_setmetatable(L, -2);
    return held;
}

/// Raises an error about a place of the file.
static void raise_in_file(lua_State *L, const fid_error *err, const char *shown, int32_t line) {
    fid_place place = {.file = fid_host_intern(fid_host_of(L), shown), .line = line};
    fid_raise_at(L, err, &place, NULL);
}

static void push_node(lua_State *L, const fid_json_node *node, const char *shown);

static void push_object(lua_State *L, const fid_json_node *node, const char *shown) {
    lua_newtable(L);
    for (const fid_json_node *child = fid_json_first(node); child != NULL; child = fid_json_next(child)) {
        const char *key = fid_json_key_of(child);
        lua_pushstring(L, key);
        lua_pushvalue(L, -1);
        if (lua_rawget(L, -3) != LUA_TNIL) {
            fid_error err;
            fid_fail(&err, FID_SYNTAX, "the key '%s' stands twice in one object", key);
            raise_in_file(L, &err, shown, 0);
        }
        lua_pop(L, 1);
        push_node(L, child, shown);
        lua_rawset(L, -3);
    }
}

static void push_list(lua_State *L, const fid_json_node *node, const char *shown) {
    lua_Integer count = 0;
    lua_newtable(L);
    for (const fid_json_node *child = fid_json_first(node); child != NULL; child = fid_json_next(child)) {
        if (fid_json_kind_of(child) == FID_JSON_NULL) {
            fid_error err;
            fid_fail(&err, FID_SYNTAX, "a list holds null, which would leave a hole in it");
            raise_in_file(L, &err, shown, 0);
        }
        push_node(L, child, shown);
        lua_rawseti(L, -2, ++count);
    }
}

/// The scan of the text has bounded the depth.
static void push_node(lua_State *L, const fid_json_node *node, const char *shown) {
    luaL_checkstack(L, 6, NULL);
    fid_host_charge(L, 4);
    switch (fid_json_kind_of(node)) {
    case FID_JSON_BOOLEAN:
        lua_pushboolean(L, fid_json_is_true(node));
        break;
    case FID_JSON_NUMBER: {
        double value = fid_json_value(node);
        if (fabs(value) < 9007199254740992.0 && value == (double)(int64_t)value) {
            lua_pushinteger(L, (lua_Integer)value);
        } else {
            lua_pushnumber(L, value);
        }
        break;
    }
    case FID_JSON_TEXT:
        lua_pushstring(L, fid_json_string(node));
        break;
    case FID_JSON_LIST:
        push_list(L, node, shown);
        break;
    case FID_JSON_OBJECT:
        push_object(L, node, shown);
        break;
    case FID_JSON_NULL:
    default:
        lua_pushnil(L);
        break;
    }
}

/// Parses the text and pushes its value; `held` is on the stack.
static void push_json(lua_State *L, holding *held, const char *text, size_t count, const char *shown) {
    fid_host_charge(L, (int64_t)(count / 8));
    fid_code code = fid_json_open(&held->json, text, count, shown, &held->report);
    if (code != FID_OK) {
        fid_error err;
        int32_t line = 0;
        fid_fail(&err, FID_NO_MEMORY, "out of memory");
        if (held->report.findings.count > 0) {
            const fid_finding *finding = &held->report.findings.at[0];
            fid_fail(&err, code, "%s", finding->message);
            line = finding->place_count > 0 ? finding->places[0].line : 0;
        }
        raise_in_file(L, &err, shown, line);
    }
    push_node(L, held->json.root, shown);
}

void fid_data_push_json(lua_State *L, const char *text, size_t count, const char *shown) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    holding *held = push_holding(L);
    push_json(L, held, text, count, shown);
    lua_remove(L, -2);
}

/// One row as a table by column. Cells that stand between quotes are text, others numbers where they look like one.
static void push_row(lua_State *L, const fid_csv_table *table, int32_t row) {
    lua_createtable(L, 0, table->column_count);
    for (int32_t i = 0; i < table->column_count; i++) {
        const fid_csv_cell *cell = fid_csv_table_cell(table, row, i);
        double number;
        lua_pushstring(L, table->columns[i]);
        if (!cell->quoted && fid_number_read(cell->text, cell->length, &number)) {
            lua_pushnumber(L, number);
        } else {
            lua_pushlstring(L, cell->text, cell->length);
        }
        lua_rawset(L, -3);
    }
}

static void push_csv(lua_State *L, holding *held, const char *shown) {
    fid_error err;
    fid_host_charge(L, held->text.count);
    if (fid_csv_table_read(held->text.at, (size_t)held->text.count, &held->csv, &err) != FID_OK) {
        raise_in_file(L, &err, shown, held->csv.line);
    }
    lua_newtable(L);
    for (int32_t row = 0; row < held->csv.lines.count; row++) {
        push_row(L, &held->csv, row);
        lua_rawseti(L, -2, (lua_Integer)row + 1);
    }
}

int fid_data_read(lua_State *L) {
    size_t length = 0;
    const char *path = lua_type(L, 1) == LUA_TSTRING ? lua_tolstring(L, 1, &length) : NULL;
    if (path == NULL || strlen(path) != length || length > 1000) {
        return fid_raisef(L, FID_INVALID, NULL, "fid.data takes the path of a file below the recipe's folder, not %s",
                          fid_value_kind(L, 1));
    }
    bool is_json = fid_text_ends_with(path, ".json");
    if (!is_json && !fid_text_ends_with(path, ".csv")) {
        return fid_raisef(L, FID_INVALID, path, "fid.data reads files whose names end in .json or .csv, not '%s'",
                          path);
    }
    const char *folder = fid_host_folder(fid_host_of(L));
    char shown[2100];
    snprintf(shown, sizeof shown, "%s%s%s", strcmp(folder, ".") == 0 ? "" : folder,
             strcmp(folder, ".") == 0 || strcmp(folder, "/") == 0 ? "" : "/", path);
    holding *held = push_holding(L);
    fid_error err;
    if (fid_host_read(fid_host_of(L), folder, path, MOST_BYTES, &held->text, &err) != FID_OK) {
        fid_error_about(&err, path);
        return fid_raise(L, &err);
    }
    if (is_json) {
        push_json(L, held, held->text.at, (size_t)held->text.count, shown);
    } else {
        push_csv(L, held, shown);
    }
    return 1;
}
