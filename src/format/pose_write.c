#include "format/pose_write.h"

#include "format/json_write.h"

enum { ELEMENT_INDENT = 2 };

/// The object of a bone is begun when its first value is there.
typedef struct bone_writing {
    fid_json_writer *writer;
    const char *name;
    bool has_begun;
} bone_writing;

static void begin_value(bone_writing *bone, const char *key) {
    if (!bone->has_begun) {
        bone->has_begun = true;
        fid_json_line(bone->writer, ELEMENT_INDENT);
        fid_json_key(bone->writer, bone->name);
        fid_json_begin_object(bone->writer);
    }
    fid_json_key(bone->writer, key);
}

static bool is_posed(const fid_pose *pose, int32_t channel, int32_t count) {
    for (int32_t i = channel; i < channel + count; i++) {
        if (pose->value[i] != pose->program->channel_rest[i]) {
            return true;
        }
    }
    return false;
}

static void write_axes(bone_writing *bone, const fid_pose *pose, const char *key, int32_t channel) {
    if (is_posed(pose, channel, 3)) {
        begin_value(bone, key);
        fid_json_numbers(bone->writer, &pose->value[channel], 3);
    }
}

static void write_rotation(bone_writing *bone, const fid_pose *pose, int32_t index) {
    if ((pose->posed[index] & FID_POSED_QUATERNION) == 0) {
        write_axes(bone, pose, "rotation", index * FID_AXIS_COUNT + FID_ROTATION_X);
        return;
    }
    fid_quat q = fid_quat_canonical(pose->rotation[index]);
    begin_value(bone, "quaternion");
    fid_json_numbers(bone->writer, (const float[]){q.x, q.y, q.z, q.w}, 4);
}

static void write_scale(bone_writing *bone, const fid_pose *pose, int32_t index) {
    int32_t channel = index * FID_AXIS_COUNT + FID_SCALE_X;
    if (index != pose->program->placement) {
        write_axes(bone, pose, "scale", channel);
    } else if (is_posed(pose, channel, 1)) {
        begin_value(bone, "scale");
        fid_json_number(bone->writer, pose->value[channel]);
    }
}

/// `next` links the sliders of a bone in their order.
static void write_bone(fid_json_writer *writer, const fid_rig *rig, const fid_pose *pose, int32_t index, int32_t slider,
                       const int32_t *next) {
    bone_writing bone = {writer, rig->bones.at[index].name, false};
    write_axes(&bone, pose, "translation", index * FID_AXIS_COUNT + FID_TRANSLATION_X);
    write_rotation(&bone, pose, index);
    write_scale(&bone, pose, index);
    for (; slider >= 0; slider = next[slider]) {
        int32_t channel = pose->program->bone_count * FID_AXIS_COUNT + slider;
        if (is_posed(pose, channel, 1)) {
            begin_value(&bone, rig->sliders.at[slider].def.name);
            fid_json_number(writer, pose->value[channel]);
        }
    }
    if (bone.has_begun) {
        fid_json_end_object(writer);
    }
}

static void write_weight(fid_json_writer *writer, const fid_rig *rig, const fid_pose *pose, int32_t index) {
    const fid_program *program = pose->program;
    int32_t channel = program->bone_count * FID_AXIS_COUNT + program->slider_count + index;
    if (!is_posed(pose, channel, 1)) {
        return;
    }
    fid_json_line(writer, ELEMENT_INDENT);
    fid_json_key(writer, rig->constraints.at[index].address);
    fid_json_begin_object(writer);
    fid_json_key(writer, "weight");
    fid_json_number(writer, pose->value[channel]);
    fid_json_end_object(writer);
}

static void write_document(const fid_rig *rig, const fid_pose *pose, int32_t *first, int32_t *next, fid_text *out) {
    for (int32_t i = 0; i < rig->bones.count; i++) {
        first[i] = -1;
    }
    for (int32_t i = rig->sliders.count - 1; i >= 0; i--) {
        int32_t bone = fid_rig_bone_index(rig, rig->sliders.at[i].def.on);
        next[i] = first[bone];
        first[bone] = i;
    }
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_key(&writer, "format");
    fid_json_text(&writer, "fid-pose");
    fid_json_key(&writer, "version");
    fid_json_integer(&writer, 1);
    fid_json_key(&writer, "values");
    fid_json_begin_object(&writer);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        write_bone(&writer, rig, pose, i, first[i], next);
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        write_weight(&writer, rig, pose, i);
    }
    fid_json_end_object(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
}

fid_code fid_pose_write(const fid_rig *rig, const fid_pose *pose, fid_text *out, fid_error *err) {
    size_t count = (size_t)rig->bones.count + (size_t)rig->sliders.count + 1;
    int32_t *links = fid_memory_get_zero(count, sizeof *links);
    if (links == NULL) {
        return fid_no_memory(err);
    }
    write_document(rig, pose, links, links + rig->bones.count, out);
    fid_memory_free(links);
    return out->failed ? fid_no_memory(err) : FID_OK;
}
