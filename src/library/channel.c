#include "library/message.h"
#include "library/skeleton.h"

fid_code fid_skeleton_list_channels(fid_skeleton *skeleton, fid_error *err) {
    const fid_rig *rig = skeleton->rig;
    size_t count = (size_t)skeleton->program->channel_count;
    skeleton->inside = fid_arena_get(&skeleton->arena, count * sizeof *skeleton->inside);
    skeleton->outside = fid_arena_get(&skeleton->arena, count * sizeof *skeleton->outside);
    skeleton->names = fid_arena_get(&skeleton->arena, count * sizeof *skeleton->names);
    bool failed = skeleton->inside == NULL || skeleton->outside == NULL || skeleton->names == NULL;
    fid_text name = {0};
    for (int32_t i = 0; i < skeleton->program->channel_count && !failed; i++) {
        fid_channel channel = fid_program_channel_of(skeleton->program, rig, i);
        skeleton->outside[i] = FID_NO_INDEX;
        if (fid_rig_has_channel(rig, channel)) {
            int32_t number = skeleton->channel_count++;
            name.count = 0;
            fid_rig_add_channel_name(rig, channel, &name);
            skeleton->inside[number] = i;
            skeleton->outside[i] = number;
            skeleton->names[number] =
                name.failed ? NULL : fid_arena_copy(&skeleton->arena, name.at, (size_t)name.count);
            failed = skeleton->names[number] == NULL;
        }
    }
    fid_text_clear(&name);
    return failed ? fid_no_memory(err) : FID_OK;
}

/// The channel of the rig; of kind FID_CHANNEL_NONE where there is none.
static fid_channel find(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel)
               ? fid_program_channel_of(skeleton->program, skeleton->rig, skeleton->inside[channel])
               : (fid_channel){.kind = FID_CHANNEL_NONE};
}

static const fid_slider_def *find_slider(const fid_skeleton *skeleton, int32_t channel) {
    fid_channel found = find(skeleton, channel);
    return found.kind == FID_CHANNEL_SLIDER ? &fid_rig_slider(skeleton->rig, (fid_slider_id){found.owner}, NULL)->def
                                            : NULL;
}

int32_t fid_skeleton_channel_count(const fid_skeleton *skeleton) {
    return skeleton != NULL ? skeleton->channel_count : 0;
}

fid_status fid_skeleton_find_channel(const fid_skeleton *skeleton, const char *name, int32_t *out, char *message,
                                     size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    if (out != NULL) {
        *out = FID_NO_INDEX;
    }
    if (skeleton == NULL || name == NULL || out == NULL) {
        return fid_message_invalid(to, "%s is NULL",
                                   skeleton == NULL ? "the skeleton"
                                   : name == NULL   ? "the name"
                                                    : "'out'");
    }
    fid_error err;
    fid_channel channel;
    bool moved = false;
    fid_code code = fid_rig_follow_channel(skeleton->rig, name, &channel, &moved, &err);
    if (code != FID_OK) {
        return fid_message_error(to, NULL, &err);
    }
    *out = skeleton->outside[fid_program_channel(skeleton->program, channel)];
    return FID_STATUS_OK;
}

const char *fid_skeleton_channel_name(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel) ? skeleton->names[channel] : NULL;
}

fid_skeleton_channel fid_skeleton_channel_kind(const fid_skeleton *skeleton, int32_t channel) {
    fid_channel found = find(skeleton, channel);
    switch (found.kind) {
    case FID_CHANNEL_BONE:
        return found.axis < FID_ROTATION_X ? FID_SKELETON_TRANSLATION
               : found.axis < FID_SCALE_X  ? FID_SKELETON_ROTATION
                                           : FID_SKELETON_SCALE;
    case FID_CHANNEL_SLIDER:
        return FID_SKELETON_SLIDER;
    case FID_CHANNEL_WEIGHT:
    case FID_CHANNEL_NONE:
        break;
    }
    return FID_SKELETON_WEIGHT;
}

int32_t fid_skeleton_channel_bone(const fid_skeleton *skeleton, int32_t channel) {
    fid_channel found = find(skeleton, channel);
    const fid_slider_def *slider = find_slider(skeleton, channel);
    if (found.kind == FID_CHANNEL_BONE) {
        return (int32_t)found.owner.slot;
    }
    return slider != NULL ? fid_rig_bone_index(skeleton->rig, slider->on) : FID_NO_INDEX;
}

float fid_skeleton_channel_default(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel) ? skeleton->program->channel_rest[skeleton->inside[channel]] : 0;
}

float fid_skeleton_channel_min(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel) ? skeleton->program->channel_min[skeleton->inside[channel]] : 0;
}

float fid_skeleton_channel_max(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel) ? skeleton->program->channel_max[skeleton->inside[channel]] : 0;
}

bool fid_skeleton_channel_animatable(const fid_skeleton *skeleton, int32_t channel) {
    return fid_skeleton_has_channel(skeleton, channel) && skeleton->program->animatable[skeleton->inside[channel]];
}

int32_t fid_skeleton_channel_choice_count(const fid_skeleton *skeleton, int32_t channel) {
    const fid_slider_def *slider = find_slider(skeleton, channel);
    return slider != NULL ? slider->choices.count : 0;
}

const char *fid_skeleton_channel_choice(const fid_skeleton *skeleton, int32_t channel, int32_t choice) {
    const fid_slider_def *slider = find_slider(skeleton, channel);
    return slider != NULL && choice >= 0 && choice < slider->choices.count ? slider->choices.at[choice] : NULL;
}
