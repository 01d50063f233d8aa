#ifndef FID_TESTS_LIBRARY_ATTACK_H
#define FID_TESTS_LIBRARY_ATTACK_H

#include "fid.h"
#include "support/attack.h"

/// What holds of every text that is loaded through the library: returns NULL, or what does not hold. What loads is
/// solved at random.
static inline const char *attack_library(const char *text, size_t size, uint32_t *random) {
    char message[64];
    fid_skeleton *skeleton = NULL;
    fid_skeleton_pose *pose = NULL;
    fid_status status = fid_skeleton_load_text(text, size, "attack.json", &skeleton, message, sizeof message);
    if ((status == FID_STATUS_OK) != (skeleton != NULL) || (status != FID_STATUS_OK && message[0] == '\0')) {
        return "there is a skeleton where loading succeeds, and a message where it fails";
    }
    if (status == FID_STATUS_NO_MEMORY || status == FID_STATUS_INTERNAL) {
        return "no text is a fault of the library";
    }
    const char *wrong = NULL;
    if (skeleton != NULL && fid_skeleton_pose_new(skeleton, &pose) == FID_STATUS_OK) {
        for (int32_t i = 0; i < fid_skeleton_channel_count(skeleton); i++) {
            double unit = (double)attack_random(random) / 2147483648.0 - 1.0;
            (void)!fid_skeleton_pose_set(pose, i, (float)(unit * 1000), NULL, message, sizeof message);
        }
        fid_skeleton_pose_solve(pose);
        for (int32_t i = 0; i < fid_skeleton_bone_count(skeleton) && wrong == NULL; i++) {
            double world[16];
            bool read = fid_skeleton_pose_world_matrix(pose, i, world) == FID_STATUS_OK;
            for (int k = 0; k < 16; k++) {
                wrong = read && isfinite(world[k]) ? wrong : "every matrix is finite";
            }
        }
    }
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
    return wrong;
}

#endif
