#include "script/bind_bone.h"

#include "script/bind_channel.h"
#include "script/bind_constraint.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/bind_set.h"
#include "script/fields.h"
#include "script/helpers.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/schemas.h"
#include "script/scope.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

typedef struct bone_object {
    fid_bone_id id;
} bone_object;

/// The usual length of a control that has no other, as a share of the height.
static const float control_size = 0.1f;

fid_vec3 fid_point_reflect(lua_State *L, fid_vec3 point) {
    return fid_scope_now(L)->mirrored ? (fid_vec3){0.0f - point.x, point.y, point.z} : point;
}

void fid_point_push(lua_State *L, fid_vec3 point) { fid_vec_push(L, fid_vec3d_from(fid_point_reflect(L, point))); }

void fid_bone_push(lua_State *L, fid_rig *rig, fid_bone_id id) {
    if (fid_handle_is_null(id.handle)) {
        lua_pushnil(L);
        return;
    }
    fid_box_push(L, rig);
    int box = lua_gettop(L);
    lua_getiuservalue(L, box, FID_BOX_BONES);
    lua_Integer slot = (lua_Integer)id.handle.slot + 1;
    lua_rawgeti(L, -1, slot);
    const bone_object *known = fid_object_test(L, -1, FID_OBJECT_BONE);
    if (known == NULL || known->id.handle.generation != id.handle.generation) {
        lua_pop(L, 1);
        bone_object *object = fid_object_new(L, FID_OBJECT_BONE, sizeof *object, box, 0);
        object->id = id;
        lua_pushvalue(L, -1);
        lua_rawseti(L, -3, slot);
    }
    lua_replace(L, box);
    lua_settop(L, box);
}

/// The rig of an object and its bone; raises where either is gone.
static const fid_bone *need_bone(lua_State *L, int index, fid_rig **rig, fid_bone_id id) {
    fid_error err;
    *rig = fid_object_rig(L, index);
    const fid_bone *bone = fid_rig_bone(*rig, id, &err);
    if (bone == NULL) {
        fid_raise(L, &err);
    }
    return bone;
}

bool fid_bone_get(lua_State *L, int index, fid_rig **rig, fid_bone_id *id) {
    const bone_object *object = fid_object_test(L, index, FID_OBJECT_BONE);
    if (object == NULL) {
        return false;
    }
    fid_rig *owner = NULL;
    need_bone(L, index, &owner, object->id);
    *id = object->id;
    if (rig != NULL) {
        *rig = owner;
    }
    return true;
}

int64_t fid_bone_rank(lua_State *L, int index) {
    const bone_object *object = fid_object_test(L, index, FID_OBJECT_BONE);
    return object != NULL ? fid_object_box(L, index)->number << 32 | (int64_t)object->id.handle.slot : -1;
}

bool fid_spot_get(lua_State *L, int index, fid_rig **rig, fid_spot *spot) {
    const fid_spot *object = fid_object_test(L, index, FID_OBJECT_SPOT);
    if (object == NULL) {
        return false;
    }
    fid_rig *owner = NULL;
    need_bone(L, index, &owner, object->bone);
    *spot = *object;
    if (rig != NULL) {
        *rig = owner;
    }
    return true;
}

static fid_vec3 place_spot(const fid_bone *bone, float along) {
    return fid_frame_point(bone->rest, (fid_vec3){0, 0, bone->def.length * along});
}

enum {
    BONE_NAME,
    BONE_ADDRESS,
    BONE_PARENT,
    BONE_ROLE,
    BONE_SIDE,
    BONE_ID,
    BONE_PART,
    BONE_INDEX,
    BONE_LEVEL,
    BONE_LENGTH,
    BONE_FRAME,
    BONE_BASE,
    BONE_TIP,
    BONE_UP,
    BONE_AIM,
    BONE_ACROSS,
    BONE_CHILDREN,
    BONE_CHANNELS,
    BONE_CHANNEL,
    BONE_TAGS,
    BONE_DISPLAY_SET,
    BONE_SPACES
};
static const char *const bone_attributes[] = {"name",    "address", "parent",      "role",   "side",     "id",
                                              "part",    "index",   "level",       "length", "frame",    "base",
                                              "tip",     "up",      "aim",         "across", "children", "channels",
                                              "channel", "tags",    "display_set", "spaces", NULL};

