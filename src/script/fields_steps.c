#include "script/fields_inside.h"

#include "script/bind_bone.h"
#include "script/bind_channel.h"
#include "script/bind_constraint.h"
#include "script/bind_object.h"
#include "script/raise.h"
#include "script/value.h"

#include <string.h>

/// An entry has the bone first, and nothing but these keys.
static void check_entry(fid_reading *in, int index) {
    static const char *const keys[] = {"like", "neutral", "plane_of"};
    lua_State *L = in->L;
    const char *worst = NULL;
    bool numbered = false;
    fid_value_check_plain(L, index, "an entry of 'set'");
    for (lua_pushnil(L); lua_next(L, index) != 0; lua_pop(L, 1)) {
        if (lua_type(L, -2) != LUA_TSTRING) {
            numbered |= !lua_isinteger(L, -2) || lua_tointeger(L, -2) != 1;
            continue;
        }
        const char *key = lua_tostring(L, -2);
        bool known = false;
        for (int i = 0; i < 3; i++) {
            known |= strcmp(key, keys[i]) == 0;
        }
        // The least wrong name is told, whatever the order of the table.
        worst = !known && (!worst || strcmp(key, worst) < 0) ? key : worst;
    }
    if (worst) {
        const char *near = fid_text_nearest(worst, keys, 3);
        fid_raisef(L, FID_UNKNOWN, in->field->key, "%s: an entry of 'set' has no '%.64s'%s%s%s", in->call, worst,
                   near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    }
    if (numbered) {
        fid_raisef(L, FID_INVALID, in->field->key,
                   "%s: an entry of 'set' is {bone, like = bone}, {bone, neutral = true} or {pole or swivel, "
                   "plane_of = ik}",
                   in->call);
    }
}

/// What is no bone is the swivel of the ik that `plane_of` names.
static void check_swivel(fid_reading *in, fid_channel channel, fid_constraint_id ik) {
    lua_State *L = in->L;
    const fid_constraint *of = fid_rig_constraint(in->rig, ik, NULL);
    bool is_ik = of != NULL && of->def.kind == FID_CONSTRAINT_IK;
    if (of == NULL || (is_ik && !fid_channel_is(of->def.as.ik.swivel.channel, channel))) {
        fid_text name = {0};
        fid_rig_add_channel_name(in->rig, channel, &name);
        fid_object_push_text(L, &name);
        fid_raisef(L, FID_INVALID, in->field->key,
                   of == NULL ? "%s: channel '%s' in 'set' takes 'plane_of', the ik whose swivel it is"
                              : "%s: channel '%s' in 'set' is not the swivel of '%s'",
                   in->call, lua_tostring(L, -1), of != NULL ? of->address : "");
    }
}

static fid_match_step read_step(fid_reading *in, int index) {
    lua_State *L = in->L;
    fid_match_step out = {.neutral = false};
    fid_channel swivel = {FID_CHANNEL_NONE, (fid_axis)0, {0, 0}};
    fid_rig *owner = NULL;
    index = lua_absindex(L, index);
    if (lua_type(L, index) != LUA_TTABLE) {
        fid_reading_raise_kind(in, index, "a list of {bone, like = bone}");
    }
    check_entry(in, index);
    lua_rawgeti(L, index, 1);
    if (!fid_bone_get(L, -1, &owner, &out.bone) && !fid_channel_get(L, -1, &owner, &swivel)) {
        fid_raisef(L, FID_INVALID, in->field->key, "%s: an entry of 'set' begins with a Bone or a swivel, not %s",
                   in->call, fid_object_describe(L, -1));
    }
    fid_reading_check_owner(in, owner);
    if (lua_getfield(L, index, "like") != LUA_TNIL) {
        if (!fid_bone_get(L, -1, &owner, &out.like)) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: 'like' is a Bone, not %s", in->call,
                       fid_object_describe(L, -1));
        }
        fid_reading_check_owner(in, owner);
    }
    if (lua_getfield(L, index, "neutral") != LUA_TNIL) {
        if (lua_type(L, -1) != LUA_TBOOLEAN) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: 'neutral' is true or left out, not %s", in->call,
                       fid_object_describe(L, -1));
        }
        out.neutral = lua_toboolean(L, -1) != 0;
    }
    if (lua_getfield(L, index, "plane_of") != LUA_TNIL) {
        if (!fid_constraint_get(L, -1, &owner, &out.plane_of)) {
            fid_raisef(L, FID_INVALID, in->field->key, "%s: 'plane_of' is the Constraint that rig:ik{} gave, not %s",
                       in->call, fid_object_describe(L, -1));
        }
        fid_reading_check_owner(in, owner);
    }
    if (swivel.kind != FID_CHANNEL_NONE) {
        check_swivel(in, swivel, out.plane_of);
    }
    lua_pop(L, 4);
    return out;
}

fid_match_steps fid_reading_steps(fid_reading *in, int index) {
    lua_State *L = in->L;
    luaL_checkstack(L, LUA_MINSTACK, NULL);
    int32_t count = fid_reading_count(in, index, "a list of {bone, like = bone}");
    fid_match_step *steps = fid_reading_get(in, (size_t)count, sizeof *steps);
    for (int32_t i = 0; i < count; i++) {
        lua_rawgeti(L, index, i + 1);
        steps[i] = read_step(in, -1);
        lua_pop(L, 1);
    }
    return (fid_match_steps){steps, count};
}
