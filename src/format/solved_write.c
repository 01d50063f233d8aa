#include "format/solved_write.h"

#include "format/json_write.h"

static bool is_wanted(const fid_rig *rig, int32_t bone, const char *pattern) {
    return !pattern || fid_text_matches(rig->bones.at[bone].name, pattern) ||
           fid_text_matches(rig->bones.at[bone].address, pattern);
}

static void write_doubles(fid_json_writer *writer, const char *key, const double *values, int32_t count) {
    fid_json_key(writer, key);
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_double(writer, values[i]);
    }
    fid_json_end_list(writer);
}

static void write_bone(fid_json_writer *writer, const fid_rig *rig, const fid_pose *pose, int32_t bone) {
    double matrix[16], base[3], tip[3];
    fid_pose_world(pose, bone, matrix);
    fid_pose_world_point(pose, bone, (fid_vec3){0, 0, 0}, base);
    fid_pose_world_point(pose, bone, (fid_vec3){0, 0, pose->program->length[bone]}, tip);
    fid_json_line(writer, 1);
    fid_json_begin_object(writer);
    fid_json_key(writer, "name");
    fid_json_text(writer, rig->bones.at[bone].name);
    write_doubles(writer, "matrix", matrix, 16);
    write_doubles(writer, "base", base, 3);
    write_doubles(writer, "tip", tip, 3);
    fid_json_end_object(writer);
}

/// The bone that a channel belongs to; -1 for weights.
static int32_t owner_of(const fid_rig *rig, const fid_program *program, int32_t channel) {
    int32_t slider = channel - program->bone_count * FID_AXIS_COUNT;
    if (slider < 0) {
        return channel / FID_AXIS_COUNT;
    }
    return slider < program->slider_count ? fid_rig_bone_index(rig, rig->sliders.at[slider].def.on) : -1;
}

static void write_channels(fid_json_writer *writer, const fid_rig *rig, const fid_pose *pose, const char *pattern) {
    const fid_program *program = pose->program;
    int32_t axes = program->bone_count * FID_AXIS_COUNT;
    bool *driven = fid_memory_get_zero((size_t)program->channel_count + 1, sizeof *driven);
    for (int32_t i = 0; driven && i < program->driven_count; i++) {
        driven[program->driven[i].channel] = true;
    }
    writer->out->failed |= !driven;
    fid_json_begin_object(writer);
    for (int32_t i = 0; driven && i < program->channel_count; i++) {
        int32_t bone = owner_of(rig, program, i);
        bool shown = program->animatable[i] || (i >= axes && bone >= 0) || driven[i];
        if (!shown || (bone >= 0 ? !is_wanted(rig, bone, pattern) : pattern != NULL)) {
            continue;
        }
        fid_text name = {0};
        fid_rig_add_channel_name(rig, fid_program_channel_of(program, rig, i), &name);
        writer->out->failed |= name.failed;
        // What was posed as a quaternion is shown as the angles that it has.
        float value = pose->effective[i];
        if (bone >= 0 && i < axes && pose->posed[bone] & FID_POSED_QUATERNION && i % FID_AXIS_COUNT / 3 == 1) {
            fid_vec3 angles = fid_pose_angles(pose, bone);
            value = i % 3 == 0 ? angles.x : i % 3 == 1 ? angles.y : angles.z;
        }
        fid_json_line(writer, 1);
        fid_json_key(writer, name.at ? name.at : "");
        fid_json_number(writer, value);
        fid_text_clear(&name);
    }
    fid_memory_free(driven);
    fid_json_end_object(writer);
}

fid_code fid_solved_write(const fid_rig *rig, const fid_pose *pose, const char *pattern, fid_text *out,
                          fid_error *err) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_key(&writer, "format");
    fid_json_text(&writer, "fid-solved");
    fid_json_key(&writer, "version");
    fid_json_integer(&writer, 1);
    fid_json_line(&writer, 0);
    fid_json_key(&writer, "bones");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (is_wanted(rig, i, pattern)) {
            write_bone(&writer, rig, pose, i);
        }
    }
    fid_json_end_list(&writer);
    fid_json_line(&writer, 0);
    fid_json_key(&writer, "channels");
    write_channels(&writer, rig, pose, pattern);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
    return out->failed ? fid_no_memory(err) : FID_OK;
}