/// The spaces of a bone, or nil.
static void push_spaces(lua_State *L, fid_rig *rig, const fid_bone *bone) {
    char address[FID_ADDRESS_SIZE + 16];
    snprintf(address, sizeof address, "%s:%s", bone->address, fid_constraint_schemas[FID_CONSTRAINT_SPACES]->name);
    fid_constraint_id id = fid_rig_find_constraint(rig, address);
    if (fid_handle_is_null(id.handle)) {
        lua_pushnil(L);
    } else {
        fid_constraint_push(L, rig, id);
    }
}

static void push_index(lua_State *L, const int32_t *index) {
    if (index[0] == 0) {
        lua_pushnil(L);
    } else if (index[0] == 1) {
        lua_pushinteger(L, index[1]);
    } else {
        lua_createtable(L, 2, 0);
        for (int i = 1; i <= 2; i++) {
            lua_pushinteger(L, index[i]);
            lua_rawseti(L, -2, i);
        }
    }
}

static void push_children(lua_State *L, fid_rig *rig, fid_bone_id id) {
    int32_t parent = fid_rig_bone_index(rig, id);
    lua_Integer count = 0;
    lua_createtable(L, 0, 0);
    fid_host_charge(L, rig->bones.count);
    for (int32_t i = parent + 1; i < rig->bones.count; i++) {
        if (rig->bones.at[i].parent == parent) {
            fid_bone_push(L, rig, fid_rig_bone_at(rig, i));
            lua_rawseti(L, -2, ++count);
        }
    }
}

/// The names of what animators may pose: axes, then sliders.
static void push_channels(lua_State *L, const fid_rig *rig, const fid_bone *bone, fid_bone_id id) {
    lua_Integer count = 0;
    lua_createtable(L, 0, 0);
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        if ((bone->def.channels & 1u << i) != 0) {
            lua_pushstring(L, bone->def.placement && i == FID_SCALE_X ? "scale" : fid_axis_names[i]);
            lua_rawseti(L, -2, ++count);
        }
    }
    fid_host_charge(L, rig->sliders.count);
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        const fid_slider_def *slider = &rig->sliders.at[i].def;
        if (slider->animatable && slider->on.handle.slot == id.handle.slot) {
            lua_pushstring(L, slider->name);
            lua_rawseti(L, -2, ++count);
        }
    }
}

static void push_words(lua_State *L, const fid_words *words) {
    lua_createtable(L, words->count, 0);
    for (int32_t i = 0; i < words->count; i++) {
        lua_pushstring(L, words->at[i]);
        lua_rawseti(L, -2, i + 1);
    }
}

static void push_maybe_text(lua_State *L, const char *text) {
    if (text != NULL && text[0] != '\0') {
        lua_pushstring(L, text);
    } else {
        lua_pushnil(L);
    }
}

static void push_frame(lua_State *L, fid_frame frame) {
    fid_frame_push(L, fid_scope_now(L)->mirrored ? fid_frame_mirror(frame) : frame);
}

