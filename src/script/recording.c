#include "script/recording.h"

#include "base/file.h"
#include "format/skeleton_write.h"
#include "script/bind_rig.h"
#include "script/bundle.h"
#include "script/help_calls.h"
#include "script/hold.h"
#include "script/host.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <sha2.h>
#include <string.h>

static const char mark[] = "-- Recorded in a session of fid; sha256 of what follows: ";

/// core.is_statement(text): whether it can stand in a recipe as it is.
static int is_statement(lua_State *L) {
    size_t count = 0;
    const char *text = luaL_checklstring(L, 1, &count);
    fid_host_charge(L, (int64_t)count);
    bool is_good = luaL_loadbufferx(L, text, count, "=form", "t") == LUA_OK;
    lua_pushboolean(L, is_good);
    return 1;
}

/// core.anew(function): its value, called as if nothing had been read yet.
static int call_anew(lua_State *L) {
    lua_settop(L, 1);
    fid_loader_call_anew(L);
    return 1;
}

/// core.run_text(text, shown): what a recipe of that text returns.
static int run_text(lua_State *L) {
    size_t count = 0;
    const char *text = luaL_checklstring(L, 1, &count);
    fid_loader_run_text(L, text, count, luaL_checkstring(L, 2));
    return 1;
}

/// The skeleton without where its elements were written.
static void write_bare(lua_State *L, int index, fid_text *out) {
    static const char key[] = ", \"origin\": ", list[] = "\n \"origins\": [";
    const fid_rig *rig = fid_rig_get(L, index);
    fid_error err;
    if (fid_skeleton_write(rig, out, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    char *to = out->at;
    const char *end = strstr(out->at, list);
    for (const char *from = out->at; *from != '\0' && from != end;) {
        // Within a text the quotes would have a backslash before them.
        if (strncmp(from, key, sizeof key - 1) == 0) {
            from += sizeof key - 1;
            from += strspn(from, "0123456789nul");
        } else {
            *to++ = *from++;
        }
    }
    *to = '\0';
}

/// core.is_same_rig(a, b): whether they are the same but for where they were written.
static int is_same_rig(lua_State *L) {
    fid_text *a = fid_hold_text(L), *b = fid_hold_text(L);
    write_bare(L, 1, a);
    write_bare(L, 2, b);
    lua_pushboolean(L, strcmp(a->at, b->at) == 0);
    return 1;
}

/// core.field(call, key): unit, least, most and doc of an argument that is a number; nothing where there is none.
static int find_field(lua_State *L) {
    const char *name = luaL_checkstring(L, 1), *key = luaL_checkstring(L, 2);
    for (int i = 0; i < fid_help_entry_count; i++) {
        const fid_help_entry *call = &fid_help_entries[i];
        const fid_schema *schema;
        for (int j = 0; strcmp(call->name, name) == 0 && (schema = fid_help_schema(call, j)) != NULL; j++) {
            const fid_field *field = fid_schema_find(schema, key);
            if (field != NULL) {
                bool is_number = field->type == FID_TYPE_NUMBER || field->type == FID_TYPE_AMOUNT;
                bool is_point = field->type == FID_TYPE_VECTOR || field->type == FID_TYPE_MAYBE_VECTOR;
                lua_pushstring(L, is_number || is_point ? field->unit : NULL);
                for (int end = 0; end < 2; end++) {
                    float bound = end == 0 ? field->min : field->max;
                    bool is_bounded = is_number && field->max > field->min && (field->flags & FID_FIELD_ABOVE_MIN) == 0;
                    if (is_bounded && bound > -FID_UNLIMITED && bound < FID_UNLIMITED) {
                        lua_pushnumber(L, (double)bound);
                    } else {
                        lua_pushnil(L);
                    }
                }
                lua_pushstring(L, is_number ? field->doc : NULL);
                return 4;
            }
        }
    }
    return 0;
}

static void find_digest(const char *text, char out[FID_DIGEST_SIZE]) {
    SHA256Data((const uint8_t *)text, strlen(text), out);
}

/// Whether the bytes are a recording as it was written.
static bool is_untouched(const fid_text *bytes) {
    const char *text = bytes->at != NULL ? bytes->at : "";
    char digest[FID_DIGEST_SIZE];
    size_t begin = sizeof mark - 1, length = FID_DIGEST_SIZE - 1;
    if (strncmp(text, mark, begin) != 0 || strlen(text) <= begin + length || text[begin + length] != '\n') {
        return false;
    }
    find_digest(text + begin + length + 1, digest);
    return strncmp(digest, text + begin, length) == 0;
}

/// Refuses what the recording may not go over.
static void check_place(lua_State *L, const char *path, bool may_replace) {
    fid_text folder = {0};
    fid_path_add_folder(&folder, path);
    const char *own = fid_host_folder(fid_host_of(L));
    bool is_own = !folder.failed && fid_file_is_same(folder.at, own);
    fid_text_clear(&folder);
    fid_error err;
    if (!fid_text_ends_with(path, ".lua")) {
        fid_raisef(L, FID_INVALID, path, "record writes a recipe, whose name ends in .lua, not '%.200s'", path);
    }
    if (!is_own) {
        fid_fail(&err, FID_INVALID, "a recording stands in the folder of its session, '%.200s', not at '%.200s'", own,
                 path);
        fid_error_about(&err, path);
        fid_raise_with(L, &err, NULL, "what it reads and uses is found from there only; give a path in that folder");
    }
    if (fid_host_is_input(fid_host_of(L), path)) {
        fid_raisef(L, FID_INVALID, path, "'%.200s' was read in this session and is not written over", path);
    }
    fid_text *text = fid_hold_text(L);
    if (!may_replace && fid_file_is_same(path, path)) {
        fid_code code = fid_file_read(path, FID_LIMIT_SOURCE, text, &err);
        if (code == FID_IO || code == FID_NO_MEMORY) {
            fid_raise(L, &err);
        }
        if (code != FID_OK || !is_untouched(text)) {
            fid_fail(&err, FID_INVALID, "'%.200s' is there, and is no recording or was changed since", path);
            fid_error_about(&err, path);
            fid_raise_with(L, &err, NULL, "record(\"...\", { replace = true }) writes it over");
        }
    }
    lua_pop(L, 1);
}

/// core.write_recording(path, text, may_replace)
static int write_recording(lua_State *L) {
    const char *path = luaL_checkstring(L, 1), *text = luaL_checkstring(L, 2);
    check_place(L, path, lua_toboolean(L, 3) != 0);
    char digest[FID_DIGEST_SIZE];
    find_digest(text, digest);
    fid_text *whole = fid_hold_text(L);
    fid_text_addf(whole, "%s%s\n", mark, digest);
    fid_text_add(whole, text);
    fid_error err;
    fid_code code = whole->failed ? fid_no_memory(&err) : fid_file_write(path, whole->at, (size_t)whole->count, &err);
    return code == FID_OK ? 0 : fid_raise(L, &err);
}

void fid_recording_open(lua_State *L) {
    static const luaL_Reg functions[] = {{"is_statement", is_statement},
                                         {"anew", call_anew},
                                         {"run_text", run_text},
                                         {"is_same_rig", is_same_rig},
                                         {"field", find_field},
                                         {"write_recording", write_recording},
                                         {NULL, NULL}};
    luaL_setfuncs(L, functions, 0);
}
