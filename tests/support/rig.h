#ifndef FID_TESTS_SUPPORT_RIG_H
#define FID_TESTS_SUPPORT_RIG_H

#include "program/pose.h"
#include "solve/solve.h"
#include "support/assert_frame.h"

/// Small rigs for tests: every function fails the test where the core refuses.

static inline void rig_ok_at(fid_code code, const fid_error *err, const char *file, int line) {
    if (code != FID_OK) {
        print_error("refused: %s\n", err->message);
        _fail(file, line);
    }
}
#define rig_ok(call) rig_ok_at((call), &err, __FILE__, __LINE__)

static inline fid_rig *rig_make(float height) {
    fid_error err = {0};
    fid_rig *rig = NULL;
    rig_ok(fid_rig_new("test", height, NULL, &rig, &err));
    return rig;
}

/// A control with all channels; placed at `at`, turned by `degrees` (xyz), relative to the parent (may be null).
static inline fid_bone_id rig_control(fid_rig *rig, const char *part, fid_bone_id parent, fid_vec3 at,
                                      fid_vec3 degrees) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.parent = parent;
    def.rest = (fid_frame){at, fid_quat_from_euler(degrees, FID_ORDER_XYZ), {1, 1, 1}};
    def.length = 0.1f;
    def.channels = FID_MASK_ALL;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

/// A chain of controls through points of rig space.
static inline fid_chain_id rig_chain(fid_rig *rig, const char *part, fid_bone_id parent, const fid_vec3 *points,
                                     int32_t count, bool with_end, fid_parenting parenting) {
    fid_error err = {0};
    fid_chain_id out;
    fid_chain_def def = {.bone = fid_bone_default(),
                         .points = points,
                         .count = count,
                         .with_end = with_end,
                         .parenting = (int32_t)parenting};
    def.bone.part = part;
    def.bone.side = FID_CENTER;
    def.bone.role = FID_CONTROL;
    def.bone.parent = parent;
    def.bone.channels = FID_MASK_ALL;
    rig_ok(fid_rig_add_chain(rig, &def, &out, &err));
    return out;
}

static inline fid_source rig_source(fid_bone_id bone) { return (fid_source){.kind = FID_SOURCE_BONE, .a = {bone, 0}}; }

static inline fid_constraint_id rig_constrain(fid_rig *rig, const fid_constraint_def *def) {
    fid_error err = {0};
    fid_constraint_id out;
    rig_ok(fid_rig_add_constraint(rig, def, &out, &err));
    return out;
}

/// A rig compiled with a pose at rest.
typedef struct solved {
    fid_program *program;
    fid_pose *pose;
} solved;

static inline solved rig_compile(const fid_rig *rig) {
    fid_error err = {0};
    fid_report report = {0};
    solved out = {NULL, NULL};
    fid_code code = fid_program_compile(rig, &report, &out.program, &err);
    for (int32_t i = 0; i < report.findings.count; i++) {
        print_error("%s: %s\n", report.findings.at[i].code, report.findings.at[i].message);
    }
    fid_report_clear(&report);
    rig_ok(code);
    rig_ok(fid_pose_new(out.program, &out.pose, &err));
    fid_solve(out.program, out.pose);
    return out;
}

static inline void rig_end(fid_rig *rig, solved *of) {
    fid_pose_free(of->pose);
    fid_program_free(of->program);
    fid_rig_free(rig);
}

static inline void rig_set(const solved *of, fid_bone_id bone, fid_axis axis, float value) {
    fid_error err = {0};
    fid_channel channel = {FID_CHANNEL_BONE, axis, bone.handle};
    rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), value, NULL, &err));
}

static inline void rig_set_weight(const solved *of, fid_constraint_id constraint, float value) {
    fid_error err = {0};
    fid_channel channel = {FID_CHANNEL_WEIGHT, 0, constraint.handle};
    rig_ok(fid_pose_set(of->pose, fid_program_channel(of->program, channel), value, NULL, &err));
}

static inline void rig_move(const solved *of, fid_bone_id bone, fid_vec3 translation, fid_vec3 degrees) {
    const float values[6] = {translation.x, translation.y, translation.z, degrees.x, degrees.y, degrees.z};
    for (int i = 0; i < 6; i++) {
        rig_set(of, bone, (fid_axis)i, values[i]);
    }
}

static inline void rig_scale(const solved *of, fid_bone_id bone, fid_vec3 scale) {
    rig_set(of, bone, FID_SCALE_X, scale.x);
    rig_set(of, bone, FID_SCALE_Y, scale.y);
    rig_set(of, bone, FID_SCALE_Z, scale.z);
}

static inline fid_frame rig_frame(const solved *of, fid_bone_id bone) { return of->pose->frames[bone.handle.slot]; }

#define rig_none ((fid_bone_id){{0, 0}})

#endif
