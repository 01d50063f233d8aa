#include "script/fields.h"

#include "base/number.h"
#include "math/scalar.h"
#include "script/bind_bone.h"
#include "script/bind_chain.h"
#include "script/bind_channel.h"
#include "script/bind_set.h"
#include "script/helpers.h"
#include "script/raise.h"
#include "script/value.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

enum { MAX_LIST = 4096, MAX_TEXT = 1000 };

/// What the reader of one value knows.
typedef struct reading {
    lua_State *L;
    const char *call;
    fid_rig *rig;
    fid_arena *arena;
    const fid_schema *schema;
    void *record;
    const fid_field *field;
} reading;

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

static void *get(reading *in, size_t count, size_t size) {
    void *at = fid_arena_get(in->arena, count * size);
    if (!at) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(in->L, &err);
    }
    return at;
}

/// "bone{}: 'parent' is a number; it takes a Bone": the message for a value of the wrong kind.
static void raise_kind(reading *in, int index, const char *wanted) {
    fid_raisef(in->L, FID_INVALID, in->field->key, "%s: '%s' is %s; it takes %s", in->call, in->field->key,
               fid_value_kind(in->L, index), wanted);
}

static void raise_range(reading *in, double value) {
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

static float read_number(reading *in, int index) {
    if (lua_type(in->L, index) != LUA_TNUMBER) {
        raise_kind(in, index, "a number");
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
        fid_raisef(L, FID_INVALID, key, "%s: '%s' is %s; it takes a text", call, key, fid_value_kind(L, index));
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

static int32_t find_word(const char *word, const char *const *words) {
    for (int32_t i = 0; words[i]; i++) {
        if (strcmp(word, words[i]) == 0) {
            return i;
        }
    }
    return -1;
}

/// The message for a word that is none of the NULL-terminated choices: all of them and the nearest.
static void raise_choice(reading *in, const char *word, const char *const *words) {
    char list[200] = "";
    int32_t count = 0;
    for (; words[count]; count++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s\"%s\"", count ? ", " : "", words[count]);
    }
    const char *near = fid_text_nearest(word, words, count);
    fid_raisef(in->L, FID_UNKNOWN, in->field->key, "%s: '%s' has no choice \"%.48s\"%s%s%s; choose among %s", in->call,
               in->field->key, word, near ? "; did you mean \"" : "", near ? near : "", near ? "\"?" : "", list);
}

static int32_t read_choice(reading *in, int index) {
    if (lua_type(in->L, index) != LUA_TSTRING) {
        raise_kind(in, index, "one of its choices as a text");
    }
    const char *word = lua_tostring(in->L, index);
    int32_t choice = find_word(word, in->field->choices);
    if (choice < 0) {
        raise_choice(in, word, in->field->choices);
    }
    return choice;
}

/// Checks for a plain list and gives its length.
static int32_t list_count(reading *in, int index, const char *wanted) {
    if (lua_type(in->L, index) != LUA_TTABLE) {
        raise_kind(in, index, wanted);
    }
    size_t count = lua_rawlen(in->L, index);
    if (count > MAX_LIST) {
        fid_raisef(in->L, FID_LIMIT, in->field->key, "%s: '%s' has %d entries; at most %d are taken", in->call,
                   in->field->key, (int)count, (int)MAX_LIST);
    }
    return (int32_t)count;
}

static void check_owner(reading *in, const fid_rig *owner) {
    if (owner != in->rig) {
        fid_raisef(in->L, FID_INVALID, in->field ? in->field->key : NULL, "%s: '%s' belongs to another rig", in->call,
                   in->field ? in->field->key : "value");
    }
}

static fid_bone_id read_bone(reading *in, int index) {
    fid_rig *owner = NULL;
    fid_bone_id bone = {{0, 0}};
    if (!fid_bone_get(in->L, index, &owner, &bone)) {
        raise_kind(in, index, "a Bone");
    }
    check_owner(in, owner);
    return bone;
}

static bool read_spot(reading *in, int index, fid_spot *out) {
    fid_rig *owner = NULL;
    *out = (fid_spot){{{0, 0}}, 0};
    if (!fid_bone_get(in->L, index, &owner, &out->bone) && !fid_spot_get(in->L, index, &owner, out)) {
        return false;
    }
    check_owner(in, owner);
    return true;
}

static fid_source read_between(reading *in, int index) {
    lua_State *L = in->L;
    fid_source out = {.kind = FID_SOURCE_BETWEEN, .f = 0.5f};
    static const char *const keys[] = {"between", NULL};
    fid_value_check_keys(L, index, in->call, keys);
    if (lua_getfield(L, index, "between") != LUA_TTABLE || lua_rawlen(L, -1) < 2 || lua_rawlen(L, -1) > 3) {
        fid_raisef(L, FID_INVALID, in->field->key,
                   "%s: 'between' of '%s' takes a list {a, b, f} of two Bones or points and a number from 0 to 1",
                   in->call, in->field->key);
    }
    int list = lua_gettop(L);
    fid_spot *ends[2] = {&out.a, &out.b};
    for (int i = 0; i < 2; i++) {
        lua_rawgeti(L, list, i + 1);
        if (!read_spot(in, -1, ends[i])) {
            raise_kind(in, -1, "a Bone or bone:point(f) as the ends of 'between'");
        }
    }
    if (lua_rawgeti(L, list, 3) != LUA_TNIL) {
        double f = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : -1;
        if (!(f >= 0 && f <= 1)) {
            fid_raisef(L, FID_RANGE, in->field->key, "%s: the third value of 'between' is a number from 0 to 1",
                       in->call);
        }
        out.f = (float)f;
    }
    lua_settop(L, list - 1);
    return out;
}

static fid_source read_source(reading *in, int index) {
    lua_State *L = in->L;
    fid_source out = {.kind = FID_SOURCE_NONE};
    index = lua_absindex(L, index);
    if (lua_type(L, index) == LUA_TSTRING) {
        static const char *const words[] = {"rig", "world", NULL};
        int32_t word = find_word(lua_tostring(L, index), words);
        if (word < 0) {
            raise_choice(in, lua_tostring(L, index), words);
        }
        out.kind = word == 0 ? FID_SOURCE_RIG : FID_SOURCE_WORLD;
        return out;
    }
    if (lua_type(L, index) == LUA_TTABLE) {
        return read_between(in, index);
    }
    fid_rig *owner = NULL;
    if (fid_bone_get(L, index, &owner, &out.a.bone)) {
        out.kind = FID_SOURCE_BONE;
    } else if (fid_spot_get(L, index, &owner, &out.a)) {
        out.kind = FID_SOURCE_POINT;
    } else {
        raise_kind(in, index, "a Bone, bone:point(f), {between = {a, b, f}}, \"rig\" or \"world\"");
    }
    check_owner(in, owner);
    return out;
}

fid_source fid_fields_source(lua_State *L, int index, const char *call, const char *key, fid_rig *rig) {
    fid_field field = {.key = key};
    reading in = {.L = L, .call = call, .rig = rig, .field = &field};
    return read_source(&in, index);
}

static fid_channel read_channel(reading *in, int index) {
    fid_rig *owner = NULL;
    fid_channel out = {FID_CHANNEL_NONE, 0, {0, 0}};
    if (!fid_channel_get(in->L, index, &owner, &out)) {
        raise_kind(in, index, "a Channel (bone.channel[\"rotation.x\"], a slider, constraint.weight)");
    }
    check_owner(in, owner);
    return out;
}

static fid_amount read_amount(reading *in, int index) {
    fid_amount out = {in->field->number, {FID_CHANNEL_NONE, 0, {0, 0}}};
    if (lua_type(in->L, index) == LUA_TNUMBER) {
        out.value = read_number(in, index);
    } else if (lua_type(in->L, index) == LUA_TUSERDATA) {
        out.channel = read_channel(in, index);
    } else {
        raise_kind(in, index, "a number or a Channel");
    }
    return out;
}

/// A share of a source is what a weight is: 0 to 1.
static const fid_field share_field = {
    .key = "share", .type = FID_TYPE_AMOUNT, .unit = "", .min = 0, .max = 1, .number = 1};

static fid_share read_share(reading *in, int index) {
    lua_State *L = in->L;
    fid_share out = {.share = {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    index = lua_absindex(L, index);
    bool is_pair = lua_type(L, index) == LUA_TTABLE && lua_getfield(L, index, "between") == LUA_TNIL;
    if (lua_type(L, index) == LUA_TTABLE) {
        lua_pop(L, 1);
    }
    if (!is_pair) {
        out.source = read_source(in, index);
        return out;
    }
    if (lua_rawgeti(L, index, 1) == LUA_TNIL) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s: an entry of 'sources' is a list {source, share}", in->call);
    }
    out.source = read_source(in, -1);
    if (lua_rawgeti(L, index, 2) != LUA_TNIL) {
        reading part = *in;
        part.field = &share_field;
        out.share = read_amount(&part, -1);
    }
    lua_pop(L, 2);
    return out;
}

static fid_sources read_sources(reading *in, int index, bool several) {
    index = lua_absindex(in->L, index);
    int32_t count = several ? list_count(in, index, "a list of {source, share}") : 1;
    if (count == 0) {
        fid_raisef(in->L, FID_INVALID, "sources", "%s: 'sources' is empty", in->call);
    }
    fid_share *at = get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count && several; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = read_share(in, -1);
        lua_pop(in->L, 1);
    }
    if (!several) {
        at[0] = (fid_share){read_source(in, index), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    }
    return (fid_sources){at, count};
}

/// One choice of spaces: {name = , source = , offset = } or {"name", source, offset}; false where it has no source.
static bool read_space(reading *in, int index, fid_space *out) {
    lua_State *L = in->L;
    index = lua_absindex(L, index);
    int top = lua_gettop(L);
    *out = (fid_space){.at_rest = true, .frame = FID_FRAME_IDENTITY};
    if (lua_type(L, index) != LUA_TTABLE) {
        raise_kind(in, index, "a list of {\"name\", source}");
    }
    bool plain = lua_rawgeti(L, index, 1) != LUA_TNIL;
    if (!plain) {
        static const char *const keys[] = {"name", "source", "offset", NULL};
        fid_value_check_keys(L, index, "an entry of 'among'", keys);
        lua_getfield(L, index, "name");
    }
    out->name = fid_fields_text(L, -1, in->call, "name", in->arena);
    int type = plain ? lua_rawgeti(L, index, 2) : lua_getfield(L, index, "source");
    if (type == LUA_TNIL) {
        lua_settop(L, top);
        return false;
    }
    out->source = read_source(in, -1);
    if ((plain ? lua_rawgeti(L, index, 3) : lua_getfield(L, index, "offset")) != LUA_TNIL) {
        static const char *const words[] = {"rest", "none", NULL};
        int32_t word = lua_type(L, -1) == LUA_TSTRING ? find_word(lua_tostring(L, -1), words) : -1;
        out->has_frame = fid_frame_get(L, -1, &out->frame);
        out->at_rest = word == 0;
        if (word < 0 && !out->has_frame) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: the offset of space '%s' is \"rest\", \"none\" or a frame",
                       in->call, out->name);
        }
    }
    lua_settop(L, top);
    return true;
}

static fid_space_list read_spaces(reading *in, int index) {
    int32_t count = list_count(in, index, "a list of {\"name\", source}"), kept = 0;
    fid_space *at = get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        kept += read_space(in, -1, &at[kept]) ? 1 : 0;
        lua_pop(in->L, 1);
    }
    return (fid_space_list){at, kept};
}

