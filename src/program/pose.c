#include "program/pose.h"

#include "math/scalar.h"

#include <string.h>

/// What stands at the door: bounds of what may be set at all.
static const float most_translation = 1e4f, least_scale = 1e-3f, most_scale = 1e3f, most_degrees = 1e5f;

static size_t place(size_t *used, size_t size) {
    size_t at = (*used + 15) & ~(size_t)15;
    *used = at + size;
    return at;
}

static size_t stale_words(const fid_program *program) { return ((size_t)program->step_count + 63) / 64; }

fid_code fid_pose_new(const fid_program *program, fid_pose **out, fid_error *err) {
    size_t bones = (size_t)program->bone_count, channels = (size_t)program->channel_count;
    size_t chain = (size_t)program->chain_bone_count, used = sizeof(fid_pose);
    size_t value = place(&used, channels * sizeof(float));
    size_t effective = place(&used, channels * sizeof(float));
    size_t rotation = place(&used, bones * sizeof(fid_quat));
    size_t posed = place(&used, bones);
    size_t frames = place(&used, bones * sizeof(fid_frame));
    size_t relations = place(&used, chain * sizeof(fid_frame));
    size_t scales = place(&used, chain * sizeof(fid_vec3));
    size_t departures = place(&used, (size_t)program->departure_count * sizeof(fid_frame));
    size_t stale = place(&used, stale_words(program) * sizeof(uint64_t));
    size_t turns = place(&used, (size_t)program->departure_count * sizeof(fid_vec3));
    char *block = fid_memory_get_zero(1, used);
    *out = NULL;
    if (!block) {
        return fid_no_memory(err);
    }
    fid_pose *pose = (fid_pose *)(void *)block;
    pose->program = program;
    pose->value = (float *)(void *)(block + value);
    pose->effective = (float *)(void *)(block + effective);
    pose->rotation = (fid_quat *)(void *)(block + rotation);
    pose->posed = (uint8_t *)(block + posed);
    pose->frames = (fid_frame *)(void *)(block + frames);
    pose->chain = (fid_frame *)(void *)(block + relations);
    pose->chain_scale = (fid_vec3 *)(void *)(block + scales);
    pose->departures = (fid_frame *)(void *)(block + departures);
    pose->stale = (uint64_t *)(void *)(block + stale);
    pose->departure_turns = (fid_vec3 *)(void *)(block + turns);
    fid_pose_reset(pose);
    *out = pose;
    return FID_OK;
}

void fid_pose_free(fid_pose *pose) { fid_memory_free(pose); }

void fid_pose_reset(fid_pose *pose) {
    const fid_program *program = pose->program;
    size_t channels = (size_t)program->channel_count, bones = (size_t)program->bone_count;
    // A rest value outside its range is what every reader sees clamped.
    for (size_t i = 0; i < channels; i++) {
        pose->value[i] = fid_clamp(program->channel_rest[i], program->channel_min[i], program->channel_max[i]);
        pose->effective[i] = pose->value[i];
    }
    memset(pose->posed, 0, bones);
    for (size_t i = 0; i < bones; i++) {
        pose->rotation[i] = FID_QUAT_IDENTITY;
        pose->frames[i] = program->rest[i];
    }
    for (int32_t i = 0; i < program->departure_count; i++) {
        pose->departures[i] = FID_FRAME_IDENTITY;
        pose->departure_turns[i] = (fid_vec3){0, 0, 0};
    }
    pose->world = pose->from_world = FID_FRAME_IDENTITY;
    memset(pose->stale, 0xff, stale_words(program) * sizeof *pose->stale);
}

/// Notes whether the values of a group (0: translation, 1: angles, 2: scale) differ from rest.
static void update_posed(fid_pose *pose, int32_t bone, int32_t group) {
    const float *value = pose->value + (size_t)bone * FID_AXIS_COUNT + group * 3, rest = group == 2 ? 1 : 0;
    uint8_t bit = (uint8_t)(1 << group), others = (uint8_t)(pose->posed[bone] & ~bit);
    bool differs = value[0] != rest || value[1] != rest || value[2] != rest;
    pose->posed[bone] = differs ? others | bit : others;
}

