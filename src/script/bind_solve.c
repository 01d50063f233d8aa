#include "script/bind_solve.h"

#include "math/scalar.h"
#include "script/bind_bone.h"
#include "script/bind_channel.h"
#include "script/bind_constraint.h"
#include "script/bind_object.h"
#include "script/bind_pose.h"
#include "script/bind_rig.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/scope.h"
#include "script/value.h"
#include "solve/solve.h"

#include <stdio.h>
#include <string.h>

/// A program, with a pose to solve in.
typedef struct program_object {
    fid_program *program;
    fid_pose *pose;
    uint64_t edits; ///< of the rig when it was compiled
    ptrdiff_t held;
} program_object;

/// What came out of a solve, copied, so that it lives in Lua's own memory. Its further user values are the owner of the
/// program and a list of notes.
typedef struct solved_object {
    int32_t bone_count, channel_count, ik_count;
    fid_frame world;
    uint32_t *generations; ///< by bone
    fid_frame *frames;     ///< by bone
    float *effective;      ///< by channel
    fid_ik_result *iks;    ///< by ik of the program
} solved_object;

enum { SOLVED_PROGRAM = 2, SOLVED_NOTES = 3 };

static int free_program(lua_State *L) {
    program_object *object = fid_object_test(L, 1, FID_OBJECT_PROGRAM);
    if (object != NULL) {
        fid_pose_free(object->pose);
        fid_program_free(object->program);
        object->pose = NULL;
        object->program = NULL;
        fid_host_hold(fid_host_of(L), -object->held);
        object->held = 0;
    }
    return 0;
}

static int free_report(lua_State *L) {
    fid_report *report = fid_object_test(L, 1, FID_OBJECT_REPORT);
    if (report != NULL) {
        fid_report_clear(report);
    }
    return 0;
}

static const luaL_Reg program_meta[] = {{"__gc", free_program}, {NULL, NULL}};
static const fid_object_class program_class = {.kind = FID_OBJECT_PROGRAM, .name = "program", .meta = program_meta};
static const luaL_Reg report_meta[] = {{"__gc", free_report}, {NULL, NULL}};
static const fid_object_class report_class = {.kind = FID_OBJECT_REPORT, .name = "report", .meta = report_meta};

fid_report *fid_report_push(lua_State *L) { return fid_object_new(L, FID_OBJECT_REPORT, sizeof(fid_report), 0, 0); }

_Noreturn void fid_report_raise(lua_State *L, const fid_report *report) {
    fid_error err;
    for (int32_t i = 0; i < report->findings.count; i++) {
        const fid_finding *finding = &report->findings.at[i];
        if (finding->severity == FID_ERROR) {
            const char *file = finding->place_count > 0 ? finding->places[0].file : NULL;
            if (file != NULL && finding->places[0].line > 0) {
                fid_fail(&err, FID_UNSOUND, "%s (%s:%d)", finding->message, file, (int)finding->places[0].line);
            } else if (file != NULL && finding->subject != NULL && finding->subject[0] == '/') {
                fid_fail(&err, FID_UNSOUND, "%s (%s: %s)", finding->message, file, finding->subject);
            } else {
                fid_fail(&err, FID_UNSOUND, "%s", finding->message);
            }
            fid_error_about(&err, finding->subject);
            fid_raise_with(L, &err, finding->code, finding->hint);
        }
    }
    fid_no_memory(&err);
    fid_raise(L, &err);
}