static uint32_t axis_bits(const char *word) {
    static const char *const groups[] = {"translation", "rotation", "scale", NULL};
    int32_t group = find_word(word, groups);
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

static uint32_t read_axes(reading *in, int index) {
    static const char *const words[] = {"translation",   "rotation",   "scale",      "translation.x", "translation.y",
                                        "translation.z", "rotation.x", "rotation.y", "rotation.z",    "scale.x",
                                        "scale.y",       "scale.z",    NULL};
    static const char *const groups[] = {"translation", "rotation", "scale", NULL};
    bool whole = in->field->type == FID_TYPE_TAKES;
    if (whole && lua_type(in->L, index) == LUA_TSTRING && strcmp(lua_tostring(in->L, index), "all") == 0) {
        return FID_MASK_ALL;
    }
    uint32_t out = 0;
    int32_t count = list_count(in, index,
                               whole ? "a list such as {\"translation\", \"rotation\"}, or \"all\""
                                     : "a list such as {\"translation\", \"rotation.x\"}");
    for (int32_t i = 0; i < count; i++) {
        if (lua_rawgeti(in->L, index, i + 1) != LUA_TSTRING) {
            raise_kind(in, -1, "a list of texts");
        }
        const char *word = lua_tostring(in->L, -1);
        uint32_t bits = axis_bits(word);
        if (bits == 0 || (whole && strchr(word, '.'))) {
            raise_choice(in, word, whole ? groups : words);
        }
        out |= bits;
        lua_pop(in->L, 1);
    }
    return out;
}

static fid_axis_range read_range(reading *in, int index) {
    static const char *const keys[] = {"x", "y", "z", NULL};
    lua_State *L = in->L;
    fid_axis_range out;
    if (lua_type(L, index) != LUA_TTABLE) {
        raise_kind(in, index, "a table such as {x = {lo, hi}}");
    }
    fid_value_check_keys(L, index, in->field->key, keys);
    for (int i = 0; i < 3; i++) {
        out.lo[i] = -FID_UNLIMITED;
        out.hi[i] = FID_UNLIMITED;
        if (lua_getfield(L, index, keys[i]) != LUA_TNIL) {
            if (lua_type(L, -1) != LUA_TTABLE || lua_rawlen(L, -1) != 2) {
                raise_kind(in, -1, "two numbers {lo, hi} for each axis");
            }
            for (int j = 0; j < 2; j++) {
                lua_rawgeti(L, -1, j + 1);
                double value = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : HUGE_VAL;
                if (!(fabs(value) <= 1e30)) {
                    raise_kind(in, -1, "two finite numbers {lo, hi} for each axis");
                }
                *(j == 0 ? &out.lo[i] : &out.hi[i]) = (float)value;
                lua_pop(L, 1);
            }
        }
        lua_pop(L, 1);
    }
    return out;
}

static fid_numbers read_numbers(reading *in, int index) {
    int32_t count = list_count(in, index, "a list of numbers");
    float *at = get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = read_number(in, -1);
        lua_pop(in->L, 1);
    }
    return (fid_numbers){at, count};
}

