#include "bench/chain.h"

#include "math/scalar.h"
#include "solve/solve.h"

#include <stdio.h>
#include <stdlib.h>

struct bench_chain {
    fid_rig *rig;
    fid_program *program;
    fid_pose *pose;
    int32_t goal, last;
    double length; ///< beyond the base of the last bone
    fid_vec3 rest; ///< of the goal
};

static void need(fid_code code, const fid_error *err) {
    if (code) {
        fprintf(stderr, "%s\n", err->message);
        exit(2);
    }
}

static fid_bone_id add_bone(fid_rig *rig, const char *part, int index, fid_bone_id parent, fid_vec3 at, float length) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.index[0] = 1;
    def.index[1] = index;
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION;
    def.parent = parent;
    def.rest.t = at;
    def.length = length;
    need(fid_rig_add_bone(rig, &def, &out, &err), &err);
    return out;
}

static void add_hierarchy(bench_chain *of, int count, double length) {
    fid_bone_id parent = {{0, 0}};
    for (int i = 0; i < count; i++) {
        parent = add_bone(of->rig, "b", i, parent, (fid_vec3){0, 0, i > 0 ? (float)length : 0}, (float)length);
    }
    of->last = count - 1;
    of->length = length;
}

static void add_chain(bench_chain *of, int count, double length, double bend) {
    fid_error err = {0};
    fid_vec3 *points = calloc((size_t)count + 1, sizeof *points);
    double y = 0, z = 0;
    for (int i = 0; i < count; i++) {
        // About x, from +z: positive turns lead to -y.
        double angle = fid_radians(bend * (i - 0.5 * (count - 1)));
        y -= length * fid_sin(angle);
        z += length * fid_cos(angle);
        points[i + 1] = (fid_vec3){0, (float)y, (float)z};
    }
    of->rest = points[count];
    fid_bone_id goal = add_bone(of->rig, "goal", 0, (fid_bone_id){{0, 0}}, of->rest, 0.1f);
    fid_chain_def chain = {
        .bone = fid_bone_default(), .points = points, .count = count + 1, .with_end = true, .parenting = FID_FAN};
    chain.bone.part = "chain";
    chain.bone.side = FID_CENTER;
    chain.bone.role = FID_HELPER;
    fid_constraint_def ik = fid_constraint_default(FID_CONSTRAINT_IK);
    need(fid_rig_add_chain(of->rig, &chain, &ik.chain, &err), &err);
    ik.as.ik.goal = (fid_source){.kind = FID_SOURCE_BONE, .a = {goal, 0}};
    fid_constraint_id id;
    need(fid_rig_add_constraint(of->rig, &ik, &id, &err), &err);
    of->goal = (int32_t)goal.handle.slot;
    of->last = (int32_t)fid_rig_chain(of->rig, ik.chain, &err)->bones[count].handle.slot;
    free(points);
}

bench_chain *bench_chain_new(int count, double length, double bend) {
    fid_error err = {0};
    fid_report report = {0};
    bench_chain *of = calloc(1, sizeof *of);
    need(fid_rig_new("bench", 1, NULL, &of->rig, &err), &err);
    if (bend > 0) {
        add_chain(of, count, length, bend);
    } else {
        add_hierarchy(of, count, length);
    }
    need(fid_program_compile(of->rig, &report, &of->program, &err), &err);
    need(fid_pose_new(of->program, &of->pose, &err), &err);
    fid_report_clear(&report);
    return of;
}

void bench_chain_free(bench_chain *chain) {
    fid_pose_free(chain->pose);
    fid_program_free(chain->program);
    fid_rig_free(chain->rig);
    free(chain);
}

void bench_chain_turn(bench_chain *chain, int i, double radians) {
    fid_error err = {0};
    int32_t channel = i * FID_AXIS_COUNT + FID_ROTATION_X;
    need(fid_pose_set(chain->pose, channel, (float)fid_degrees(radians), NULL, &err), &err);
}

void bench_chain_reach(bench_chain *chain, const double goal[3]) {
    const float rest[3] = {chain->rest.x, chain->rest.y, chain->rest.z};
    fid_error err = {0};
    for (int i = 0; i < 3; i++) {
        int32_t channel = chain->goal * FID_AXIS_COUNT + FID_TRANSLATION_X + i;
        need(fid_pose_set(chain->pose, channel, (float)(goal[i] - (double)rest[i]), NULL, &err), &err);
    }
    fid_solve(chain->program, chain->pose);
}

void bench_chain_solve(bench_chain *chain) { fid_solve(chain->program, chain->pose); }

void bench_chain_end(const bench_chain *chain, double out[3]) {
    fid_pose_world_point(chain->pose, chain->last, (fid_vec3){0, 0, (float)chain->length}, out);
}
