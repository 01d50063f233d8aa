#include "program/pose.h"

#include "math/scalar.h"

/// splitmix64 (G. Steele, D. Lea, C. Flood 2014): the same numbers on every machine.
static uint64_t next_random(uint64_t *state) {
    uint64_t z = *state += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return z ^ z >> 31;
}

static double random_unit(uint64_t *state) { return (double)(next_random(state) >> 11) / 9007199254740992.0; }

/// A value for a channel: within its range; where it may be `wild`, one in ten at the bounds of what may be set at all.
static float any_value(const fid_program *program, int32_t channel, uint64_t *state, bool may_be_wild) {
    double r = random_unit(state);
    bool wild = random_unit(state) < 0.1 && may_be_wild;
    float lo = program->channel_min[channel], hi = program->channel_max[channel];
    if (channel < program->bone_count * FID_AXIS_COUNT) {
        int32_t group = channel % FID_AXIS_COUNT / 3;
        float most = group == 0   ? (wild ? 1e4f : 0.5f) * program->height
                     : group == 1 ? (wild ? 1e5f : 180)
                     : wild       ? 1e3f
                                  : 2;
        lo = fid_max(lo, group == 2 ? (wild ? 1e-3f : 0.5f) : -most);
        hi = fid_min(hi, most);
    }
    if (hi < lo) {
        return fid_clamp(program->channel_rest[channel], hi, lo);
    }
    return wild ? (r < 0.5 ? lo : hi) : (float)((double)lo + r * ((double)hi - (double)lo));
}

void fid_pose_randomly(fid_pose *pose, uint64_t seed, int32_t number, bool wild) {
    const fid_program *program = pose->program;
    uint64_t state = (seed << 32) + (uint64_t)number;
    for (int32_t i = 0; i < program->channel_count; i++) {
        if (program->animatable[i]) {
            // Values come from inside the range, so that nothing is refused.
            float value = any_value(program, i, &state, wild);
            fid_code code = fid_pose_set(pose, i, value, NULL, NULL);
            (void)code;
        }
    }
}
