#include "script/fields.h"

#include "base/number.h"
#include "math/scalar.h"
#include "script/bind_bone.h"
#include "script/bind_chain.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/bind_set.h"
#include "script/fields_inside.h"
#include "script/helpers.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

enum { MAX_LIST = 4096, MAX_TEXT = 1000 };

static int free_arena(lua_State *L) {
    fid_arena_clear(lua_touserdata(L, 1));
    return 0;
}

fid_arena *fid_fields_push_arena(lua_State *L) {
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    fid_arena *arena = lua_newuserdatauv(L, sizeof *arena, 0);
    memset(arena, 0, sizeof *arena);
    if (luaL_newmetatable(L, "fid.arena")) {
        lua_pushcfunction(L, free_arena);
        lua_setfield(L, -2, "__gc");
    }
    lua_setmetatable(L, -2);
    return arena;
}

void *fid_reading_get(fid_reading *in, size_t count, size_t size) {
    void *at = fid_arena_get(in->arena, count * size);
    if (!at) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(in->L, &err);
    }
    return at;
}

/// "bone{}: 'parent' is a number; it takes a Bone": the message for a value of the wrong kind.
void fid_reading_raise_kind(fid_reading *in, int index, const char *wanted) {
    fid_raisef(in->L, FID_INVALID, in->field->key, "%s: '%s' is %s; it takes %s", in->call, in->field->key,
               fid_object_describe(in->L, index), wanted);
}

static void raise_range(fid_reading *in, double value) {
    char low[FID_NUMBER_SIZE], high[FID_NUMBER_SIZE], text[FID_NUMBER_SIZE];
    const fid_field *field = in->field;
    const char *unit = field->unit ? field->unit : "";
    if (!(fabs(value) <= 3e38)) {
        fid_raisef(in->L, FID_RANGE, field->key, "%s: '%s' is not a finite number", in->call, field->key);
    }
    fid_number_write(low, field->min);
    fid_number_write(high, field->max);
    fid_number_write_double(text, value, 9);
    if (field->max >= FID_UNLIMITED) {
        fid_raisef(in->L, FID_RANGE, field->key, "%s: '%s' is %s; it takes numbers %s %s%s%s", in->call, field->key,
                   text, field->flags & FID_FIELD_ABOVE_MIN ? "above" : "from", low, unit[0] ? " " : "", unit);
    }
    fid_raisef(in->L, FID_RANGE, field->key, "%s: '%s' is %s; it takes numbers %s %s to %s%s%s", in->call, field->key,
               text, field->flags & FID_FIELD_ABOVE_MIN ? "above" : "from", low, high, unit[0] ? " " : "", unit);
}

float fid_reading_number(fid_reading *in, int index) {
    if (lua_type(in->L, index) != LUA_TNUMBER) {
        fid_reading_raise_kind(in, index, "a number");
    }
    double value = lua_tonumber(in->L, index);
    bool low =
        in->field->flags & FID_FIELD_ABOVE_MIN ? value <= (double)in->field->min : value < (double)in->field->min;
    if (!(fabs(value) <= 3e38) || low || value > (double)in->field->max) {
        raise_range(in, value);
    }
    return (float)value;
}

const char *fid_fields_text(lua_State *L, int index, const char *call, const char *key, fid_arena *arena) {
    size_t length = 0;
    if (lua_type(L, index) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, key, "%s: '%s' is %s; it takes a text", call, key, fid_object_describe(L, index));
    }
    const char *text = lua_tolstring(L, index, &length);
    if (length > MAX_TEXT || strlen(text) != length || !fid_text_is_utf8(text, length)) {
        fid_raisef(L, FID_INVALID, key,
                   "%s: '%s' is no text that can be kept: at most %d bytes of UTF-8 without zero bytes", call, key,
                   (int)MAX_TEXT);
    }
    const char *copy = fid_arena_copy(arena, text, length);
    if (!copy) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    return copy;
}

int32_t fid_reading_find_word(const char *word, const char *const *words) {
    for (int32_t i = 0; words[i]; i++) {
        if (strcmp(word, words[i]) == 0) {
            return i;
        }
    }
    return -1;
}

