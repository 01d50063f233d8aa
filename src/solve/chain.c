#include "solve/context.h"

#include <string.h>

double fid_mean_scale(fid_vec3 s) {
    if (fid_is_unit_scale(s)) {
        return 1;
    }
    return fid_pow((double)s.x * (double)s.y * (double)s.z, 1.0 / 3.0);
}

/// What a bone of a fan takes from its parent, as it stands without constraints.
static fid_frame taken(const fid_pose *pose, int32_t bone) {
    const fid_program *program = pose->program;
    int32_t parent = program->bones[bone].parent;
    fid_frame from = parent >= 0 ? pose->frames[parent] : FID_FRAME_IDENTITY, out;
    fid_take(&from, &program->local[bone], &program->rest[bone], program->bones[bone].takes, &out);
    return out;
}

/// Rigid relation of one frame to the one before it.
static fid_frame rigid_relation(fid_frame before, fid_frame frame) {
    fid_frame out = fid_frame_relation(before, frame);
    out.q = fid_quat_renormalize(out.q);
    out.s = (fid_vec3){1, 1, 1};
    return out;
}

void fid_solve_laid(fid_pose *pose, const fid_program_chain *chain, fid_frame *frame) {
    const fid_chain_bone *bones = pose->program->chain_bones + chain->first;
    fid_frame *out = pose->chain + chain->first;
    float weight = fid_input_value(pose, &chain->weight);
    fid_frame first = weight >= 1 ? out[0] : fid_frame_mix(fid_frame_rigid(*frame), out[0], weight);
    if (chain->linked) {
        for (int32_t i = chain->count - 1; i > 0; i--) {
            out[i] = rigid_relation(out[i - 1], out[i]);
        }
    } else if (weight < 1) {
        // A fan is put together from mixed relations, so that its segments turn and do not shrink on the way.
        fid_frame before = out[0], offered = *frame;
        out[0] = first;
        for (int32_t i = 1; i < chain->count; i++) {
            fid_frame solved = rigid_relation(before, out[i]), next = taken(pose, bones[i].bone);
            before = out[i];
            out[i] = fid_frame_compose(out[i - 1], fid_frame_mix(rigid_relation(offered, next), solved, weight));
            out[i].q = fid_quat_renormalize(out[i].q);
            offered = next;
        }
    }
    frame->t = first.t;
    frame->q = first.q;
}

void fid_solve_chain(const fid_pose *pose, const fid_program_chain *chain, int32_t chain_bone, fid_frame *frame) {
    float weight = fid_input_value(pose, &chain->weight);
    if (weight <= 0) {
        return;
    }
    fid_frame solved = pose->chain[chain_bone];
    if (chain->linked) {
        // The relation holds what the chain takes; what the pose of the bone above added to its scale stretches it.
        fid_frame before = pose->frames[pose->program->chain_bones[chain_bone - 1].bone];
        fid_vec3 added = fid_vec3_div(before.s, pose->chain_scale[chain_bone - 1]);
        solved.t = fid_vec3_add(before.t, fid_quat_rotate(before.q, fid_vec3_mul(added, solved.t)));
        solved.q = fid_quat_renormalize(fid_quat_mul(before.q, solved.q));
        solved = weight >= 1 ? solved : fid_frame_mix(fid_frame_rigid(*frame), solved, weight);
    } else if (weight < 1) {
        // What earlier constraints made of it stays with the part that the weight leaves.
        fid_frame offered = taken(pose, pose->program->chain_bones[chain_bone].bone);
        if (memcmp(&offered.t, &frame->t, sizeof offered.t) != 0 || memcmp(&offered.q, &frame->q, sizeof offered.q)) {
            fid_frame made = fid_frame_mix(rigid_relation(offered, *frame), FID_FRAME_IDENTITY, weight);
            solved = fid_frame_compose(solved, made);
            solved.q = fid_quat_renormalize(solved.q);
        }
    }
    frame->t = solved.t;
    frame->q = solved.q;
}
