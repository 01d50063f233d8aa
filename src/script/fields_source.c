#include "script/fields_inside.h"

#include "script/bind_bone.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/raise.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

/// The readers of what refers to elements of the rig: sources, channels, amounts, spaces.

static bool read_spot(fid_reading *in, int index, fid_spot *out) {
    fid_rig *owner = NULL;
    *out = (fid_spot){{{0, 0}}, 0};
    if (!fid_bone_get(in->L, index, &owner, &out->bone) && !fid_spot_get(in->L, index, &owner, out)) {
        return false;
    }
    fid_reading_check_owner(in, owner);
    return true;
}

static fid_source read_between(fid_reading *in, int index) {
    lua_State *L = in->L;
    fid_source out = {.kind = FID_SOURCE_BETWEEN, .f = 0.5f};
    static const char *const keys[] = {"between", NULL};
    char what[96];
    snprintf(what, sizeof what, "%s: '%s'", in->call, in->field->key);
    fid_value_check_keys(L, index, what, keys);
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
            fid_reading_raise_kind(in, -1, "a Bone or bone:point(f) as the ends of 'between'");
        }
    }
    if (lua_rawgeti(L, list, 3) != LUA_TNIL) {
        double f = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : -1;
        if (!(f >= 0 && f <= 1)) {
            fid_raisef(L, FID_RANGE, in->field->key, "%s: the third value of 'between' of '%s' is a number from 0 to 1",
                       in->call, in->field->key);
        }
        out.f = (float)f;
    }
    lua_settop(L, list - 1);
    return out;
}

fid_source fid_reading_source(fid_reading *in, int index) {
    lua_State *L = in->L;
    fid_source out = {.kind = FID_SOURCE_NONE};
    index = lua_absindex(L, index);
    if (lua_type(L, index) == LUA_TSTRING) {
        static const char *const words[] = {"rig", "world", NULL};
        int32_t word = fid_reading_find_word(lua_tostring(L, index), words);
        if (word < 0) {
            fid_reading_raise_choice(in, lua_tostring(L, index), words);
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
        fid_reading_raise_kind(in, index, "a Bone, bone:point(f), {between = {a, b, f}}, \"rig\" or \"world\"");
    }
    fid_reading_check_owner(in, owner);
    return out;
}

fid_source fid_fields_source(lua_State *L, int index, const char *call, const char *key, fid_rig *rig) {
    fid_field field = {.key = key};
    fid_reading in = {.L = L, .call = call, .rig = rig, .field = &field};
    return fid_reading_source(&in, index);
}

fid_channel fid_reading_channel(fid_reading *in, int index) {
    fid_rig *owner = NULL;
    fid_channel out = {FID_CHANNEL_NONE, 0, {0, 0}};
    if (!fid_channel_get(in->L, index, &owner, &out)) {
        fid_reading_raise_kind(in, index, "a Channel (bone.channel[\"rotation.x\"], a slider, constraint.weight)");
    }
    fid_reading_check_owner(in, owner);
    return out;
}

fid_amount fid_reading_amount(fid_reading *in, int index) {
    fid_amount out = {in->field->number, {FID_CHANNEL_NONE, 0, {0, 0}}};
    if (lua_type(in->L, index) == LUA_TNUMBER) {
        out.value = fid_reading_number(in, index);
    } else if (lua_type(in->L, index) == LUA_TUSERDATA) {
        out.channel = fid_reading_channel(in, index);
    } else {
        fid_reading_raise_kind(in, index, "a number or a Channel");
    }
    return out;
}

/// A share of a source is what a weight is: 0 to 1.
static const fid_field share_field = {
    .key = "share", .type = FID_TYPE_AMOUNT, .unit = "", .min = 0, .max = 1, .number = 1};

static fid_share read_share(fid_reading *in, int index) {
    lua_State *L = in->L;
    fid_share out = {.share = {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    index = lua_absindex(L, index);
    bool is_pair = lua_type(L, index) == LUA_TTABLE;
    if (is_pair) {
        fid_value_check_plain(L, index, "an entry of 'sources'");
        is_pair = lua_getfield(L, index, "between") == LUA_TNIL;
        lua_pop(L, 1);
    }
    if (!is_pair) {
        out.source = fid_reading_source(in, index);
        return out;
    }
    if (lua_rawgeti(L, index, 1) == LUA_TNIL) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s: an entry of 'sources' is a list {source, share}", in->call);
    }
    out.source = fid_reading_source(in, -1);
    if (lua_rawgeti(L, index, 2) != LUA_TNIL) {
        fid_reading part = *in;
        part.field = &share_field;
        out.share = fid_reading_amount(&part, -1);
    }
    lua_pop(L, 2);
    return out;
}

static fid_sources read_sources(fid_reading *in, int index, bool several) {
    index = lua_absindex(in->L, index);
    int32_t count = several ? fid_reading_count(in, index, "a list of {source, share}") : 1;
    if (count == 0) {
        fid_raisef(in->L, FID_INVALID, "sources", "%s: 'sources' is empty", in->call);
    }
    fid_share *at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count && several; i++) {
        lua_rawgeti(in->L, index, i + 1);
        at[i] = read_share(in, -1);
        lua_pop(in->L, 1);
    }
    if (!several) {
        at[0] = (fid_share){fid_reading_source(in, index), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    }
    return (fid_sources){at, count};
}

/// An entry {"name", source} has nothing more than an offset, as the third or by its name.
static void check_listed_space(fid_reading *in, int index) {
    lua_State *L = in->L;
    fid_value_check_plain(L, index, "an entry of 'among'");
    bool third = false, named = false;
    // The least wrong name is told, whatever the order of the table.
    const char *worst = NULL;
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        bool is_text = lua_type(L, -2) == LUA_TSTRING, is_number = lua_isinteger(L, -2) != 0;
        lua_Integer at = is_number ? lua_tointeger(L, -2) : 0;
        const char *key = is_text ? lua_tostring(L, -2) : "";
        if (is_text && strcmp(key, "offset") == 0) {
            named = true;
        } else if (is_text) {
            bool known = strcmp(key, "meet") == 0;
            worst = !known && (!worst || strcmp(key, worst) < 0) ? key : worst;
        } else if (at < 1 || at > 3) {
            fid_raisef(
                L, FID_INVALID, in->field->key,
                "%s: an entry of 'among' is {\"name\", source}, {\"name\", source, offset} or {\"name\", source, "
                "meet = bone}, nothing more",
                in->call);
        }
        third |= at == 3;
    }
    if (worst) {
        fid_raisef(L, FID_UNKNOWN, in->field->key,
                   "%s: an entry of 'among' has no '%.64s'; it takes name, source, offset, meet", in->call, worst);
    }
    if (third && named) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s: an entry of 'among' has its offset twice", in->call);
    }
}

