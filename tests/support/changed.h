#ifndef FID_TESTS_SUPPORT_CHANGED_H
#define FID_TESTS_SUPPORT_CHANGED_H

#include "math/scalar.h"
#include "support/rig.h"

#include <string.h>

/// Whether solving what changed gives the same bits as solving everything.

/// Numbers of a fixed sequence (xorshift64*, S. Vigna 2016), from 0 to 1.
static inline double changed_random(uint64_t *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ull) >> 11) / 9007199254740992.0;
}

/// Sets one channel, or the rotation of one bone as a quaternion, of both poses alike.
static inline void changed_set(const fid_program *program, fid_pose *one, fid_pose *other, uint64_t *state) {
    int32_t axes = program->bone_count * FID_AXIS_COUNT, sliders = axes + program->slider_count;
    int32_t channel = (int32_t)(changed_random(state) * program->channel_count);
    if (changed_random(state) < 0.3 && program->channel_count > axes) {
        channel = axes + (int32_t)(changed_random(state) * (program->channel_count - axes));
    }
    int32_t group = channel % FID_AXIS_COUNT / 3;
    double low = group == 0 ? -0.2 : group == 1 ? -60 : 0.7, high = group == 0 ? 0.2 : group == 1 ? 60 : 1.4;
    if (channel >= axes) {
        low = channel < sliders ? (double)program->channel_min[channel] : 0;
        high = channel < sliders ? (double)program->channel_max[channel] : 1;
    }
    float value = (float)(low + (high - low) * changed_random(state));
    fid_error err = {0};
    if (channel < axes && group == 1 && changed_random(state) < 0.3) {
        fid_quat turn = {0.2f * (float)changed_random(state), 0.1f, -0.3f * (float)changed_random(state), 1};
        int32_t bone = channel / FID_AXIS_COUNT;
        fid_code code = fid_pose_set_rotation(one, bone, turn, NULL, &err);
        assert_int_equal(fid_pose_set_rotation(other, bone, turn, NULL, &err), code);
        return;
    }
    fid_code code = fid_pose_set(one, channel, value, NULL, &err);
    assert_int_equal(fid_pose_set(other, channel, value, NULL, &err), code);
}

static inline void assert_same_pose(const fid_program *program, const fid_pose *one, const fid_pose *other) {
    size_t bones = (size_t)program->bone_count;
    for (size_t i = 0; i < bones; i++) {
        if (memcmp(&one->frames[i], &other->frames[i], sizeof one->frames[i]) != 0) {
            fail_msg("bone %d differs", (int)i);
        }
    }
    assert_memory_equal(one->effective, other->effective, (size_t)program->channel_count * sizeof *one->effective);
    if (program->departure_count > 0) {
        assert_memory_equal(one->departures, other->departures,
                            (size_t)program->departure_count * sizeof *one->departures);
    }
    assert_memory_equal(&one->world, &other->world, sizeof one->world);
    assert_memory_equal(&one->from_world, &other->from_world, sizeof one->from_world);
}

/// Changes one to four channels at a time, `rounds` times.
static inline void assert_changed_is_whole(const fid_program *program, int32_t rounds) {
    fid_error err = {0};
    fid_pose *changed = NULL, *whole = NULL;
    uint64_t state = 88172645463325252ull;
    rig_ok(fid_pose_new(program, &changed, &err));
    rig_ok(fid_pose_new(program, &whole, &err));
    for (int32_t i = 0; i < rounds; i++) {
        if (i % 97 == 96) {
            fid_pose_reset(changed);
            fid_pose_reset(whole);
        }
        for (int32_t count = 1 + (int32_t)(4 * changed_random(&state)); count > 0; count--) {
            changed_set(program, changed, whole, &state);
        }
        fid_solve_changed(program, changed);
        fid_solve(program, whole);
        assert_same_pose(program, changed, whole);
    }
    fid_pose_free(changed);
    fid_pose_free(whole);
}

#endif