/// Notes that what reads a channel has to be solved again.
static inline void touch(fid_pose *pose, int32_t channel) {
    const fid_program *program = pose->program;
    for (int32_t i = program->reader_first[channel]; i < program->reader_first[channel + 1]; i++) {
        pose->stale[program->readers[i] / 64] |= (uint64_t)1 << program->readers[i] % 64;
    }
}

static void store(fid_pose *pose, int32_t channel, float value) {
    // A driven channel loses its effective value here even where it is set to what it was set to before.
    if (pose->value[channel] != value || pose->effective[channel] != value) {
        touch(pose, channel);
    }
    pose->value[channel] = value;
    pose->effective[channel] = value;
}

/// `group` is that of an axis of a bone, else -1.
static fid_code check_door(const fid_program *program, int32_t group, float value, fid_error *err) {
    float size = value < 0 ? -value : value, most = most_translation * program->height;
    if (!isfinite(value)) {
        return fid_fail(err, FID_RANGE, "the value is not a finite number");
    }
    if (group == 0 && size > most) {
        return fid_fail(err, FID_RANGE, "translation %g m is beyond 10000 times the height (%g m)", (double)value,
                        (double)most);
    }
    if (group == 1 && size > most_degrees) {
        return fid_fail(err, FID_RANGE, "%g degrees is beyond 100000", (double)value);
    }
    if (group == 2 && (value < least_scale || value > most_scale)) {
        return fid_fail(err, FID_RANGE, "scale %g is not within 0.001 to 1000", (double)value);
    }
    return FID_OK;
}

fid_code fid_pose_set(fid_pose *pose, int32_t channel, float value, bool *clamped, fid_error *err) {
    const fid_program *program = pose->program;
    int32_t axes = program->bone_count * FID_AXIS_COUNT, weights = axes + program->slider_count;
    if (clamped) {
        *clamped = false;
    }
    if (channel < 0 || channel >= program->channel_count) {
        return fid_fail(err, FID_UNKNOWN, "there is no such channel");
    }
    int32_t bone = channel / FID_AXIS_COUNT, group = channel < axes ? channel % FID_AXIS_COUNT / 3 : -1;
    fid_code code = check_door(program, group, value, err);
    if (code) {
        return code;
    }
    if (!program->animatable[channel] && channel < weights && value != program->channel_rest[channel]) {
        return fid_fail(err, FID_LOCKED, "the channel is not animatable%s",
                        channel < axes ? ": 'channels' of its bone does not name it" : "");
    }
    value += 0.0f; // no -0
    float kept = fid_clamp(value, program->channel_min[channel], program->channel_max[channel]);
    if (clamped) {
        *clamped = kept != value;
    }
    if (group < 0) {
        store(pose, channel, kept);
        return FID_OK;
    }
    if (group == 1) {
        int32_t first = bone * FID_AXIS_COUNT + FID_ROTATION_X;
        if (pose->posed[bone] & FID_POSED_QUATERNION) {
            pose->posed[bone] &= (uint8_t)~FID_POSED_QUATERNION;
            touch(pose, first);
            for (int32_t i = 0; i < 3; i++) {
                store(pose, first + i, fid_clamp(0, program->channel_min[first + i], program->channel_max[first + i]));
            }
        }
        store(pose, channel, kept);
        const float *angle = pose->value + first;
        pose->rotation[bone] =
            fid_quat_from_euler((fid_vec3){angle[0], angle[1], angle[2]}, (fid_order)program->bones[bone].order);
    } else {
        store(pose, channel, kept);
    }
    update_posed(pose, bone, group);
    return FID_OK;
}

