#ifndef FID_TESTS_SUPPORT_SWEEP_H
#define FID_TESTS_SUPPORT_SWEEP_H

#include "math/scalar.h"
#include "support/rig.h"

#include <stdlib.h>
#include <string.h>

/// Random channel settings, extremes included: nothing that is not finite, and the same result in any order and on
/// several threads.

/// A sequence of numbers that is the same on every machine (xorshift64*, S. Vigna 2016).
typedef struct sweep {
    const fid_program *program;
    uint64_t state;
} sweep;

/// From 0 to 1.
static inline double sweep_random(sweep *of) {
    of->state ^= of->state >> 12;
    of->state ^= of->state << 25;
    of->state ^= of->state >> 27;
    return (double)((of->state * 2685821657736338717ull) >> 11) / 9007199254740992.0;
}

/// A value for a channel: mostly moderate, one in ten at the bounds of what may be set.
static inline float sweep_value(sweep *of, int32_t channel) {
    const fid_program *program = of->program;
    double r = sweep_random(of), s = 2 * r - 1;
    bool wild = sweep_random(of) < 0.1;
    if (channel >= program->bone_count * FID_AXIS_COUNT) {
        double low = fmax((double)program->channel_min[channel], -1e7),
               high = fmin((double)program->channel_max[channel], 1e7);
        return (float)(wild ? (s > 0 ? high : low) : low + r * (high - low));
    }
    switch (channel % FID_AXIS_COUNT / 3) {
    case 0:
        return (wild ? (s > 0 ? 1e4f : -1e4f) : (float)s) * program->height;
    case 1:
        return wild ? (s > 0 ? 1e5f : -1e5f) : (float)(s * 200);
    default:
        return wild ? (s > 0 ? 1e3f : 1e-3f) : (float)(1 + 0.5 * s);
    }
}

/// Sets pose number `number`: half of what may be posed, weights too, one rotation in eight as a quaternion.
static inline void sweep_set(const fid_program *program, fid_pose *pose, uint64_t number) {
    fid_error err = {0};
    sweep of = {program, number * 0x9E3779B97F4A7C15ull + 1};
    fid_pose_reset(pose);
    for (int32_t i = 0; i < program->channel_count; i++) {
        bool weight = i >= program->bone_count * FID_AXIS_COUNT + program->slider_count;
        if (!(program->animatable[i] || weight) || sweep_random(&of) >= 0.5) {
            continue;
        }
        bool turns = i < program->bone_count * FID_AXIS_COUNT && i % FID_AXIS_COUNT == FID_ROTATION_X;
        if (turns && sweep_random(&of) < 0.125) {
            float x = (float)(2 * sweep_random(&of) - 1), y = (float)(2 * sweep_random(&of) - 1),
                  z = (float)(2 * sweep_random(&of) - 1);
            fid_code code = fid_pose_set_rotation(pose, i / FID_AXIS_COUNT, (fid_quat){x, y, z, 1e-3f}, NULL, &err);
            assert_true(code == FID_OK || code == FID_LOCKED);
        } else {
            // Values that a range does not reach are clamped, weights that a channel feeds are no channels.
            fid_code code = fid_pose_set(pose, i, sweep_value(&of, i), NULL, &err);
            assert_true(code == FID_OK || code == FID_LOCKED || code == FID_UNKNOWN);
        }
    }
}

/// FNV-1a (G. Fowler, L. C. Noll, K.-P. Vo), four bytes at a time.
static inline uint64_t sweep_hash_bytes(uint64_t hash, const void *bytes, size_t size) {
    uint32_t word;
    for (size_t i = 0; i < size / sizeof word; i++) {
        memcpy(&word, (const unsigned char *)bytes + i * sizeof word, sizeof word);
        hash = (hash ^ word) * 1099511628211ull;
    }
    return hash;
}

