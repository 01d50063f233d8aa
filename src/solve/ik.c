#include "math/bend.h"
#include "solve/context.h"
#include "solve/solve.h"

/// What the goal asks of a chain, in metres at rest size.
typedef struct demand {
    double size;     ///< present lengths / rest lengths, without reach
    double distance; ///< base to goal
    double gap;      ///< the chain is to end this far inside its longest distance
    double stretch;  ///< ratio by which reach lengthens the segments
} demand;

/// Distances of the chain with softening at both ends, and what reach adds; math "ik".
static demand find_demand(const fid_pose *pose, const fid_program_ik *ik, double size, double distance) {
    double most = ik->longest, soft = (double)fid_input_value(pose, &ik->soft),
           reach = (double)fid_input_value(pose, &ik->reach);
    double d = distance / size, zone = fid_maxd(0, fid_mind(soft * most, most - ik->rest));
    demand out = {size, distance, 0, 1};
    if (d <= most - zone) {
        out.gap = most - d;
    } else {
        out.gap = zone > 0 ? zone * fid_exp(-(d - most + zone) / zone) : 0;
    }
    double near_zone = fid_maxd(0, fid_mind(soft * most, ik->rest - ik->shortest));
    if (d < ik->shortest + near_zone) {
        out.gap = most - ik->shortest - near_zone * fid_exp(-(ik->shortest + near_zone - d) / near_zone);
    }
    out.gap = fid_mind(out.gap, most - ik->shortest);
    double length = most - out.gap, want = length > 1e-12 * most ? fid_maxd(1, d / length) : 1;
    double bend = fid_mind(soft, 0.5 * (reach - 1));
    out.stretch = want <= reach - bend ? want
                  : bend > 0           ? reach - bend * fid_exp(-(want - reach + bend) / bend)
                                       : reach;
    return out;
}

/// Rotation that lays the bent chain so that its end lies along the rest axis again, in the plane in which it rested.
static fid_quatd lay_along(const fid_program_ik *ik, fid_vec3d end, const fid_quatd *rotation) {
    fid_vec3d along = fid_vec3d_normalize(end, ik->axis);
    if (ik->bend.plane || ik->bend.about_axis) {
        return fid_quatd_arc_about(ik->normal, along, ik->axis);
    }
    fid_quatd arc = fid_quatd_arc(along, ik->axis, ik->normal);
    fid_vec3d joint = {0, 0, 0};
    for (int32_t i = 0; i < ik->steady; i++) {
        joint = fid_vec3d_add(
            joint, fid_quatd_rotate(rotation[i], fid_vec3d_scale(ik->bend.direction[i], ik->bend.length[i])));
    }
    fid_vec3d off = fid_vec3d_off(fid_quatd_rotate(arc, joint), ik->axis);
    if (fid_vec3d_length(off) < 1e-9 * ik->longest) {
        return arc;
    }
    return fid_quatd_mul(fid_quatd_arc_about(ik->axis, off, ik->steady_off), arc);
}

/// Turn about the line from base to goal that pole and swivel ask for, on top of `carried`, which takes the rest
/// direction to the present one.
static fid_quatd swivel(const fid_pose *pose, const fid_program_ik *ik, const fid_frame *first, fid_vec3d along,
                        fid_quatd carried, double length) {
    if (ik->pole.kind != FID_SOURCE_NONE) {
        fid_vec3d pole = fid_vec3d_sub(fid_vec3d_from(fid_source_point(pose, &ik->pole)), fid_vec3d_from(first->t));
        pole = fid_vec3d_off(fid_quatd_rotate(fid_quatd_inverse(fid_quatd_from(first->q)), pole), along);
        if (fid_vec3d_length(pole) < 1e-6 * length) {
            return carried;
        }
        return fid_quatd_mul(fid_quatd_arc_about(along, fid_quatd_rotate(carried, ik->pole_off), pole), carried);
    }
    float turn = fid_input_value(pose, &ik->swivel) * ik->swivel_gain;
    return turn == 0 ? carried : fid_quatd_mul(fid_quatd_about(along, fid_radians((double)turn)), carried);
}