static void get_attribute(lua_State *L, int attribute) {
    const bone_object *object = lua_touserdata(L, 1);
    fid_rig *rig = NULL;
    const fid_bone *bone = need_bone(L, 1, &rig, object->id);
    fid_vec3 across = fid_quat_x(bone->rest.q);
    switch (attribute) {
    case BONE_NAME:
        lua_pushstring(L, bone->name);
        break;
    case BONE_ADDRESS:
        lua_pushstring(L, bone->address);
        break;
    case BONE_PARENT:
        fid_bone_push(L, rig, bone->def.parent);
        break;
    case BONE_ROLE:
        lua_pushstring(L, fid_role_names[bone->def.role]);
        break;
    case BONE_SIDE:
        lua_pushstring(L, fid_side_names[bone->def.side]);
        break;
    case BONE_ID:
        push_maybe_text(L, bone->def.id);
        break;
    case BONE_PART:
        lua_pushstring(L, bone->def.part);
        break;
    case BONE_INDEX:
        push_index(L, bone->def.index);
        break;
    case BONE_LEVEL:
        lua_pushstring(L, fid_level_names[bone->def.level]);
        break;
    case BONE_LENGTH:
        lua_pushnumber(L, (lua_Number)bone->def.length);
        break;
    case BONE_FRAME:
        push_frame(L, bone->rest);
        break;
    case BONE_BASE:
        fid_point_push(L, bone->rest.t);
        break;
    case BONE_TIP:
        fid_point_push(L, place_spot(bone, 1));
        break;
    case BONE_UP:
        fid_point_push(L, fid_quat_y(bone->rest.q));
        break;
    case BONE_AIM:
        fid_point_push(L, fid_quat_z(bone->rest.q));
        break;
    case BONE_ACROSS:
        // The frame stays right-handed, so that across turns round where the others are reflected.
        fid_point_push(L, fid_scope_now(L)->mirrored ? fid_vec3_scale(across, -1) : across);
        break;
    case BONE_CHILDREN:
        push_children(L, rig, object->id);
        break;
    case BONE_CHANNELS:
        push_channels(L, rig, bone, object->id);
        break;
    case BONE_CHANNEL: {
        lua_getiuservalue(L, 1, 1);
        bone_object *channels = fid_object_new(L, FID_OBJECT_CHANNELS, sizeof *channels, lua_gettop(L), 0);
        channels->id = object->id;
        break;
    }
    case BONE_TAGS:
        push_words(L, &bone->def.tags);
        break;
    case BONE_SPACES:
        push_spaces(L, rig, bone);
        break;
    default:
        fid_set_push(L, rig, bone->def.display_set);
        break;
    }
}

static int make_spot(lua_State *L) {
    lua_settop(L, 2);
    const bone_object *bone = fid_object_need(L, 1, FID_OBJECT_BONE, "bone:point()");
    fid_rig *rig = NULL;
    need_bone(L, 1, &rig, bone->id);
    double along = lua_type(L, 2) == LUA_TNUMBER ? lua_tonumber(L, 2) : -1;
    if (!(along >= 0 && along <= 1)) {
        fid_raisef(L, FID_RANGE, NULL, "bone:point() takes a number from 0 (the base) to 1 (the tip), not %s",
                   lua_type(L, 2) == LUA_TNUMBER ? "one outside" : fid_object_describe(L, 2));
    }
    lua_getiuservalue(L, 1, 1);
    fid_spot *spot = fid_object_new(L, FID_OBJECT_SPOT, sizeof *spot, lua_gettop(L), 0);
    *spot = (fid_spot){bone->id, (float)along};
    return 1;
}

static int show_bone(lua_State *L) {
    const bone_object *object = fid_object_need(L, 1, FID_OBJECT_BONE, "tostring");
    const fid_box *box = fid_object_box(L, 1);
    const fid_bone *bone = box->rig != NULL ? fid_rig_bone(box->rig, object->id, NULL) : NULL;
    if (bone == NULL) {
        lua_pushliteral(L, "a bone that is gone");
    } else {
        lua_pushfstring(L, "bone '%s'", bone->name);
    }
    return 1;
}

static void push_channel(lua_State *L) {
    const bone_object *object = lua_touserdata(L, 1);
    fid_rig *rig = NULL;
    need_bone(L, 1, &rig, object->id);
    if (lua_type(L, 2) != LUA_TSTRING) {
        return;
    }
    fid_channel channel;
    fid_error err;
    fid_object_check(L, NULL, fid_rig_bone_channel(rig, object->id, lua_tostring(L, 2), &channel, &err), &err);
    fid_channel_push(L, rig, channel);
}

static int place_spot_here(lua_State *L) {
    const fid_spot *spot = fid_object_need(L, 1, FID_OBJECT_SPOT, "a point");
    fid_rig *rig = NULL;
    const fid_bone *bone = need_bone(L, 1, &rig, spot->bone);
    fid_point_push(L, place_spot(bone, spot->along));
    return 1;
}

static const char *const spot_attributes[] = {"x", "y", "z", "bone", "along", NULL};

