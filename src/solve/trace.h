#ifndef FID_SOLVE_TRACE_H
#define FID_SOLVE_TRACE_H

#include "program/pose.h"

/// What made a bone's frame what it is: its steps, done once more in a pose that is solved, by the functions of the
/// solve itself. The solve knows nothing of it and costs the same; nothing is allocated here either.

typedef enum fid_trace_kind {
    FID_TRACE_REST,  ///< the frame at rest
    FID_TRACE_TAKEN, ///< what the parent carries it to
    FID_TRACE_OP,    ///< a constraint, or a layer
    FID_TRACE_POSED, ///< the values of its channels on top
    FID_TRACE_DONE,  ///< the frame as the solve leaves it: rotation of unit length, scale within bounds
} fid_trace_kind;

typedef struct fid_trace_step {
    fid_trace_kind kind;
    const fid_op *op; ///< of FID_TRACE_OP, else NULL
    fid_frame frame;  ///< in rig space, after it
} fid_trace_step;

typedef void (*fid_trace_note)(void *user, const fid_trace_step *step);

/// Tells the steps of a bone in their order. The last frame has the same bits as `pose->frames[bone]`, and the pose is
/// as it was.
void fid_solve_trace(const fid_program *program, fid_pose *pose, int32_t bone, fid_trace_note note, void *user);

/// What the drives of a channel make of its posed value, one after the other: `after` gets one value for each, as many
/// as fit. Returns how many drives there are; 0: none drives it.
int32_t fid_solve_trace_drives(const fid_program *program, const fid_pose *pose, int32_t channel, float *after,
                               int32_t size);

#endif
