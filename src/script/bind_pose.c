#include "script/bind_pose.h"

#include "base/file.h"
#include "format/pose_read.h"
#include "rig/mirror.h"
#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/bind_solve.h"
#include "script/fields.h"
#include "script/host.h"
#include "script/library.h"
#include "script/raise.h"
#include "script/scope.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

typedef struct pose_object {
    int32_t count;
    fid_pose_entry at[];
} pose_object;

/// A value that was read, in the order in which they stand.
typedef struct node {
    fid_pose_entry entry;
    struct node *next;
} node;

typedef struct reading {
    lua_State *L;
    const char *call;
    fid_rig *rig;
    fid_arena *arena;
    const char *name; ///< of the bone or constraint
    node *first, **end;
    int32_t count;
} reading;

enum { MAX_POSE_FILE = 16 * 1024 * 1024 };

static void add_entry(reading *in, const fid_pose_entry *entry) {
    node *item = fid_arena_get(in->arena, sizeof *item);
    if (item == NULL) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(in->L, &err);
    }
    item->entry = *entry;
    *in->end = item;
    in->end = &item->next;
    in->count++;
}

static void raise_locked(reading *in, fid_channel channel) {
    fid_text name = {0};
    fid_rig_add_channel_name(in->rig, channel, &name);
    fid_object_push_text(in->L, &name);
    fid_raisef(in->L, FID_LOCKED, in->name,
               "%s: channel '%s' may not be posed; 'channels' of its bone does not name it", in->call,
               lua_tostring(in->L, -1));
}

/// A channel and its value as the running code sees it.
static void add_value(reading *in, fid_channel channel, double value) {
    fid_channel_info info = fid_rig_channel_info(in->rig, channel);
    if (!(fabs(value) <= 1e30)) {
        fid_raisef(in->L, FID_RANGE, in->name, "%s: a value of '%s' is not a finite number", in->call, in->name);
    }
    bool turns = channel.kind == FID_CHANNEL_BONE && (channel.axis == FID_TRANSLATION_X ||
                                                      channel.axis == FID_ROTATION_Y || channel.axis == FID_ROTATION_Z);
    float posed = turns && fid_scope_now(in->L)->mirrored ? (float)(0.0 - value) : (float)value;
    if (!info.animatable && channel.kind != FID_CHANNEL_WEIGHT) {
        if (posed != info.rest) {
            raise_locked(in, channel);
        }
        return;
    }
    fid_pose_entry entry = {.channel = channel, .value = {posed, 0, 0, 0}};
    add_entry(in, &entry);
}

static void raise_value(reading *in, const char *key, int index, const char *wanted) {
    fid_raisef(in->L, FID_INVALID, in->name, "%s: '%s' of '%s' is %s; it takes %s", in->call, key, in->name,
               fid_object_describe(in->L, index), wanted);
}

/// translation, rotation or scale: three values from `axis` on.
static void read_group(reading *in, fid_bone_id id, const char *key, int axis) {
    lua_State *L = in->L;
    const fid_bone *bone = fid_rig_bone(in->rig, id, NULL);
    fid_vec3d value;
    char what[128];
    snprintf(what, sizeof what, "%.24s: '%.16s' of '%.64s'", in->call, key, in->name);
    bool is_scale = axis == FID_SCALE_X;
    if (is_scale && lua_type(L, -1) == LUA_TNUMBER) {
        double all = lua_tonumber(L, -1);
        value = (fid_vec3d){all, all, all};
    } else if (is_scale && bone->def.placement) {
        raise_value(in, key, -1, "one number for all axes");
    } else if (!fid_vec_get(L, -1, what, &value)) {
        raise_value(in, key, -1, is_scale ? "a number or a list of three" : "a list of three numbers");
    }
    const double values[] = {value.x, value.y, value.z};
    for (int i = 0; i < (is_scale && bone->def.placement ? 1 : 3); i++) {
        add_value(in, (fid_channel){FID_CHANNEL_BONE, (fid_axis)(axis + i), id.handle}, values[i]);
    }
}

