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

static int32_t first_bone(const fid_program *program, int32_t ik) {
    return program->chain_bones[program->chains[program->iks[ik].chain].first].bone;
}

/// How a chain is to bend: from the base along the line to the goal, towards one side.
typedef struct plane {
    fid_vec3 base, along, bend; ///< along and bend are unit and square to each other
} plane;

/// The plane in which an ik is to bend so that it bends as it did; false where goal and base meet.
static bool find_plane(const fid_program *program, fid_pose *pose, const fid_frame *before,
                       const fid_program_step *step, plane *out) {
    const fid_program_ik *ik = &program->iks[step->ik];
    const fid_chain_bone *bones = program->chain_bones + program->chains[ik->chain].first;
    int32_t first = bones[0].bone;
    out->base = fid_solve_offered(program, pose, first).t;
    fid_vec3 way = fid_vec3_sub(fid_source_frame(pose, &ik->goal).t, out->base);
    float length = (float)ik->longest;
    if (fid_vec3_length(way) < 1e-6f * length) {
        return false;
    }
    out->along = fid_vec3_normalize(way, (fid_vec3){0, 0, 1});
    fid_vec3 joint = step->like >= 0 ? before[step->like].t : before[bones[ik->steady].bone].t;
    fid_vec3 bend = off_axis(fid_vec3_sub(joint, out->base), out->along);
    if (fid_vec3_length(bend) < 1e-3f * length) {
        // So straight a chain tells by its turn about itself where it would bend.
        fid_quat turn = before[first].q;
        if (step->like >= 0) {
            fid_quat back = fid_quat_inverse(program->rest[step->like].q);
            turn = fid_quat_mul(fid_quat_mul(before[step->like].q, back), program->rest[first].q);
        }
        bend = off_axis(fid_quat_rotate(turn, rest_bend(ik)), out->along);
    }
    if (fid_vec3_length(bend) < 1e-6f * length) {
        return false;
    }
    out->bend = fid_vec3_normalize(bend, bend);
    return true;
}

/// Where the pole of an ik belongs so that the chain bends as it did; false where goal and base meet.
static bool find_pole(const fid_program *program, fid_pose *pose, const fid_frame *before, const fid_program_step *step,
                      fid_vec3 *out) {
    const fid_program_ik *ik = &program->iks[step->ik];
    fid_frame rest = program->rest[first_bone(program, step->ik)];
    plane in;
    if (!find_plane(program, pose, before, step, &in)) {
        return false;
    }
    // From the bend to the pole it is as far about the axis as at rest, and the pole stands as far off and along.
    fid_vec3 axis = fid_vec3d_round(ik->axis);
    fid_vec3 pole = fid_quat_rotate(fid_quat_inverse(rest.q), fid_vec3_sub(ik->pole.rest.t, rest.t));
    double turn = fid_vec3d_turn(fid_vec3d_from(rest_bend(ik)), ik->pole_off, ik->axis);
    fid_vec3 off = fid_quat_rotate(fid_quat_about(in.along, turn), in.bend);
    float distance = fid_vec3_length(off_axis(pole, axis));
    *out = fid_vec3_add(
        in.base, fid_vec3_add(fid_vec3_scale(in.along, fid_vec3_dot(pole, axis)), fid_vec3_scale(off, distance)));
    return true;
}

/// From -180 to 180 degrees.
static double wrapped(double degrees) { return degrees - 360 * floor(degrees / 360 + 0.5); }

/// Of all angles that mean the same the one within the range that is nearest to `now`; where none is, the nearest end.
static double nearest_angle(double angle, double now, double low, double high) {
    angle += 360 * floor((now - angle) / 360 + 0.5);
    angle += angle < low ? 360 * ceil((low - angle) / 360) : 0;
    angle -= angle > high ? 360 * ceil((angle - high) / 360) : 0;
    return angle < low && fabs(wrapped(high - angle)) < fabs(wrapped(low - angle)) ? high : fmax(angle, low);
}

/// Turns the swivel of an ik so that the chain bends as it did.
static fid_reached set_swivel(const fid_program *program, fid_pose *pose, const fid_frame *before,
                              const fid_program_step *step) {
    const fid_program_ik *ik = &program->iks[step->ik];
    int32_t channel = ik->swivel.channel;
    fid_reached out = {.is_swivel = true};
    plane in;
    if (!find_plane(program, pose, before, step, &in)) {
        return out;
    }
    // Where the chain bends with a swivel of 0: as at rest, carried by the shortest arc.
    fid_quatd first = fid_quatd_from(fid_solve_at_ik(program, pose, step->ik).q);
    fid_vec3d along = fid_quatd_rotate(fid_quatd_inverse(first), fid_vec3d_from(in.along));
    fid_quatd carried = fid_quatd_mul(first, fid_quatd_arc(ik->axis, along, ik->normal));
    fid_vec3d bend = fid_quatd_rotate(carried, fid_vec3d_from(rest_bend(ik)));
    double turn = fid_vec3d_turn(bend, fid_vec3d_from(in.bend), fid_vec3d_from(in.along));
    double wanted = fid_degrees(turn) / (double)ik->swivel_gain, now = (double)pose->effective[channel];
    double low = (double)program->channel_min[channel], high = (double)program->channel_max[channel];
    out.degrees = (float)fabs(wrapped(wanted - now));
    if (out.degrees < 1e-3f) {
        return out; // an animator who switches finds keys only where something changed
    }
    if (!program->animatable[channel] || fid_program_is_driven(program, channel)) {
        out.locked = 1;
        return out;
    }
    double angle = nearest_angle(wanted, now, low, high);
    if (fid_pose_set(pose, channel, (float)angle, NULL, NULL) == FID_OK) {
        out.degrees = (float)fabs(wrapped(wanted - angle));
        out.held = out.degrees > 1e-3f ? 1 : 0;
    }
    fid_solve(program, pose);
    return out;
}

static fid_reached do_step(const fid_program *program, fid_pose *pose, const fid_frame *before,
                           const fid_program_step *step) {
    if (step->bone < 0) {
        return set_swivel(program, pose, before, step);
    }
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
            visit(user, step->bone >= 0 ? step->bone : first_bone(program, step->ik), &reached);
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
