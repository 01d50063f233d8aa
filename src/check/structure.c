#include "check/rules.h"
#include "math/scalar.h"

void fid_check_lengths(fid_check *check) {
    const fid_rig *rig = check->rig;
    float least = rig->thresholds.s202_length * rig->height;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        if (!(bone->def.length >= least)) {
            fid_check_detail detail = {FID_ERROR, true, bone->def.length, least, NULL, NULL};
            if (!(bone->def.length >= 1e-4f * rig->height)) {
                fid_check_add_detail(check, "S202", bone->name, bone->def.origin, &detail,
                                     "bone '%s' is %g m long: base and tip lie on each other", bone->name,
                                     (double)bone->def.length);
                continue;
            }
            detail.hint = "Lengthen the bone, leave it out, or lower S202_length of the rig.";
            fid_check_add_detail(check, "S202", bone->name, bone->def.origin, &detail,
                                 "bone '%s' is %g m long, shorter than the %g m that the rig allows", bone->name,
                                 (double)bone->def.length, (double)least);
        }
    }
}

void fid_check_softening(fid_check *check) {
    const fid_program *program = check->program;
    for (int32_t i = 0; i < program->bone_count; i++) {
        const fid_program_bone *bone = &program->bones[i];
        for (int32_t j = 0; j < bone->before; j++) {
            const fid_op *op = &program->ops[bone->first_op + j];
            if (op->kind != FID_OP_IK) {
                continue;
            }
            const fid_program_ik *ik = &program->iks[op->index];
            const fid_constraint *constraint = &check->rig->constraints.at[op->constraint];
            // A softening that a channel gives is tried where it is largest.
            int32_t by = ik->soft.channel;
            double soft = (double)(by < 0 ? ik->soft.value : fid_min(ik->soft.hi, program->channel_max[by]));
            double room = (ik->longest - ik->rest) / ik->longest;
            if (room < soft * (1 - 1e-4)) {
                fid_check_detail detail = {FID_WARNING, true, (float)room, (float)soft, NULL, NULL};
                // bend_axis makes no room, and is ignored where the chain bends.
                detail.hint =
                    "Bend the guides further (two equal bones: 23 degrees for a softening of 2 %), or lower soft.";

                fid_check_add_detail(
                    check, "S204", constraint->address, constraint->def.origin, &detail,
                    "'%s' rests at %.1f %% of its longest reach: its softening of %.3g %% has room for %.3g %% only",
                    constraint->address, 100 * (1 - room), 100 * soft, 100 * fmax(0, room));
            }
        }
    }
}
