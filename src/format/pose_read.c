#include "format/pose_read.h"

#include "format/json_read.h"

#include <string.h>

/// What the parts of a reading share. `seen` has a place for each bone, constraint and slider, in this order.
typedef struct reading {
    fid_json_reader reader;
    const fid_rig *rig;
    fid_pose *pose;
    uint8_t *seen;
} reading;

/// The keys of a bone's own channels.
enum { KEY_TRANSLATION, KEY_ROTATION, KEY_QUATERNION, KEY_SCALE, KEY_COUNT };

static const char *const keys[KEY_COUNT] = {"translation", "rotation", "quaternion", "scale"};

static fid_code fail_with(reading *r, const fid_json_node *node, fid_code code, const fid_error *err) {
    (void)fid_json_fail_with(&r->reader, node, "", err);
    return code;
}

static fid_code fail_twice(reading *r, const fid_json_node *node) {
    return fid_json_fail(&r->reader, node, FID_NAME_TAKEN, "", "'%.96s' stands here twice", fid_json_key_of(node));
}

/// Refuses what was there before.
static fid_code note_seen(reading *r, const fid_json_node *node, int32_t at) {
    if (r->seen[at] != 0) {
        return fail_twice(r, node);
    }
    r->seen[at] = 1;
    return FID_OK;
}

/// After a value was set: its error, or a note that it was clamped.
static fid_code conclude(reading *r, const fid_json_node *node, fid_code code, bool clamped, const fid_error *err) {
    if (code != FID_OK) {
        return fail_with(r, node, code, err);
    }
    if (clamped) {
        fid_json_note(&r->reader, node, "outside the range of the channel; clamped");
    }
    return FID_OK;
}

static fid_code set_number(reading *r, const fid_json_node *node, fid_channel channel, float value) {
    fid_error err;
    bool clamped = false;
    int32_t number = fid_program_channel(r->pose->program, channel);
    fid_code code = fid_pose_set(r->pose, number, value, &clamped, &err);
    return conclude(r, node, code, clamped, &err);
}

/// Three numbers for the axes from `first` on.
static fid_code read_axes(reading *r, const fid_json_node *node, fid_bone_id bone, fid_axis first) {
    float values[3];
    fid_code code = fid_json_read_numbers(&r->reader, node, 3, values);
    const fid_json_node *item = code == FID_OK ? fid_json_first(node) : NULL;
    for (int i = 0; i < 3 && code == FID_OK; i++, item = fid_json_next(item)) {
        fid_channel channel = {FID_CHANNEL_BONE, (fid_axis)((int)first + i), bone.handle};
        code = set_number(r, item, channel, values[i]);
    }
    return code;
}

static fid_code read_quaternion(reading *r, const fid_json_node *node, fid_bone_id bone) {
    float q[4];
    fid_code code = fid_json_read_numbers(&r->reader, node, 4, q);
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    bool clamped = false;
    int32_t index = fid_rig_bone_index(r->rig, bone);
    code = fid_pose_set_rotation(r->pose, index, (fid_quat){q[0], q[1], q[2], q[3]}, &clamped, &err);
    return conclude(r, node, code, clamped, &err);
}

/// One number for all axes, or three. The placement has one scale only.
static fid_code read_scale(reading *r, const fid_json_node *node, fid_bone_id bone) {
    bool is_placement = fid_rig_bone_index(r->rig, r->rig->placement) == fid_rig_bone_index(r->rig, bone);
    if (fid_json_kind_of(node) == FID_JSON_LIST && !is_placement) {
        return read_axes(r, node, bone, FID_SCALE_X);
    }
    float value;
    fid_code code = fid_json_read_number(&r->reader, node, &value);
    for (int axis = FID_SCALE_X; code == FID_OK && axis <= (is_placement ? FID_SCALE_X : FID_SCALE_Z); axis++) {
        code = set_number(r, node, (fid_channel){FID_CHANNEL_BONE, (fid_axis)axis, bone.handle}, value);
    }
    return code;
}

static fid_code read_slider(reading *r, const fid_json_node *node, fid_bone_id bone) {
    fid_error err;
    fid_channel channel;
    bool moved = false;
    fid_code code = fid_rig_follow_bone_channel(r->rig, bone, fid_json_key_of(node), &channel, &moved, &err);
    const char *near = code != FID_OK ? fid_text_nearest(fid_json_key_of(node), keys, KEY_COUNT) : NULL;
    if (near != NULL) {
        return fid_json_fail(&r->reader, node, FID_UNKNOWN, "", "no key '%.64s'; did you mean '%s'?",
                             fid_json_key_of(node), near);
    }
    if (code != FID_OK) {
        return fail_with(r, node, code, &err);
    }
    if (channel.kind != FID_CHANNEL_SLIDER) {
        return fid_json_fail(&r->reader, node, FID_UNKNOWN, "",
                             "no key '%.64s'; the three axes stand together in 'translation', 'rotation' or 'scale'",
                             fid_json_key_of(node));
    }
    int32_t slider = (int32_t)channel.owner.slot;
    code = note_seen(r, node, r->rig->bones.count + r->rig->constraints.count + slider);
    if (code != FID_OK) {
        return code;
    }
    if (moved) {
        fid_json_warn(&r->reader, node, "the slider '%.64s' is called '%s' now; write that", fid_json_key_of(node),
                      r->rig->sliders.at[slider].def.name);
    }
    const char *choice = fid_json_string(node);
    if (choice == NULL) {
        float value;
        code = fid_json_read_number(&r->reader, node, &value);
        return code == FID_OK ? set_number(r, node, channel, value) : code;
    }
    float value;
    code = fid_slider_find_choice(&r->rig->sliders.at[slider].def, choice, &value, &err);
    return code == FID_OK ? set_number(r, node, channel, value) : fail_with(r, node, code, &err);
}

