#include "rig/entry.h"

#include <math.h>
#include <string.h>

static const char *const group_names[] = {"translation", "rotation", "scale", "weight"};

static fid_code check_name(const fid_rig *rig, const fid_slider_def *def, fid_error *err) {
    if (!fid_name_is_key(def->name)) {
        return fid_fail(err, FID_INVALID,
                        "'name' of a slider must be small letters, digits and '_', begin with a letter and have at "
                        "most 64 bytes");
    }
    for (int i = 0; i < 4; i++) {
        if (strcmp(def->name, group_names[i]) == 0) {
            return fid_fail(err, FID_NAME_TAKEN, "a slider may not be called '%s': that is a channel that is there",
                            def->name);
        }
    }
    fid_slider_id other = fid_rig_find_slider(rig, def->on, def->name);
    if (!fid_handle_is_null(other.handle)) {
        char made_at[FID_ENTRY_SIZE];
        const fid_slider *slider = fid_rig_slider(rig, other, NULL);
        fid_rig_made_at(rig, slider->def.origin, made_at);
        return fid_fail(err, FID_NAME_TAKEN, "bone '%s' has a slider '%s' already%s",
                        fid_rig_bone(rig, def->on, NULL)->name, def->name, made_at);
    }
    return FID_OK;
}

/// Refuses choices that stand twice; names of choices are words of any kind.
static fid_code check_choices(const fid_words *choices, fid_error *err) {
    fid_map seen = {0};
    fid_code code = FID_OK;
    for (int32_t i = 0; code == FID_OK && i < choices->count; i++) {
        if (fid_map_find(&seen, choices->at[i]) >= 0) {
            code = fid_fail(err, FID_INVALID, "'choices' has '%.64s' twice", choices->at[i]);
        } else if (!fid_map_set(&seen, choices->at[i], i)) {
            code = fid_no_memory(err);
        }
    }
    fid_map_clear(&seen);
    return code;
}

static fid_code settle_range(fid_slider_def *def, fid_error *err) {
    if (def->choices.count > 0) {
        def->min = 0.0f;
        def->max = (float)(def->choices.count - 1);
        if (def->rest != floorf(def->rest)) {
            return fid_fail(err, FID_RANGE, "'default' must be a whole number: the number of a choice, from 0");
        }
    }
    if (!(def->min <= def->max)) {
        return fid_fail(err, FID_RANGE, "'min' is above 'max'");
    }
    if (!(def->min <= def->rest && def->rest <= def->max)) {
        return fid_fail(err, FID_RANGE, "'default' must be within the range of the slider");
    }
    def->rest += 0.0f; // no -0
    return FID_OK;
}

fid_code fid_rig_append_slider(fid_rig *rig, const fid_slider_def *def, fid_slider_id *out, fid_error *err) {
    fid_slider slider = {*def};
    fid_code code = fid_schema_check(&fid_slider_schema, def, rig, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    code = code == FID_OK ? check_name(rig, def, err) : code;
    code = code == FID_OK ? check_choices(&def->choices, err) : code;
    code = code == FID_OK ? settle_range(&slider.def, err) : code;
    code = code == FID_OK ? fid_schema_copy(&fid_slider_schema, &slider.def, &rig->arena, err) : code;
    if (code != FID_OK) {
        return code;
    }
    if (!fid_array_reserve(&rig->sliders, 1) || !fid_pool_add(&rig->slider_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->sliders.count++;
    rig->sliders.at[index] = slider;
    char entry[FID_ENTRY_SIZE];
    fid_entry_slider(slider.def.on, slider.def.name, entry);
    return fid_entry_add(rig, FID_ENTRY_SLIDER, entry, index) ? FID_OK : fid_no_memory(err);
}

fid_code fid_rig_add_slider(fid_rig *rig, const fid_slider_def *def, fid_slider_id *out, fid_error *err) {
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_slider_id id;
    fid_code code = fid_rig_append_slider(rig, def, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}

fid_slider_id fid_rig_find_slider(const fid_rig *rig, fid_bone_id on, const char *name) {
    if (fid_rig_bone_index(rig, on) < 0 || !fid_name_is_key(name)) {
        return (fid_slider_id){{0, 0}};
    }
    char entry[FID_ENTRY_SIZE];
    fid_entry_slider(on, name, entry);
    return fid_rig_slider_at(rig, fid_entry_find(rig, FID_ENTRY_SLIDER, entry));
}

static fid_code append_drive(fid_rig *rig, const fid_drive_def *def, fid_drive_id *out, fid_error *err) {
    fid_drive drive = {*def};
    fid_code code = fid_schema_copy(&fid_drive_schema, &drive.def, &rig->arena, err);
    if (code != FID_OK) {
        return code;
    }
    if (!fid_array_reserve(&rig->drives, 1) || !fid_pool_add(&rig->drive_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    rig->drives.at[rig->drives.count++] = drive;
    return FID_OK;
}

fid_code fid_rig_add_drive(fid_rig *rig, const fid_drive_def *def, fid_drive_id *out, fid_error *err) {
    fid_code code = fid_schema_check(&fid_drive_schema, def, rig, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    for (int32_t i = 0; code == FID_OK && i < def->from.count; i++) {
        if (def->from.at[i].kind == FID_FACTOR_CHANNEL && fid_channel_is(def->to, def->from.at[i].channel)) {
            code = fid_fail(err, FID_INVALID, "'to' and 'from' are the same channel");
        }
    }
    if (code != FID_OK) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_drive_id id;
    code = append_drive(rig, def, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}
