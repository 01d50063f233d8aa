#include "rig/entry.h"

#include "math/scalar.h"

#include <string.h>

/// The bone of a living channel of a bone, or NULL.
static const fid_bone *find_bone(const fid_rig *rig, fid_channel channel) {
    if (channel.kind != FID_CHANNEL_BONE || (unsigned)channel.axis >= FID_AXIS_COUNT) {
        return NULL;
    }
    const fid_bone *bone = fid_rig_bone(rig, (fid_bone_id){channel.owner}, NULL);
    // The placement bone has one scale.
    return bone != NULL && bone->def.placement && channel.axis > FID_SCALE_X ? NULL : bone;
}

static bool has_weight(fid_constraint_kind kind) {
    return kind != FID_CONSTRAINT_LIMIT && kind != FID_CONSTRAINT_SPACES;
}

bool fid_rig_has_channel(const fid_rig *rig, fid_channel channel) {
    switch (channel.kind) {
    case FID_CHANNEL_BONE:
        return find_bone(rig, channel) != NULL;
    case FID_CHANNEL_SLIDER:
        return fid_rig_slider_index(rig, (fid_slider_id){channel.owner}) >= 0;
    case FID_CHANNEL_WEIGHT: {
        const fid_constraint *constraint = fid_rig_constraint(rig, (fid_constraint_id){channel.owner}, NULL);
        return constraint != NULL && has_weight(constraint->def.kind);
    }
    case FID_CHANNEL_NONE:
        break;
    }
    return false;
}

/// The range of an axis of a bone; `*k` is the index in it.
static const fid_axis_range *find_range(const fid_bone_def *def, fid_axis axis, int *k) {
    *k = (int)axis % 3;
    return axis < FID_ROTATION_X ? &def->translation_range
           : axis < FID_SCALE_X  ? &def->rotation_range
                                 : &def->scale_range;
}

fid_channel_info fid_rig_channel_info(const fid_rig *rig, fid_channel channel) {
    fid_channel_info info = {0.0f, -FID_UNLIMITED, FID_UNLIMITED, false};
    if (!fid_rig_has_channel(rig, channel)) {
        return info;
    }
    if (channel.kind == FID_CHANNEL_BONE) {
        const fid_bone_def *def = &find_bone(rig, channel)->def;
        int k;
        const fid_axis_range *range = find_range(def, channel.axis, &k);
        info.rest = fid_axis_rest(channel.axis);
        info.min = range->lo[k];
        info.max = range->hi[k];
        info.animatable = (def->channels >> channel.axis & 1u) != 0;
    } else if (channel.kind == FID_CHANNEL_SLIDER) {
        const fid_slider_def *def = &fid_rig_slider(rig, (fid_slider_id){channel.owner}, NULL)->def;
        info = (fid_channel_info){def->rest, def->min, def->max, def->animatable};
    } else {
        const fid_constraint *constraint = fid_rig_constraint(rig, (fid_constraint_id){channel.owner}, NULL);
        info = (fid_channel_info){constraint->def.weight.value, 0.0f, 1.0f, false};
    }
    return info;
}

void fid_rig_add_channel_name(const fid_rig *rig, fid_channel channel, fid_text *out) {
    if (!fid_rig_has_channel(rig, channel)) {
        return;
    }
    if (channel.kind == FID_CHANNEL_BONE) {
        const fid_bone *bone = find_bone(rig, channel);
        bool scale = bone->def.placement && channel.axis == FID_SCALE_X;
        fid_text_addf(out, "%s.%s", bone->name, scale ? "scale" : fid_axis_names[channel.axis]);
    } else if (channel.kind == FID_CHANNEL_SLIDER) {
        const fid_slider *slider = fid_rig_slider(rig, (fid_slider_id){channel.owner}, NULL);
        fid_text_addf(out, "%s.%s", fid_rig_bone(rig, slider->def.on, NULL)->name, slider->def.name);
    } else {
        fid_text_addf(out, "%s.weight", fid_rig_constraint(rig, (fid_constraint_id){channel.owner}, NULL)->address);
    }
}