static fid_code read_bone_value(reading *r, const fid_json_node *node, fid_bone_id bone, uint32_t *given) {
    int key = 0;
    while (key < KEY_COUNT && strcmp(keys[key], fid_json_key_of(node)) != 0) {
        key++;
    }
    if (key == KEY_COUNT) {
        return read_slider(r, node, bone);
    }
    if ((*given >> key & 1u) != 0) {
        return fail_twice(r, node);
    }
    *given |= 1u << key;
    uint32_t both = 1u << KEY_ROTATION | 1u << KEY_QUATERNION;
    if ((*given & both) == both) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "'rotation' and 'quaternion' exclude each other");
    }
    switch (key) {
    case KEY_TRANSLATION:
        return read_axes(r, node, bone, FID_TRANSLATION_X);
    case KEY_ROTATION:
        return read_axes(r, node, bone, FID_ROTATION_X);
    case KEY_QUATERNION:
        return read_quaternion(r, node, bone);
    default:
        return read_scale(r, node, bone);
    }
}

static fid_code read_bone(reading *r, const fid_json_node *node) {
    const char *name = fid_json_key_of(node);
    bool moved = false;
    fid_bone_id bone = fid_rig_follow_bone(r->rig, name, &moved);
    int32_t index = fid_rig_bone_index(r->rig, bone);
    if (index < 0) {
        fid_error err;
        fid_code code = fid_rig_no_bone(r->rig, name, &err);
        return fail_with(r, node, code, &err);
    }
    if (moved) {
        fid_json_warn(&r->reader, node, "'%.96s' is called '%s' now; write that", name, r->rig->bones.at[index].name);
    }
    uint32_t given = 0;
    fid_code code = note_seen(r, node, index);
    code = code == FID_OK ? fid_json_expect(&r->reader, node, FID_JSON_OBJECT) : code;
    const fid_json_node *value = code == FID_OK ? fid_json_first(node) : NULL;
    for (; value != NULL && code == FID_OK; value = fid_json_next(value)) {
        code = read_bone_value(r, value, bone, &given);
    }
    return code;
}

static fid_code read_constraint(reading *r, const fid_json_node *node) {
    static const char *const weight_key[] = {"weight"};
    const fid_json_node *member;
    fid_constraint_id id = fid_rig_find_constraint(r->rig, fid_json_key_of(node));
    int32_t index = fid_rig_constraint_index(r->rig, id);
    if (index < 0) {
        return fid_json_fail(&r->reader, node, FID_UNKNOWN, "", "no constraint '%.96s'", fid_json_key_of(node));
    }
    float value = 0.0f;
    fid_code code = note_seen(r, node, r->rig->bones.count + index);
    code = code == FID_OK ? fid_json_members(&r->reader, node, weight_key, 1, 0, &member) : code;
    code = code == FID_OK ? fid_json_read_number(&r->reader, member, &value) : code;
    fid_channel channel = {FID_CHANNEL_WEIGHT, (fid_axis)0, id.handle};
    return code == FID_OK ? set_number(r, member, channel, value) : code;
}

static fid_code read_document(reading *r) {
    static const char *const top_keys[] = {"format", "version", "values"};
    const fid_json_node *top[3];
    fid_code code = fid_json_read_header(&r->reader, "fid-pose", 1);
    code = code == FID_OK ? fid_json_members(&r->reader, r->reader.root, top_keys, 3, 0, top) : code;
    code = code == FID_OK ? fid_json_expect(&r->reader, top[2], FID_JSON_OBJECT) : code;
    if (code != FID_OK) {
        return code;
    }
    size_t size = (size_t)r->rig->bones.count + (size_t)r->rig->constraints.count + (size_t)r->rig->sliders.count;
    r->seen = fid_arena_get(&r->reader.arena, size);
    if (r->seen == NULL) {
        return fid_json_no_memory(&r->reader);
    }
    for (const fid_json_node *node = fid_json_first(top[2]); node != NULL && code == FID_OK;
         node = fid_json_next(node)) {
        // Only the addresses of constraints have a colon.
        code = strchr(fid_json_key_of(node), ':') != NULL ? read_constraint(r, node) : read_bone(r, node);
    }
    return code;
}

fid_code fid_pose_read(const char *text, size_t count, const char *file, const fid_rig *rig, fid_pose *pose,
                       fid_report *report) {
    reading r = {.rig = rig, .pose = pose};
    fid_pose_reset(pose);
    fid_code code = fid_json_open(&r.reader, text, count, file, report);
    code = code == FID_OK ? read_document(&r) : code;
    fid_json_close(&r.reader);
    if (code != FID_OK) {
        fid_pose_reset(pose);
    }
    return code;
}