static void read_quaternion(reading *in, fid_bone_id id) {
    lua_State *L = in->L;
    fid_pose_entry entry = {.is_rotation = true, .bone = id};
    const fid_bone *bone = fid_rig_bone(in->rig, id, NULL);
    if (lua_type(L, -1) != LUA_TTABLE || lua_rawlen(L, -1) != 4) {
        raise_value(in, "quaternion", -1, "a list of four numbers {x, y, z, w}");
    }
    double square = 0;
    for (int i = 0; i < 4; i++) {
        lua_rawgeti(L, -1, i + 1);
        double value = lua_type(L, -1) == LUA_TNUMBER ? lua_tonumber(L, -1) : HUGE_VAL;
        if (!(fabs(value) <= 1e9)) {
            raise_value(in, "quaternion", -1, "four finite numbers {x, y, z, w}");
        }
        entry.value[i] = (float)value;
        square += value * value;
        lua_pop(L, 1);
    }
    if (!(square > 1e-12)) {
        fid_raisef(L, FID_RANGE, in->name, "%s: 'quaternion' of '%s' has no length", in->call, in->name);
    }
    if ((bone->def.channels & FID_MASK_ROTATION) != FID_MASK_ROTATION) {
        fid_raisef(L, FID_LOCKED, in->name,
                   "%s: 'quaternion' of '%s' needs all three channels of rotation; 'channels' does not name them",
                   in->call, in->name);
    }
    if (fid_scope_now(L)->mirrored) {
        entry.value[1] = 0.0f - entry.value[1];
        entry.value[2] = 0.0f - entry.value[2];
    }
    add_entry(in, &entry);
}

/// A slider, which may be given by the name of a choice, or a single axis ("rotation.x").
static void read_single(reading *in, fid_bone_id id, const char *key) {
    lua_State *L = in->L;
    fid_channel channel;
    fid_error err;
    bool moved = false;
    fid_object_check(L, in->call, fid_rig_follow_bone_channel(in->rig, id, key, &channel, &moved, &err), &err);
    if (moved) {
        fid_bone_warn_moved(L, key, fid_rig_slider(in->rig, (fid_slider_id){channel.owner}, NULL)->def.name);
    }
    if (channel.kind == FID_CHANNEL_SLIDER && lua_type(L, -1) == LUA_TSTRING) {
        const fid_slider_def *slider = &fid_rig_slider(in->rig, (fid_slider_id){channel.owner}, NULL)->def;
        float value = 0;
        if (fid_slider_find_choice(slider, lua_tostring(L, -1), &value, &err) != FID_OK) {
            fid_raisef(L, err.code, in->name, "%s: '%s' of '%s': %s", in->call, key, in->name, err.message);
        }
        add_value(in, channel, (double)value);
        return;
    }
    if (lua_type(L, -1) != LUA_TNUMBER) {
        raise_value(in, key, -1, "a number");
    }
    add_value(in, channel, lua_tonumber(L, -1));
}

static bool has(lua_State *L, int table, const char *key) {
    lua_pushstring(L, key);
    bool is_there = lua_rawget(L, table) != LUA_TNIL;
    lua_pop(L, 1);
    return is_there;
}

/// The values of one bone, in the table on top of the stack.
static void read_bone(reading *in, fid_bone_id id) {
    lua_State *L = in->L;
    int table = lua_gettop(L);
    if (has(L, table, "rotation") && has(L, table, "quaternion")) {
        fid_raisef(L, FID_INVALID, in->name, "%s: 'rotation' and 'quaternion' of '%s' exclude each other", in->call,
                   in->name);
    }
    fid_library_push_keys(L, table);
    for (lua_Integer i = 1; lua_rawgeti(L, table + 1, i) != LUA_TNIL; i++) {
        if (lua_type(L, -1) != LUA_TSTRING) {
            raise_value(in, "a key", -1, "names of channels only");
        }
        const char *key = lua_tostring(L, -1);
        lua_pushvalue(L, -1);
        lua_rawget(L, table);
        if (strcmp(key, "translation") == 0) {
            read_group(in, id, key, FID_TRANSLATION_X);
        } else if (strcmp(key, "rotation") == 0) {
            read_group(in, id, key, FID_ROTATION_X);
        } else if (strcmp(key, "scale") == 0) {
            read_group(in, id, key, FID_SCALE_X);
        } else if (strcmp(key, "quaternion") == 0) {
            read_quaternion(in, id);
        } else {
            read_single(in, id, key);
        }
        lua_settop(L, table + 1);
    }
    lua_settop(L, table);
}

/// The weight of a constraint, in the table on top of the stack.
static void read_weight(reading *in, fid_constraint_id id) {
    static const char *const keys[] = {"weight", NULL};
    lua_State *L = in->L;
    fid_value_check_keys(L, -1, in->name, keys);
    if (lua_getfield(L, -1, "weight") != LUA_TNUMBER) {
        raise_value(in, "weight", -1, "a number from 0 to 1");
    }
    add_value(in, (fid_channel){FID_CHANNEL_WEIGHT, FID_TRANSLATION_X, id.handle}, lua_tonumber(L, -1));
    lua_pop(L, 1);
}

