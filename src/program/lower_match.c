#include "program/lower.h"

/// The lowered ik that a constraint became, or -1 (one that cannot bend was reported).
static int32_t find_ik(const fid_lowering *lowering, fid_constraint_id id) {
    int32_t constraint = fid_rig_constraint_index(lowering->rig, id);
    for (int32_t i = 0; i < lowering->ops.count && constraint >= 0; i++) {
        const fid_op *op = &lowering->ops.at[i].op;
        if (op->kind == FID_OP_IK && op->constraint == constraint) {
            return op->index;
        }
    }
    return -1;
}

void fid_lower_match(fid_lowering *lowering, int32_t index) {
    const fid_rig *rig = lowering->rig;
    const fid_match_def *def = &rig->matches.at[index];
    fid_program_match out = {fid_lowering_channel(lowering, def->slider), def->value, lowering->match_steps.count,
                             def->set.count};
    for (int32_t i = 0; i < def->set.count; i++) {
        const fid_match_step *step = &def->set.at[i];
        fid_program_step one = {.bone = fid_rig_bone_index(rig, step->bone),
                                .like = fid_rig_bone_index(rig, step->like),
                                .ik = find_ik(lowering, step->plane_of),
                                .neutral = step->neutral,
                                .relation = FID_FRAME_IDENTITY};
        if (one.like >= 0 && one.bone >= 0) {
            one.relation = fid_frame_relation(rig->bones.at[one.like].rest, rig->bones.at[one.bone].rest);
        }
        lowering->failed |= !fid_array_push(&lowering->match_steps, one);
    }
    lowering->failed |= !fid_array_push(&lowering->matches, out);
}