/// "no channel 'x' on bone 'y'", and what is near.
static fid_code no_channel(const fid_rig *rig, const fid_bone *bone, fid_bone_id id, const char *name, fid_error *err) {
    enum { MOST = 64 };
    const char *words[MOST];
    int32_t count = 0;
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        if (!bone->def.placement || i < FID_SCALE_X) {
            words[count++] = fid_axis_names[i];
        }
    }
    if (bone->def.placement) {
        words[count++] = "scale";
    }
    for (int32_t i = 0; i < rig->sliders.count && count < MOST; i++) {
        if (rig->sliders.at[i].def.on.handle.slot == id.handle.slot) {
            words[count++] = rig->sliders.at[i].def.name;
        }
    }
    const char *near = fid_text_nearest(name, words, count);
    return near != NULL ? fid_fail(err, FID_UNKNOWN, "no channel '%.64s' on bone '%s'; did you mean '%s'?", name,
                                   bone->name, near)
                        : fid_fail(err, FID_UNKNOWN, "no channel '%.64s' on bone '%s'", name, bone->name);
}

fid_code fid_rig_bone_channel(const fid_rig *rig, fid_bone_id id, const char *name, fid_channel *out, fid_error *err) {
    const fid_bone *bone = fid_rig_bone(rig, id, err);
    if (bone == NULL) {
        return FID_STALE;
    }
    bool placement = bone->def.placement;
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        const char *own = placement && i >= FID_SCALE_X ? "scale" : fid_axis_names[i];
        if (strcmp(name, own) == 0) {
            *out = (fid_channel){FID_CHANNEL_BONE, (fid_axis)i, id.handle};
            return FID_OK;
        }
    }
    fid_slider_id slider = fid_rig_find_slider(rig, id, name);
    if (!fid_handle_is_null(slider.handle)) {
        *out = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = slider.handle};
        return FID_OK;
    }
    return no_channel(rig, bone, id, name, err);
}

static fid_code no_constraint(const fid_rig *rig, const char *address, fid_error *err) {
    const char *near = NULL;
    int32_t count = rig->constraints.count;
    const char **words = count > 0 ? fid_memory_get((size_t)count * sizeof *words) : NULL;
    if (words != NULL) {
        for (int32_t i = 0; i < count; i++) {
            words[i] = rig->constraints.at[i].address;
        }
        near = fid_text_nearest(address, words, count);
        fid_memory_free(words);
    }
    return near != NULL ? fid_fail(err, FID_UNKNOWN, "no constraint '%s'; did you mean '%s'?", address, near)
                        : fid_fail(err, FID_UNKNOWN, "no constraint '%s'", address);
}

/// The address of the bone that a constraint is on, by its name: constraints are written with either.
static fid_constraint_id find_constraint(const fid_rig *rig, const char *owner, const char *kind) {
    fid_constraint_id id = fid_rig_find_constraint(rig, owner);
    size_t length = (size_t)(kind - owner);
    char text[FID_ENTRY_SIZE];
    if (!fid_handle_is_null(id.handle) || length >= FID_ADDRESS_SIZE) {
        return id;
    }
    memcpy(text, owner, length);
    text[length] = '\0';
    const fid_bone *bone = fid_rig_bone(rig, fid_rig_find_bone(rig, text), NULL);
    if (bone == NULL) {
        return id;
    }
    fid_text address = {0};
    fid_text_addf(&address, "%s%s", bone->address, kind);
    id = address.failed ? id : fid_rig_find_constraint(rig, address.at);
    fid_text_clear(&address);
    return id;
}