/// The message for a word that is none of the NULL-terminated choices: all of them and the nearest.
void fid_reading_raise_choice(fid_reading *in, const char *word, const char *const *words) {
    char list[200] = "";
    int32_t count = 0;
    for (; words[count]; count++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s\"%s\"", count ? ", " : "", words[count]);
    }
    const char *near = fid_text_nearest(word, words, count);
    fid_raisef(in->L, FID_UNKNOWN, in->field->key, "%s: '%s' has no choice \"%.48s\"%s%s%s; choose among %s", in->call,
               in->field->key, word, near ? " (did you mean \"" : "", near ? near : "", near ? "\"?)" : "", list);
}

static int32_t read_choice(fid_reading *in, int index) {
    if (lua_type(in->L, index) != LUA_TSTRING) {
        fid_reading_raise_kind(in, index, "one of its choices as a text");
    }
    const char *word = lua_tostring(in->L, index);
    int32_t choice = fid_reading_find_word(word, in->field->choices);
    if (choice < 0) {
        fid_reading_raise_choice(in, word, in->field->choices);
    }
    return choice;
}

/// Checks for a plain list and gives its length.
int32_t fid_reading_count(fid_reading *in, int index, const char *wanted) {
    if (lua_type(in->L, index) != LUA_TTABLE) {
        fid_reading_raise_kind(in, index, wanted);
    }
    char what[96];
    snprintf(what, sizeof what, "%s: '%s'", in->call, in->field->key);
    return fid_value_check_list(in->L, index, what, MAX_LIST);
}

void fid_reading_check_owner(fid_reading *in, const fid_rig *owner) {
    if (owner != in->rig) {
        fid_raisef(in->L, FID_INVALID, in->field ? in->field->key : NULL, "%s: '%s' belongs to another rig", in->call,
                   in->field ? in->field->key : "value");
    }
}

static fid_bone_id read_bone(fid_reading *in, int index) {
    fid_rig *owner = NULL;
    fid_bone_id bone = {{0, 0}};
    if (!fid_bone_get(in->L, index, &owner, &bone)) {
        fid_reading_raise_kind(in, index, "a Bone");
    }
    fid_reading_check_owner(in, owner);
    return bone;
}

static uint32_t axis_bits(const char *word) {
    static const char *const groups[] = {"translation", "rotation", "scale", NULL};
    int32_t group = fid_reading_find_word(word, groups);
    if (group >= 0) {
        return 7u << (3 * group);
    }
    for (uint32_t i = 0; i < FID_AXIS_COUNT; i++) {
        if (strcmp(word, fid_axis_names[i]) == 0) {
            return 1u << i;
        }
    }
    return 0;
}

static uint32_t read_axes(fid_reading *in, int index) {
    static const char *const words[] = {"translation",   "rotation",   "scale",      "translation.x", "translation.y",
                                        "translation.z", "rotation.x", "rotation.y", "rotation.z",    "scale.x",
                                        "scale.y",       "scale.z",    NULL};
    static const char *const groups[] = {"translation", "rotation", "scale", NULL};
    bool whole = in->field->type == FID_TYPE_TAKES;
    if (whole && lua_type(in->L, index) == LUA_TSTRING && strcmp(lua_tostring(in->L, index), "all") == 0) {
        return FID_MASK_ALL;
    }
    uint32_t out = 0;
    int32_t count = fid_reading_count(in, index,
                                      whole ? "a list such as {\"translation\", \"rotation\"}, or \"all\""
                                            : "a list such as {\"translation\", \"rotation.x\"}");
    for (int32_t i = 0; i < count; i++) {
        if (lua_rawgeti(in->L, index, i + 1) != LUA_TSTRING) {
            fid_reading_raise_kind(in, -1, "a list of texts");
        }
        const char *word = lua_tostring(in->L, -1);
        uint32_t bits = axis_bits(word);
        if (bits == 0 || (whole && strchr(word, '.'))) {
            fid_reading_raise_choice(in, word, whole ? groups : words);
        }
        out |= bits;
        lua_pop(in->L, 1);
    }
    return out;
}