static void get_spot_attribute(lua_State *L, int attribute) {
    const fid_spot *spot = lua_touserdata(L, 1);
    fid_rig *rig = NULL;
    const fid_bone *bone = need_bone(L, 1, &rig, spot->bone);
    fid_vec3 place = fid_point_reflect(L, place_spot(bone, spot->along));
    if (attribute == 3) {
        fid_bone_push(L, rig, spot->bone);
    } else {
        const float values[] = {place.x, place.y, place.z, 0, spot->along};
        lua_pushnumber(L, (lua_Number)values[attribute]);
    }
}

/// Replaces the points on bones among the operands by their places, so that the operators of vec take over.
static int compute(lua_State *L, int operation) {
    for (int i = 1; i <= 2; i++) {
        if (fid_object_test(L, i, FID_OBJECT_SPOT) != NULL) {
            lua_pushcfunction(L, place_spot_here);
            lua_pushvalue(L, i);
            lua_call(L, 1, 1);
            lua_replace(L, i);
        }
    }
    lua_settop(L, operation == LUA_OPUNM ? 1 : 2);
    lua_arith(L, operation);
    return 1;
}

static int add(lua_State *L) { return compute(L, LUA_OPADD); }
static int subtract(lua_State *L) { return compute(L, LUA_OPSUB); }
static int multiply(lua_State *L) { return compute(L, LUA_OPMUL); }
static int divide(lua_State *L) { return compute(L, LUA_OPDIV); }
static int negate(lua_State *L) { return compute(L, LUA_OPUNM); }

static const luaL_Reg bone_methods[] = {{"point", make_spot}, {NULL, NULL}};
static const luaL_Reg bone_meta[] = {{"__tostring", show_bone}, {NULL, NULL}};
static const fid_object_class bone_class = {.kind = FID_OBJECT_BONE,
                                            .name = "Bone",
                                            .attributes = bone_attributes,
                                            .get = get_attribute,
                                            .methods = bone_methods,
                                            .meta = bone_meta};
static const luaL_Reg spot_meta[] = {{"__point", place_spot_here},
                                     {"__add", add},
                                     {"__sub", subtract},
                                     {"__mul", multiply},
                                     {"__div", divide},
                                     {"__unm", negate},
                                     {NULL, NULL}};
static const fid_object_class spot_class = {.kind = FID_OBJECT_SPOT,
                                            .name = "point on a bone",
                                            .attributes = spot_attributes,
                                            .get = get_spot_attribute,
                                            .meta = spot_meta};
static const fid_object_class channels_class = {
    .kind = FID_OBJECT_CHANNELS, .name = "list of channels", .item = push_channel};

fid_outline_id fid_bone_outline(lua_State *L, int table, const char *call, fid_rig *rig, fid_arena *arena, float extent,
                                const char *shape) {
    fid_outline_def def = fid_outline_default();
    fid_outline_id id = {{0, 0}};
    fid_error err;
    const char *base = "outline";
    int type = lua_getfield(L, table, "outline");
    bool is_none = type == LUA_TBOOLEAN && !lua_toboolean(L, -1);
    if (is_none || (type == LUA_TNIL && shape == NULL)) {
        lua_pop(L, 1);
        return id;
    }
    if (type == LUA_TNIL || type == LUA_TSTRING) {
        const char *word = type == LUA_TNIL ? shape : lua_tostring(L, -1);
        int32_t count = 0, found = -1;
        for (; fid_shape_names[count] != NULL; count++) {
            found = strcmp(fid_shape_names[count], word) == 0 ? count : found;
        }
        if (found < 0) {
            id = fid_rig_find_outline(rig, word);
            if (fid_handle_is_null(id.handle)) {
                const char *near = fid_text_nearest(word, fid_shape_names, count);
                fid_raisef(L, FID_UNKNOWN, "outline",
                           "%s: no outline '%.48s'%s%s%s; there are circle, square, box, arrow, and what fid.outline "
                           "makes",
                           call, word, near != NULL ? "; did you mean '" : "", near != NULL ? near : "",
                           near != NULL ? "'?" : "");
            }
            lua_pop(L, 1);
            return id;
        }
        base = fid_shape_names[found];
        fid_object_check(L, call, fid_shape_strokes((fid_shape)found, extent, arena, &def.strokes, &err), &err);
    } else if (!fid_outline_get(L, -1, &def.strokes)) {
        fid_raisef(L, FID_INVALID, "outline",
                   "%s: 'outline' is %s; it takes an outline (fid.outline.circle{}), a name, or false for none", call,
                   fid_object_describe(L, -1));
    }
    if (fid_scope_now(L)->mirrored) {
        fid_object_check(L, call, fid_schema_mirror(&fid_outline_schema, &def, arena, &err), &err);
    }
    fid_object_check(L, call, fid_rig_add_outline(rig, &def, base, &id, &err), &err);
    lua_pop(L, 1);
    return id;
}

