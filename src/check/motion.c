#include "check/rules.h"
#include "math/scalar.h"
#include "solve/solve.h"

#include <string.h>

/// How far a frame is from another. The thresholds are those of S209.
typedef struct departure {
    float distance, least_distance; ///< metres
    double degrees;
    float scale; ///< of the axis where it changes most: 0.5 is half as large again
    bool found;
} departure;

static departure find_departure(const fid_rig *rig, fid_frame now, fid_frame from) {
    fid_vec3 s = fid_vec3_div(now.s, from.s);
    departure out = {.distance = fid_vec3_distance(now.t, from.t),
                     .least_distance = rig->thresholds.s209_distance * rig->height,
                     .degrees = fid_degrees(fid_frame_axis_error(now.q, from.q)),
                     .scale = fid_max(fid_max(fabsf(s.x - 1), fabsf(s.y - 1)), fabsf(s.z - 1))};
    // Asked so that what is not a number departs too.
    out.found = !(out.distance <= out.least_distance) || !(out.degrees <= (double)rig->thresholds.s209_angle) ||
                !(out.scale <= rig->thresholds.s209_scale);
    return out;
}

/// What acts on a bone at rest.
typedef struct cause {
    int32_t number; ///< constraints, then pose layers, then drives; -1: nothing
    int32_t origin;
    const char *because;
    fid_text name;
} cause;

/// A pose layer whose channel rests elsewhere than at 0, where it does nothing.
static bool find_layer(const fid_check *check, const fid_pose *pose, int32_t bone, cause *out) {
    const fid_rig *rig = check->rig;
    for (int32_t i = 0; i < rig->layers.count; i++) {
        const fid_layer_def *def = &rig->layers.at[i].def;
        bool acts = pose->effective[fid_program_channel(check->program, def->by)] != 0, names = false;
        for (int32_t j = 0; j < def->poses.count && acts; j++) {
            for (int32_t k = 0; k < def->poses.at[j].count && !names; k++) {
                names = (int32_t)def->poses.at[j].entries[k].bone.handle.slot == bone;
            }
        }
        if (names) {
            out->number = rig->constraints.count + i;
            out->origin = def->origin;
            out->because = ": its channel does not rest at 0";
            fid_text_addf(&out->name, "the pose layer '%s'", rig->layers.at[i].address);
            return true;
        }
    }
    return false;
}

/// A drive that gives a channel of the bone another value than that of rest.
static bool find_drive(const fid_check *check, const fid_pose *pose, int32_t bone, cause *out) {
    const fid_rig *rig = check->rig;
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        if (def->to.kind == FID_CHANNEL_BONE && (int32_t)def->to.owner.slot == bone &&
            pose->effective[fid_program_channel(check->program, def->to)] != fid_axis_rest(def->to.axis)) {
            out->number = rig->constraints.count + rig->layers.count + i;
            out->origin = def->origin;
            fid_text_add(&out->name, "the drive of '");
            fid_rig_add_channel_name(rig, def->to, &out->name);
            fid_text_add(&out->name, "'");
            return true;
        }
    }
    return false;
}

/// The constraint that acts on the bone last.
static void find_constraint(const fid_check *check, int32_t bone, cause *out) {
    const fid_program_bone *at = &check->program->bones[bone];
    int32_t last = at->after > 0 ? at->before + at->layers + at->after - 1 : at->before - 1;
    if (last >= 0) {
        out->number = check->program->ops[at->first_op + last].constraint;
        const fid_constraint *constraint = &check->rig->constraints.at[out->number];
        out->origin = constraint->def.origin;
        out->because =
            constraint->def.kind == FID_CONSTRAINT_IK ? ": its goal does not rest on the end of the chain" : "";
        fid_text_addf(&out->name, "'%s'", constraint->address);
    }
}

/// What moves a bone at rest. Layers and drives come first: of them it is certain.
static cause find_cause(const fid_check *check, const fid_pose *pose, int32_t bone) {
    cause out = {.number = -1, .origin = -1, .because = ""};
    if (!find_layer(check, pose, bone, &out) && !find_drive(check, pose, bone, &out)) {
        find_constraint(check, bone, &out);
    }
    return out;
}

static void report_departure(fid_check *check, int32_t bone, const departure *by, const cause *of) {
    const char *name = check->rig->bones.at[bone].name;
    const fid_thresholds *limits = &check->rig->thresholds;
    fid_check_detail detail = {FID_ERROR, true, by->distance, by->least_distance, NULL, NULL};
    if (!(by->distance <= by->least_distance)) {
        fid_check_add_detail(check, "S209", name, of->origin, &detail, "%s moves bone '%s' by %.3g m at rest%s",
                             of->name.at, name, (double)by->distance, of->because);
    } else if (!(by->degrees <= (double)limits->s209_angle)) {
        detail.value = (float)by->degrees;
        detail.threshold = limits->s209_angle;
        fid_check_add_detail(check, "S209", name, of->origin, &detail, "%s turns bone '%s' by %.3g degrees at rest%s",
                             of->name.at, name, by->degrees, of->because);
    } else {
        detail.value = by->scale;
        detail.threshold = limits->s209_scale;
        fid_check_add_detail(check, "S209", name, of->origin, &detail,
                             "%s changes the scale of bone '%s' by %.3g %% at rest%s", of->name.at, name,
                             100 * (double)by->scale, of->because);
    }
}

/// True where the bone goes along with its parent as it does at rest, and no more.
static bool is_carried(const fid_check *check, const fid_pose *pose, int32_t bone, int32_t parent) {
    fid_frame local = check->program->local[bone], carried = fid_frame_compose(pose->frames[parent], local);
    carried.t = fid_frame_point(pose->frames[parent], local.t);
    carried.s = pose->frames[bone].s;
    return !find_departure(check->rig, pose->frames[bone], carried).found;
}

