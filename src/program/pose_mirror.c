#include "program/pose.h"

#include "rig/mirror.h"

int32_t fid_pose_mirror(const fid_rig *rig, const fid_pose *from, fid_pose *out) {
    const fid_program *program = from->program;
    int32_t lost = 0;
    fid_pose_reset(out);
    for (int32_t i = 0; i < program->channel_count; i++) {
        int32_t bone = i / FID_AXIS_COUNT, axis = i % FID_AXIS_COUNT;
        bool turns = bone < program->bone_count && axis >= FID_ROTATION_X && axis <= FID_ROTATION_Z;
        bool quaternion = turns && (from->posed[bone] & FID_POSED_QUATERNION);
        if (quaternion ? axis != FID_ROTATION_X : from->value[i] == program->channel_rest[i]) {
            continue;
        }
        fid_channel channel = fid_program_channel_of(program, rig, i);
        float value = from->value[i];
        fid_code code = FID_UNKNOWN;
        if (fid_mirror_value(rig, &channel, &value)) {
            fid_quat turn = quaternion ? fid_quat_mirror(from->rotation[bone]) : FID_QUAT_IDENTITY;
            code = quaternion ? fid_pose_set_rotation(out, (int32_t)channel.owner.slot, turn, NULL, NULL)
                              : fid_pose_set(out, fid_program_channel(program, channel), value, NULL, NULL);
        }
        lost += code != FID_OK;
    }
    return lost;
}