/// Of all frames, effective channels and the placement.
static inline uint64_t sweep_hash(const fid_program *program, const fid_pose *pose) {
    uint64_t hash = 14695981039346656037ull;
    hash = sweep_hash_bytes(hash, pose->frames, (size_t)program->bone_count * sizeof *pose->frames);
    hash = sweep_hash_bytes(hash, pose->effective, (size_t)program->channel_count * sizeof *pose->effective);
    return sweep_hash_bytes(hash, &pose->world, sizeof pose->world);
}

static inline void sweep_check_finite(const fid_rig *rig, const fid_pose *pose, int32_t number) {
    for (int32_t i = 0; i < rig->bones.count; i++) {
        double m[16];
        fid_pose_world(pose, i, m);
        for (int k = 0; k < 16; k++) {
            if (!isfinite(m[k])) {
                fail_msg("pose %d: bone %s is not finite", (int)number, rig->bones.at[i].name);
            }
        }
    }
    for (int32_t i = 0; i < pose->program->channel_count; i++) {
        if (!isfinite(pose->effective[i])) {
            fail_msg("pose %d: channel %d is not finite", (int)number, (int)i);
        }
    }
}

/// How many poses a sweep has: FID_SWEEP of the environment, or `usual`.
static inline int32_t sweep_count(int32_t usual) {
    const char *asked = getenv("FID_SWEEP");
    long count = asked != NULL ? strtol(asked, NULL, 10) : usual;
    assert_true(count > 0 && count <= 100000000);
    return (int32_t)count;
}

/// Solves all poses of a sweep again, some at a time on that many threads: the bits must be those of `hash`.
static inline void sweep_threads(const fid_program *program, const uint64_t *hash, int32_t count, int32_t threads) {
    enum { AT_ONCE = 48 };
    fid_error err = {0};
    fid_pose *poses[AT_ONCE];
    for (int32_t i = 0; i < AT_ONCE; i++) {
        rig_ok(fid_pose_new(program, &poses[i], &err));
    }
    for (int32_t first = 0; first < count; first += AT_ONCE) {
        int32_t some = count - first < AT_ONCE ? count - first : AT_ONCE;
        for (int32_t i = 0; i < some; i++) {
            sweep_set(program, poses[i], (uint64_t)(first + i));
        }
        fid_solve_many(program, poses, some, threads);
        for (int32_t i = 0; i < some; i++) {
            if (hash[first + i] != sweep_hash(program, poses[i])) {
                fail_msg("pose %d comes out otherwise on %d threads", (int)(first + i), (int)threads);
            }
        }
    }
    for (int32_t i = 0; i < AT_ONCE; i++) {
        fid_pose_free(poses[i]);
    }
}

/// Solves `count` poses one after the other, once more in another order in a pose of its own, and on one and on two
/// threads: all give the same bits, and what each gives is finite.
static inline void assert_sweep(const fid_rig *rig, int32_t count) {
    solved one = rig_compile(rig), other = rig_compile(rig);
    uint64_t *hash = malloc((size_t)count * sizeof *hash);
    assert_non_null(hash);
    for (int32_t i = 0; i < count; i++) {
        sweep_set(one.program, one.pose, (uint64_t)i);
        fid_solve(one.program, one.pose);
        sweep_check_finite(rig, one.pose, i);
        hash[i] = sweep_hash(one.program, one.pose);
    }
    // Backwards in strides that meet every pose: no common divisor of stride and count.
    int64_t stride = count % 7919 != 0 ? 7919 : 7907;
    for (int32_t i = count - 1; i >= 0; i--) {
        int32_t number = (int32_t)(i * stride % count);
        sweep_set(other.program, other.pose, (uint64_t)number);
        fid_solve(other.program, other.pose);
        if (hash[number] != sweep_hash(other.program, other.pose)) {
            fail_msg("pose %d comes out otherwise in another order", (int)number);
        }
    }
    sweep_threads(one.program, hash, count, 1);
    sweep_threads(one.program, hash, count, 2);
    free(hash);
    fid_pose_free(one.pose);
    fid_program_free(one.program);
    fid_pose_free(other.pose);
    fid_program_free(other.program);
}

#endif