static bool has(lua_State *L, int table, const char *key) {
    bool is_there = lua_getfield(L, table, key) != LUA_TNIL;
    lua_pop(L, 1);
    return is_there;
}

void fid_bone_complete(lua_State *L, int table, const char *call, fid_rig *rig, int32_t role, fid_arena *arena,
                       fid_bone_def *def) {
    const fid_scope *scope = fid_scope_now(L);
    if (scope->id != NULL && has(L, table, "id")) {
        fid_raisef(L, FID_INVALID, "id", "%s: inside a module 'id' is the one of its use ('%s'); leave it out", call,
                   scope->id);
    }
    if (scope->sided && has(L, table, "side")) {
        fid_raisef(L, FID_INVALID, "side", "%s: inside a module 'side' is the one of its use (%s); leave it out", call,
                   fid_side_names[scope->side]);
    }
    def->id = scope->id != NULL ? scope->id : def->id;
    def->side = scope->sided ? (int32_t)scope->side : def->side;
    if (!def->placement && !has(L, table, "parent")) {
        def->parent = scope->parent;
    }
    if (!has(L, table, "role")) {
        def->role = role;
    }
    if (!has(L, table, "channels")) {
        def->channels = fid_bone_channels(def->role, def->placement);
    } else if (def->placement && (def->channels & FID_MASK_SCALE) == FID_MASK_SCALE) {
        // The scale of the placement is one channel for all axes.
        def->channels = (def->channels & ~(uint32_t)FID_MASK_SCALE) | 1u << FID_SCALE_X;
    }
    if (scope->mirrored) {
        fid_error err;
        fid_object_check(L, call, fid_schema_mirror(&fid_bone_schema, def, arena, &err), &err);
    }
    def->origin = fid_scope_origin(L, rig);
}

/// rig:bone{} and rig:control{}.
static int make_bone(lua_State *L, const char *call, bool is_control) {
    fid_rig *rig = fid_rig_begin(L, call);
    fid_bone_def def = fid_bone_default();
    fid_bone_place place;
    fid_schema_defaults(&fid_place_schema, &place);
    fid_fields_target targets[] = {{&fid_bone_schema, &def}, {&fid_place_schema, &place}};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, targets, 2, NULL);
    place.has_frame = has(L, 2, "frame");
    if (is_control && has(L, 2, "role") && def.role != FID_CONTROL) {
        fid_raisef(L, FID_INVALID, "role", "rig:control{} makes controls; for a bone with another role use rig:bone{}");
    }
    fid_frame rest;
    fid_error err;
    float size = is_control || def.role == FID_CONTROL ? rig->height * control_size : 0;
    fid_object_check(L, call, fid_bone_place_resolve(&place, is_control, size, &rest, &def.length, &err), &err);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_bone_complete(L, 2, call, rig, is_control ? FID_CONTROL : FID_DEFORM, arena, &def);
    if (fid_scope_now(L)->mirrored) {
        rest = fid_frame_mirror(rest);
    }
    const fid_bone *parent = fid_rig_bone(rig, def.parent, NULL);
    def.rest = parent != NULL ? fid_frame_relation(parent->rest, rest) : rest;
    def.outline = fid_bone_outline(L, 2, call, rig, arena, def.length, is_control ? "circle" : NULL);
    fid_bone_id id;
    fid_code code = fid_rig_add_bone(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_bone_push(L, rig, id);
    return 1;
}

static int rig_bone(lua_State *L) { return make_bone(L, "rig:bone{}", false); }
static int rig_control(lua_State *L) { return make_bone(L, "rig:control{}", true); }

