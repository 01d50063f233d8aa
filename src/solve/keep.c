#include "solve/keep.h"

#include "solve/context.h"

#include <string.h>

/// Whether the bone rides on spaces, and this channel chooses among them or is the share of one.
static bool rides_by(const fid_program *program, int32_t bone, int32_t channel) {
    const fid_op *ops = program->ops + program->bones[bone].first_op;
    for (int32_t i = 0; i < program->bones[bone].before; i++) {
        const fid_program_spaces *spaces = &program->spaces[ops[i].kind == FID_OP_SPACES ? ops[i].index : 0];
        if (ops[i].kind != FID_OP_SPACES) {
            continue;
        }
        bool found = spaces->by == channel;
        for (int32_t k = 0; k < spaces->count && spaces->by < 0; k++) {
            found |= program->space_choices[spaces->first + k].share.channel == channel;
        }
        if (found) {
            return true;
        }
    }
    return false;
}

bool fid_pose_rides(const fid_program *program, int32_t channel) {
    for (int32_t bone = 0; bone < program->bone_count; bone++) {
        if (rides_by(program, bone, channel)) {
            return true;
        }
    }
    return false;
}

const fid_program_match *fid_pose_find_match(const fid_program *program, int32_t slider, float value) {
    for (int32_t i = 0; i < program->match_count; i++) {
        if (program->matches[i].slider == slider && program->matches[i].value == value) {
            return &program->matches[i];
        }
    }
    return NULL;
}

/// Puts the channels of a bone that may be posed back to rest.
static void neutralize(fid_pose *pose, int32_t bone) {
    const fid_program *program = pose->program;
    for (int32_t i = bone * FID_AXIS_COUNT; i < (bone + 1) * FID_AXIS_COUNT; i++) {
        if (program->animatable[i]) {
            float rest = fid_clamp(program->channel_rest[i], program->channel_min[i], program->channel_max[i]);
            // Rest, and what a range makes of it, is always taken.
            fid_code code = fid_pose_set(pose, i, rest, NULL, NULL);
            (void)code;
        }
    }
    fid_solve(program, pose);
}

/// The direction in which a chain bends at rest: of the joint that rests farthest off its axis, in the first bone's
/// rest space.
static fid_vec3 rest_bend(const fid_program_ik *ik) {
    fid_vec3d off = ik->bend.about_axis ? fid_vec3d_cross(ik->axis, ik->normal) : ik->steady_off;
    return fid_vec3d_round(off);
}

/// The part of a vector that is square to a unit axis.
static fid_vec3 off_axis(fid_vec3 v, fid_vec3 axis) {
    return fid_vec3_sub(v, fid_vec3_scale(axis, fid_vec3_dot(v, axis)));
}

/// Where the pole of an ik belongs so that the chain bends as it did; false where goal and base meet.
static bool find_pole(const fid_program *program, fid_pose *pose, const fid_frame *before, const fid_program_step *step,
                      fid_vec3 *out) {
    const fid_program_ik *ik = &program->iks[step->ik];
    const fid_chain_bone *bones = program->chain_bones + program->chains[ik->chain].first;
    int32_t first = bones[0].bone;
    fid_frame rest = program->rest[first];
    fid_vec3 base = fid_solve_offered(program, pose, first).t;
    fid_vec3 way = fid_vec3_sub(fid_source_frame(pose, &ik->goal).t, base);
    float length = (float)ik->longest;
    if (fid_vec3_length(way) < 1e-6f * length) {
        return false;
    }
    fid_vec3 along = fid_vec3_normalize(way, (fid_vec3){0, 0, 1});
    fid_vec3 joint = step->like >= 0 ? before[step->like].t : before[bones[ik->steady].bone].t;
    fid_vec3 bend = off_axis(fid_vec3_sub(joint, base), along);
    if (fid_vec3_length(bend) < 1e-3f * length) {
        // So straight a chain tells by its turn about itself where it would bend.
        fid_quat turn = before[first].q;
        if (step->like >= 0) {
            turn =
                fid_quat_mul(fid_quat_mul(before[step->like].q, fid_quat_inverse(program->rest[step->like].q)), rest.q);
        }
        bend = off_axis(fid_quat_rotate(turn, rest_bend(ik)), along);
    }
    if (fid_vec3_length(bend) < 1e-6f * length) {
        return false;
    }
    // From the bend to the pole it is as far about the axis as at rest, and the pole stands as far off and along.
    fid_vec3 axis = fid_vec3d_round(ik->axis);
    fid_vec3 pole = fid_quat_rotate(fid_quat_inverse(rest.q), fid_vec3_sub(ik->pole.rest.t, rest.t));
    double turn = fid_vec3d_turn(fid_vec3d_from(rest_bend(ik)), ik->pole_off, ik->axis);
    fid_vec3 off = fid_quat_rotate(fid_quat_about(along, turn), fid_vec3_normalize(bend, bend));
    float distance = fid_vec3_length(off_axis(pole, axis));
    *out = fid_vec3_add(base,
                        fid_vec3_add(fid_vec3_scale(along, fid_vec3_dot(pole, axis)), fid_vec3_scale(off, distance)));
    return true;
}