fid_pose *fid_program_need(lua_State *L, fid_rig *rig) {
    fid_box_push(L, rig);
    int box = lua_gettop(L);
    lua_getiuservalue(L, box, FID_BOX_PROGRAM);
    program_object *object = fid_object_test(L, -1, FID_OBJECT_PROGRAM);
    if (object != NULL && object->edits == rig->edits) {
        lua_remove(L, box);
        return object->pose;
    }
    lua_settop(L, box);
    fid_report *report = fid_report_push(L);
    object = fid_object_new(L, FID_OBJECT_PROGRAM, sizeof *object, 0, 0);
    fid_error err;
    fid_host_charge(L, (int64_t)1000 * rig->bones.count);
    fid_code code = fid_program_compile(rig, report, &object->program, &err);
    if (code == FID_UNSOUND) {
        fid_report_raise(L, report);
    }
    fid_object_check(L, NULL, code, &err);
    fid_report_clear(report);
    fid_object_check(L, NULL, fid_pose_new(object->program, &object->pose, &err), &err);
    object->edits = rig->edits;
    object->held = (ptrdiff_t)(2 * object->program->size);
    fid_host_hold(fid_host_of(L), object->held);
    lua_pushvalue(L, -1);
    lua_setiuservalue(L, box, FID_BOX_PROGRAM);
    lua_replace(L, box);
    lua_settop(L, box);
    return object->pose;
}

/// Notes in the list at `list` that a value was held in its range.
static void add_note(lua_State *L, int list, const fid_rig *rig, const fid_pose *pose, const fid_pose_entry *entry) {
    fid_text name = {0};
    fid_channel channel = entry->channel;
    if (entry->is_rotation) {
        fid_text_addf(&name, "%s.rotation: clamped to the ends of its ranges",
                      fid_rig_bone(rig, entry->bone, NULL)->name);
    } else {
        fid_rig_add_channel_name(rig, channel, &name);
        fid_text_add(&name, ": clamped to ");
        fid_text_add_number(&name, pose->value[fid_program_channel(pose->program, channel)]);
        fid_text_add(&name, ", the end of the channel's range");
    }
    fid_object_push_text(L, &name);
    lua_rawseti(L, list, (lua_Integer)lua_rawlen(L, list) + 1);
}

/// Sets the entries of a pose and notes what was held in its range.
static void apply(lua_State *L, const fid_pose_row *row, fid_pose *pose, int notes) {
    fid_error err;
    fid_pose_reset(pose);
    for (int32_t i = 0; i < row->count; i++) {
        const fid_pose_entry *entry = &row->at[i];
        const float *v = entry->value;
        bool clamped = false;
        fid_code code;
        if (entry->is_rotation) {
            int32_t bone = fid_rig_bone_index(row->rig, entry->bone);
            code = bone >= 0 ? fid_pose_set_rotation(pose, bone, (fid_quat){v[0], v[1], v[2], v[3]}, &clamped, &err)
                             : fid_fail(&err, FID_STALE, "the pose has a bone that is gone");
        } else {
            code = fid_rig_has_channel(row->rig, entry->channel)
                       ? fid_pose_set(pose, fid_program_channel(pose->program, entry->channel), v[0], &clamped, &err)
                       : fid_fail(&err, FID_STALE, "the pose has a channel that is gone");
        }
        fid_object_check(L, NULL, code, &err);
        if (clamped) {
            add_note(L, notes, row->rig, pose, entry);
        }
    }
}

static size_t round_up(size_t size) { return (size + 7) & ~(size_t)7; }

/// Pushes the result of the solved `pose`; the owner of its program is at `owner`.
static void push_solved(lua_State *L, fid_rig *rig, const fid_pose *pose, int owner, int notes) {
    const fid_program *program = pose->program;
    size_t bones = (size_t)program->bone_count, channels = (size_t)program->channel_count;
    size_t frames = round_up(sizeof(solved_object));
    size_t generations = frames + round_up(bones * sizeof(fid_frame));
    size_t effective = generations + round_up(bones * sizeof(uint32_t));
    size_t iks = effective + round_up(channels * sizeof(float));
    size_t size = iks + (size_t)program->ik_count * sizeof(fid_ik_result);
    fid_box_push(L, rig);
    char *block = fid_object_new(L, FID_OBJECT_SOLVED, size, lua_gettop(L), 2);
    solved_object *solved = (solved_object *)(void *)block;
    solved->bone_count = program->bone_count;
    solved->channel_count = program->channel_count;
    solved->ik_count = program->ik_count;
    solved->world = pose->world;
    solved->frames = (fid_frame *)(void *)(block + frames);
    solved->generations = (uint32_t *)(void *)(block + generations);
    solved->effective = (float *)(void *)(block + effective);
    solved->iks = (fid_ik_result *)(void *)(block + iks);
    memcpy(solved->frames, pose->frames, bones * sizeof(fid_frame));
    memcpy(solved->effective, pose->effective, channels * sizeof(float));
    for (int32_t i = 0; i < program->bone_count; i++) {
        solved->generations[i] = fid_rig_bone_at(rig, i).handle.generation;
    }
    for (int32_t i = 0; i < program->ik_count; i++) {
        solved->iks[i] = fid_solve_ik_result(program, pose, i);
    }
    lua_pushvalue(L, owner);
    lua_setiuservalue(L, -2, SOLVED_PROGRAM);
    lua_pushvalue(L, notes);
    lua_setiuservalue(L, -2, SOLVED_NOTES);
}

