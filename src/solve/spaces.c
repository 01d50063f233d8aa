#include "solve/context.h"

/// The frame of the bone on one of the spaces: as a parent would carry it, or so that the grip lands there.
static void ride(const fid_pose *pose, const fid_program_space *space, int32_t bone, fid_frame *out) {
    const fid_program *program = pose->program;
    uint8_t takes = program->bones[bone].takes;
    fid_frame source = fid_source_frame(pose, &space->source);
    fid_take(&source, &space->relation, &program->rest[bone], takes, out);
    if (takes & FID_TAKE_TRANSLATION && space->has_grip) {
        out->t = fid_vec3_sub(out->t, fid_quat_rotate(out->q, fid_vec3_mul(out->s, space->grip)));
    }
}

/// Rides on several at once, by shares.
static void mix(const fid_pose *pose, const fid_program_spaces *spaces, int32_t bone, fid_frame *frame) {
    const fid_program_space *space = pose->program->space_choices + spaces->first;
    bool scales = (pose->program->bones[bone].takes & FID_TAKE_SCALE) != 0;
    const fid_frame from = *frame;
    fid_blend blend = {0};
    int32_t whole = -1, riding = 0;
    for (int32_t i = 0; i < spaces->count; i++) {
        float share = fid_input_value(pose, &space[i].share);
        if (share <= 0) {
            continue;
        }
        fid_wish wish;
        ride(pose, &space[i], bone, &wish.desired);
        wish.turn = fid_quat_renormalize(fid_quat_mul(wish.desired.q, fid_quat_inverse(from.q)));
        wish.from = fid_vec3_add(from.t, fid_quat_rotate(from.q, space[i].back));
        wish.to = fid_vec3_sub(wish.desired.t, fid_quat_rotate(wish.turn, fid_vec3_sub(from.t, wish.from)));
        fid_blend_add(&blend, &from, &wish, share, scales);
        riding++;
        whole = share >= 1 ? i : whole;
    }
    // One space alone and in full is exactly that space.
    if (riding == 1 && whole >= 0) {
        ride(pose, &space[whole], bone, frame);
    } else {
        *frame = fid_blend_apply(&blend, &from, 1);
    }
}

void fid_solve_spaces(const fid_pose *pose, const fid_program_spaces *spaces, int32_t bone, fid_frame *frame) {
    if (spaces->count == 0) {
        return;
    }
    if (spaces->by < 0) {
        mix(pose, spaces, bone, frame);
        return;
    }
    int32_t choice = (int32_t)(fid_clamp(pose->effective[spaces->by], 0, (float)(spaces->count - 1)) + 0.5f);
    ride(pose, &pose->program->space_choices[spaces->first + choice], bone, frame);
}
