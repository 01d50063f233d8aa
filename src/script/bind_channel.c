#include "script/bind_channel.h"

#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/scope.h"

#include <string.h>

void fid_channel_push(lua_State *L, fid_rig *rig, fid_channel channel) {
    if (channel.kind == FID_CHANNEL_NONE) {
        lua_pushnil(L);
        return;
    }
    fid_box_push(L, rig);
    fid_channel *object = fid_object_new(L, FID_OBJECT_CHANNEL, sizeof *object, lua_gettop(L), 0);
    *object = channel;
    lua_remove(L, -2);
}

/// The rig of the Channel at `index`; raises where it or the channel is gone.
static fid_rig *need_rig(lua_State *L, int index, fid_channel channel) {
    fid_rig *rig = fid_object_rig(L, index);
    if (!fid_rig_has_channel(rig, channel)) {
        fid_raisef(L, FID_STALE, NULL, "this channel is gone: what it belongs to was taken back");
    }
    return rig;
}

bool fid_channel_get(lua_State *L, int index, fid_rig **rig, fid_channel *channel) {
    const fid_channel *object = fid_object_test(L, index, FID_OBJECT_CHANNEL);
    if (object == NULL) {
        return false;
    }
    fid_rig *owner = need_rig(L, index, *object);
    *channel = *object;
    if (rig != NULL) {
        *rig = owner;
    }
    return true;
}

static void push_name(lua_State *L, const fid_rig *rig, fid_channel channel) {
    fid_text name = {0};
    fid_rig_add_channel_name(rig, channel, &name);
    fid_object_push_text(L, &name);
}

enum {
    CHANNEL_NAME,
    CHANNEL_DEFAULT,
    CHANNEL_MIN,
    CHANNEL_MAX,
    CHANNEL_ANIMATABLE,
    CHANNEL_HIDDEN,
    CHANNEL_CHOICES,
    CHANNEL_DOC,
    CHANNEL_BONE
};
static const char *const attributes[] = {"name",   "default", "min", "max",  "animatable",
                                         "hidden", "choices", "doc", "bone", NULL};

static void push_bound(lua_State *L, float value) {
    if (value <= -FID_UNLIMITED || value >= FID_UNLIMITED) {
        lua_pushnil(L);
    } else {
        lua_pushnumber(L, (lua_Number)value);
    }
}

static void push_bone(lua_State *L, fid_rig *rig, fid_channel channel) {
    fid_bone_id bone = {{0, 0}};
    if (channel.kind == FID_CHANNEL_BONE) {
        bone.handle = channel.owner;
    } else if (channel.kind == FID_CHANNEL_SLIDER) {
        bone = rig->sliders.at[fid_rig_slider_index(rig, (fid_slider_id){channel.owner})].def.on;
    }
    fid_bone_push(L, rig, bone);
}

/// What only sliders have; false and nil of other channels.
static void push_of_slider(lua_State *L, const fid_rig *rig, fid_channel channel, int attribute) {
    static const fid_slider_def none = {.hidden = false};
    const fid_slider_def *slider = channel.kind == FID_CHANNEL_SLIDER
                                       ? &rig->sliders.at[fid_rig_slider_index(rig, (fid_slider_id){channel.owner})].def
                                       : &none;
    if (attribute == CHANNEL_HIDDEN) {
        lua_pushboolean(L, slider->hidden);
    } else if (attribute == CHANNEL_DOC ? slider->doc == NULL || slider->doc[0] == '\0' : slider->choices.count == 0) {
        lua_pushnil(L);
    } else if (attribute == CHANNEL_DOC) {
        lua_pushstring(L, slider->doc);
    } else {
        lua_createtable(L, slider->choices.count, 0);
        for (int32_t i = 0; i < slider->choices.count; i++) {
            lua_pushstring(L, slider->choices.at[i]);
            lua_rawseti(L, -2, i + 1);
        }
    }
}

static void get_attribute(lua_State *L, int attribute) {
    const fid_channel *channel = lua_touserdata(L, 1);
    fid_rig *rig = need_rig(L, 1, *channel);
    fid_channel_info info = fid_rig_channel_info(rig, *channel);
    switch (attribute) {
    case CHANNEL_NAME:
        push_name(L, rig, *channel);
        break;
    case CHANNEL_DEFAULT:
        lua_pushnumber(L, (lua_Number)info.rest);
        break;
    case CHANNEL_MIN:
        push_bound(L, info.min);
        break;
    case CHANNEL_MAX:
        push_bound(L, info.max);
        break;
    case CHANNEL_ANIMATABLE:
        lua_pushboolean(L, info.animatable);
        break;
    case CHANNEL_HIDDEN:
    case CHANNEL_CHOICES:
    case CHANNEL_DOC:
        push_of_slider(L, rig, *channel, attribute);
        break;
    default:
        push_bone(L, rig, *channel);
        break;
    }
}

static int is_equal(lua_State *L) {
    const fid_channel *a = fid_object_test(L, 1, FID_OBJECT_CHANNEL), *b = fid_object_test(L, 2, FID_OBJECT_CHANNEL);
    lua_pushboolean(L,
                    a != NULL && b != NULL && fid_object_box(L, 1) == fid_object_box(L, 2) && fid_channel_is(*a, *b));
    return 1;
}

static int show(lua_State *L) {
    const fid_channel *channel = fid_object_need(L, 1, FID_OBJECT_CHANNEL, "tostring");
    const fid_box *box = fid_object_box(L, 1);
    if (box->rig == NULL || !fid_rig_has_channel(box->rig, *channel)) {
        lua_pushliteral(L, "a channel that is gone");
        return 1;
    }
    lua_pushliteral(L, "channel '");
    push_name(L, box->rig, *channel);
    lua_pushliteral(L, "'");
    lua_concat(L, 3);
    return 1;
}

static const luaL_Reg meta[] = {{"__eq", is_equal}, {"__tostring", show}, {NULL, NULL}};
static const fid_object_class channel_class = {
    .kind = FID_OBJECT_CHANNEL, .name = "Channel", .attributes = attributes, .get = get_attribute, .meta = meta};

static int make_slider(lua_State *L) {
    static const char call[] = "rig:slider{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_slider_def def = fid_slider_default();
    fid_fields_target target = {&fid_slider_schema, &def};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    def.origin = fid_scope_origin(L, rig);
    fid_slider_id id;
    fid_error err;
    fid_code code = fid_rig_add_slider(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_channel_push(L, rig, (fid_channel){FID_CHANNEL_SLIDER, FID_TRANSLATION_X, id.handle});
    return 1;
}

void fid_channel_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"slider", make_slider}, {NULL, NULL}};
    fid_object_add_class(L, &channel_class);
    fid_rig_add_methods(L, methods);
}