/// Measures of bones rest anywhere, sliders where their default is: a drive must bring the two together. Bones that it
/// moves have been told, and a weight may rest at any value.
static void check_measures(fid_check *check, const fid_pose *pose, const bool *told) {
    const fid_rig *rig = check->rig;
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        int32_t channel = fid_program_channel(check->program, def->to);
        float value = pose->effective[channel], rest = check->program->channel_rest[channel];
        bool measures = false;
        for (int32_t j = 0; j < def->from.count; j++) {
            measures |= def->from.at[j].kind != FID_FACTOR_CHANNEL;
        }
        // As near as measures of single precision are, in metres or in degrees.
        float most = 1e-4f * fid_max(1, fabsf(rest));
        if (measures && !told[i] && def->to.kind == FID_CHANNEL_SLIDER && !(fabsf(value - rest) <= most)) {
            fid_text name = {0};
            fid_rig_add_channel_name(rig, def->to, &name);
            check->failed |= name.failed;
            fid_check_detail detail = {FID_ERROR, true, fabsf(value - rest), most, NULL, NULL};
            fid_check_add_detail(check, "S209", name.at ? name.at : "", def->origin, &detail,
                                 "the drive of '%s' gives %.6g at rest, where that slider rests at %.6g",
                                 name.at ? name.at : "", (double)value, (double)rest);
            fid_text_clear(&name);
        }
    }
}

void fid_check_rest(fid_check *check) {
    const fid_program *program = check->program;
    const fid_rig *rig = check->rig;
    fid_pose *pose = NULL;
    fid_error err;
    int32_t causes = rig->constraints.count + rig->layers.count + rig->drives.count;
    bool *told = fid_memory_get_zero((size_t)causes + (size_t)program->bone_count + 1, sizeof *told);
    if (!told || fid_pose_new(program, &pose, &err) != FID_OK) {
        fid_memory_free(told);
        check->failed = true;
        return;
    }
    bool *departs = told + causes;
    fid_solve(program, pose);
    for (int32_t i = 0; i < program->bone_count && !check->failed; i++) {
        fid_frame now = pose->frames[i];
        if (i == program->placement) {
            // Its own frame rests whatever it does: it moves the space that all frames are in.
            now = fid_frame_compose(pose->world, program->rest[i]);
            now.t = fid_frame_point(pose->world, program->rest[i].t);
        }
        departure by = find_departure(rig, now, program->rest[i]);
        int32_t parent = program->bones[i].parent;
        departs[i] = by.found;
        // What is only carried along has its finding where the motion begins.
        if (!by.found || (parent >= 0 && departs[parent] && is_carried(check, pose, i, parent))) {
            continue;
        }
        cause of = find_cause(check, pose, i);
        check->failed |= of.name.failed;
        // Of all bones that one cause moves, the first is named.
        if (of.number >= 0 && !told[of.number] && !check->failed) {
            told[of.number] = true;
            report_departure(check, i, &by, &of);
        }
        fid_text_clear(&of.name);
    }
    check_measures(check, pose, told + rig->constraints.count + rig->layers.count);
    fid_memory_free(told);
    fid_pose_free(pose);
}

/// The first bone that is not finite in the world, or -1.
static int32_t find_broken(const fid_pose *pose) {
    for (int32_t i = 0; i < pose->program->bone_count; i++) {
        double m[16];
        fid_pose_world(pose, i, m);
        for (int j = 0; j < 16; j++) {
            if (!(fabs(m[j]) <= 1e300)) {
                return i;
            }
        }
    }
    return -1;
}

static void try_pose(fid_check *check, fid_pose *pose, fid_pose *other, int32_t number, bool *told) {
    const fid_program *program = check->program;
    const fid_rig *rig = check->rig;
    fid_pose_randomly(pose, check->options->seed, number, true);
    fid_solve(program, pose);
    int32_t broken = find_broken(pose);
    fid_check_detail detail = {.severity = FID_ERROR, .pose = pose};
    if (broken >= 0) {
        *told = true;
        fid_check_add_detail(check, "P413", rig->bones.at[broken].name, rig->bones.at[broken].def.origin, &detail,
                             "bone '%s' is not finite in random pose %d", rig->bones.at[broken].name, (int)number);
        return;
    }
    // Another pose has seen what comes later before.
    fid_pose_randomly(other, check->options->seed, check->options->poses - number, true);
    fid_solve(program, other);
    fid_pose_randomly(other, check->options->seed, number, true);
    fid_solve(program, other);
    for (int32_t i = 0; i < program->bone_count && !*told; i++) {
        if (memcmp(&pose->frames[i], &other->frames[i], sizeof *pose->frames) != 0) {
            *told = true;
            fid_check_add_detail(check, "P413", rig->bones.at[i].name, rig->bones.at[i].def.origin, &detail,
                                 "bone '%s' depends on earlier poses in random pose %d", rig->bones.at[i].name,
                                 (int)number);
        }
    }
}

void fid_check_finite(fid_check *check) {
    fid_pose *pose = NULL, *other = NULL;
    fid_error err;
    if (fid_pose_new(check->program, &pose, &err) != FID_OK || fid_pose_new(check->program, &other, &err) != FID_OK) {
        check->failed = true;
    }
    bool told = false;
    for (int32_t i = 0; i < check->options->poses && !check->failed && !told; i++) {
        try_pose(check, pose, other, i, &told);
        fid_check_tried(check, i + 1);
        if (check->options->progress) {
            check->options->progress(check->options->progress_user, i + 1, check->options->poses);
        }
    }
    fid_pose_free(pose);
    fid_pose_free(other);
}