/// One choice of spaces: {name = , source = , offset = , meet = } or {"name", source, offset, meet = }; false where it
/// has no source.
static bool read_space(fid_reading *in, int index, fid_space *out) {
    lua_State *L = in->L;
    index = lua_absindex(L, index);
    int top = lua_gettop(L);
    *out = (fid_space){.at_rest = true, .frame = FID_FRAME_IDENTITY};
    if (lua_type(L, index) != LUA_TTABLE) {
        fid_reading_raise_kind(in, index, "a list of {\"name\", source}");
    }
    bool plain = lua_rawgeti(L, index, 1) != LUA_TNIL;
    if (plain) {
        check_listed_space(in, index);
    } else {
        static const char *const keys[] = {"name", "source", "offset", "meet", NULL};
        fid_value_check_keys(L, index, "an entry of 'among'", keys);
        lua_getfield(L, index, "name");
    }
    out->name = fid_fields_text(L, -1, in->call, "name", in->arena);
    int type = plain ? lua_rawgeti(L, index, 2) : lua_getfield(L, index, "source");
    if (type == LUA_TNIL) {
        lua_settop(L, top);
        return false;
    }
    out->source = fid_reading_source(in, -1);
    if ((plain && lua_rawgeti(L, index, 3) != LUA_TNIL) || lua_getfield(L, index, "offset") != LUA_TNIL) {
        static const char *const words[] = {"rest", "none", NULL};
        int32_t word = lua_type(L, -1) == LUA_TSTRING ? fid_reading_find_word(lua_tostring(L, -1), words) : -1;
        out->has_frame = fid_frame_get(L, -1, &out->frame);
        out->at_rest = word == 0;
        if (word < 0 && !out->has_frame) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: the offset of space '%s' is \"rest\", \"none\" or a frame",
                       in->call, out->name);
        }
    }
    bool has_offset = lua_type(L, -1) != LUA_TNIL;
    if (lua_getfield(L, index, "meet") != LUA_TNIL) {
        fid_rig *owner = NULL;
        if (!fid_bone_get(L, -1, &owner, &out->meet)) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: 'meet' of space '%s' is a Bone, not %s", in->call,
                       out->name, fid_object_describe(L, -1));
        }
        fid_reading_check_owner(in, owner);
        // A grip lands on the source, unless a frame says where.
        out->at_rest = out->at_rest && has_offset;
    }
    lua_settop(L, top);
    return true;
}

fid_space_list fid_reading_spaces(fid_reading *in, int index) {
    int32_t count = fid_reading_count(in, index, "a list of {\"name\", source}"), kept = 0;
    fid_space *at = fid_reading_get(in, (size_t)count, sizeof *at);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(in->L, index, i + 1);
        kept += read_space(in, -1, &at[kept]) ? 1 : 0;
        lua_pop(in->L, 1);
    }
    return (fid_space_list){at, kept};
}

/// One `source` with the share 1, or several `sources`.
void fid_reading_sources(fid_reading *in, int table) {
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
    fid_reading part = *in;
    part.field = &named;
    *out = read_sources(&part, one ? -2 : -1, several);
    lua_pop(L, 2);
}