static fid_words read_words(reading *in, int index) {
    int32_t count = list_count(in, index, "a list of texts");
    const char **at = get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = fid_fields_text(in->L, -1, in->call, in->field->key, in->arena);
        lua_pop(in->L, 1);
    }
    return (fid_words){at, count};
}

static fid_curve read_curve(reading *in, int index) {
    fid_curve out = {FID_LINEAR, NULL, NULL, 0};
    if (fid_curve_get(in->L, index, &out)) {
        return out;
    }
    int32_t count = list_count(in, index, "a fid.curve{} or a list of points {{x, y}, ...}");
    float *x = get(in, (size_t)count, sizeof *x), *y = get(in, (size_t)count, sizeof *y);
    for (int32_t i = 0; i < count; i++) {
        if (lua_rawgeti(in->L, index, i + 1) != LUA_TTABLE) {
            raise_kind(in, -1, "a list of points {{x, y}, ...}");
        }
        for (int j = 0; j < 2; j++) {
            lua_rawgeti(in->L, -1, j + 1);
            double value = lua_type(in->L, -1) == LUA_TNUMBER ? lua_tonumber(in->L, -1) : HUGE_VAL;
            if (!(fabs(value) <= 1e30)) {
                raise_kind(in, -1, "a list of points of two finite numbers");
            }
            *(j == 0 ? &x[i] : &y[i]) = (float)value;
            lua_pop(in->L, 1);
        }
        lua_pop(in->L, 1);
    }
    return (fid_curve){FID_LINEAR, x, y, count};
}