static fid_axis_range read_range(fid_reading *in, int index) {
    static const char *const keys[] = {"x", "y", "z", NULL};
    lua_State *L = in->L;
    fid_axis_range out;
    if (lua_type(L, index) != LUA_TTABLE) {
        fid_reading_raise_kind(in, index, "a table such as {x = {lo, hi}}");
    }
    char what[96];
    snprintf(what, sizeof what, "%.40s: '%.40s'", in->call, in->field->key);
    fid_value_check_keys(L, index, what, keys);
    for (int i = 0; i < 3; i++) {
        out.lo[i] = -FID_UNLIMITED;
        out.hi[i] = FID_UNLIMITED;
        if (lua_getfield(L, index, keys[i]) != LUA_TNIL) {
            if (lua_type(L, -1) != LUA_TTABLE || lua_rawlen(L, -1) != 2) {
                fid_reading_raise_kind(in, -1, "two numbers {lo, hi} for each axis");
            }
            for (int j = 0; j < 2; j++) {
                lua_rawgeti(L, -1, j + 1);
                double value = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : HUGE_VAL;
                if (!(fabs(value) <= 1e30)) {
                    fid_reading_raise_kind(in, -1, "two finite numbers {lo, hi} for each axis");
                }
                *(j == 0 ? &out.lo[i] : &out.hi[i]) = (float)value;
                lua_pop(L, 1);
            }
        }
        lua_pop(L, 1);
    }
    return out;
}

static fid_numbers read_numbers(fid_reading *in, int index) {
    int32_t count = fid_reading_count(in, index, "a list of numbers");
    float *at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = fid_reading_number(in, -1);
        lua_pop(in->L, 1);
    }
    return (fid_numbers){at, count};
}

static fid_bones read_bones(fid_reading *in, int index) {
    int32_t count = fid_reading_count(in, index, "a list of Bones");
    fid_bone_id *at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = read_bone(in, lua_gettop(in->L));
        lua_pop(in->L, 1);
    }
    return (fid_bones){at, count};
}

static fid_bounds read_bounds(fid_reading *in, int index) {
    int32_t count = fid_reading_count(in, index, "a list of {lo, hi}");
    float(*at)[2] = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        if (lua_rawgeti(in->L, index, i + 1) != LUA_TTABLE || lua_rawlen(in->L, -1) != 2) {
            fid_reading_raise_kind(in, -1, "a list of {lo, hi}");
        }
        for (int j = 0; j < 2; j++) {
            lua_rawgeti(in->L, -1, j + 1);
            at[i][j] = fid_reading_number(in, -1);
            lua_pop(in->L, 1);
        }
        lua_pop(in->L, 1);
    }
    return (fid_bounds){(const float(*)[2])at, count};
}

static fid_words read_words(fid_reading *in, int index) {
    int32_t count = fid_reading_count(in, index, "a list of texts");
    const char **at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = fid_fields_text(in->L, -1, in->call, in->field->key, in->arena);
        lua_pop(in->L, 1);
    }
    return (fid_words){at, count};
}

static fid_curve read_curve(fid_reading *in, int index) {
    fid_curve out = {.interpolation = FID_LINEAR};
    if (fid_curve_get(in->L, index, &out) || fid_power_get(in->L, index, &out)) {
        return out;
    }
    int32_t count = fid_reading_count(in, index, "a fid.curve{}, a list of points {{x, y}, ...} or {power = p}");
    float *x = fid_reading_get(in, (size_t)count, sizeof *x), *y = fid_reading_get(in, (size_t)count, sizeof *y);
    for (int32_t i = 0; i < count; i++) {
        if (lua_rawgeti(in->L, index, i + 1) != LUA_TTABLE) {
            fid_reading_raise_kind(in, -1, "a list of points {{x, y}, ...}");
        }
        for (int j = 0; j < 2; j++) {
            lua_rawgeti(in->L, -1, j + 1);
            double value = lua_type(in->L, -1) == LUA_TNUMBER ? lua_tonumber(in->L, -1) : HUGE_VAL;
            if (!(fabs(value) <= 1e30)) {
                fid_reading_raise_kind(in, -1, "a list of points of two finite numbers");
            }
            *(j == 0 ? &x[i] : &y[i]) = (float)value;
            lua_pop(in->L, 1);
        }
        lua_pop(in->L, 1);
    }
    return (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = y, .count = count};
}

