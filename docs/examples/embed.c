/// Loads a skeleton, sets channels, solves, and prints where every bone is.
///
///     embed SKELETON.json [CHANNEL=VALUE]...

#include <fid.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MESSAGE_SIZE = 2048 };

static int fail(const char *message) {
    fprintf(stderr, "%s\n", message);
    return EXIT_FAILURE;
}

/// Sets one channel from "CHANNEL=VALUE".
static bool set(const fid_skeleton *skeleton, fid_skeleton_pose *pose, const char *text, char *message) {
    char name[512];
    char *end = NULL;
    const char *equals = strrchr(text, '=');
    float value = equals ? strtof(equals + 1, &end) : 0;
    if (!equals || (size_t)(equals - text) >= sizeof name || end == equals + 1 || *end) {
        snprintf(message, MESSAGE_SIZE, "'%.200s' is not CHANNEL=VALUE", text);
        return false;
    }
    memcpy(name, text, (size_t)(equals - text));
    name[equals - text] = '\0';
    int32_t channel;
    bool clamped;
    if (fid_skeleton_find_channel(skeleton, name, &channel, message, MESSAGE_SIZE) != FID_STATUS_OK ||
        fid_skeleton_pose_set(pose, channel, value, &clamped, message, MESSAGE_SIZE) != FID_STATUS_OK) {
        return false;
    }
    if (clamped) {
        fprintf(stderr, "%s: clamped to %g\n", name, (double)fid_skeleton_pose_value(pose, channel));
    }
    return true;
}

/// One line a bone: its name and the 16 numbers of its matrix in the world.
static bool print(const fid_skeleton *skeleton, const fid_skeleton_pose *pose) {
    int32_t bones = fid_skeleton_bone_count(skeleton);
    size_t count = 16 * (size_t)bones;
    double *matrices = malloc((count + 1) * sizeof *matrices);
    bool read = matrices && fid_skeleton_pose_world_matrices(pose, matrices, count) == FID_STATUS_OK;
    for (int32_t bone = 0; read && bone < bones; bone++) {
        printf("%s", fid_skeleton_bone_name(skeleton, bone));
        for (int i = 0; i < 16; i++) {
            printf(" %.9g", matrices[16 * (size_t)bone + (size_t)i]);
        }
        printf("\n");
    }
    free(matrices);
    return read;
}

int main(int count, char **words) {
    char message[MESSAGE_SIZE] = "";
    fid_skeleton *skeleton = NULL;
    fid_skeleton_pose *pose = NULL;
    if (fid_interface() != FID_INTERFACE) {
        return fail("the library that runs is not the one that this program was compiled for");
    }
    if (count < 2) {
        return fail("usage: embed SKELETON.json [CHANNEL=VALUE]...");
    }
    if (fid_skeleton_load(words[1], &skeleton, message, sizeof message) != FID_STATUS_OK) {
        return fail(message);
    }
    if (message[0]) {
        fprintf(stderr, "%s\n", message); // warnings
    }
    bool done = fid_skeleton_pose_new(skeleton, &pose) == FID_STATUS_OK;
    for (int i = 2; i < count && done; i++) {
        done = set(skeleton, pose, words[i], message);
    }
    if (done) {
        fid_skeleton_pose_solve(pose);
        done = print(skeleton, pose);
    }
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
    return done ? EXIT_SUCCESS : fail(message[0] ? message : "out of memory");
}
