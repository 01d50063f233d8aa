// Growth: legs of three bones with ik and spans, as many as make 1250 to 20000 bones; what building, compiling,
// checking (without random poses) and solving cost a bone, and by how much that grows. Prints one line of JSON for each
// size.

#include "base/clock.h"
#include "check/check.h"
#include "solve/solve.h"

#include <stdio.h>
#include <stdlib.h>

static void need(fid_code code, const fid_error *err) {
    if (code) {
        fprintf(stderr, "%s\n", err->message);
        exit(2);
    }
}

/// Nine bones: hip, foot, a chain of four with an end, three that span along it.
static void add_leg(fid_rig *rig, int32_t number, fid_bone_id root) {
    fid_error err = {0};
    float x = 0.01f * (float)(number % 100);
    const fid_vec3 points[] = {{x, 1, 0}, {x, 0.7f, 0.2f}, {x, 0.3f, 0.2f}, {x, 0, 0}};
    fid_bone_def control = fid_bone_default();
    control.side = FID_CENTER;
    control.role = FID_CONTROL;
    control.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION;
    control.parent = root;
    control.length = 0.1f;
    control.index[0] = 1;
    control.index[1] = number;
    control.part = "hip";
    control.rest.t = points[0];
    fid_bone_id hip, foot;
    need(fid_rig_add_bone(rig, &control, &hip, &err), &err);
    control.part = "foot";
    control.rest.t = points[3];
    need(fid_rig_add_bone(rig, &control, &foot, &err), &err);
    char part[32];
    snprintf(part, sizeof part, "joint%d", (int)number);
    fid_chain_def chain = {
        .bone = fid_bone_default(), .points = points, .count = 4, .with_end = true, .parenting = FID_FAN};
    chain.bone.part = part;
    chain.bone.side = FID_CENTER;
    chain.bone.role = FID_CONTROL;
    chain.bone.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION;
    chain.bone.parent = hip;
    fid_constraint_def ik = fid_constraint_default(FID_CONSTRAINT_IK),
                       span = fid_constraint_default(FID_CONSTRAINT_SPAN);
    need(fid_rig_add_chain(rig, &chain, &ik.chain, &err), &err);
    ik.as.ik.goal = (fid_source){.kind = FID_SOURCE_BONE, .a = {foot, 0}};
    fid_constraint_id id;
    need(fid_rig_add_constraint(rig, &ik, &id, &err), &err);
    const fid_bone_id *joints = fid_rig_chain(rig, ik.chain, &err)->bones;
    for (int32_t i = 0; i < 3; i++) {
        fid_bone_def skin = fid_bone_default();
        fid_bone_id joint = joints[i];
        skin.side = FID_CENTER;
        skin.part = "leg";
        skin.index[0] = 2;
        skin.index[1] = number % 3000 * 3 + i;
        skin.id = number < 3000 ? "a" : "b";
        skin.parent = joint;
        skin.length = fid_rig_bone(rig, joint, &err)->def.length;
        need(fid_rig_add_bone(rig, &skin, &span.bone, &err), &err);
        joints = fid_rig_chain(rig, ik.chain, &err)->bones;
        span.as.span.source = (fid_source){.kind = FID_SOURCE_BONE, .a = {joints[i + 1], 0}};
        need(fid_rig_add_constraint(rig, &span, &id, &err), &err);
    }
}

static void bench(int32_t bones, const double *first, double *out) {
    fid_error err = {0};
    fid_report report = {0};
    fid_rig *rig = NULL;
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    double start = fid_clock_seconds();
    need(fid_rig_new("growth", 1.6f, NULL, &rig, &err), &err);
    fid_bone_def root = fid_bone_default();
    root.part = "root";
    root.side = FID_CENTER;
    root.role = FID_CONTROL;
    root.length = 1;
    root.channels = FID_MASK_TRANSLATION;
    fid_bone_id id;
    need(fid_rig_add_bone(rig, &root, &id, &err), &err);
    for (int32_t i = 0; rig->bones.count + 9 <= bones; i++) {
        add_leg(rig, i, id);
    }
    out[0] = fid_clock_seconds() - start;
    start = fid_clock_seconds();
    need(fid_program_compile(rig, &report, &program, &err), &err);
    out[1] = fid_clock_seconds() - start;
    fid_check_options options = fid_check_default();
    options.poses = 0;
    start = fid_clock_seconds();
    need(fid_check_rig(rig, &options, &report, &err), &err);
    out[2] = fid_clock_seconds() - start;
    need(fid_pose_new(program, &pose, &err), &err);
    fid_solve(program, pose);
    start = fid_clock_seconds();
    for (int i = 0; i < 20; i++) {
        fid_solve(program, pose);
    }
    out[3] = (fid_clock_seconds() - start) / 20;
    static const char *const what[] = {"build", "compile", "check", "solve"};
    printf("{\"case\": \"growth\", \"bones\": %d, \"findings\": %d", (int)rig->bones.count, (int)report.findings.count);
    for (int i = 0; i < 4; i++) {
        out[i] *= 1e9 / rig->bones.count;
        printf(", \"%s_ns_per_bone\": %.0f", what[i], out[i]);
        if (first) {
            printf(", \"%s_growth\": %.2f", what[i], out[i] / first[i]);
        }
    }
    printf("}\n");
    fid_pose_free(pose);
    fid_program_free(program);
    fid_rig_free(rig);
    fid_report_clear(&report);
}

int main(void) {
    double first[4], out[4];
    bench(1250, NULL, first);
    bench(5000, first, out);
    bench(20000, first, out);
    return 0;
}
