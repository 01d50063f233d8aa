#include "program/lower.h"

int32_t fid_lower_chain(fid_lowering *lowering, int32_t index, fid_op_kind solver, int32_t solved_by) {
    const fid_rig *rig = lowering->rig;
    const fid_chain *chain = &rig->chains.at[fid_rig_chain_index(rig, rig->constraints.at[index].def.chain)];
    int32_t place = lowering->chains.count;
    fid_program_chain out = {fid_lower_weight(lowering, index), lowering->chain_bones.count, chain->count,
                             chain->parenting == FID_LINKED, chain->with_end};
    fid_quat first = rig->bones.at[fid_rig_bone_index(rig, chain->bones[0])].rest.q;
    for (int32_t i = 0; i < chain->count; i++) {
        int32_t bone = fid_rig_bone_index(rig, chain->bones[i]);
        fid_quat rest = fid_quat_mul(fid_quat_inverse(first), rig->bones.at[bone].rest.q);
        fid_op op = {FID_OP_CHAIN, lowering->chain_bones.count, place, index};
        if (i == 0) {
            op.kind = (int32_t)solver;
            op.index = solved_by;
        }
        fid_chain_bone one = {bone, FID_FRAME_IDENTITY, fid_quat_normalize(rest)};
        if (i > 0) {
            int32_t before = fid_rig_bone_index(rig, chain->bones[i - 1]);
            one.relation = fid_frame_relation(rig->bones.at[before].rest, rig->bones.at[bone].rest);
            one.relation.q = fid_quat_normalize(one.relation.q);
        }
        fid_lowered_op lowered = {bone, FID_PHASE_BEFORE, op};
        lowering->failed |= !fid_array_push(&lowering->chain_bones, one) || !fid_array_push(&lowering->ops, lowered);
    }
    lowering->failed |= !fid_array_push(&lowering->chains, out);
    return place;
}
