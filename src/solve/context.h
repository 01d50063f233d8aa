#ifndef FID_SOLVE_CONTEXT_H
#define FID_SOLVE_CONTEXT_H

#include "math/scalar.h"
#include "program/pose.h"

/// Private to this room: what the solve files of the constraint kinds share. None of them allocates or fails.

/// The present value of an input.
static inline float fid_input_value(const fid_pose *pose, const fid_input *input) {
    float value = input->channel < 0 ? input->value : pose->effective[input->channel];
    return fid_clamp(value, input->lo, input->hi);
}

/// The frame that a bone takes from a parent's frame, math "Take"; `local` and `rest` are the bone's rest frames.
void fid_take(const fid_frame *parent, const fid_frame *local, const fid_frame *rest, uint8_t takes, fid_frame *out);

/// Where a source is at present, in rig space.
fid_vec3 fid_source_point(const fid_pose *pose, const fid_program_source *source);

/// The present frame of a source in rig space; of a point between two bones the place alone, unturned and unscaled.
fid_frame fid_source_frame(const fid_pose *pose, const fid_program_source *source);

/// What each kind of constraint makes of the frame of the bone: F, or M' for those that act after the pose. Frames are
/// changed in place, for speed: a copy of what was just written waits for the memory.
void fid_solve_follow(const fid_pose *pose, const fid_program_follow *follow, fid_order order, fid_frame *frame);
void fid_solve_aim(const fid_pose *pose, const fid_program_aim *aim, fid_frame *frame);
void fid_solve_span(const fid_pose *pose, const fid_program_span *span, fid_frame *frame);
void fid_solve_spaces(const fid_pose *pose, const fid_program_spaces *spaces, int32_t bone, fid_frame *frame);

/// The effective value of a driven channel: what is posed on it, then its drives in order, then its range.
void fid_solve_driven(const fid_program *program, fid_pose *pose, const fid_driven *driven);

void fid_solve_twist(const fid_pose *pose, const fid_program_twist *twist, fid_frame *frame);

void fid_solve_layer(const fid_pose *pose, const fid_program_layer *layer, fid_frame *frame);

/// Keeps the departure of `frame` from `offered` (F' with the pose layers) in its bounds.
void fid_solve_limit(const fid_program_limit *limit, const fid_frame *offered, fid_order order, fid_frame *frame);

/// Solves a chain for the frame F of its first bone: fills the chain frames of the pose (frames of a fan; relations to
/// the bone before of a linked chain, the first always a frame) and changes the first bone's. Weight 0: all bones
/// are left alone.
void fid_solve_ik(fid_pose *pose, const fid_program_ik *ik, fid_frame *frame);

/// The frame F' of a later bone of a chain, from its frame F.
void fid_solve_chain(const fid_pose *pose, const fid_program_ik *ik, int32_t chain_bone, fid_frame *frame);

#endif
