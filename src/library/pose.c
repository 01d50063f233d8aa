#include "base/threads.h"
#include "format/pose_read.h"
#include "library/message.h"
#include "library/skeleton.h"
#include "solve/solve.h"

/// What stands behind fid_skeleton_pose.
struct fid_skeleton_pose {
    const fid_skeleton *skeleton;
    fid_pose *pose;
    bool taken; ///< while several are solved: so that one that stands there twice is found
};

fid_status fid_skeleton_pose_new(const fid_skeleton *skeleton, fid_skeleton_pose **out) {
    if (out != NULL) {
        *out = NULL;
    }
    if (skeleton == NULL || out == NULL) {
        return FID_STATUS_INVALID;
    }
    fid_skeleton_pose *pose = fid_memory_get(sizeof *pose);
    if (pose == NULL) {
        return FID_STATUS_NO_MEMORY;
    }
    pose->skeleton = skeleton;
    pose->taken = false;
    fid_code code = fid_pose_new(skeleton->program, &pose->pose, NULL);
    if (code != FID_OK) {
        fid_memory_free(pose);
        return fid_status_of(code);
    }
    *out = pose;
    return FID_STATUS_OK;
}

void fid_skeleton_pose_free(fid_skeleton_pose *pose) {
    if (pose != NULL) {
        fid_pose_free(pose->pose);
        fid_memory_free(pose);
    }
}

void fid_skeleton_pose_reset(fid_skeleton_pose *pose) {
    if (pose != NULL) {
        fid_pose_reset(pose->pose);
    }
}

/// Writes an error about one channel or bone: "fid: error: NAME: text".
static fid_status fail_about(fid_message message, const char *name, const fid_error *err) {
    fid_error named;
    fid_fail(&named, err->code, "%.200s: %s", name, err->message);
    return fid_message_error(message, NULL, &named);
}

fid_status fid_skeleton_pose_set(fid_skeleton_pose *pose, int32_t channel, float value, bool *clamped, char *message,
                                 size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    if (clamped != NULL) {
        *clamped = false;
    }
    if (pose == NULL || !fid_skeleton_has_channel(pose->skeleton, channel)) {
        return pose == NULL ? fid_message_invalid(to, "the pose is NULL")
                            : fid_message_invalid(to, "there is no channel %ld: there are %ld", (long)channel,
                                                  (long)pose->skeleton->channel_count);
    }
    fid_error err;
    fid_code code = fid_pose_set(pose->pose, pose->skeleton->inside[channel], value, clamped, &err);
    return code == FID_OK ? FID_STATUS_OK : fail_about(to, pose->skeleton->names[channel], &err);
}

fid_status fid_skeleton_pose_set_rotation(fid_skeleton_pose *pose, int32_t bone, const float quaternion[4],
                                          bool *clamped, char *message, size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    if (clamped != NULL) {
        *clamped = false;
    }
    if (pose == NULL || quaternion == NULL) {
        return fid_message_invalid(to, "the %s is NULL", pose == NULL ? "pose" : "quaternion");
    }
    if (!fid_skeleton_has_bone(pose->skeleton, bone)) {
        return fid_message_invalid(to, "there is no bone %ld: there are %ld", (long)bone,
                                   (long)pose->skeleton->program->bone_count);
    }
    fid_error err;
    fid_quat turn = {quaternion[0], quaternion[1], quaternion[2], quaternion[3]};
    fid_code code = fid_pose_set_rotation(pose->pose, bone, turn, clamped, &err);
    return code == FID_OK ? FID_STATUS_OK : fail_about(to, pose->skeleton->rig->bones.at[bone].name, &err);
}

fid_status fid_skeleton_pose_load_text(fid_skeleton_pose *pose, const char *text, size_t size, const char *name,
                                       char *message, size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    if (pose == NULL || (text == NULL && size > 0)) {
        return fid_message_invalid(to, "the %s is NULL", pose == NULL ? "pose" : "text");
    }
    name = name != NULL ? name : "pose";
    fid_error err = {0};
    fid_report report = {0};
    fid_pose *read = NULL;
    // Read into a pose of its own, so that a fault leaves this one as it was.
    fid_code code = fid_pose_new(pose->pose->program, &read, &err);
    code = code ? code : fid_pose_read(text != NULL ? text : "", size, name, pose->skeleton->rig, read, &report);
    fid_status status = fid_message_report(to, name, code, &report, &err);
    fid_report_clear(&report);
    if (status == FID_STATUS_OK) {
        fid_pose *old = pose->pose;
        pose->pose = read;
        read = old;
    }
    fid_pose_free(read);
    return status;
}

