#include "format/why_text.h"

#include "math/scalar.h"
#include "solve/solve.h"
#include "solve/trace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/// What the steps of a bone are told with.
typedef struct telling {
    const fid_rig *rig;
    fid_pose *pose;
    int32_t bone;
    const fid_origin_style *style;
    fid_text *out;
    fid_frame before;
    int32_t number;
} telling;

enum { DRIVES_MOST = 32 };

static void add_vector(fid_vec3 v, fid_text *out) {
    const float values[3] = {v.x, v.y, v.z};
    for (int i = 0; i < 3; i++) {
        fid_text_add(out, i > 0 ? ", " : "(");
        // Six digits are more than a rig is made with; the last ones of single precision say nothing to people.
        fid_text_addf(out, "%.6g", fabsf(values[i]) < 1e-6f ? 0.0 : (double)values[i]);
    }
    fid_text_add(out, ")");
}

static void add_frame(fid_frame frame, fid_text *out) {
    fid_text_add(out, "base ");
    add_vector(frame.t, out);
    fid_text_add(out, " m, turned ");
    add_vector(fid_quat_to_euler(frame.q, FID_ORDER_XYZ), out);
    fid_text_add(out, " deg, scaled ");
    add_vector(frame.s, out);
}

static bool is_apart(fid_vec3 a, fid_vec3 b, float by) {
    return fabsf(a.x - b.x) > by || fabsf(a.y - b.y) > by || fabsf(a.z - b.z) > by;
}

/// What a step changed: less than a millionth of the height, or of a radian, is nothing.
static void add_change(const telling *to, fid_frame after) {
    fid_text *out = to->out;
    const fid_frame *before = &to->before;
    const char *between = "";
    if (is_apart(before->t, after.t, 1e-6f * to->rig->height)) {
        fid_text_add(out, "moved ");
        add_vector(fid_vec3_sub(after.t, before->t), out);
        fid_text_add(out, " m");
        between = ", ";
    }
    double angle = fid_quat_angle_between(before->q, after.q);
    if (angle > 2e-6) {
        fid_vec3 turn = fid_quat_log(fid_quat_mul(after.q, fid_quat_inverse(before->q)));
        fid_text_addf(out, "%sturned %.6g deg about ", between, fid_degrees(angle));
        add_vector(fid_vec3_scale(turn, 1.0f / fmaxf(fid_vec3_length(turn), 1e-9f)), out);
        between = ", ";
    }
    if (is_apart(before->s, after.s, 1e-6f)) {
        fid_text_addf(out, "%sscaled by ", between);
        add_vector(fid_vec3_div(after.s, before->s), out);
        between = ", ";
    }
    fid_text_add(out, between[0] ? "\n" : "no change\n");
}

static void add_origin(const telling *to, int32_t origin) {
    fid_text_add(to->out, "written at ");
    fid_origin_add(to->rig, origin, to->style, to->out);
    fid_text_add(to->out, "\n");
}

/// A channel that takes part, with the value it has; where it is driven, by what.
static void add_channel(const telling *to, const char *what, fid_channel channel) {
    const fid_rig *rig = to->rig;
    const fid_program *program = to->pose->program;
    int32_t number = fid_program_channel(program, channel);
    float after[DRIVES_MOST];
    int32_t drives = fid_solve_trace_drives(program, to->pose, number, after, DRIVES_MOST), told = 0;
    fid_text_addf(to->out, "       %s", what);
    fid_rig_add_channel_name(rig, channel, to->out);
    fid_text_addf(to->out, " = %.6g", (double)to->pose->effective[number]);
    if (drives > 0) {
        fid_text_addf(to->out, ", posed %.6g", (double)to->pose->value[number]);
    }
    fid_text_add(to->out, "\n");
    for (int32_t i = 0; i < rig->drives.count && told < drives && told < DRIVES_MOST; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        if (fid_channel_is(def->to, channel)) {
            fid_text_addf(to->out, "           a drive makes it %.6g, ", (double)after[told++]);
            add_origin(to, def->origin);
        }
    }
}

static void visit(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    static const char *const acting[] = {"bone", "chain", "to", "poses"};
    const telling *to = user;
    for (int i = 0; i < 4; i++) {
        if (strcmp(role, acting[i]) == 0) {
            return;
        }
    }
    char heading[48];
    snprintf(heading, sizeof heading, "%.40s: ", strcmp(role, "sources") == 0 ? "source" : role);
    const fid_bone *of = fid_rig_bone(to->rig, bone, NULL);
    if (of) {
        fid_text_addf(to->out, "       %s%s\n", heading, of->name);
    } else if (fid_rig_has_channel(to->rig, channel)) {
        add_channel(to, heading, channel);
    }
}

static void add_constraint(telling *to, const fid_trace_step *step) {
    const fid_constraint *constraint = &to->rig->constraints.at[step->op->constraint];
    const fid_constraint_def *def = &constraint->def;
    fid_channel own = {FID_CHANNEL_WEIGHT, 0, fid_rig_constraint_at(to->rig, step->op->constraint).handle};
    bool weighs = fid_rig_has_channel(to->rig, own);
    fid_channel weight = def->weight.channel.kind != FID_CHANNEL_NONE ? def->weight.channel : own;
    fid_text_addf(to->out, "%s (%s the pose", constraint->address, def->apply == FID_AFTER ? "after" : "before");
    if (weighs) {
        float value = to->pose->effective[fid_program_channel(to->pose->program, weight)];
        fid_text_addf(to->out, ", weight %.6g", (double)fid_clamp(value, 0, 1));
    }
    fid_text_add(to->out, "): ");
    add_change(to, step->frame);
    fid_text_add(to->out, "       ");
    add_origin(to, def->origin);
    if (weighs && def->weight.channel.kind == FID_CHANNEL_NONE) {
        float after[1];
        int32_t number = fid_program_channel(to->pose->program, own);
        if (fid_solve_trace_drives(to->pose->program, to->pose, number, after, 1) > 0) {
            add_channel(to, "weight: ", own);
        }
    }
    fid_schema_references(fid_constraint_schemas[def->kind], def, to->rig, visit, to);
}

