#include "math/curve.h"
#include "program/lower.h"

static void lower_factor(fid_lowering *lowering, const fid_factor *factor) {
    fid_program_factor out = {.kind = factor->kind,
                              .channel = fid_lowering_channel(lowering, factor->channel),
                              .a = fid_lower_source(lowering, &factor->a),
                              .b = fid_lower_source(lowering, &factor->b)};
    if (factor->kind == FID_FACTOR_ANGLE) {
        out.axis_a = fid_lower_axis(factor->axis_a);
        out.axis_b = fid_lower_axis(factor->axis_b);
    }
    if (factor->kind == FID_FACTOR_TWIST) {
        fid_lower_departure(lowering, out.a.a);
    }
    lowering->failed |= !fid_array_push(&lowering->factors, out);
}

void fid_lower_drives(fid_lowering *lowering, int32_t channel_count) {
    const fid_rig *rig = lowering->rig;
    lowering->driven_of = fid_memory_get((size_t)channel_count * sizeof *lowering->driven_of + 1);
    if (!lowering->driven_of) {
        lowering->failed = true;
        return;
    }
    for (int32_t i = 0; i < channel_count; i++) {
        lowering->driven_of[i] = -1;
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        int32_t channel = fid_lowering_channel(lowering, rig->drives.at[i].def.to);
        if (lowering->driven_of[channel] < 0) {
            fid_driven driven = {channel, 0, 0};
            lowering->driven_of[channel] = lowering->driven.count;
            lowering->failed |= !fid_array_push(&lowering->driven, driven);
            if (lowering->failed) {
                return;
            }
        }
        lowering->driven.at[lowering->driven_of[channel]].count++;
    }
    for (int32_t i = 1; i < lowering->driven.count; i++) {
        lowering->driven.at[i].first = lowering->driven.at[i - 1].first + lowering->driven.at[i - 1].count;
    }
    if (!fid_array_reserve(&lowering->drives, rig->drives.count)) {
        lowering->failed = true;
        return;
    }
    lowering->drives.count = rig->drives.count;
    for (int32_t i = 0; i < lowering->driven.count; i++) {
        lowering->driven.at[i].count = 0;
    }
    for (int32_t i = 0; i < rig->drives.count && !lowering->failed; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        fid_driven *driven = &lowering->driven.at[lowering->driven_of[fid_lowering_channel(lowering, def->to)]];
        bool is_power = def->curve.interpolation == FID_POWER;
        fid_program_drive out = {.factor_first = lowering->factors.count,
                                 .factor_count = def->from.count,
                                 .curve_first = lowering->curve_x.count,
                                 .curve_count = def->curve.count,
                                 .smooth = def->curve.interpolation == FID_SMOOTH && def->curve.count > 1,
                                 .power = is_power ? def->curve.power : 0,
                                 .sign = def->curve.sign,
                                 .gain = fid_lower_amount(lowering, def->gain, -FID_UNLIMITED, FID_UNLIMITED),
                                 .combine = (fid_combine)def->combine};
        for (int32_t j = 0; j < def->from.count; j++) {
            lower_factor(lowering, &def->from.at[j]);
        }
        for (int32_t j = 0; j < def->curve.count; j++) {
            lowering->failed |= !fid_array_push(&lowering->curve_x, def->curve.x[j]) ||
                                !fid_array_push(&lowering->curve_y, def->curve.y[j]) ||
                                !fid_array_push(&lowering->curve_slope, 0.0f);
        }
        if (out.smooth && !lowering->failed) {
            fid_curve_slopes(out.curve_count, lowering->curve_x.at + out.curve_first,
                             lowering->curve_y.at + out.curve_first, lowering->curve_slope.at + out.curve_first);
        }
        lowering->drives.at[driven->first + driven->count++] = out;
    }
}
