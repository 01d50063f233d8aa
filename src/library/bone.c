#include "library/message.h"
#include "library/skeleton.h"

static const fid_bone *find(const fid_skeleton *skeleton, int32_t bone) {
    return fid_skeleton_has_bone(skeleton, bone) ? &skeleton->rig->bones.at[bone] : NULL;
}

int32_t fid_skeleton_bone_count(const fid_skeleton *skeleton) {
    return skeleton != NULL ? skeleton->program->bone_count : 0;
}

int32_t fid_skeleton_find_bone(const fid_skeleton *skeleton, const char *name) {
    bool moved = false;
    return skeleton != NULL && name != NULL
               ? fid_rig_bone_index(skeleton->rig, fid_rig_follow_bone(skeleton->rig, name, &moved))
               : FID_NO_INDEX;
}

const char *fid_skeleton_bone_name(const fid_skeleton *skeleton, int32_t bone) {
    const fid_bone *found = find(skeleton, bone);
    return found != NULL ? found->name : NULL;
}

const char *fid_skeleton_bone_address(const fid_skeleton *skeleton, int32_t bone) {
    const fid_bone *found = find(skeleton, bone);
    return found != NULL ? found->address : NULL;
}

int32_t fid_skeleton_bone_parent(const fid_skeleton *skeleton, int32_t bone) {
    const fid_bone *found = find(skeleton, bone);
    return found != NULL ? found->parent : FID_NO_INDEX;
}

fid_skeleton_role fid_skeleton_bone_role(const fid_skeleton *skeleton, int32_t bone) {
    const fid_bone *found = find(skeleton, bone);
    switch (found != NULL ? (fid_role)found->def.role : FID_HELPER) {
    case FID_DEFORM:
        return FID_SKELETON_DEFORM;
    case FID_CONTROL:
        return FID_SKELETON_CONTROL;
    case FID_HELPER:
        break;
    }
    return FID_SKELETON_HELPER;
}

float fid_skeleton_bone_length(const fid_skeleton *skeleton, int32_t bone) {
    return fid_skeleton_has_bone(skeleton, bone) ? skeleton->program->length[bone] : 0;
}

fid_status fid_skeleton_rest_matrix(const fid_skeleton *skeleton, int32_t bone, float out[16]) {
    if (!fid_skeleton_has_bone(skeleton, bone) || out == NULL) {
        return FID_STATUS_INVALID;
    }
    fid_frame_to_matrix(skeleton->program->rest[bone], out);
    return FID_STATUS_OK;
}

/// Of a rotation and a translation: the transposed rotation, and the translation taken back through it.
static void invert(fid_frame frame, float out[16]) {
    double m[9];
    const double t[3] = {frame.t.x, frame.t.y, frame.t.z};
    fid_quat_to_matrix(frame.q, m);
    for (size_t row = 0; row < 3; row++) {
        const double *axis = m + 3 * row;
        for (size_t column = 0; column < 3; column++) {
            out[4 * column + row] = (float)axis[column] + 0.0f; // no -0
        }
        out[12 + row] = (float)-(axis[0] * t[0] + axis[1] * t[1] + axis[2] * t[2]) + 0.0f;
        out[4 * row + 3] = 0;
    }
    out[15] = 1;
}

fid_status fid_skeleton_inverse_rest_matrices(const fid_skeleton *skeleton, float *out, size_t count) {
    if (skeleton == NULL || out == NULL || count / 16 < (size_t)skeleton->program->bone_count) {
        return FID_STATUS_INVALID;
    }
    for (int32_t i = 0; i < skeleton->program->bone_count; i++) {
        invert(skeleton->program->rest[i], out + 16 * (size_t)i);
    }
    return FID_STATUS_OK;
}