/// The layer whose `nth` op on the bone this is.
static const fid_layer *find_layer(const telling *to, int32_t nth) {
    fid_handle bone = fid_rig_bone_at(to->rig, to->bone).handle;
    for (int32_t i = 0; i < to->rig->layers.count; i++) {
        const fid_pose_table *poses = &to->rig->layers.at[i].def.poses;
        bool moves = false;
        for (int32_t j = 0; j < poses->count; j++) {
            for (int32_t k = 0; k < poses->at[j].count; k++) {
                fid_handle other = poses->at[j].entries[k].bone.handle;
                moves |= other.slot == bone.slot && other.generation == bone.generation;
            }
        }
        if (moves && nth-- == 0) {
            return &to->rig->layers.at[i];
        }
    }
    return NULL;
}

static void add_layer(telling *to, const fid_trace_step *step) {
    const fid_program_bone *bone = &to->pose->program->bones[to->bone];
    int32_t nth = (int32_t)(step->op - to->pose->program->ops) - bone->first_op - bone->before;
    const fid_layer *layer = find_layer(to, nth);
    fid_text_addf(to->out, "%s (pose layer): ", layer ? layer->address : "a layer");
    add_change(to, step->frame);
    if (layer) {
        fid_text_add(to->out, "       ");
        add_origin(to, layer->def.origin);
        add_channel(to, "by: ", layer->def.by);
    }
}

/// False where nothing poses the bone: there is no such step.
static bool add_posed(telling *to, const fid_trace_step *step) {
    const fid_program *program = to->pose->program;
    fid_text_add(to->out, "its channels: ");
    add_change(to, step->frame);
    int32_t head = to->out->count;
    bool is_quaternion = (to->pose->posed[to->bone] & FID_POSED_QUATERNION) != 0;
    for (int axis = 0; axis < FID_AXIS_COUNT; axis++) {
        fid_channel channel = {FID_CHANNEL_BONE, (fid_axis)axis, fid_rig_bone_at(to->rig, to->bone).handle};
        int32_t number = fid_program_channel(program, channel);
        bool turns = axis >= FID_ROTATION_X && axis < FID_SCALE_X, driven = fid_program_is_driven(program, number);
        bool posed = to->pose->effective[number] != (axis >= FID_SCALE_X ? 1.0f : 0.0f);
        if (driven || (posed && !(is_quaternion && turns))) {
            add_channel(to, "", channel);
        }
    }
    if (is_quaternion) {
        fid_text_add(to->out, "       rotation, posed as a quaternion: ");
        add_vector(fid_pose_angles(to->pose, to->bone), to->out);
        fid_text_add(to->out, " deg\n");
    }
    return to->out->count > head;
}

/// False for a bone without a parent.
static bool add_taken(telling *to, const fid_trace_step *step) {
    static const char *const words[] = {"translation", "rotation", "scale"};
    const fid_bone *bone = &to->rig->bones.at[to->bone];
    if (bone->parent < 0) {
        return false;
    }
    fid_text_addf(to->out, "taken from %s (", to->rig->bones.at[bone->parent].name);
    bool any = false;
    for (int i = 0; i < 3; i++) {
        if (bone->def.takes >> (3 * i) & 1u) {
            fid_text_addf(to->out, "%s%s", any ? ", " : "", words[i]);
            any = true;
        }
    }
    fid_text_add(to->out, any ? "): " : "nothing): ");
    add_change(to, step->frame);
    return true;
}

/// A step with its number; none where there is nothing to tell.
static void add_step(telling *to, const fid_trace_step *step) {
    int32_t begin = to->out->count;
    bool is_there = true;
    fid_text_addf(to->out, "%3d. ", (int)to->number + 1);
    if (step->kind == FID_TRACE_TAKEN) {
        is_there = add_taken(to, step);
    } else if (step->kind == FID_TRACE_POSED) {
        is_there = add_posed(to, step);
    } else if (step->op->kind == FID_OP_LAYER) {
        add_layer(to, step);
    } else {
        add_constraint(to, step);
    }
    to->number += is_there;
    if (!is_there && !to->out->failed) {
        to->out->count = begin;
        to->out->at[begin] = '\0';
    }
}

static void note(void *user, const fid_trace_step *step) {
    telling *to = user;
    if (step->kind == FID_TRACE_REST || step->kind == FID_TRACE_DONE) {
        fid_text_add(to->out, step->kind == FID_TRACE_REST ? "     at rest: " : "     so it is: ");
        add_frame(step->frame, to->out);
        fid_text_add(to->out, "\n");
    } else {
        add_step(to, step);
    }
    to->before = step->frame;
}

void fid_why_add(const fid_rig *rig, fid_pose *pose, int32_t bone, const fid_origin_style *style, fid_text *out) {
    telling to = {rig, pose, bone, style, out, {{0, 0, 0}, {0, 0, 0, 1}, {1, 1, 1}}, 0};
    const fid_bone *of = &rig->bones.at[bone];
    fid_text_addf(out, "%s (%s), written at ", of->name, of->address);
    fid_origin_add(rig, of->def.origin, style, out);
    fid_text_add(out, bone == pose->program->placement ? "; it places the character, and rests in the rig's own space\n"
                                                       : "\n");
    fid_solve_trace(pose->program, pose, bone, note, &to);
}