void fid_bone_warn_moved(lua_State *L, const char *from, const char *to) {
    fid_error message;
    (void)fid_fail(&message, FID_UNKNOWN, "'%.160s' is called '%s' now", from, to);
    fid_host_warn(L, from, message.message, "write that instead");
}

static int rig_find(lua_State *L) {
    fid_rig *rig = fid_rig_begin(L, "rig:find()");
    if (lua_type(L, 2) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, NULL, "rig:find() takes a name or an address, not %s", fid_object_describe(L, 2));
    }
    bool moved = false;
    fid_bone_id id = fid_rig_follow_bone(rig, lua_tostring(L, 2), &moved);
    if (moved) {
        fid_bone_warn_moved(L, lua_tostring(L, 2), fid_rig_bone(rig, id, NULL)->name);
    }
    fid_bone_push(L, rig, id);
    return 1;
}

/// What rig:bones{} looks for.
typedef struct bone_filter {
    int32_t role, side, level; ///< -1: any
    const char *id, *part, *tag;
    fid_set_id display_set;
} bone_filter;

#define FILTER(key, type, choices, doc) \
    { #key, type, 0, offsetof(bone_filter, key), "", 0, 0, 0, choices, FID_REFLECT_NONE, doc }
static const fid_field filter_fields[] = {
    FILTER(role, FID_TYPE_CHOICE, fid_role_names, "Bones of this role only"),
    FILTER(side, FID_TYPE_CHOICE, fid_side_names, "Bones of this side only"),
    FILTER(id, FID_TYPE_TEXT, NULL, "Bones of this instance only"),
    FILTER(part, FID_TYPE_TEXT, NULL, "Bones of this part only"),
    FILTER(level, FID_TYPE_CHOICE, fid_level_names, "Bones of this level only"),
    FILTER(tag, FID_TYPE_TEXT, NULL, "Bones with this tag only"),
    FILTER(display_set, FID_TYPE_SET, NULL, "Bones of this display set only"),
};

const fid_schema fid_bones_schema = {"bones", "Gives the bones that fit, in the order in which they were made",
                                     sizeof(bone_filter), filter_fields,
                                     sizeof filter_fields / sizeof filter_fields[0]};

static bool has_tag(const fid_words *tags, const char *tag) {
    for (int32_t i = 0; i < tags->count; i++) {
        if (strcmp(tags->at[i], tag) == 0) {
            return true;
        }
    }
    return false;
}

static bool fits(const bone_filter *filter, const fid_bone_def *def) {
    const char *id = def->id != NULL ? def->id : "";
    return (filter->role < 0 || filter->role == def->role) && (filter->side < 0 || filter->side == def->side) &&
           (filter->level < 0 || filter->level == def->level) && (filter->id == NULL || strcmp(filter->id, id) == 0) &&
           (filter->part == NULL || strcmp(filter->part, def->part) == 0) &&
           (filter->tag == NULL || has_tag(&def->tags, filter->tag)) &&
           (fid_handle_is_null(filter->display_set.handle) ||
            filter->display_set.handle.slot == def->display_set.handle.slot);
}

static int rig_bones(lua_State *L) {
    fid_rig *rig = fid_rig_begin(L, "rig:bones{}");
    bone_filter filter = {.role = -1, .side = -1, .level = -1};
    if (!lua_isnil(L, 2)) {
        fid_fields_target target = {&fid_bones_schema, &filter};
        fid_fields_read(L, 2, "rig:bones{}", rig, fid_fields_push_arena(L), &target, 1, NULL);
    }
    fid_host_charge(L, rig->bones.count);
    lua_createtable(L, 0, 0);
    lua_Integer count = 0;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (fits(&filter, &rig->bones.at[i].def)) {
            fid_bone_push(L, rig, fid_rig_bone_at(rig, i));
            lua_rawseti(L, -2, ++count);
        }
    }
    return 1;
}

void fid_bone_open(lua_State *L) {
    static const luaL_Reg methods[] = {
        {"bone", rig_bone}, {"control", rig_control}, {"find", rig_find}, {"bones", rig_bones}, {NULL, NULL}};
    fid_object_add_class(L, &bone_class);
    fid_object_add_class(L, &spot_class);
    fid_object_add_class(L, &channels_class);
    fid_rig_add_methods(L, methods);
}
