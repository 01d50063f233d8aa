#include "script/bind_switch.h"

#include "check/reached.h"
#include "script/bind_channel.h"
#include "script/bind_object.h"
#include "script/bind_pose.h"
#include "script/bind_rig.h"
#include "script/bind_solve.h"
#include "script/fields.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/scope.h"
#include "solve/keep.h"

#include <lauxlib.h>

static const char call[] = "rig:switch()";

/// The slider at `index`, by itself or by its name.
static fid_channel need_slider(lua_State *L, int index, fid_rig *rig) {
    fid_rig *owner = rig;
    fid_channel channel;
    fid_error err;
    if (lua_type(L, index) == LUA_TSTRING) {
        fid_object_check(L, call, fid_rig_find_channel(rig, lua_tostring(L, index), &channel, &err), &err);
    } else if (!fid_channel_get(L, index, &owner, &channel)) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a slider or the name of one, not %s", call,
                   fid_object_describe(L, index));
    }
    if (owner != rig || channel.kind != FID_CHANNEL_SLIDER) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a slider of this rig", call);
    }
    return channel;
}

/// The value at `index`: a number, or the name of a choice.
static float need_value(lua_State *L, int index, const char *name_of_call, const fid_rig *rig, fid_channel slider) {
    const fid_slider_def *def = &fid_rig_slider(rig, (fid_slider_id){slider.owner}, NULL)->def;
    fid_error err;
    if (lua_type(L, index) == LUA_TNUMBER) {
        float number = (float)lua_tonumber(L, index);
        if (fid_slider_check_value(def, number, &err) != FID_OK) {
            fid_raisef(L, err.code, "value", "%s: 'value': %s", name_of_call, err.message);
        }
        return number;
    }
    if (lua_type(L, index) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, "value", "%s takes a number or the name of a choice as value, not %s", name_of_call,
                   fid_object_describe(L, index));
    }
    float value = 0;
    if (fid_slider_find_choice(def, lua_tostring(L, index), &value, &err) != FID_OK) {
        fid_raisef(L, err.code, "value", "%s: '%s': %s", name_of_call, def->name, err.message);
    }
    return value;
}

/// Where notes go: a list at `list`.
typedef struct noting {
    lua_State *L;
    const fid_rig *rig;
    int list;
} noting;

static void note(void *user, int32_t bone, const fid_reached *reached) {
    const noting *to = user;
    if (fid_reached_is_off(to->rig, reached)) {
        fid_text text = {0};
        fid_reached_add(to->rig, bone, reached, &text);
        fid_object_push_text(to->L, &text);
        lua_rawseti(to->L, to->list, (lua_Integer)lua_rawlen(to->L, to->list) + 1);
    }
}

/// rig:switch(pose, slider, choice): the pose with the slider set and what it switches kept in its place, and a list of
/// notes about what could not be kept.
static int make_switch(lua_State *L) {
    lua_settop(L, 4);
    if (!fid_rig_is(L, 1)) {
        fid_raisef(L, FID_INVALID, NULL, "%s is called on %s; write a colon between rig and name", call,
                   fid_object_describe(L, 1));
    }
    fid_rig *rig = fid_rig_get(L, 1);
    fid_channel slider = need_slider(L, 3, rig);
    float value = need_value(L, 4, call, rig, slider);
    lua_createtable(L, 0, 0);
    int notes = lua_gettop(L);
    fid_pose *pose = fid_pose_apply(L, 2, call, rig, notes);
    const fid_program *program = pose->program;
    int32_t channel = fid_program_channel(program, slider);
    fid_host_charge(L, (int64_t)1000 * program->bone_count);
    fid_frame *before = lua_newuserdatauv(L, (size_t)program->bone_count * sizeof *before, 0);
    noting to = {L, rig, notes};
    fid_error err;
    if (fid_pose_switch(program, pose, channel, value, before, note, &to, &err) != FID_OK) {
        fid_raisef(L, err.code, "value", "%s: '%s': %s", call,
                   fid_rig_slider(rig, (fid_slider_id){slider.owner}, NULL)->def.name, err.message);
    }
    fid_pose_push_values(L, rig, pose);
    lua_pushvalue(L, notes);
    return 2;
}

/// rig:match{slider, value, set}.
static int make_match(lua_State *L) {
    static const char making[] = "rig:match{}";
    static const char *const extra[] = {"value", NULL};
    fid_rig *rig = fid_rig_begin(L, making);
    fid_match_def def = fid_match_default();
    fid_fields_target target = {&fid_match_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, making, rig, arena, &target, 1, extra);
    if (def.slider.kind != FID_CHANNEL_SLIDER) {
        fid_raisef(L, FID_INVALID, "slider", "%s: 'slider' must be a slider", making);
    }
    lua_getfield(L, 2, "value");
    def.value = need_value(L, -1, making, rig, def.slider);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_error err;
    fid_code code = fid_rig_add_match(rig, &def, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, making, rig, &mark, code, &err);
    fid_channel_push(L, rig, def.slider);
    return 1;
}

void fid_switch_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"switch", make_switch}, {"match", make_match}, {NULL, NULL}};
    fid_rig_add_methods(L, methods);
}
