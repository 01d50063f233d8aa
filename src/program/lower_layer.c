#include "math/curve.h"
#include "program/lower.h"

/// The delta that a pose gives a bone: the identity where it does not name it.
static fid_frame delta_of(const fid_layer_pose *pose, int32_t slot) {
    for (int32_t i = 0; i < pose->count; i++) {
        if ((int32_t)pose->entries[i].bone.handle.slot == slot) {
            return pose->entries[i].delta;
        }
    }
    return FID_FRAME_IDENTITY;
}

static void add_key(fid_lowering *lowering, float at, fid_frame delta) {
    fid_layer_key key = {at, delta, {0, 0, 0}};
    lowering->failed |= !fid_array_push(&lowering->layer_keys, key);
}

/// Slopes of monotone cubics for the translations of the keys from `first` on.
static void find_slopes(fid_lowering *lowering, int32_t first) {
    enum { MOST = 1024 };
    int32_t count = lowering->layer_keys.count - first;
    if (lowering->failed || count < 2 || count > MOST) {
        return;
    }
    fid_layer_key *keys = lowering->layer_keys.at + first;
    float x[MOST], y[MOST], slopes[MOST];
    for (int axis = 0; axis < 3; axis++) {
        for (int32_t i = 0; i < count; i++) {
            x[i] = keys[i].at;
            y[i] = axis == 0 ? keys[i].delta.t.x : axis == 1 ? keys[i].delta.t.y : keys[i].delta.t.z;
        }
        fid_curve_slopes(count, x, y, slopes);
        for (int32_t i = 0; i < count; i++) {
            *(axis == 0 ? &keys[i].slope.x : axis == 1 ? &keys[i].slope.y : &keys[i].slope.z) = slopes[i];
        }
    }
}

static void lower_bone(fid_lowering *lowering, const fid_layer_def *def, int32_t slot) {
    fid_program_layer out = {fid_lowering_channel(lowering, def->by), lowering->layer_keys.count, 0,
                             def->interpolation == FID_SMOOTH};
    bool rests = false;
    for (int32_t i = 0; i < def->poses.count; i++) {
        const fid_layer_pose *pose = &def->poses.at[i];
        // At 0 every layer is the identity, whether a pose says so or not.
        if (!rests && pose->at > 0) {
            add_key(lowering, 0, FID_FRAME_IDENTITY);
        }
        rests |= pose->at >= 0;
        add_key(lowering, pose->at, delta_of(pose, slot));
    }
    if (!rests) {
        add_key(lowering, 0, FID_FRAME_IDENTITY);
    }
    out.count = lowering->layer_keys.count - out.first;
    if (out.smooth) {
        find_slopes(lowering, out.first);
    }
    fid_lowered_op op = {slot, FID_PHASE_LAYER, {FID_OP_LAYER, lowering->layers.count, -1, -1}};
    lowering->failed |= !fid_array_push(&lowering->ops, op) || !fid_array_push(&lowering->layers, out);
}

void fid_lower_layer(fid_lowering *lowering, int32_t index) {
    const fid_layer_def *def = &lowering->rig->layers.at[index].def;
    // Each bone once, in the order in which the poses first name it.
    for (int32_t i = 0; i < def->poses.count; i++) {
        for (int32_t j = 0; j < def->poses.at[i].count; j++) {
            int32_t slot = (int32_t)def->poses.at[i].entries[j].bone.handle.slot;
            bool known = false;
            for (int32_t k = 0; k < i && !known; k++) {
                for (int32_t n = 0; n < def->poses.at[k].count && !known; n++) {
                    known = (int32_t)def->poses.at[k].entries[n].bone.handle.slot == slot;
                }
            }
            if (!known) {
                lower_bone(lowering, def, slot);
            }
        }
    }
}
