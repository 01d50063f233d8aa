#ifndef FID_SOLVE_SOLVE_H
#define FID_SOLVE_SOLVE_H

#include "program/pose.h"

/// Solves a pose: fills frames, effective channels and the placement. A pure function of the values: allocates nothing,
/// cannot fail, and gives the same bits whatever was solved before.
void fid_solve(const fid_program *program, fid_pose *pose);

/// Solves again only what depends on the channels that were set since the pose was solved last (or made, or reset): the
/// same bits as fid_solve, in time proportional to what has to be done.
void fid_solve_changed(const fid_program *program, fid_pose *pose);

/// Solves poses of one program on up to `threads` threads (at most 64; this one is among them): each as fid_solve does,
/// so that their number and the order change nothing. No two of `poses` may be the same.
void fid_solve_many(const fid_program *program, fid_pose *const *poses, int32_t count, int32_t threads);

/// By fid_op_kind: what users call it ("chain": the later bones of ik and splines); closed by NULL.
extern const char *const fid_op_names[];

/// For measuring: lets every op of one kind act once on a copy of its bone's frame, in a pose that is solved; returns
/// how many there are. What chains keep for themselves is not right afterwards: solve the pose anew.
int32_t fid_solve_kind(const fid_program *program, fid_pose *pose, int32_t kind);

/// How well an ik meets its goal in a solved pose.
typedef struct fid_ik_result {
    float error; ///< distance from the chain's end to the goal as the constraint leaves it, metres (poses on the bones
                 ///< count)
    float reach; ///< distance base to goal / the chain's length with its scales
    float stretch; ///< ratio by which the segments are lengthened
} fid_ik_result;

/// `ik` is an index into the program's iks.
fid_ik_result fid_solve_ik_result(const fid_program *program, const fid_pose *pose, int32_t ik);

#endif
