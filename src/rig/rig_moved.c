#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

/// Takes the name of a slider off "ADDRESS.SLIDER"; NULL where there is none. Addresses may have points, but none after
/// their last stroke.
static const char *split_slider(const char *from, char bone[FID_ADDRESS_SIZE]) {
    const char *stroke = strrchr(from, '/');
    const char *point = strchr(stroke != NULL ? stroke : from, '.');
    if (point == NULL || (size_t)(point - from) >= FID_ADDRESS_SIZE) {
        return NULL;
    }
    memcpy(bone, from, (size_t)(point - from));
    bone[point - from] = '\0';
    return point + 1;
}

static fid_code check_from(const char *from, bool is_slider, fid_name_parsed *out, fid_error *err) {
    char address[FID_ADDRESS_SIZE];
    if (!is_slider) {
        return fid_address_parse(from, out, err);
    }
    const char *slider = split_slider(from, address);
    if (slider == NULL || !fid_name_is_key(slider)) {
        return fid_fail(err, FID_INVALID, "'%.160s' is no address of a bone with a point and the name of a slider",
                        from);
    }
    return fid_address_parse(address, out, err);
}

fid_code fid_rig_add_moved(fid_rig *rig, const char *from, fid_bone_id bone, fid_slider_id slider, fid_error *err) {
    bool is_slider = !fid_handle_is_null(slider.handle);
    fid_name_parsed parsed;
    fid_moved moved = {.bone = bone, .slider = slider};
    if (fid_rig_bone_index(rig, bone) < 0 || (is_slider && fid_rig_slider_index(rig, slider) < 0)) {
        return fid_fail(err, FID_STALE, "the bone or slider is gone");
    }
    fid_code code = check_from(from, is_slider, &parsed, err);
    if (code != FID_OK) {
        return code;
    }
    if (fid_entry_find(rig, FID_ENTRY_MOVED, from) >= 0) {
        return fid_fail(err, FID_NAME_TAKEN, "'%.160s' has moved twice", from);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    int32_t index = rig->moved.count;
    moved.from = fid_arena_copy(&rig->arena, from, strlen(from));
    if (moved.from == NULL || !fid_array_push(&rig->moved, moved) ||
        !fid_entry_add(rig, FID_ENTRY_MOVED, from, index)) {
        fid_rig_cut(rig, &mark);
        return fid_no_memory(err);
    }
    // Where the naming gives an old address no name, no pose has one; and the first of two alike stands.
    char name[FID_NAME_SIZE];
    if (!is_slider && fid_name_render(&rig->naming, &parsed.fields, name, NULL) == FID_OK &&
        fid_entry_find(rig, FID_ENTRY_MOVED, name) < 0 && !fid_entry_add(rig, FID_ENTRY_MOVED, name, index)) {
        fid_rig_cut(rig, &mark);
        return fid_no_memory(err);
    }
    return FID_OK;
}

void fid_rig_cut_moved(fid_rig *rig, int32_t count) {
    for (int32_t i = rig->moved.count - 1; i >= count; i--) {
        const fid_moved *moved = &rig->moved.at[i];
        fid_name_parsed parsed;
        char name[FID_NAME_SIZE];
        fid_entry_remove(rig, FID_ENTRY_MOVED, moved->from, i);
        if (fid_handle_is_null(moved->slider.handle) && fid_address_parse(moved->from, &parsed, NULL) == FID_OK &&
            fid_name_render(&rig->naming, &parsed.fields, name, NULL) == FID_OK) {
            fid_entry_remove(rig, FID_ENTRY_MOVED, name, i);
        }
        rig->moved.count = i;
    }
}

fid_bone_id fid_rig_follow_bone(const fid_rig *rig, const char *name, bool *moved) {
    fid_bone_id bone = fid_rig_find_bone(rig, name);
    int32_t index = fid_handle_is_null(bone.handle) ? fid_entry_find(rig, FID_ENTRY_MOVED, name) : -1;
    if (index < 0 || !fid_handle_is_null(rig->moved.at[index].slider.handle)) {
        return bone;
    }
    *moved = true;
    return rig->moved.at[index].bone;
}

fid_code fid_rig_follow_bone_channel(const fid_rig *rig, fid_bone_id id, const char *name, fid_channel *out,
                                     bool *moved, fid_error *err) {
    fid_code code = fid_rig_bone_channel(rig, id, name, out, err);
    const fid_bone *bone = code == FID_UNKNOWN ? fid_rig_bone(rig, id, NULL) : NULL;
    char from[FID_ENTRY_SIZE];
    if (bone == NULL || snprintf(from, sizeof from, "%s.%s", bone->address, name) >= (int)sizeof from) {
        return code;
    }
    int32_t index = fid_entry_find(rig, FID_ENTRY_MOVED, from);
    if (index < 0 || fid_handle_is_null(rig->moved.at[index].slider.handle)) {
        return code;
    }
    *moved = true;
    *out = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = rig->moved.at[index].slider.handle};
    return FID_OK;
}

fid_code fid_rig_follow_channel(const fid_rig *rig, const char *text, fid_channel *out, bool *moved, fid_error *err) {
    fid_code code = fid_rig_find_channel(rig, text, out, err);
    char name[FID_ADDRESS_SIZE];
    const char *channel = code == FID_UNKNOWN && strchr(text, ':') == NULL ? split_slider(text, name) : NULL;
    if (channel == NULL) {
        return code;
    }
    fid_bone_id bone = fid_rig_follow_bone(rig, name, moved);
    return fid_handle_is_null(bone.handle) ? code : fid_rig_follow_bone_channel(rig, bone, channel, out, moved, err);
}