static fid_code find_weight(const fid_rig *rig, const char *text, fid_channel *out, fid_error *err) {
    const char *point = strrchr(text, '.');
    const char *kind = strrchr(text, ':');
    if (point == NULL || point < kind || strcmp(point, ".weight") != 0) {
        return fid_fail(err, FID_UNKNOWN, "'%.160s' is no channel: that of a constraint is CONSTRAINT.weight", text);
    }
    char address[FID_ENTRY_SIZE];
    size_t length = (size_t)(point - text);
    if (length >= sizeof address) {
        return fid_fail(err, FID_UNKNOWN, "no constraint '%.160s...'", text);
    }
    memcpy(address, text, length);
    address[length] = '\0';
    fid_constraint_id id = find_constraint(rig, address, address + (kind - text));
    const fid_constraint *constraint = fid_rig_constraint(rig, id, NULL);
    if (constraint == NULL) {
        return no_constraint(rig, address, err);
    }
    if (!has_weight(constraint->def.kind)) {
        return fid_fail(err, FID_UNKNOWN, "'%s' has no weight: it acts fully or is not there", address);
    }
    *out = (fid_channel){.kind = FID_CHANNEL_WEIGHT, .owner = id.handle};
    return FID_OK;
}

fid_code fid_rig_find_channel(const fid_rig *rig, const char *text, fid_channel *out, fid_error *err) {
    fid_code code;
    if (strchr(text, ':') != NULL) {
        code = find_weight(rig, text, out, err);
    } else {
        // Addresses may have points, but none after their last stroke; names of channels may have one.
        const char *last = strrchr(text, '/');
        const char *point = strchr(last != NULL ? last : text, '.');
        char bone[FID_ADDRESS_SIZE];
        if (point == NULL || point == text) {
            code = fid_fail(err, FID_UNKNOWN, "'%.160s' is no channel: write BONE.rotation.x or BONE.SLIDER", text);
        } else if ((size_t)(point - text) >= sizeof bone) {
            code = fid_fail(err, FID_UNKNOWN, "no bone '%.160s...'", text);
        } else {
            memcpy(bone, text, (size_t)(point - text));
            bone[point - text] = '\0';
            fid_bone_id id = fid_rig_find_bone(rig, bone);
            code = fid_handle_is_null(id.handle) ? fid_rig_no_bone(rig, bone, err)
                                                 : fid_rig_bone_channel(rig, id, point + 1, out, err);
        }
    }
    if (code != FID_OK) {
        fid_error_about(err, text);
    }
    return code;
}

fid_code fid_rig_set_channel_range(fid_rig *rig, fid_channel channel, float min, float max, bool animatable,
                                   fid_error *err) {
    if (!fid_rig_has_channel(rig, channel)) {
        return fid_fail(err, FID_STALE, "the channel is gone");
    }
    if (channel.kind == FID_CHANNEL_WEIGHT) {
        return fid_fail(err, FID_INVALID, "the weight of a constraint is 0 to 1 and may not be posed");
    }
    float rest = fid_rig_channel_info(rig, channel).rest;
    if (!fid_is_finite(min) || !fid_is_finite(max) || !(min <= rest && rest <= max)) {
        return fid_fail(err, FID_RANGE, "the range of a channel must be two numbers with its default between them");
    }
    if (channel.kind == FID_CHANNEL_SLIDER) {
        fid_slider_def *def = &rig->sliders.at[fid_rig_slider_index(rig, (fid_slider_id){channel.owner})].def;
        if (def->choices.count > 0 && (min != def->min || max != def->max)) {
            return fid_fail(err, FID_INVALID, "the range of slider '%s' follows from its choices", def->name);
        }
        def->min = min;
        def->max = max;
        def->animatable = animatable;
    } else {
        fid_bone_def *def = &rig->bones.at[fid_rig_bone_index(rig, (fid_bone_id){channel.owner})].def;
        fid_axis_range *range = channel.axis < FID_ROTATION_X ? &def->translation_range
                                : channel.axis < FID_SCALE_X  ? &def->rotation_range
                                                              : &def->scale_range;
        range->lo[channel.axis % 3] = min;
        range->hi[channel.axis % 3] = max;
        uint32_t bit = 1u << channel.axis;
        def->channels = animatable ? def->channels | bit : def->channels & ~bit;
    }
    rig->edits++;
    return FID_OK;
}