fid_pose *fid_pose_apply(lua_State *L, int index, const char *call, fid_rig *rig, int notes) {
    fid_pose_row row = {rig, 0, NULL};
    if (!lua_isnil(L, index) && !fid_pose_get(L, index, &row)) {
        fid_pose_push(L, index, call, rig);
        lua_replace(L, index);
        fid_pose_get(L, index, &row);
    }
    if (row.rig != rig) {
        fid_raisef(L, FID_INVALID, NULL, "%s: the pose belongs to another rig", call);
    }
    fid_pose *pose = fid_program_need(L, rig);
    apply(L, &row, pose, notes);
    return pose;
}

static int solve(lua_State *L) {
    static const char call[] = "rig:solve()";
    fid_rig *rig = fid_rig_begin(L, call);
    lua_createtable(L, 0, 0);
    fid_pose *pose = fid_pose_apply(L, 2, call, rig, 3);
    fid_host_charge(L, (int64_t)100 * rig->bones.count);
    fid_solve(pose->program, pose);
    push_solved(L, rig, pose, 4, 3);
    return 1;
}

static const fid_program *get_program(lua_State *L) {
    lua_getiuservalue(L, 1, SOLVED_PROGRAM);
    const program_object *object = lua_touserdata(L, -1);
    lua_pop(L, 1);
    return object->program;
}

/// The Solved at 1 and the index of the bone (or name) at 2.
static const solved_object *need_solved(lua_State *L, const char *call, fid_rig **rig, int32_t *bone) {
    lua_settop(L, 2);
    const solved_object *solved = fid_object_need(L, 1, FID_OBJECT_SOLVED, call);
    fid_bone_id id = {{0, 0}};
    fid_rig *owner = NULL;
    fid_error err;
    *rig = fid_object_rig(L, 1);
    if (lua_type(L, 2) == LUA_TSTRING) {
        id = fid_rig_find_bone(*rig, lua_tostring(L, 2));
        owner = *rig;
        if (fid_handle_is_null(id.handle)) {
            fid_rig_no_bone(*rig, lua_tostring(L, 2), &err);
            fid_raise(L, &err);
        }
    } else if (!fid_bone_get(L, 2, &owner, &id)) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a Bone or the name of one, not %s", call, fid_object_describe(L, 2));
    }
    *bone = (int32_t)id.handle.slot;
    if (owner != *rig || *bone >= solved->bone_count || solved->generations[*bone] != id.handle.generation) {
        fid_raisef(L, FID_STALE, NULL, "%s: the bone was not there when the pose was solved, or is of another rig",
                   call);
    }
    return solved;
}

/// The matrix of a bone in the world, as the running code sees it.
static void get_matrix(lua_State *L, const solved_object *solved, int32_t bone, double out[16]) {
    fid_frame_to_world(solved->world, solved->frames[bone], out);
    if (fid_scope_now(L)->mirrored) {
        for (int i = 0; i < 16; i++) {
            // Row x or column x, but not both.
            out[i] = (i % 4 == 0) != (i / 4 == 0) ? 0.0 - out[i] : out[i];
        }
    }
}

static int push_point(lua_State *L, const char *call, bool at_tip) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, call, &rig, &bone);
    double m[16];
    get_matrix(L, solved, bone, m);
    double length = at_tip ? (double)rig->bones.at[bone].def.length : 0;
    fid_vec_push(L, (fid_vec3d){m[8] * length + m[12], m[9] * length + m[13], m[10] * length + m[14]});
    return 1;
}

