#include "solve/context.h"

double fid_mean_scale(fid_vec3 s) {
    if (fid_is_unit_scale(s)) {
        return 1;
    }
    return fid_pow((double)s.x * (double)s.y * (double)s.z, 1.0 / 3.0);
}

/// The frames F that the bones of the chain would have without the constraint and without poses, from the first bone's
/// F.
static void offered_frames(const fid_pose *pose, const fid_program_chain *chain, fid_frame first, fid_frame *out) {
    const fid_program *program = pose->program;
    const fid_chain_bone *bones = program->chain_bones + chain->first;
    out[0] = first;
    for (int32_t i = 1; i < chain->count; i++) {
        int32_t bone = bones[i].bone, parent = program->bones[bone].parent;
        fid_frame from = chain->linked ? out[i - 1] : parent >= 0 ? pose->frames[parent] : FID_FRAME_IDENTITY;
        fid_take(&from, &program->local[bone], &program->rest[bone], program->bones[bone].takes, &out[i]);
    }
}

/// Rigid relation of one frame to the one before it.
static fid_frame rigid_relation(fid_frame before, fid_frame frame) {
    fid_frame out = fid_frame_relation(before, frame);
    out.q = fid_quat_renormalize(out.q);
    out.s = (fid_vec3){1, 1, 1};
    return out;
}

void fid_solve_laid(fid_pose *pose, const fid_program_chain *chain, fid_frame *frame) {
    fid_frame *out = pose->chain + chain->first;
    float weight = fid_input_value(pose, &chain->weight);
    if (weight >= 1) {
        frame->t = out[0].t;
        frame->q = out[0].q;
        for (int32_t i = chain->count - 1; i > 0 && chain->linked; i--) {
            out[i] = rigid_relation(out[i - 1], out[i]);
        }
        return;
    }
    fid_frame offered[FID_BEND_SEGMENTS + 1];
    offered_frames(pose, chain, *frame, offered);
    fid_frame before = out[0];
    out[0] = fid_frame_mix(fid_frame_rigid(*frame), out[0], weight);
    for (int32_t i = 1; i < chain->count; i++) {
        fid_frame solved = rigid_relation(before, out[i]);
        before = out[i];
        fid_frame relation = fid_frame_mix(rigid_relation(offered[i - 1], offered[i]), solved, weight);
        out[i] = chain->linked ? relation : fid_frame_compose(out[i - 1], relation);
        out[i].q = fid_quat_renormalize(out[i].q);
    }
    frame->t = out[0].t;
    frame->q = out[0].q;
}

void fid_solve_chain(const fid_pose *pose, const fid_program_chain *chain, int32_t chain_bone, fid_frame *frame) {
    if (fid_input_value(pose, &chain->weight) <= 0) {
        return;
    }
    fid_frame solved = pose->chain[chain_bone];
    if (chain->linked) {
        // The relation holds what the chain takes; what the pose of the bone above added to its scale stretches it.
        fid_frame before = pose->frames[pose->program->chain_bones[chain_bone - 1].bone];
        fid_vec3 added = fid_vec3_div(before.s, pose->chain_scale[chain_bone - 1]);
        solved.t = fid_vec3_add(before.t, fid_quat_rotate(before.q, fid_vec3_mul(added, solved.t)));
        solved.q = fid_quat_renormalize(fid_quat_mul(before.q, solved.q));
    }
    frame->t = solved.t;
    frame->q = solved.q;
}