/// One entry of the table: its key below its value on top of the stack.
static void read_element(reading *in) {
    lua_State *L = in->L;
    fid_error err;
    fid_rig *owner = NULL;
    fid_bone_id bone = {{0, 0}};
    fid_constraint_id constraint = {{0, 0}};
    if (fid_bone_get(L, -2, &owner, &bone)) {
        if (owner != in->rig) {
            fid_raisef(L, FID_INVALID, NULL, "%s: a bone belongs to another rig", in->call);
        }
        in->name = fid_rig_bone(in->rig, bone, NULL)->name;
    } else if (lua_type(L, -2) == LUA_TSTRING) {
        in->name = lua_tostring(L, -2);
        bool moved = false;
        bone = fid_rig_follow_bone(in->rig, in->name, &moved);
        if (moved) {
            fid_bone_warn_moved(L, in->name, fid_rig_bone(in->rig, bone, NULL)->name);
        }
        constraint = fid_rig_find_constraint(in->rig, in->name);
    } else {
        fid_raisef(L, FID_INVALID, NULL, "%s takes Bones and names as keys, not %s", in->call,
                   fid_object_describe(L, -2));
    }
    if (lua_type(L, -1) != LUA_TTABLE) {
        fid_raisef(L, FID_INVALID, in->name, "%s: '%s' is %s; it takes a table such as {rotation = {0, 0, 30}}",
                   in->call, in->name, fid_object_describe(L, -1));
    }
    fid_value_check_plain(L, -1, in->name);
    if (!fid_handle_is_null(bone.handle)) {
        read_bone(in, bone);
    } else if (!fid_handle_is_null(constraint.handle)) {
        read_weight(in, constraint);
    } else {
        fid_rig_no_bone(in->rig, in->name, &err);
        fid_raise(L, &err);
    }
}

/// Pushes the Pose of what was read.
static void push_entries(reading *in) {
    fid_box_push(in->L, in->rig);
    size_t size = sizeof(pose_object) + (size_t)in->count * sizeof(fid_pose_entry);
    pose_object *object = fid_object_new(in->L, FID_OBJECT_POSE, size, lua_gettop(in->L), 0);
    for (const node *item = in->first; item != NULL; item = item->next) {
        object->at[object->count++] = item->entry;
    }
    lua_remove(in->L, -2);
}

/// Takes over what a file made of a pose: everything that is not at rest.
static void take_pose(reading *in, const fid_pose *pose) {
    const fid_program *program = pose->program;
    for (int32_t i = 0; i < program->channel_count; i++) {
        fid_channel channel = fid_program_channel_of(program, in->rig, i);
        int32_t bone = i / FID_AXIS_COUNT, axis = i % FID_AXIS_COUNT;
        bool is_turn = channel.kind == FID_CHANNEL_BONE && axis >= FID_ROTATION_X && axis <= FID_ROTATION_Z;
        bool is_quaternion = is_turn && (pose->posed[bone] & FID_POSED_QUATERNION) != 0;
        if (is_quaternion && axis == FID_ROTATION_X) {
            fid_quat q = pose->rotation[bone];
            fid_pose_entry turn = {
                .is_rotation = true, .bone = fid_rig_bone_at(in->rig, bone), .value = {q.x, q.y, q.z, q.w}};
            add_entry(in, &turn);
        } else if (!is_quaternion && pose->value[i] != program->channel_rest[i]) {
            fid_pose_entry entry = {.channel = channel, .value = {pose->value[i], 0, 0, 0}};
            add_entry(in, &entry);
        }
    }
}

static void read_file(reading *in, const char *path) {
    lua_State *L = in->L;
    fid_pose *pose = fid_program_need(L, in->rig);
    fid_report *report = fid_report_push(L);
    fid_text text = {0};
    fid_error err;
    fid_code code = fid_host_read(fid_host_of(L), fid_host_folder(fid_host_of(L)), path, MAX_POSE_FILE, &text, &err);
    if (code == FID_OK) {
        code = fid_pose_read(text.at, (size_t)text.count, path, in->rig, pose, report);
        fid_text_clear(&text);
        if (code != FID_OK) {
            fid_report_raise(L, report);
        }
        for (int32_t i = 0; i < report->findings.count; i++) {
            const fid_finding *finding = &report->findings.at[i];
            if (finding->severity == FID_WARNING) {
                fid_error whole;
                (void)fid_fail(&whole, FID_UNKNOWN, "%.200s: %s", path, finding->message);
                fid_host_warn(L, finding->subject, whole.message, NULL);
            }
        }
    }
    fid_object_check(L, in->call, code, &err);
    take_pose(in, pose);
}