static void read_index(fid_reading *in, int index, int32_t *out) {
    lua_State *L = in->L;
    bool one = lua_type(L, index) == LUA_TNUMBER;
    int32_t count = one ? 1 : fid_reading_count(in, index, "a number or a list of two");
    if (count < 1 || count > 2) {
        fid_reading_raise_kind(in, index, "a number or a list of two");
    }
    out[0] = count;
    for (int i = 0; i < count; i++) {
        if (one) {
            lua_pushvalue(L, index);
        } else {
            lua_rawgeti(L, index, i + 1);
        }
        int whole = 0;
        lua_Integer value = lua_tointegerx(L, -1, &whole);
        if (!whole || lua_type(L, -1) != LUA_TNUMBER || value < 0 || value > 9999) {
            fid_reading_raise_kind(in, -1, "whole numbers from 0 to 9999");
        }
        out[i + 1] = (int32_t)value;
        lua_pop(L, 1);
    }
}

static const char *read_color(fid_reading *in, int index) {
    const char *text = fid_fields_text(in->L, index, in->call, in->field->key, in->arena);
    bool good = strlen(text) == 7 && text[0] == '#' && strspn(text + 1, "0123456789ABCDEFabcdef") == 6;
    if (!good) {
        fid_raisef(in->L, FID_INVALID, in->field->key, "%s: '%s' takes a color such as \"#E69F00\"", in->call,
                   in->field->key);
    }
    char *copy = fid_reading_get(in, 8, 1);
    for (int i = 0; i < 7; i++) {
        copy[i] = (char)(text[i] >= 'a' && text[i] <= 'f' ? text[i] - 'a' + 'A' : text[i]);
    }
    return copy;
}

/// `up` takes a Bone or a direction: the latter has a field of its own, `up_vector`.
static bool read_as_vector(fid_reading *in, int index) {
    char key[64];
    snprintf(key, sizeof key, "%s_vector", in->field->key);
    const fid_field *field = fid_schema_find(in->schema, key);
    fid_vec3d value;
    if (!field || !fid_vec_get(in->L, index, in->field->key, &value)) {
        return false;
    }
    *(fid_maybe_vector *)(void *)((char *)in->record + field->offset) =
        (fid_maybe_vector){true, fid_vec3d_round(value)};
    return true;
}

static void read_chain(fid_reading *in, int index, fid_chain_id *out) {
    fid_row row;
    if (!fid_chain_get(in->L, index, &row)) {
        fid_reading_raise_kind(in, index, "a Chain");
    }
    fid_reading_check_owner(in, row.rig);
    if (fid_handle_is_null(row.chain.handle)) {
        fid_raisef(in->L, FID_INVALID, in->field->key, "%s: the bones of '%s' are no chain: neither linked nor a fan",
                   in->call, in->field->key);
    }
    *out = row.chain;
}

