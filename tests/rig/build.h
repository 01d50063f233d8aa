#ifndef FID_TESTS_RIG_BUILD_H
#define FID_TESTS_RIG_BUILD_H

#include "rig/rig.h"
#include "support/assert.h"

#include <stdio.h>

/// Fails the test where a call is refused.
static inline void build_ok_at(fid_code code, const fid_error *err, const char *file, int line) {
    if (code != FID_OK) {
        print_error("refused: %s\n", err->message);
        _fail(file, line);
    }
}
#define build_ok(call) build_ok_at((call), &err, __FILE__, __LINE__)

/// Fails unless a call is refused with this code and a message that contains `part`.
#define build_refused(call, expected, part)        \
    do {                                           \
        err = (fid_error){0};                      \
        assert_int_equal((call), (expected));      \
        assert_int_equal(err.code, (expected));    \
        assert_text_contains(err.message, (part)); \
    } while (0)

static inline fid_rig *build_rig(void) {
    fid_error err = {0};
    fid_rig *rig = NULL;
    build_ok(fid_rig_new("test", 2.0f, NULL, &rig, &err));
    return rig;
}

static inline fid_bone_def build_bone_def(const char *part, fid_bone_id parent) {
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.parent = parent;
    def.rest.t = (fid_vec3){0, 0, 0.5f};
    def.length = 0.5f;
    return def;
}

static inline fid_bone_id build_bone(fid_rig *rig, const char *part, fid_bone_id parent) {
    fid_error err = {0};
    fid_bone_id id;
    fid_bone_def def = build_bone_def(part, parent);
    build_ok(fid_rig_add_bone(rig, &def, &id, &err));
    return id;
}

static inline int32_t build_origin(fid_rig *rig, const char *file, int32_t line) {
    fid_error err = {0};
    int32_t index = -1;
    const fid_origin origin = {.file = file, .line = line, .used_at = -1};
    build_ok(fid_rig_add_origin(rig, &origin, &index, &err));
    return index;
}

static const fid_vec3 build_points[] = {{0, 1, 0}, {0, 0.5f, 0.1f}, {0, 0, 0}};

/// A chain of two segments that bends about -X: from the origin of a leg down and back.
static inline fid_chain_def build_chain_def(const char *part, bool with_end) {
    fid_chain_def def = {.bone = fid_bone_default(), .points = build_points, .count = 3, .with_end = with_end};
    def.bone.part = part;
    def.bone.role = FID_HELPER;
    return def;
}

static inline fid_chain_id build_chain(fid_rig *rig, const char *part, bool with_end) {
    fid_error err = {0};
    fid_chain_id id;
    fid_chain_def def = build_chain_def(part, with_end);
    build_ok(fid_rig_add_chain(rig, &def, &id, &err));
    return id;
}

static inline fid_source build_source(fid_bone_id bone) {
    return (fid_source){.kind = FID_SOURCE_BONE, .a = {bone, 0}};
}

static inline fid_constraint_id build_constraint(fid_rig *rig, const fid_constraint_def *def) {
    fid_error err = {0};
    fid_constraint_id id;
    build_ok(fid_rig_add_constraint(rig, def, &id, &err));
    return id;
}

static inline fid_channel build_channel(fid_bone_id bone, fid_axis axis) {
    return (fid_channel){FID_CHANNEL_BONE, axis, bone.handle};
}

#define build_none ((fid_bone_id){{0, 0}})

#endif
