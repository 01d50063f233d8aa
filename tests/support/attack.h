#ifndef FID_TESTS_SUPPORT_ATTACK_H
#define FID_TESTS_SUPPORT_ATTACK_H

#include "format/pose_read.h"
#include "format/skeleton_read.h"
#include "format/skeleton_write.h"
#include "math/scalar.h"
#include "solve/solve.h"

#include <string.h>

/// What holds of every input, sound or not. Each function returns NULL, or what does not hold. Without cmocka, so that
/// tests and fuzz targets share it.

/// Xorshift: G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003. The state is never 0.
static inline uint32_t attack_random(uint32_t *state) {
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

/// One error that says where, or none at all.
static inline const char *attack_report(fid_code code, const fid_report *report) {
    if (report->failed || report->count[FID_ERROR] != (code == FID_OK ? 0 : 1)) {
        return "a failure has exactly one error, a success none";
    }
    for (int32_t i = 0; i < report->findings.count; i++) {
        const fid_finding *finding = &report->findings.at[i];
        if (finding->message[0] == '\0' || finding->place_count < 1 || finding->places[0].file == NULL) {
            return "every finding has a message and a place";
        }
    }
    return NULL;
}

static inline const char *attack_frames(const fid_pose *pose) {
    for (int32_t i = 0; i < pose->program->bone_count; i++) {
        double matrix[16];
        fid_pose_world(pose, i, matrix);
        for (int j = 0; j < 16; j++) {
            if (!isfinite(matrix[j])) {
                return "every matrix is finite";
            }
        }
    }
    for (int32_t i = 0; i < pose->program->channel_count; i++) {
        if (!isfinite(pose->effective[i])) {
            return "every channel is finite";
        }
    }
    return NULL;
}

/// Solves the rig at rest and in random poses of all its channels.
static inline const char *attack_rig(const fid_rig *rig, uint32_t seed) {
    enum { POSES = 4 };
    static const float sizes[POSES] = {0.0f, 1.0f, 300.0f, 1e5f};
    fid_error err = {0};
    fid_report report = {0};
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    const char *wrong = NULL;
    fid_code code = fid_program_compile(rig, &report, &program, &err);
    code = code ? code : fid_pose_new(program, &pose, &err);
    if (code == FID_UNSOUND && report.count[FID_ERROR] == 0) {
        wrong = "a rig that does not compile has an error";
    }
    for (int k = 0; k < POSES && code == FID_OK && wrong == NULL; k++) {
        for (int32_t i = 0; i < program->channel_count; i++) {
            double unit = (double)attack_random(&seed) / 2147483648.0 - 1.0;
            // Locked channels and values that are too large are refused; the others are the pose.
            (void)!fid_pose_set(pose, i, (float)unit * sizes[k], NULL, &err);
        }
        fid_solve(program, pose);
        wrong = attack_frames(pose);
    }
    fid_pose_free(pose);
    fid_program_free(program);
    fid_report_clear(&report);
    return wrong;
}

/// Reads a skeleton file. What is read is written, reads again to the same bytes, and solves. `*built` (may be NULL)
/// says whether a rig came of it.
static inline const char *attack_skeleton(const char *text, size_t count, uint32_t seed, bool *built) {
    fid_error err = {0};
    fid_report report = {0};
    fid_rig *rig = NULL, *again = NULL;
    fid_text first = {0}, second = {0};
    fid_code code = fid_skeleton_read(text, count, "attack.json", &rig, &report);
    const char *wrong = attack_report(code, &report);
    if (wrong == NULL && (code == FID_OK) != (rig != NULL)) {
        wrong = "there is a rig where reading succeeds, and only there";
    }
    if (wrong == NULL && code == FID_OK) {
        bool same = !fid_skeleton_write(rig, &first, &err) &&
                    !fid_skeleton_read(first.at, (size_t)first.count, "again.json", &again, &report) &&
                    !fid_skeleton_write(again, &second, &err) && strcmp(first.at, second.at) == 0;
        wrong = same ? attack_rig(rig, seed) : "what is written reads and writes itself";
    }
    if (built != NULL) {
        *built = code == FID_OK;
    }
    fid_text_clear(&first);
    fid_text_clear(&second);
    fid_rig_free(again);
    fid_rig_free(rig);
    fid_report_clear(&report);
    return wrong;
}

/// Reads a pose file into the pose of a rig and solves it.
static inline const char *attack_pose(const char *text, size_t count, const fid_rig *rig, fid_pose *pose, bool *built) {
    fid_report report = {0};
    fid_code code = fid_pose_read(text, count, "attack.json", rig, pose, &report);
    const char *wrong = attack_report(code, &report);
    if (wrong == NULL) {
        fid_solve(pose->program, pose);
        wrong = attack_frames(pose);
    }
    if (built != NULL) {
        *built = code == FID_OK;
    }
    fid_report_clear(&report);
    return wrong;
}

#endif
