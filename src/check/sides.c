#include "check/rules.h"
#include "math/scalar.h"
#include "rig/mirror.h"

#include <string.h>

static bool has_tag(const fid_bone_def *def, const char *tag) {
    for (int32_t i = 0; i < def->tags.count; i++) {
        if (strcmp(def->tags.at[i], tag) == 0) {
            return true;
        }
    }
    return false;
}

void fid_check_sides(fid_check *check) {
    const fid_rig *rig = check->rig;
    float least = rig->thresholds.n102_distance * rig->height;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        float x = bone->rest.t.x;
        bool wrong = (bone->def.side == FID_LEFT && x < -least) || (bone->def.side == FID_RIGHT && x > least);
        if (wrong) {
            fid_check_detail detail = {FID_WARNING, true, x, bone->def.side == FID_LEFT ? -least : least, NULL, NULL};
            fid_check_add_detail(check, "N102", bone->name, bone->def.origin, &detail,
                                 "bone '%s' is named %s, but its base lies at x = %.3g m, on the other side",
                                 bone->name, fid_side_names[bone->def.side], (double)x);
        }
    }
}

/// What is `off` degrees off: a warning, or an error from `error` on.
static fid_check_detail judge(double off, float warning, float error) {
    bool worst = off > (double)error;
    return (fid_check_detail){worst ? FID_ERROR : FID_WARNING, true, (float)off, worst ? error : warning, NULL, NULL};
}

void fid_check_aim(fid_check *check) {
    const fid_rig *rig = check->rig;
    const fid_thresholds *limits = &rig->thresholds;
    // The only deform child of each bone, or -2 where there are several.
    int32_t *child = fid_memory_get_zero((size_t)rig->bones.count + 1, sizeof *child);
    if (!child) {
        check->failed = true;
        return;
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        int32_t parent = rig->bones.at[i].parent;
        if (parent >= 0 && rig->bones.at[i].def.role == FID_DEFORM) {
            child[parent] = child[parent] == 0 ? i : -2;
        }
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        if (child[i] <= 0 || bone->def.role != FID_DEFORM || has_tag(&bone->def, "free_aim")) {
            continue;
        }
        fid_vec3 way = fid_vec3_sub(rig->bones.at[child[i]].rest.t, bone->rest.t);
        double off = fid_degrees(fid_vec3_angle(fid_quat_z(bone->rest.q), way));
        if (fid_vec3_length(way) > 1e-4f * rig->height && off > (double)limits->s203_warning) {
            fid_check_detail detail = judge(off, limits->s203_warning, limits->s203_error);
            fid_check_add_detail(check, "S203", bone->name, bone->def.origin, &detail,
                                 "bone '%s' aims %.1f degrees past its only child '%s'", bone->name, off,
                                 rig->bones.at[child[i]].name);
        }
    }
    fid_memory_free(child);
}

/// How far the segments of a bent chain stand off the plane of its largest bend, degrees.
static double off_plane(const fid_bend *bend, fid_vec3d normal) {
    double worst = 0;
    for (int32_t i = 0; i < bend->count; i++) {
        double sine = fabs(fid_vec3d_dot(bend->direction[i], normal));
        worst = fmax(worst, fid_degrees(fid_asin(sine)));
    }
    return worst;
}

void fid_check_planes(fid_check *check) {
    const fid_program *program = check->program;
    const fid_thresholds *limits = &check->rig->thresholds;
    for (int32_t i = 0; i < program->bone_count; i++) {
        for (int32_t j = 0; j < program->bones[i].before; j++) {
            const fid_op *op = &program->ops[program->bones[i].first_op + j];
            if (op->kind != FID_OP_IK || program->iks[op->index].bend.about_axis) {
                continue;
            }
            const fid_constraint *constraint = &check->rig->constraints.at[op->constraint];
            double off = off_plane(&program->iks[op->index].bend, program->iks[op->index].normal);
            if (off > (double)limits->s205_warning) {
                fid_check_detail detail = judge(off, limits->s205_warning, limits->s205_error);
                fid_check_add_detail(check, "S205", constraint->address, constraint->def.origin, &detail,
                                     "the chain of '%s' stands %.2f degrees out of the plane in which it bends",
                                     constraint->address, off);
            }
        }
    }
}

void fid_check_neutral(fid_check *check) {
    const fid_rig *rig = check->rig;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        const fid_quat q = bone->def.rest.q;
        const fid_vec3 s = bone->def.rest.s;
        double length = sqrt((double)fid_quat_dot(q, q));
        if (!(fabs(length - 1) <= 1e-4) || s.x != 1 || s.y != 1 || s.z != 1) {
            fid_check_add(check, "S206", bone->name, bone->def.origin,
                          "the rest frame of bone '%s' is scaled or mirrored", bone->name);
        }
        for (int axis = 0; axis < FID_AXIS_COUNT; axis++) {
            fid_channel channel = {FID_CHANNEL_BONE, (fid_axis)axis, fid_rig_bone_at(rig, i).handle};
            if (!fid_rig_has_channel(rig, channel)) {
                continue; // the placement has one scale only
            }
            fid_channel_info info = fid_rig_channel_info(rig, channel);
            float neutral = fid_axis_rest((fid_axis)axis);
            if (info.rest != neutral || info.min > neutral || info.max < neutral) {
                fid_check_add(check, "S206", bone->name, bone->def.origin,
                              "channel %s of bone '%s' cannot stand at %g, where it rests", fid_axis_names[axis],
                              bone->name, (double)neutral);
                break;
            }
        }
    }
}

void fid_check_symmetry(fid_check *check) {
    const fid_rig *rig = check->rig;
    float most = rig->thresholds.s207_distance * rig->height;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        fid_bone_id id = fid_rig_bone_at(rig, i), other = fid_mirror_bone(rig, id);
        if (bone->def.side != FID_LEFT || other.handle.slot == id.handle.slot) {
            continue;
        }
        fid_frame image = fid_frame_mirror(rig->bones.at[other.handle.slot].rest);
        float distance = fid_vec3_distance(bone->rest.t, image.t);
        double degrees = fid_degrees(fid_frame_axis_error(bone->rest.q, image.q));
        bool apart = distance > most;
        if (apart || degrees > (double)rig->thresholds.s207_angle) {
            fid_check_detail detail = {
                FID_WARNING, true, apart ? distance : (float)degrees, apart ? most : rig->thresholds.s207_angle,
                NULL,        NULL};
            fid_check_add_detail(check, "S207", bone->name, bone->def.origin, &detail,
                                 "bone '%s' and its counterpart '%s' differ by %.3g m and %.3g degrees", bone->name,
                                 rig->bones.at[other.handle.slot].name, (double)distance, degrees);
        }
    }
}
