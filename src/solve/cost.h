#ifndef FID_SOLVE_COST_H
#define FID_SOLVE_COST_H

#include "program/pose.h"

enum { FID_COST_KINDS = 32 };

/// What one kind of constraint costs.
typedef struct fid_cost_kind {
    const char *name;
    int32_t count;
    double seconds; ///< of one solve
} fid_cost_kind;

/// What solves of a rig cost, as medians over rounds.
typedef struct fid_cost {
    int32_t poses, threads; ///< asked for, from 1
    double whole;           ///< seconds of one solve, every control posed
    double noted;           ///< the same by noting that everything changed
    double changed;         ///< mean over the controls of the seconds after one of them moved
    double steps;           ///< mean part of the steps that such a move touches
    int32_t controls;       ///< that may be posed
    int32_t tried;          ///< of them: evenly spread where there are more than can be timed
    int32_t dearest;        ///< bone of the control that costs most, or -1
    double dearest_seconds;
    double alone, together; ///< seconds of all poses on one thread and on `threads`
    fid_cost_kind kinds[FID_COST_KINDS];
    int32_t kind_count;
} fid_cost;

/// Fills in all but `poses` and `threads`, in random poses that are the same on every run. However large the rig, few
/// solves are timed more than are needed: the time that this takes grows with that of one solve only.
FID_NODISCARD fid_code fid_cost_measure(const fid_rig *rig, const fid_program *program, fid_cost *out, fid_error *err);

#endif