void fid_pose_push(lua_State *L, int index, const char *call, fid_rig *rig) {
    index = lua_absindex(L, index);
    luaL_checkstack(L, 2 * LUA_MINSTACK, NULL);
    fid_arena *arena = fid_fields_push_arena(L);
    reading in = {.L = L, .call = call, .rig = rig, .arena = arena};
    in.end = &in.first;
    int top = lua_gettop(L);
    if (lua_type(L, index) == LUA_TSTRING) {
        read_file(&in, lua_tostring(L, index));
    } else if (lua_type(L, index) == LUA_TTABLE) {
        fid_value_check_plain(L, index, call);
        fid_library_push_keys(L, index);
        for (lua_Integer i = 1; lua_rawgeti(L, top + 1, i) != LUA_TNIL; i++) {
            lua_pushvalue(L, -1);
            lua_rawget(L, index);
            read_element(&in);
            lua_settop(L, top + 1);
        }
    } else {
        fid_raisef(L, FID_INVALID, NULL,
                   "%s takes a table {[bone] = {rotation = {x, y, z}}} or the path of a pose, not %s", call,
                   fid_object_describe(L, index));
    }
    lua_settop(L, top);
    push_entries(&in);
    fid_arena_clear(arena);
    lua_remove(L, top);
}

void fid_pose_push_values(lua_State *L, fid_rig *rig, const fid_pose *pose) {
    fid_arena *arena = fid_fields_push_arena(L);
    int top = lua_gettop(L);
    reading in = {.L = L, .call = "", .rig = rig, .arena = arena};
    in.end = &in.first;
    take_pose(&in, pose);
    push_entries(&in);
    fid_arena_clear(arena);
    lua_remove(L, top);
}

bool fid_pose_get(lua_State *L, int index, fid_pose_row *row) {
    const pose_object *object = fid_object_test(L, index, FID_OBJECT_POSE);
    if (object == NULL) {
        return false;
    }
    *row = (fid_pose_row){fid_object_rig(L, index), object->count, object->at};
    return true;
}

static int make_pose(lua_State *L) {
    static const char call[] = "rig:pose{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_pose_push(L, 2, call, rig);
    return 1;
}

/// Adds a note to the list at `list`: what is posed there has no place on the other side. What rests is no loss.
static void note_lost(lua_State *L, int list, const fid_rig *rig, const fid_pose_entry *entry) {
    fid_text text = {0};
    if (!entry->is_rotation && entry->value[0] == fid_rig_channel_info(rig, entry->channel).rest) {
        return;
    }
    if (entry->is_rotation) {
        fid_text_addf(&text, "%s.rotation", fid_rig_bone(rig, entry->bone, NULL)->name);
    } else {
        fid_rig_add_channel_name(rig, entry->channel, &text);
    }
    fid_text_add(&text, ": the other side has no such channel or choice");
    fid_object_push_text(L, &text);
    lua_rawseti(L, list, (lua_Integer)lua_rawlen(L, list) + 1);
}

/// pose:mirrored(): left and right exchanged, and a list of notes about what has no counterpart and is left out.
static int mirror_pose(lua_State *L) {
    static const char call[] = "pose:mirrored()";
    lua_settop(L, 1);
    const pose_object *object = fid_object_need(L, 1, FID_OBJECT_POSE, call);
    fid_rig *rig = fid_object_rig(L, 1);
    lua_createtable(L, 0, 0);
    int notes = lua_gettop(L);
    fid_arena *arena = fid_fields_push_arena(L);
    reading in = {.L = L, .call = call, .rig = rig, .arena = arena};
    in.end = &in.first;
    for (int32_t i = 0; i < object->count; i++) {
        fid_pose_entry entry = object->at[i];
        bool kept = false;
        if (entry.is_rotation && fid_rig_bone_index(rig, entry.bone) >= 0) {
            fid_quat q = fid_quat_mirror((fid_quat){entry.value[0], entry.value[1], entry.value[2], entry.value[3]});
            fid_bone_id other = fid_mirror_bone(rig, entry.bone);
            kept = other.handle.slot != entry.bone.handle.slot ||
                   fid_rig_bone(rig, entry.bone, NULL)->def.side == FID_CENTER;
            entry = (fid_pose_entry){.is_rotation = true, .bone = other, .value = {q.x, q.y, q.z, q.w}};
        } else if (!entry.is_rotation && fid_rig_has_channel(rig, entry.channel)) {
            kept = fid_mirror_value(rig, &entry.channel, &entry.value[0]);
        } else {
            continue; // what it posed is gone
        }
        if (kept) {
            add_entry(&in, &entry);
        } else {
            note_lost(L, notes, rig, &object->at[i]);
        }
    }
    push_entries(&in);
    fid_arena_clear(arena);
    lua_pushvalue(L, notes);
    return 2;
}

static const luaL_Reg pose_methods[] = {{"mirrored", mirror_pose}, {NULL, NULL}};
static const fid_object_class pose_class = {.kind = FID_OBJECT_POSE, .name = "Pose", .methods = pose_methods};

void fid_pose_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"pose", make_pose}, {NULL, NULL}};
    fid_object_add_class(L, &pose_class);
    fid_rig_add_methods(L, methods);
}