static fid_reached do_step(const fid_program *program, fid_pose *pose, const fid_frame *before,
                           const fid_program_step *step) {
    fid_frame wanted = pose->frames[step->bone];
    if (step->neutral) {
        neutralize(pose, step->bone);
        return (fid_reached){0};
    }
    if (step->ik >= 0) {
        return find_pole(program, pose, before, step, &wanted.t)
                   ? fid_pose_reach(program, pose, step->bone, wanted, FID_MASK_TRANSLATION)
                   : (fid_reached){0};
    }
    if (step->like == step->bone) {
        return fid_pose_reach(program, pose, step->bone, before[step->bone], FID_MASK_ALL);
    }
    // Scale stays as it is posed: what a stretched bone leads does not stretch.
    fid_frame like = before[step->like];
    wanted.t = fid_frame_point(like, step->relation.t);
    wanted.q = fid_quat_renormalize(fid_quat_mul(like.q, step->relation.q));
    return fid_pose_reach(program, pose, step->bone, wanted, FID_MASK_TRANSLATION | FID_MASK_ROTATION);
}

/// Makes up for a slider that was set.
static void keep(const fid_program *program, fid_pose *pose, const fid_frame *before, int32_t slider,
                 fid_keep_visit visit, void *user) {
    const fid_program_match *match = fid_pose_find_match(program, slider, pose->value[slider]);
    fid_solve(program, pose);
    for (int32_t i = 0; match != NULL && i < match->count; i++) {
        const fid_program_step *step = &program->match_steps[match->first + i];
        fid_reached reached = do_step(program, pose, before, step);
        if (visit != NULL) {
            visit(user, step->bone, &reached);
        }
    }
    for (int32_t i = 0; match == NULL && i < program->step_count; i++) {
        int32_t bone = program->steps[i];
        if (bone < program->bone_count && rides_by(program, bone, slider)) {
            fid_reached reached = fid_pose_reach(program, pose, bone, before[bone], FID_MASK_ALL);
            if (visit != NULL) {
                visit(user, bone, &reached);
            }
        }
    }
    fid_solve(program, pose);
}

fid_code fid_pose_switch(const fid_program *program, fid_pose *pose, int32_t slider, float value, fid_frame *before,
                         fid_keep_visit visit, void *user, fid_error *err) {
    float low = program->channel_min[slider], high = program->channel_max[slider];
    if (value < low || value > high) {
        return fid_fail(err, FID_RANGE, "the value is beyond the channel's range, %g to %g", (double)low, (double)high);
    }
    if (fid_pose_find_match(program, slider, value) == NULL && !fid_pose_rides(program, slider)) {
        return fid_fail(err, FID_INVALID,
                        "nothing is switched by that: it chooses no spaces, and has no match at this value");
    }
    if (fid_program_is_driven(program, slider)) {
        return fid_fail(err, FID_LOCKED, "it is driven: what gives it its value is to be switched instead");
    }
    fid_solve(program, pose);
    memcpy(before, pose->frames, (size_t)program->bone_count * sizeof *before);
    fid_code code = fid_pose_set(pose, slider, value, NULL, err);
    if (code == FID_OK) {
        keep(program, pose, before, slider, visit, user);
    }
    return code;
}