static int solved_base(lua_State *L) { return push_point(L, "solved:base()", false); }
static int solved_tip(lua_State *L) { return push_point(L, "solved:tip()", true); }

static int solved_matrix(lua_State *L) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, "solved:matrix()", &rig, &bone);
    double m[16];
    get_matrix(L, solved, bone, m);
    lua_createtable(L, 16, 0);
    for (int i = 0; i < 16; i++) {
        lua_pushnumber(L, m[i]);
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

/// The rotation of a bone in the world.
static fid_quat get_rotation(lua_State *L, const solved_object *solved, int32_t bone) {
    fid_quat q = fid_quat_normalize(fid_quat_mul(solved->world.q, solved->frames[bone].q));
    return fid_scope_now(L)->mirrored ? fid_quat_mirror(q) : q;
}

static int solved_rotation(lua_State *L) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, "solved:rotation()", &rig, &bone);
    fid_order order = (fid_order)rig->bones.at[bone].def.rotation_order;
    fid_vec_push(L, fid_vec3d_from(fid_quat_to_euler(get_rotation(L, solved, bone), order)));
    return 1;
}

static int solved_frame(lua_State *L) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, "solved:frame()", &rig, &bone);
    double m[16];
    get_matrix(L, solved, bone, m);
    fid_vec3d at = {m[12], m[13], m[14]};
    fid_frame_push(L, (fid_frame){fid_vec3d_round(at), get_rotation(L, solved, bone), {1, 1, 1}});
    return 1;
}

static int solved_quaternion(lua_State *L) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, "solved:quaternion()", &rig, &bone);
    fid_quat q = fid_quat_canonical(get_rotation(L, solved, bone));
    const float values[] = {q.x, q.y, q.z, q.w};
    lua_createtable(L, 4, 0);
    for (int i = 0; i < 4; i++) {
        lua_pushnumber(L, (lua_Number)values[i]);
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

static int solved_scale(lua_State *L) {
    fid_rig *rig = NULL;
    int32_t bone = 0;
    const solved_object *solved = need_solved(L, "solved:scale()", &rig, &bone);
    fid_vec_push(L, fid_vec3d_scale(fid_vec3d_from(solved->frames[bone].s), (double)solved->world.s.x));
    return 1;
}

/// The effective value of a channel.
static int solved_channel(lua_State *L) {
    static const char call[] = "solved:channel()";
    lua_settop(L, 2);
    const solved_object *solved = fid_object_need(L, 1, FID_OBJECT_SOLVED, call);
    fid_rig *rig = fid_object_rig(L, 1), *owner = rig;
    fid_channel channel;
    fid_error err;
    if (lua_type(L, 2) == LUA_TSTRING) {
        fid_object_check(L, call, fid_rig_find_channel(rig, lua_tostring(L, 2), &channel, &err), &err);
    } else if (!fid_channel_get(L, 2, &owner, &channel)) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes a Channel or the name of one, not %s", call,
                   fid_object_describe(L, 2));
    }
    const fid_program *program = get_program(L);
    int32_t slot = (int32_t)channel.owner.slot;
    int32_t known = channel.kind == FID_CHANNEL_BONE     ? program->bone_count
                    : channel.kind == FID_CHANNEL_SLIDER ? program->slider_count
                                                         : program->constraint_count;
    if (owner != rig || slot >= known) {
        fid_raisef(L, FID_STALE, NULL, "%s: the channel was not there when the pose was solved, or is of another rig",
                   call);
    }
    double value = (double)solved->effective[fid_program_channel(program, channel)];
    bool turns = channel.kind == FID_CHANNEL_BONE && (channel.axis == FID_TRANSLATION_X ||
                                                      channel.axis == FID_ROTATION_Y || channel.axis == FID_ROTATION_Z);
    lua_pushnumber(L, turns && fid_scope_now(L)->mirrored ? 0.0 - value : value);
    return 1;
}