static void read_index(reading *in, int index, int32_t *out) {
    lua_State *L = in->L;
    bool one = lua_type(L, index) == LUA_TNUMBER;
    int32_t count = one ? 1 : list_count(in, index, "a number or a list of two");
    if (count < 1 || count > 2) {
        raise_kind(in, index, "a number or a list of two");
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
            raise_kind(in, -1, "whole numbers from 0 to 9999");
        }
        out[i + 1] = (int32_t)value;
        lua_pop(L, 1);
    }
}

static const char *read_color(reading *in, int index) {
    const char *text = fid_fields_text(in->L, index, in->call, in->field->key, in->arena);
    bool good = strlen(text) == 7 && text[0] == '#' && strspn(text + 1, "0123456789ABCDEFabcdef") == 6;
    if (!good) {
        fid_raisef(in->L, FID_INVALID, in->field->key, "%s: '%s' takes a color such as \"#E69F00\"", in->call,
                   in->field->key);
    }
    char *copy = get(in, 8, 1);
    for (int i = 0; i < 7; i++) {
        copy[i] = (char)(text[i] >= 'a' && text[i] <= 'f' ? text[i] - 'a' + 'A' : text[i]);
    }
    return copy;
}

/// `up` takes a Bone or a direction: the latter has a field of its own, `up_vector`.
static bool read_as_vector(reading *in, int index) {
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

static void read_chain(reading *in, int index, fid_chain_id *out) {
    fid_row row;
    if (!fid_chain_get(in->L, index, &row)) {
        raise_kind(in, index, "a Chain");
    }
    check_owner(in, row.rig);
    if (fid_handle_is_null(row.chain.handle)) {
        fid_raisef(in->L, FID_INVALID, in->field->key, "%s: the bones of '%s' are no chain: neither linked nor a fan",
                   in->call, in->field->key);
    }
    *out = row.chain;
}

static void read_value(reading *in, int index) {
    char *at = (char *)in->record + in->field->offset;
    char what[80];
    snprintf(what, sizeof what, "%s: '%s'", in->call, in->field->key);
    switch (in->field->type) {
    case FID_TYPE_BOOLEAN:
        if (lua_type(in->L, index) != LUA_TBOOLEAN) {
            raise_kind(in, index, "true or false");
        }
        *(bool *)(void *)at = lua_toboolean(in->L, index);
        break;
    case FID_TYPE_NUMBER:
        *(float *)(void *)at = read_number(in, index);
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
            raise_kind(in, index, "a frame (fid.frame{})");
        }
        break;
    case FID_TYPE_BONE:
        if (!read_as_vector(in, index)) {
            *(fid_bone_id *)(void *)at = read_bone(in, index);
        }
        break;
    case FID_TYPE_CHAIN:
        read_chain(in, index, (fid_chain_id *)(void *)at);
        break;
    case FID_TYPE_SET:
        *(fid_set_id *)(void *)at = fid_set_need(in->L, index, in->call, in->rig);
        break;
    case FID_TYPE_CHANNEL:
        *(fid_channel *)(void *)at = read_channel(in, index);
        break;
    case FID_TYPE_AMOUNT:
        *(fid_amount *)(void *)at = read_amount(in, index);
        break;
    case FID_TYPE_SOURCE:
        *(fid_source *)(void *)at = read_source(in, index);
        break;
    case FID_TYPE_SPACES:
        *(fid_space_list *)(void *)at = read_spaces(in, index);
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

/// One `source` with the share 1, or several `sources`.
static void read_either(reading *in, int table) {
    lua_State *L = in->L;
    fid_sources *out = (fid_sources *)(void *)((char *)in->record + in->field->offset);
    bool one = lua_getfield(L, table, "source") != LUA_TNIL;
    bool several = lua_getfield(L, table, "sources") != LUA_TNIL;
    if (one && several) {
        fid_raisef(L, FID_INVALID, "sources", "%s takes 'source' or 'sources', not both", in->call);
    }
    if (!one && !several) {
        fid_raisef(L, FID_INVALID, "source", "%s needs 'source' (or 'sources'): %s", in->call, in->field->doc);
    }
    fid_field named = *in->field;
    named.key = one ? "source" : "sources";
    reading part = *in;
    part.field = &named;
    *out = read_sources(&part, one ? -2 : -1, several);
    lua_pop(L, 2);
}

void fid_fields_read(lua_State *L, int table, const char *call, fid_rig *rig, fid_arena *arena,
                     const fid_fields_target *targets, int32_t count, const char *const *extra) {
    luaL_checkstack(L, 2 * LUA_MINSTACK, NULL);
    table = lua_absindex(L, table);
    check_keys(L, table, call, targets, count, extra);
    for (int32_t i = 0; i < count; i++) {
        for (int32_t j = 0; j < targets[i].schema->count; j++) {
            const fid_field *field = &targets[i].schema->fields[j];
            reading in = {L, call, rig, arena, targets[i].schema, targets[i].record, field};
            if (!in_script(field)) {
                continue;
            }
            if (field->type == FID_TYPE_SOURCES) {
                read_either(&in, table);
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
