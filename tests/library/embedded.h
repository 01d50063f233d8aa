#ifndef FID_TESTS_LIBRARY_EMBEDDED_H
#define FID_TESTS_LIBRARY_EMBEDDED_H

#include <stdlib.h>

#include "fid.h"
#include "format/skeleton.h"

/// What the tests of the C library share: sound skeletons, and all that a pose shows of itself.

enum { MESSAGE_SIZE = 1024 };

static inline void embedded_ok_at(fid_status status, const char *message, const char *file, int line) {
    if (status != FID_STATUS_OK) {
        print_error("%s: %s\n", fid_status_name(status), message);
        _fail(file, line);
    }
}
#define embedded_ok(call) embedded_ok_at((call), message, __FILE__, __LINE__)

/// The file of a rig with a placement, a driven and a locked channel, a slider with choices, and constraints of every
/// kind of the format. Ended with fid_text_clear.
static inline fid_text embedded_figure(void) {
    static const fid_vec3 points[] = {{0, 1, 0}, {0, 0.7f, 0.1f}, {0, 0.3f, 0.1f}, {0, 0.0f, 0}};
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.template_text, sizeof naming.template_text, "%s", "{side}_{id}-{part}_{index}_{role}");
    snprintf(naming.sides[FID_RIGHT], sizeof naming.sides[FID_RIGHT], "%s", "R");
    fid_rig *rig = NULL;
    rig_ok(fid_rig_new("figure", 1.6f, &naming, &rig, &err));
    for (int32_t line = 3; line < 6; line++) {
        rig_ok(skeleton_origin(rig, NULL, line, -1));
    }
    fid_bone_id root = skeleton_placement(rig);
    fid_bone_id post = rig_control(rig, "post", rig_none, (fid_vec3){1, 0, 0}, (fid_vec3){0, 90, 0});
    fid_bone_id hand = rig_control(rig, "hand", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id upper = rig_control(rig, "upper", hand, (fid_vec3){0.3f, 0.2f, 0.1f}, (fid_vec3){5, 6, 7});
    fid_bone_id odd = skeleton_odd_bone(rig, upper);
    fid_chain_id chain = rig_chain(rig, "limb", root, points, 4, true, FID_FAN);
    fid_channel amount = skeleton_slider(rig, root, "amount", false);
    skeleton_add_follows(rig, upper, hand, post, amount);
    skeleton_add_spaces(rig, hand, post, odd);
    skeleton_add_ik(rig, chain, hand, amount);
    skeleton_add_rest(rig, odd, upper);
    skeleton_add_drives(rig, odd, amount);
    fid_text text = skeleton_text(rig);
    fid_rig_free(rig);
    return text;
}

/// The skeleton of a text that must be sound. Takes the text.
static inline fid_skeleton *embedded_load(fid_text text) {
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = NULL;
    embedded_ok(fid_skeleton_load_text(text.at, (size_t)text.count, "test.json", &skeleton, message, sizeof message));
    assert_string_equal(message, "");
    assert_non_null(skeleton);
    fid_text_clear(&text);
    return skeleton;
}

static inline fid_skeleton_pose *embedded_pose(const fid_skeleton *skeleton) {
    fid_skeleton_pose *pose = NULL;
    assert_int_equal(fid_skeleton_pose_new(skeleton, &pose), FID_STATUS_OK);
    assert_non_null(pose);
    return pose;
}

static inline int32_t embedded_channel(const fid_skeleton *skeleton, const char *name) {
    char message[MESSAGE_SIZE];
    int32_t channel = FID_NO_INDEX;
    embedded_ok(fid_skeleton_find_channel(skeleton, name, &channel, message, sizeof message));
    return channel;
}

static inline void embedded_set(const fid_skeleton *skeleton, fid_skeleton_pose *pose, const char *name, float value) {
    char message[MESSAGE_SIZE];
    embedded_ok(fid_skeleton_pose_set(pose, embedded_channel(skeleton, name), value, NULL, message, sizeof message));
}

/// All that can be read of a pose: values, effective values, matrices of the rig and of the world. Ended with free.
typedef struct embedded_state {
    size_t size;
    char *bytes;
} embedded_state;

static inline embedded_state embedded_read(const fid_skeleton *skeleton, const fid_skeleton_pose *pose) {
    size_t bones = (size_t)fid_skeleton_bone_count(skeleton), channels = (size_t)fid_skeleton_channel_count(skeleton);
    embedded_state state = {bones * 16 * (sizeof(double) + sizeof(float)) + channels * 2 * sizeof(float), NULL};
    state.bytes = malloc(state.size + 1);
    assert_non_null(state.bytes);
    double *world = (double *)(void *)state.bytes;
    float *rig = (float *)(void *)(world + bones * 16), *values = rig + bones * 16;
    assert_int_equal(fid_skeleton_pose_world_matrices(pose, world, bones * 16), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_matrices(pose, rig, bones * 16), FID_STATUS_OK);
    for (size_t i = 0; i < channels; i++) {
        values[2 * i] = fid_skeleton_pose_value(pose, (int32_t)i);
        values[2 * i + 1] = fid_skeleton_pose_effective(pose, (int32_t)i);
    }
    return state;
}

static inline bool embedded_is_same(embedded_state a, embedded_state b) {
    return a.size == b.size && memcmp(a.bytes, b.bytes, a.size) == 0;
}

#endif
