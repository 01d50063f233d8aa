#include "rig/mirror.h"

#include <stdio.h>
#include <string.h>

fid_bone_id fid_mirror_bone(const fid_rig *rig, fid_bone_id id) {
    const fid_bone *bone = fid_rig_bone(rig, id, NULL);
    if (bone == NULL || bone->def.side == FID_CENTER) {
        return id;
    }
    char address[FID_ADDRESS_SIZE];
    fid_name_fields fields = fid_bone_fields(&bone->def);
    fields.side = fields.side == FID_LEFT ? FID_RIGHT : FID_LEFT;
    fid_address_render(&fields, address);
    fid_bone_id other = fid_rig_find_bone(rig, address);
    return fid_handle_is_null(other.handle) ? id : other;
}

/// The constraint on the other side: the bone or chain in its address exchanged; itself where there is none.
static fid_constraint_id mirror_constraint(const fid_rig *rig, fid_constraint_id id) {
    const char *address = rig->constraints.at[id.handle.slot].address, *sides[] = {"/left", "/right"};
    char other[FID_ADDRESS_SIZE + 32];
    for (int i = 0; i < 2; i++) {
        const char *at = strstr(address, sides[i]);
        char next = at ? at[strlen(sides[i])] : 'x';
        if (at && (next == '/' || next == ':')) {
            snprintf(other, sizeof other, "%.*s%s%s", (int)(at - address), address, sides[1 - i],
                     at + strlen(sides[i]));
            fid_constraint_id found = fid_rig_find_constraint(rig, other);
            return fid_handle_is_null(found.handle) ? id : found;
        }
    }
    return id;
}

/// The slider on the bone of the other side; in the center the one whose name has left and right exchanged, if any.
static fid_slider_id find_slider(const fid_rig *rig, fid_bone_id bone, fid_bone_id other, const char *name) {
    char exchanged[FID_NAME_SIZE];
    fid_slider_id found = {{0, 0}};
    if (other.handle.slot == bone.handle.slot && fid_name_exchange_sides(name, exchanged)) {
        found = fid_rig_find_slider(rig, other, exchanged);
    }
    return fid_handle_is_null(found.handle) ? fid_rig_find_slider(rig, other, name) : found;
}

fid_channel fid_mirror_channel(const fid_rig *rig, fid_channel channel) {
    if (channel.kind == FID_CHANNEL_WEIGHT) {
        channel.owner = mirror_constraint(rig, (fid_constraint_id){channel.owner}).handle;
        return channel;
    }
    bool slides = channel.kind == FID_CHANNEL_SLIDER;
    const fid_slider_def *slider = slides ? &rig->sliders.at[channel.owner.slot].def : NULL;
    fid_bone_id bone = slides ? slider->on : (fid_bone_id){channel.owner}, other = fid_mirror_bone(rig, bone);
    bool lonely = rig->bones.at[bone.handle.slot].def.side != FID_CENTER && other.handle.slot == bone.handle.slot;
    fid_slider_id found = slides && !lonely ? find_slider(rig, bone, other, slider->name) : (fid_slider_id){{0, 0}};
    if (lonely || (slides && fid_handle_is_null(found.handle))) {
        return (fid_channel){FID_CHANNEL_NONE, (fid_axis)0, {0, 0}};
    }
    channel.owner = slides ? found.handle : other.handle;
    return channel;
}

float fid_mirror_sign(fid_channel channel) {
    bool turns = channel.kind == FID_CHANNEL_BONE && (channel.axis == FID_TRANSLATION_X ||
                                                      channel.axis == FID_ROTATION_Y || channel.axis == FID_ROTATION_Z);
    return turns ? -1.0f : 1.0f;
}

bool fid_mirror_value(const fid_rig *rig, fid_channel *channel, float *value) {
    fid_channel other = fid_mirror_channel(rig, *channel);
    if (other.kind == FID_CHANNEL_NONE) {
        return false;
    }
    const fid_slider_def *from = channel->kind == FID_CHANNEL_SLIDER ? &rig->sliders.at[channel->owner.slot].def : NULL;
    int32_t number = from != NULL ? (int32_t)floorf(*value + 0.5f) : -1;
    if (number >= 0 && number < from->choices.count) {
        const fid_slider_def *to = &rig->sliders.at[other.owner.slot].def;
        char exchanged[FID_NAME_SIZE];
        bool is_other = from->on.handle.slot == to->on.handle.slot &&
                        fid_name_exchange_sides(from->choices.at[number], exchanged) &&
                        fid_slider_find_choice(to, exchanged, value, NULL) == FID_OK;
        if (!is_other && fid_slider_find_choice(to, from->choices.at[number], value, NULL) != FID_OK) {
            return false;
        }
    } else {
        *value = 0.0f + *value * fid_mirror_sign(*channel);
    }
    *channel = other;
    return true;
}

/// x to x * sign_x and y to y * sign_y, points in rising order again.
static fid_code reflect_curve(fid_curve *curve, bool turn_x, bool turn_y, fid_arena *arena, fid_error *err) {
    float *x = fid_arena_get(arena, (size_t)curve->count * sizeof *x);
    float *y = fid_arena_get(arena, (size_t)curve->count * sizeof *y);
    if (x == NULL || y == NULL) {
        return fid_no_memory(err);
    }
    for (int32_t i = 0; i < curve->count; i++) {
        int32_t from = turn_x ? curve->count - 1 - i : i;
        x[i] = turn_x ? 0.0f - curve->x[from] : curve->x[from];
        y[i] = turn_y ? 0.0f - curve->y[from] : curve->y[from];
    }
    curve->x = x;
    curve->y = y;
    return FID_OK;
}

/// True where the product of what a drive reads changes sign in the mirrored world. Distances and angles do not; a
/// twist is a turn about +Z.
static bool turns(const fid_factors *from) {
    bool out = false;
    for (int32_t i = 0; i < from->count; i++) {
        const fid_factor *factor = &from->at[i];
        out ^= factor->kind == FID_FACTOR_TWIST ||
               (factor->kind == FID_FACTOR_CHANNEL && fid_mirror_sign(factor->channel) < 0.0f);
    }
    return out;
}

fid_code fid_mirror_drive(fid_drive_def *def, fid_arena *arena, fid_error *err) {
    fid_code code = fid_schema_mirror(&fid_drive_schema, def, arena, err);
    if (code != FID_OK) {
        return code;
    }
    bool turn_x = turns(&def->from);
    // A factor is the same on both sides, whatever the sign of the channel that it multiplies.
    bool turn_y = def->combine != FID_MULTIPLY && fid_mirror_sign(def->to) < 0.0f;
    turn_y = turn_y != (fid_mirror_sign(def->gain.channel) < 0.0f);
    if (def->curve.count > 0) {
        return turn_x || turn_y ? reflect_curve(&def->curve, turn_x, turn_y, arena, err) : FID_OK;
    }
    if (turn_x == turn_y) {
        return FID_OK; // y = x and powers are their own reflections
    }
    if (def->gain.channel.kind == FID_CHANNEL_NONE) {
        def->gain.value = 0.0f - def->gain.value;
        return FID_OK;
    }
    // The gain is a channel, which cannot be negated: the response is. The power 1 stands for y = x.
    fid_curve straight = {.interpolation = FID_POWER, .power = 1.0f, .sign = 1.0f};
    def->curve = fid_curve_is_given(&def->curve) ? def->curve : straight;
    def->curve.sign = -def->curve.sign;
    if (def->curve.power == 1.0f && def->curve.sign == 1.0f) {
        def->curve = (fid_curve){.interpolation = FID_LINEAR};
    }
    return FID_OK;
}