/// Frames K of all bones of the chain at full weight, rigid.
static void solve_frames(const fid_pose *pose, const fid_program_ik *ik, const fid_frame *first, fid_frame *out) {
    const fid_program_chain *chain = &pose->program->chains[ik->chain];
    const fid_chain_bone *bones = pose->program->chain_bones + chain->first;
    fid_quatd first_q = fid_quatd_from(first->q);
    fid_frame goal_frame = fid_source_frame(pose, &ik->goal);
    fid_vec3d goal = fid_vec3d_sub(fid_vec3d_from(goal_frame.t), fid_vec3d_from(first->t));
    goal = fid_quatd_rotate(fid_quatd_inverse(first_q), goal);
    double size = fid_mean_scale(first->s) * (double)fid_input_value(pose, &ik->length);
    demand want = find_demand(pose, ik, size, fid_vec3d_length(goal));
    fid_quatd rotation[FID_BEND_SEGMENTS];
    fid_vec3d end = fid_bend_solve(&ik->bend, ik->longest, ik->k_top, want.gap, rotation);
    // From rest: into the bent shape, back onto the rest axis, over to the goal, round it.
    fid_vec3d along = fid_vec3d_normalize(goal, ik->axis);
    fid_quatd carried = fid_quatd_arc(ik->axis, along, ik->normal);
    fid_quatd whole = swivel(pose, ik, first, along, carried, size * ik->longest);
    whole = fid_quatd_mul(first_q, fid_quatd_mul(whole, lay_along(ik, end, rotation)));
    fid_vec3d at = fid_vec3d_from(first->t);
    for (int32_t i = 0; i < chain->count; i++) {
        int32_t segment = i < ik->bend.count ? i : ik->bend.count - 1;
        fid_quatd q = fid_quatd_mul(whole, rotation[segment]);
        out[i].t = fid_vec3d_round(at);
        out[i].q = fid_quat_renormalize(fid_quatd_round(fid_quatd_mul(q, fid_quatd_from(bones[i].rest))));
        out[i].s = (fid_vec3){1, 1, 1};
        if (i < ik->bend.count) {
            double length = ik->bend.length[i] * size * want.stretch;
            at = fid_vec3d_add(at, fid_quatd_rotate(q, fid_vec3d_scale(ik->bend.direction[i], length)));
        }
    }
    float match = fid_input_value(pose, &ik->match_rotation);
    if (chain->with_end && match > 0) {
        fid_quat matched = fid_quat_renormalize(fid_quat_mul(goal_frame.q, ik->end_relation));
        out[chain->count - 1].q = fid_quat_slerp(out[chain->count - 1].q, matched, match);
    }
}

void fid_solve_ik(fid_pose *pose, const fid_program_ik *ik, fid_frame *frame) {
    const fid_program_chain *chain = &pose->program->chains[ik->chain];
    if (fid_input_value(pose, &chain->weight) <= 0) {
        return;
    }
    solve_frames(pose, ik, frame, pose->chain + chain->first);
    fid_solve_laid(pose, chain, frame);
}

fid_ik_result fid_solve_ik_result(const fid_program *program, const fid_pose *pose, int32_t index) {
    const fid_program_ik *ik = &program->iks[index];
    const fid_program_chain *chain = &program->chains[ik->chain];
    const fid_chain_bone *bones = program->chain_bones + chain->first;
    int32_t last = bones[chain->count - 1].bone, first = bones[0].bone;
    fid_vec3 goal = fid_source_point(pose, &ik->goal), base = pose->frames[first].t;
    fid_vec3 end = chain->with_end ? pose->frames[last].t
                                   : fid_frame_point(pose->frames[last], (fid_vec3){0, 0, program->length[last]});
    double length = 0, present = 0;
    for (int32_t i = 0; i < ik->bend.count; i++) {
        length += ik->bend.length[i];
    }
    for (int32_t i = 0; i < ik->bend.count; i++) {
        fid_vec3 next = i + 1 < chain->count ? pose->frames[bones[i + 1].bone].t : end;
        present += (double)fid_vec3_distance(next, pose->frames[bones[i].bone].t);
    }
    double size = length * (double)fid_input_value(pose, &ik->length);
    return (fid_ik_result){.error = fid_vec3_distance(end, goal),
                           .reach = (float)((double)fid_vec3_distance(base, goal) / size),
                           .stretch = (float)(present / size)};
}