static void read_value(fid_reading *in, int index) {
    char *at = (char *)in->record + in->field->offset;
    char what[80];
    snprintf(what, sizeof what, "%s: '%s'", in->call, in->field->key);
    switch (in->field->type) {
    case FID_TYPE_BOOLEAN:
        if (lua_type(in->L, index) != LUA_TBOOLEAN) {
            fid_reading_raise_kind(in, index, "true or false");
        }
        *(bool *)(void *)at = lua_toboolean(in->L, index);
        break;
    case FID_TYPE_NUMBER:
        *(float *)(void *)at = fid_reading_number(in, index);
        break;
    case FID_TYPE_CHOICE:
        *(int32_t *)(void *)at = read_choice(in, index);
        break;
    case FID_TYPE_TEXT:
        *(const char **)(void *)at = fid_fields_text(in->L, index, in->call, in->field->key, in->arena);
        break;
    case FID_TYPE_COLOR:
        *(const char **)(void *)at = read_color(in, index);
        break;
    case FID_TYPE_WORDS:
        *(fid_words *)(void *)at = read_words(in, index);
        break;
    case FID_TYPE_INDEX:
        read_index(in, index, (int32_t *)(void *)at);
        break;
    case FID_TYPE_VECTOR:
        *(fid_vec3 *)(void *)at = fid_vec_need(in->L, index, what);
        break;
    case FID_TYPE_MAYBE_VECTOR:
        *(fid_maybe_vector *)(void *)at = (fid_maybe_vector){true, fid_vec_need(in->L, index, what)};
        break;
    case FID_TYPE_FRAME:
        if (!fid_frame_get(in->L, index, (fid_frame *)(void *)at)) {
            fid_reading_raise_kind(in, index, "a frame (fid.frame{})");
        }
        break;
    case FID_TYPE_BONE:
        if (!read_as_vector(in, index)) {
            *(fid_bone_id *)(void *)at = read_bone(in, index);
        }
        break;
    case FID_TYPE_BONES:
        *(fid_bones *)(void *)at = read_bones(in, index);
        break;
    case FID_TYPE_CHAIN:
        read_chain(in, index, (fid_chain_id *)(void *)at);
        break;
    case FID_TYPE_SET:
        *(fid_set_id *)(void *)at = fid_set_need(in->L, index, in->call, in->rig);
        break;
    case FID_TYPE_CHANNEL:
        *(fid_channel *)(void *)at = fid_reading_channel(in, index);
        break;
    case FID_TYPE_AMOUNT:
        *(fid_amount *)(void *)at = fid_reading_amount(in, index);
        break;
    case FID_TYPE_SOURCE:
        *(fid_source *)(void *)at = fid_reading_source(in, index);
        break;
    case FID_TYPE_FACTORS:
        *(fid_factors *)(void *)at = fid_reading_factors(in, index);
        break;
    case FID_TYPE_SPACES:
        *(fid_space_list *)(void *)at = fid_reading_spaces(in, index);
        break;
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
        *(uint32_t *)(void *)at = read_axes(in, index);
        break;
    case FID_TYPE_AXIS_RANGE:
        *(fid_axis_range *)(void *)at = read_range(in, index);
        break;
    case FID_TYPE_NUMBERS:
        *(fid_numbers *)(void *)at = read_numbers(in, index);
        break;
    case FID_TYPE_POSES:
        *(fid_pose_table *)(void *)at = fid_reading_poses(in, index);
        break;
    case FID_TYPE_STEPS:
        *(fid_match_steps *)(void *)at = fid_reading_steps(in, index);
        break;
    case FID_TYPE_BOUNDS:
        *(fid_bounds *)(void *)at = read_bounds(in, index);
        break;
    case FID_TYPE_CURVE:
        *(fid_curve *)(void *)at = read_curve(in, index);
        break;
    case FID_TYPE_SOURCES: // has two keys
    case FID_TYPE_OUTLINE: // the caller's: they are made, not referred to
    case FID_TYPE_STROKES:
        break;
    }
}

static bool in_script(const fid_field *field) { return !(field->flags & FID_FIELD_FILE); }

static void check_keys(lua_State *L, int table, const char *call, const fid_fields_target *targets, int32_t count,
                       const char *const *extra) {
    const char *words[96];
    int32_t used = 0;
    for (int32_t i = 0; i < count; i++) {
        for (int32_t j = 0; j < targets[i].schema->count && used < 90; j++) {
            const fid_field *field = &targets[i].schema->fields[j];
            if (field->type == FID_TYPE_SOURCES) {
                words[used++] = "source";
                words[used++] = "sources";
            } else if (in_script(field)) {
                words[used++] = field->key;
            }
        }
    }
    for (; extra && *extra && used < 94; extra++) {
        words[used++] = *extra;
    }
    words[used] = NULL;
    fid_value_check_keys(L, table, call, words);
}

void fid_fields_read(lua_State *L, int table, const char *call, fid_rig *rig, fid_arena *arena,
                     const fid_fields_target *targets, int32_t count, const char *const *extra) {
    luaL_checkstack(L, 2 * LUA_MINSTACK, NULL);
    table = lua_absindex(L, table);
    check_keys(L, table, call, targets, count, extra);
    for (int32_t i = 0; i < count; i++) {
        for (int32_t j = 0; j < targets[i].schema->count; j++) {
            const fid_field *field = &targets[i].schema->fields[j];
            fid_reading in = {L, call, rig, arena, targets[i].schema, targets[i].record, field};
            if (!in_script(field)) {
                continue;
            }
            if (field->type == FID_TYPE_SOURCES) {
                fid_reading_sources(&in, table);
                continue;
            }
            bool given = lua_getfield(L, table, field->key) != LUA_TNIL;
            if (given) {
                read_value(&in, lua_gettop(L));
            }
            lua_pop(L, 1);
            bool has_default = field->type == FID_TYPE_AXES && field->number != 0;
            if (!given && !has_default && field->flags & FID_FIELD_REQUIRED) {
                fid_raisef(L, FID_INVALID, field->key, "%s needs '%s': %s", call, field->key, field->doc);
            }
        }
    }
}