/// The ik of the program that a constraint became, or -1.
static int32_t find_ik(const fid_program *program, int32_t constraint) {
    for (int32_t i = 0; i < program->bone_count; i++) {
        const fid_program_bone *bone = &program->bones[i];
        for (int32_t k = 0; k < bone->before + bone->after; k++) {
            const fid_op *op = &program->ops[bone->first_op + k];
            if (op->kind == FID_OP_IK && op->constraint == constraint) {
                return op->index;
            }
        }
    }
    return -1;
}

/// Pushes the angle at every joint of a solved chain, degrees.
static void push_bends(lua_State *L, const fid_rig *rig, const fid_program *program, const solved_object *solved,
                       const fid_program_ik *ik) {
    const fid_program_chain *chain = &program->chains[ik->chain];
    const fid_chain_bone *bones = program->chain_bones + chain->first;
    int32_t segments = chain->with_end ? chain->count - 1 : chain->count;
    fid_vec3 before = {0, 0, 0};
    lua_createtable(L, segments, 0);
    for (int32_t i = 0; i < segments; i++) {
        int32_t bone = bones[i].bone;
        fid_vec3 tip = i + 1 < chain->count
                           ? solved->frames[bones[i + 1].bone].t
                           : fid_frame_point(solved->frames[bone], (fid_vec3){0, 0, rig->bones.at[bone].def.length});
        fid_vec3 segment = fid_vec3_sub(tip, solved->frames[bone].t);
        if (i > 0) {
            lua_pushnumber(L, fid_vec3_angle(before, segment) * 180.0 / 3.14159265358979323846);
            lua_rawseti(L, -2, i);
        }
        before = segment;
    }
}

static int solved_report(lua_State *L) {
    static const char call[] = "solved:report()";
    lua_settop(L, 2);
    const solved_object *solved = fid_object_need(L, 1, FID_OBJECT_SOLVED, call);
    fid_rig *rig = fid_object_rig(L, 1), *owner = NULL;
    fid_constraint_id id = {{0, 0}};
    if (!fid_constraint_get(L, 2, &owner, &id)) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes the Constraint that rig:ik{} gave, not %s", call,
                   fid_object_describe(L, 2));
    }
    const fid_program *program = get_program(L);
    int32_t ik = owner == rig ? find_ik(program, fid_rig_constraint_index(rig, id)) : -1;
    if (ik < 0) {
        fid_raisef(L, FID_INVALID, NULL, "%s takes an ik that was there when the pose was solved", call);
    }
    lua_createtable(L, 0, 4);
    lua_pushnumber(L, (lua_Number)solved->iks[ik].error);
    lua_setfield(L, -2, "error");
    lua_pushnumber(L, (lua_Number)solved->iks[ik].reach);
    lua_setfield(L, -2, "reach");
    lua_pushnumber(L, (lua_Number)solved->iks[ik].stretch);
    lua_setfield(L, -2, "stretch");
    push_bends(L, rig, program, solved, &program->iks[ik]);
    lua_setfield(L, -2, "bends");
    return 1;
}

static const char *const attributes[] = {"notes", NULL};

static void get_attribute(lua_State *L, int attribute) {
    (void)attribute;
    lua_getiuservalue(L, 1, SOLVED_NOTES);
}

static const luaL_Reg solved_methods[] = {{"base", solved_base},
                                          {"tip", solved_tip},
                                          {"frame", solved_frame},
                                          {"matrix", solved_matrix},
                                          {"rotation", solved_rotation},
                                          {"scale", solved_scale},
                                          {"channel", solved_channel},
                                          {"report", solved_report},
                                          {"quaternion", solved_quaternion},
                                          {NULL, NULL}};
static const fid_object_class solved_class = {.kind = FID_OBJECT_SOLVED,
                                              .name = "Solved",
                                              .attributes = attributes,
                                              .get = get_attribute,
                                              .methods = solved_methods};

void fid_solve_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"solve", solve}, {NULL, NULL}};
    fid_object_add_class(L, &program_class);
    fid_object_add_class(L, &report_class);
    fid_object_add_class(L, &solved_class);
    fid_rig_add_methods(L, methods);
}
