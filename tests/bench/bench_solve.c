// Cost of a solve beside the same work written straight over cglm: a plain hierarchy, every bone posed by a quaternion,
// once before and once in each solve. Both sides run in turn in one process on one core; the medians of 15 rounds are
// compared. Given a skeleton file, its whole rig is solved instead and compared with a plain loop over as many bones.
// Prints one line of JSON for each case.

#include <cglm/cglm.h>

#include "base/clock.h"
#include "base/file.h"
#include "format/skeleton_read.h"
#include "program/pose.h"
#include "solve/solve.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROUNDS = 15 };

static int compare(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/// The plain loop: local matrices from translations and quaternions, multiplied down the hierarchy.
typedef struct plain {
    int32_t count;
    int32_t *parent;
    vec3 *translation;
    versor *rest, *pose;
    mat4 *model;
} plain;

static void plain_solve(plain *of) {
    for (int32_t i = 0; i < of->count; i++) {
        mat4 local, turn;
        versor q;
        glm_quat_mul(of->rest[i], of->pose[i], q);
        glm_quat_mat4(q, turn);
        glm_translate_make(local, of->translation[i]);
        glm_mat4_mul(local, turn, local);
        if (of->parent[i] < 0) {
            glm_mat4_copy(local, of->model[i]);
        } else {
            glm_mat4_mul(of->model[of->parent[i]], local, of->model[i]);
        }
    }
}

static plain plain_make(int32_t count) {
    plain out = {.count = count};
    size_t n = (size_t)count;
    out.parent = malloc(n * sizeof *out.parent);
    out.translation = malloc(n * sizeof *out.translation);
    out.rest = aligned_alloc(32, n * sizeof *out.rest + 32 - n * sizeof *out.rest % 32);
    out.pose = aligned_alloc(32, n * sizeof *out.pose + 32 - n * sizeof *out.pose % 32);
    out.model = aligned_alloc(32, n * sizeof *out.model);
    for (int32_t i = 0; i < count; i++) {
        out.parent[i] = i - 1 - i % 3 < 0 ? i - 1 : i - 1 - i % 3;
        glm_vec3_copy((vec3){0, 0.1f, 0.05f * (float)(i % 5)}, out.translation[i]);
        glm_quat(out.rest[i], 0.1f * (float)(i % 7), 0, 1, 0);
        glm_quat(out.pose[i], 0.05f * (float)(i % 11), 1, 0, 0);
    }
    return out;
}

static fid_quat quat_of(versor q) { return (fid_quat){q[0], q[1], q[2], q[3]}; }

/// The same hierarchy as a rig.
static fid_rig *rig_of(plain *from) {
    fid_error err = {0};
    fid_rig *rig = NULL;
    fid_bone_id *ids = malloc((size_t)from->count * sizeof *ids);
    if (fid_rig_new("bench", 1, NULL, &rig, &err)) {
        exit(2);
    }
    for (int32_t i = 0; i < from->count; i++) {
        fid_bone_def def = fid_bone_default();
        def.part = "b";
        def.index[0] = 1;
        def.index[1] = i;
        def.side = FID_CENTER;
        def.role = FID_CONTROL;
        def.channels = FID_MASK_ROTATION;
        def.length = 0.1f;
        def.parent = from->parent[i] < 0 ? (fid_bone_id){{0, 0}} : ids[from->parent[i]];
        def.rest.t = (fid_vec3){from->translation[i][0], from->translation[i][1], from->translation[i][2]};
        def.rest.q = quat_of(from->rest[i]);
        if (fid_rig_add_bone(rig, &def, &ids[i], &err)) {
            fprintf(stderr, "%s\n", err.message);
            exit(2);
        }
    }
    free(ids);
    return rig;
}

/// Poses every bone anew, as who animates does: both sides take the quaternions from the same list.
static void set_both(fid_pose *pose, plain *beside, versor *from) {
    fid_error err = {0};
    for (int32_t i = 0; i < beside->count; i++) {
        if (pose &&
            fid_pose_set_rotation(pose, i, (fid_quat){from[i][0], from[i][1], from[i][2], from[i][3]}, NULL, &err)) {
            exit(2);
        }
        if (!pose) {
            memcpy(beside->pose[i], from[i], sizeof(versor));
        }
    }
}

/// Medians of a solve and of the plain loop, taken in turn, in nanoseconds a bone of the plain loop. `posed`, or NULL:
/// is set before each.
static void measure(const char *name, fid_program *program, fid_pose *pose, plain *beside, int32_t bones,
                    versor *posed) {
    double ours[ROUNDS], theirs[ROUNDS];
    int32_t repeat = 2000000 / (bones + 1) + 1;
    float *matrices = malloc((size_t)bones * 16 * sizeof *matrices);
    for (int i = 0; i < ROUNDS; i++) {
        double start = fid_clock_seconds();
        for (int32_t j = 0; j < repeat; j++) {
            if (posed) {
                set_both(pose, beside, posed);
            }
            fid_solve(program, pose);
            // The plain loop leaves matrices: so do we.
            fid_pose_matrices(pose, matrices);
            __asm__ volatile("" : : "r"(matrices) : "memory");
        }
        double middle = fid_clock_seconds();
        for (int32_t j = 0; j < repeat; j++) {
            if (posed) {
                set_both(NULL, beside, posed);
            }
            plain_solve(beside);
            __asm__ volatile("" : : "r"(beside->model) : "memory");
        }
        double end = fid_clock_seconds();
        ours[i] = (middle - start) / repeat / bones * 1e9;
        theirs[i] = (end - middle) / repeat / bones * 1e9;
    }
    free(matrices);
    qsort(ours, ROUNDS, sizeof *ours, compare);
    qsort(theirs, ROUNDS, sizeof *theirs, compare);
    printf(
        "{\"case\": \"%s\", \"bones\": %d, \"fid_ns_per_bone\": %.1f, \"cglm_ns_per_bone\": %.1f, \"ratio\": %.2f}\n",
        name, (int)bones, ours[ROUNDS / 2], theirs[ROUNDS / 2], ours[ROUNDS / 2] / theirs[ROUNDS / 2]);
}

static void compile(const fid_rig *rig, fid_program **program, fid_pose **pose) {
    fid_error err = {0};
    fid_report report = {0};
    if (fid_program_compile(rig, &report, program, &err) || fid_pose_new(*program, pose, &err)) {
        fprintf(stderr, "%s\n", err.message);
        exit(2);
    }
    fid_report_clear(&report);
}

static void bench_hierarchy(int32_t count) {
    plain beside = plain_make(count);
    fid_rig *rig = rig_of(&beside);
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    fid_error err = {0};
    compile(rig, &program, &pose);
    for (int32_t i = 0; i < count; i++) {
        if (fid_pose_set_rotation(pose, i, quat_of(beside.pose[i]), NULL, &err)) {
            exit(2);
        }
    }
    // Both sides do the same work only if they come to the same place.
    fid_solve(program, pose);
    plain_solve(&beside);
    float *last = beside.model[count - 1][3];
    if (fabsf(pose->frames[count - 1].t.x - last[0]) > 1e-3f || fabsf(pose->frames[count - 1].t.y - last[1]) > 1e-3f) {
        fprintf(stderr, "the two sides differ\n");
        exit(2);
    }
    measure("hierarchy", program, pose, &beside, count, NULL);
    versor *posed = aligned_alloc(32, (size_t)count * sizeof *posed + 32 - (size_t)count * sizeof *posed % 32);
    memcpy(posed, beside.pose, (size_t)count * sizeof *posed);
    measure("hierarchy, set", program, pose, &beside, count, posed);
    free(posed);
    fid_pose_free(pose);
    fid_program_free(program);
    fid_rig_free(rig);
}

/// Every channel that may be posed, moved a little.
static void bench_file(const char *path) {
    fid_error err = {0};
    fid_text text = {0};
    fid_report report = {0};
    fid_rig *rig = NULL;
    if (fid_file_read(path, 1 << 28, &text, &err) ||
        fid_skeleton_read(text.at, (size_t)text.count, path, &rig, &report)) {
        fprintf(stderr, "%s cannot be read\n", path);
        exit(2);
    }
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    compile(rig, &program, &pose);
    for (int32_t i = 0; i < program->bone_count * FID_AXIS_COUNT; i++) {
        int32_t axis = i % FID_AXIS_COUNT;
        if (program->animatable[i] && axis < FID_SCALE_X &&
            fid_pose_set(pose, i, axis < FID_ROTATION_X ? 0.01f : 3.0f, NULL, &err)) {
            exit(2);
        }
    }
    plain beside = plain_make(program->bone_count);
    measure(rig->name, program, pose, &beside, program->bone_count, NULL);
    fid_pose_free(pose);
    fid_program_free(program);
    fid_rig_free(rig);
    fid_text_clear(&text);
    fid_report_clear(&report);
}

int main(int argc, char **argv) {
    for (int i = 1; i < argc; i++) {
        bench_file(argv[i]);
    }
    if (argc == 1) {
        bench_hierarchy(200);
        bench_hierarchy(2000);
    }
    return 0;
}