fid_code fid_pose_set_rotation(fid_pose *pose, int32_t bone, fid_quat rotation, bool *clamped, fid_error *err) {
    const fid_program *program = pose->program;
    int32_t first = bone * FID_AXIS_COUNT + FID_ROTATION_X;
    if (clamped) {
        *clamped = false;
    }
    double square = (double)rotation.x * (double)rotation.x + (double)rotation.y * (double)rotation.y +
                    (double)rotation.z * (double)rotation.z + (double)rotation.w * (double)rotation.w;
    // Squares of single-precision numbers do not leave the range of double precision.
    if (!(square <= DBL_MAX)) {
        return fid_fail(err, FID_RANGE, "the quaternion is not finite");
    }
    if (square < 1e-12) {
        return fid_fail(err, FID_RANGE, "the quaternion has no length");
    }
    // What is off by rounding only, as most are, needs no root: one step of Newton's method is exact to single
    // precision.
    double shrink = fabs(square - 1) < 1e-5 ? 1.5 - 0.5 * square : 1 / sqrt(square);
    fid_quat unit = {(float)((double)rotation.x * shrink), (float)((double)rotation.y * shrink),
                     (float)((double)rotation.z * shrink), (float)((double)rotation.w * shrink)};
    unit = fid_quat_canonical(unit);
    bool rests = unit.w >= 1;
    bool free_axes = program->animatable[first] && program->animatable[first + 1] && program->animatable[first + 2];
    if (!free_axes && !rests) {
        return fid_fail(err, FID_LOCKED, "a quaternion turns all three axes, and rotation is not wholly animatable");
    }
    if (program->bones[bone].flags & FID_EULER) {
        fid_vec3 angles = fid_quat_to_euler(unit, (fid_order)program->bones[bone].order);
        const float values[3] = {angles.x, angles.y, angles.z};
        for (int32_t i = 0; i < 3; i++) {
            bool one = false;
            fid_code code = fid_pose_set(pose, first + i, values[i], &one, err);
            if (code) {
                return code;
            }
            if (clamped) {
                *clamped |= one;
            }
        }
        return FID_OK;
    }
    pose->rotation[bone] = unit;
    touch(pose, first);
    for (int32_t i = 0; i < 3 && !(pose->posed[bone] & FID_POSED_QUATERNION); i++) {
        store(pose, first + i, 0);
    }
    // Its angles are 0 now, and the other groups are as they were.
    uint8_t others = pose->posed[bone] & (FID_POSED_TRANSLATION | FID_POSED_SCALE);
    pose->posed[bone] = rests ? others : (uint8_t)(others | FID_POSED_QUATERNION | FID_POSED_ROTATION);
    return FID_OK;
}

fid_vec3 fid_pose_angles(const fid_pose *pose, int32_t bone) {
    if (pose->posed[bone] & FID_POSED_QUATERNION) {
        return fid_quat_to_euler(pose->rotation[bone], (fid_order)pose->program->bones[bone].order);
    }
    const float *angle = pose->value + (size_t)bone * FID_AXIS_COUNT + FID_ROTATION_X;
    return (fid_vec3){angle[0], angle[1], angle[2]};
}

void fid_pose_matrices(const fid_pose *pose, float *out) {
    for (int32_t i = 0; i < pose->program->bone_count; i++) {
        fid_frame_to_matrix(pose->frames[i], out + 16 * (size_t)i);
    }
}

void fid_pose_world(const fid_pose *pose, int32_t bone, double out[16]) {
    fid_frame_to_world(pose->world, pose->frames[bone], out);
}

void fid_pose_world_point(const fid_pose *pose, int32_t bone, fid_vec3 point, double out[3]) {
    double m[16];
    fid_pose_world(pose, bone, m);
    for (int i = 0; i < 3; i++) {
        out[i] = m[i] * (double)point.x + m[4 + i] * (double)point.y + m[8 + i] * (double)point.z + m[12 + i];
    }
}
