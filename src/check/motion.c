#include "check/rules.h"
#include "math/scalar.h"
#include "solve/solve.h"

#include <string.h>

/// The constraint that moves a bone at rest: the last one that acts on it, or -1.
static int32_t mover(const fid_program *program, int32_t bone) {
    const fid_program_bone *at = &program->bones[bone];
    int32_t count = at->before + at->after;
    return count > 0 ? program->ops[at->first_op + count - 1].constraint : -1;
}

static void report_mover(fid_check *check, int32_t bone, int32_t index, float distance, double degrees) {
    const fid_rig *rig = check->rig;
    const fid_constraint *constraint = &rig->constraints.at[index];
    bool turns = distance <= 1e-5f * rig->height;
    fid_check_detail detail = {FID_ERROR, true, turns ? (float)degrees : distance, turns ? 0.01f : 1e-5f * rig->height,
                               NULL};
    const char *because =
        constraint->def.kind == FID_CONSTRAINT_IK ? ": its goal does not rest on the end of the chain" : "";
    if (turns) {
        fid_check_add_detail(check, "S209", rig->bones.at[bone].name, constraint->def.origin, &detail,
                             "'%s' turns bone '%s' by %.3g degrees at rest%s", constraint->address,
                             rig->bones.at[bone].name, degrees, because);
    } else {
        fid_check_add_detail(check, "S209", rig->bones.at[bone].name, constraint->def.origin, &detail,
                             "'%s' moves bone '%s' by %.3g m at rest%s", constraint->address, rig->bones.at[bone].name,
                             (double)distance, because);
    }
}

void fid_check_rest(fid_check *check) {
    const fid_program *program = check->program;
    const fid_rig *rig = check->rig;
    fid_pose *pose = NULL;
    fid_error err;
    bool *told = fid_memory_get_zero((size_t)rig->constraints.count + 1, sizeof *told);
    if (!told || fid_pose_new(program, &pose, &err) != FID_OK) {
        fid_memory_free(told);
        check->failed = true;
        return;
    }
    fid_solve(program, pose);
    for (int32_t i = 0; i < program->bone_count; i++) {
        float distance = fid_vec3_distance(pose->frames[i].t, program->rest[i].t);
        double degrees = fid_degrees(fid_frame_axis_error(pose->frames[i].q, program->rest[i].q));
        int32_t by = mover(program, i);
        // What is only carried along has its finding where the motion begins; of a chain one bone is named.
        if (by >= 0 && !told[by] && (!(distance <= 1e-5f * rig->height) || !(degrees <= 0.01))) {
            told[by] = true;
            report_mover(check, i, by, distance, degrees);
        }
    }
    fid_memory_free(told);
    fid_pose_free(pose);
}

/// splitmix64 (G. Steele, D. Lea, C. Flood 2014): the same numbers on every machine.
static uint64_t next_random(uint64_t *state) {
    uint64_t z = *state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return z ^ z >> 31;
}

static double random_unit(uint64_t *state) { return (double)(next_random(state) >> 11) / 9007199254740992.0; }

/// A value for a channel: within its range, one in ten at the bounds of what may be set at all.
static float any_value(const fid_program *program, int32_t channel, uint64_t *state) {
    double r = random_unit(state);
    bool wild = random_unit(state) < 0.1;
    float lo = program->channel_min[channel], hi = program->channel_max[channel];
    if (channel < program->bone_count * FID_AXIS_COUNT) {
        int32_t group = channel % FID_AXIS_COUNT / 3;
        float most = group == 0   ? (wild ? 1e4f : 0.5f) * program->height
                     : group == 1 ? (wild ? 1e5f : 180)
                     : wild       ? 1e3f
                                  : 2;
        lo = fid_max(lo, group == 2 ? (wild ? 1e-3f : 0.5f) : -most);
        hi = fid_min(hi, most);
    }
    if (hi < lo) {
        return fid_clamp(program->channel_rest[channel], hi, lo);
    }
    return wild ? (r < 0.5 ? lo : hi) : (float)((double)lo + r * ((double)hi - (double)lo));
}

static void set_random(const fid_program *program, fid_pose *pose, uint64_t seed, int32_t number) {
    uint64_t state = (seed << 32) + (uint64_t)number;
    fid_pose_reset(pose);
    for (int32_t i = 0; i < program->channel_count; i++) {
        if (program->animatable[i]) {
            // Values come from inside the range, so that nothing is refused.
            float value = any_value(program, i, &state);
            fid_code code = fid_pose_set(pose, i, value, NULL, NULL);
            (void)code;
        }
    }
    fid_solve(program, pose);
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
    set_random(program, pose, check->options->seed, number);
    int32_t broken = find_broken(pose);
    fid_check_detail detail = {.severity = FID_ERROR, .pose = pose};
    if (broken >= 0) {
        *told = true;
        fid_check_add_detail(check, "P413", rig->bones.at[broken].name, rig->bones.at[broken].def.origin, &detail,
                             "bone '%s' is not finite in random pose %d", rig->bones.at[broken].name, (int)number);
        return;
    }
    // Another pose has seen what comes later before.
    set_random(program, other, check->options->seed, check->options->poses - number);
    set_random(program, other, check->options->seed, number);
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
        check->report->poses_tried++;
    }
    fid_pose_free(pose);
    fid_pose_free(other);
}