fid_status fid_skeleton_pose_load(fid_skeleton_pose *pose, const char *path, char *message, size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    fid_error err;
    fid_text text = {0};
    fid_code code = fid_skeleton_read_file(path, &text, &err);
    fid_status status =
        code == FID_OK ? fid_skeleton_pose_load_text(pose, text.at, (size_t)text.count, path, message, message_size)
                       : fid_message_error(to, path, &err);
    fid_text_clear(&text);
    return status;
}

void fid_skeleton_pose_solve(fid_skeleton_pose *pose) {
    if (pose != NULL) {
        fid_solve_changed(pose->skeleton->program, pose->pose);
    }
}

static void solve_one(void *user, int64_t i) {
    fid_skeleton_pose *const *poses = user;
    fid_skeleton_pose_solve(poses[i]);
}

fid_status fid_skeleton_poses_solve(fid_skeleton_pose *const *poses, size_t count, int32_t threads) {
    size_t taken = 0;
    while (poses != NULL && taken < count && poses[taken] != NULL && !poses[taken]->taken) {
        poses[taken++]->taken = true;
    }
    for (size_t i = 0; i < taken; i++) {
        poses[i]->taken = false;
    }
    if (taken < count) {
        return FID_STATUS_INVALID;
    }
    fid_threads_each((int64_t)count, threads, solve_one, (void *)poses);
    return FID_STATUS_OK;
}

/// The angle of a channel whose bone was turned by a quaternion, else the number among `values`.
static float read_value(const fid_skeleton_pose *pose, int32_t channel, const float *values) {
    int32_t number = pose->skeleton->inside[channel], bone = number / FID_AXIS_COUNT, axis = number % FID_AXIS_COUNT;
    bool is_angle = bone < pose->pose->program->bone_count && axis / 3 == 1;
    if (!is_angle || !(pose->pose->posed[bone] & FID_POSED_QUATERNION)) {
        return values[number];
    }
    fid_vec3 angles = fid_pose_angles(pose->pose, bone);
    return axis == FID_ROTATION_X ? angles.x : axis == FID_ROTATION_Y ? angles.y : angles.z;
}

float fid_skeleton_pose_value(const fid_skeleton_pose *pose, int32_t channel) {
    return pose != NULL && fid_skeleton_has_channel(pose->skeleton, channel)
               ? read_value(pose, channel, pose->pose->value)
               : 0;
}

float fid_skeleton_pose_effective(const fid_skeleton_pose *pose, int32_t channel) {
    return pose != NULL && fid_skeleton_has_channel(pose->skeleton, channel)
               ? read_value(pose, channel, pose->pose->effective)
               : 0;
}

/// Whether the matrices of all bones fit where a caller wants them.
static bool has_room(const fid_skeleton_pose *pose, const void *out, size_t count) {
    return pose != NULL && out != NULL && count / 16 >= (size_t)pose->skeleton->program->bone_count;
}

fid_status fid_skeleton_pose_matrix(const fid_skeleton_pose *pose, int32_t bone, float out[16]) {
    if (pose == NULL || out == NULL || !fid_skeleton_has_bone(pose->skeleton, bone)) {
        return FID_STATUS_INVALID;
    }
    fid_frame_to_matrix(pose->pose->frames[bone], out);
    return FID_STATUS_OK;
}

fid_status fid_skeleton_pose_matrices(const fid_skeleton_pose *pose, float *out, size_t count) {
    if (!has_room(pose, out, count)) {
        return FID_STATUS_INVALID;
    }
    fid_pose_matrices(pose->pose, out);
    return FID_STATUS_OK;
}

fid_status fid_skeleton_pose_world_matrix(const fid_skeleton_pose *pose, int32_t bone, double out[16]) {
    if (pose == NULL || out == NULL || !fid_skeleton_has_bone(pose->skeleton, bone)) {
        return FID_STATUS_INVALID;
    }
    fid_pose_world(pose->pose, bone, out);
    return FID_STATUS_OK;
}

fid_status fid_skeleton_pose_world_matrices(const fid_skeleton_pose *pose, double *out, size_t count) {
    if (!has_room(pose, out, count)) {
        return FID_STATUS_INVALID;
    }
    for (int32_t i = 0; i < pose->skeleton->program->bone_count; i++) {
        fid_pose_world(pose->pose, i, out + 16 * (size_t)i);
    }
    return FID_STATUS_OK;
}
