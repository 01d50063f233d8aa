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

static inline bool fid_is_unit_scale(fid_vec3 s) { return s.x == 1 && s.y == 1 && s.z == 1; }

/// F' . D: the animator's values on top of what is offered.
fid_frame fid_solve_posed(const fid_pose *pose, int32_t bone, fid_frame offered);

/// F of the first bone of an ik's chain in a solved pose, as it stands when the ik is reached.
fid_frame fid_solve_at_ik(const fid_program *program, fid_pose *pose, int32_t ik);

/// F' . Delta_layers of a bone in a solved pose: the frame that its pose comes on top of.
fid_frame fid_solve_offered(const fid_program *program, fid_pose *pose, int32_t bone);

/// The frame that a bone takes from a parent's frame, math "Take"; `local` and `rest` are the bone's rest frames.
static inline void fid_take(const fid_frame *parent, const fid_frame *local, const fid_frame *rest, uint8_t takes,
                            fid_frame *out) {
    out->t = takes & FID_TAKE_TRANSLATION ? fid_frame_point(*parent, local->t) : rest->t;
    out->q = takes & FID_TAKE_ROTATION ? fid_quat_mul(parent->q, local->q) : rest->q;
    bool scaled = takes & FID_TAKE_SCALE && !fid_is_unit_scale(parent->s);
    out->s = scaled ? fid_scale_take(parent->s, local->q) : (fid_vec3){1, 1, 1};
}

/// Where a source is at present, in rig space.
fid_vec3 fid_source_point(const fid_pose *pose, const fid_program_source *source);

/// The present frame of a source in rig space; of a point between two bones the place alone, unturned and unscaled.
fid_frame fid_source_frame(const fid_pose *pose, const fid_program_source *source);

/// What one of several sources wants of a bone whose frame is F.
typedef struct fid_wish {
    fid_frame desired;
    fid_quat turn;     ///< from F to the desired rotation
    fid_vec3 from, to; ///< where the source would be if it had stayed in its relation to F, and where it is
} fid_wish;

/// Wishes of several sources with their shares, in sums that do not depend on their order: turns add up as rotation
/// vectors. Begin with zero.
typedef struct fid_blend {
    bool straight; ///< towards each desired place, not round the sources
    fid_vec3 turn, shift, center;
    double log_scale[3];
    float total;
} fid_blend;

/// Adds a wish with its share, above 0; scales count only where `scales`.
void fid_blend_add(fid_blend *blend, const fid_frame *frame, const fid_wish *wish, float share, bool scales);

/// What all wishes together make of F, at a weight; without any, F.
fid_frame fid_blend_apply(const fid_blend *blend, const fid_frame *frame, float weight);

/// The frame, turned about `center` and shifted; its scale as it is.
fid_frame fid_turn_about(const fid_frame *frame, fid_vec3 center, fid_vec3 shift, fid_quat turn);

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
void fid_solve_spline(fid_pose *pose, const fid_program_spline *spline, fid_frame *frame);

/// What both do last, with a weight above 0: the chain frames of the pose hold the rigid frames K of all bones; mixes
/// them with what is offered by the weight.
void fid_solve_laid(fid_pose *pose, const fid_program_chain *chain, fid_frame *frame);

/// The frame F' of a later bone of a chain, from its frame F.
void fid_solve_chain(const fid_pose *pose, const fid_program_chain *chain, int32_t chain_bone, fid_frame *frame);

/// The mean of three scales that keeps their product: by it a chain that takes scale grows.
double fid_mean_scale(fid_vec3 s);

#endif
