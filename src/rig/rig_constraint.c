#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

/// Joints that were given no shares of the bend take equal ones.
static bool fill_shares(fid_rig *rig, const fid_chain *chain, fid_numbers *shares) {
    if (shares->count > 0) {
        return true;
    }
    int32_t joints = fid_chain_segments(chain) - 1;
    float *ones = fid_arena_get(&rig->arena, (size_t)joints * sizeof *ones);
    if (ones == NULL) {
        return false;
    }
    for (int32_t i = 0; i < joints; i++) {
        ones[i] = 1.0f;
    }
    *shares = (fid_numbers){ones, joints};
    return true;
}

/// Notes which bones ik or a spline lays.
static bool note_solved(fid_rig *rig, const fid_chain *chain, int32_t index) {
    for (int32_t i = 0; i < fid_chain_segments(chain); i++) {
        char entry[FID_ENTRY_SIZE];
        fid_entry_slot(chain->bones[i].handle.slot, entry);
        if (!fid_entry_add(rig, FID_ENTRY_SOLVED, entry, index)) {
            return false;
        }
    }
    return true;
}

static fid_code append_constraint(fid_rig *rig, const fid_constraint_def *def, fid_constraint_id *out, fid_error *err) {
    fid_constraint constraint = {.def = *def};
    const fid_schema *schema = fid_constraint_schemas[def->kind];
    fid_code code = FID_OK;
    if (def->kind == FID_CONSTRAINT_SPACES) {
        code = fid_rig_append_space_sliders(rig, &constraint.def, err);
    }
    code = code == FID_OK ? fid_schema_copy(schema, &constraint.def, &rig->arena, err) : code;
    if (code != FID_OK) {
        return code;
    }
    const fid_chain *chain = fid_constraint_lays_chain(def->kind) ? fid_rig_chain(rig, def->chain, NULL) : NULL;
    if (def->kind == FID_CONSTRAINT_IK && chain != NULL &&
        !fill_shares(rig, chain, &constraint.def.as.ik.bend_shares)) {
        return fid_no_memory(err);
    }
    char stem[FID_ENTRY_SIZE], address[FID_ENTRY_SIZE];
    snprintf(stem, sizeof stem, "%.160s:%s",
             chain != NULL ? chain->address : rig->bones.at[fid_rig_bone_index(rig, def->bone)].address, schema->name);
    fid_entry_number(rig, FID_ENTRY_CONSTRAINT, stem, true, address);
    constraint.address = fid_arena_copy(&rig->arena, address, strlen(address));
    if (constraint.address == NULL || !fid_array_reserve(&rig->constraints, 1) ||
        !fid_pool_add(&rig->constraint_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->constraints.count++;
    rig->constraints.at[index] = constraint;
    if (!fid_entry_add(rig, FID_ENTRY_CONSTRAINT, address, index) ||
        (chain != NULL && !note_solved(rig, chain, index))) {
        return fid_no_memory(err);
    }
    return FID_OK;
}

fid_code fid_rig_add_constraint(fid_rig *rig, const fid_constraint_def *def, fid_constraint_id *out, fid_error *err) {
    fid_code code = fid_constraint_check(rig, def, err);
    if (code != FID_OK) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_constraint_id id;
    code = append_constraint(rig, def, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}
