#include "rig/match.h"

#include "rig/entry.h"

#define AT(member) offsetof(fid_match_def, member)

static const fid_field fields[] = {
    {"slider", FID_TYPE_CHANNEL, FID_FIELD_REQUIRED, AT(slider), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The slider that switches"},
    {"value", FID_TYPE_NUMBER, FID_FIELD_FILE, AT(value), "", -FID_UNLIMITED, FID_UNLIMITED, 0, NULL, FID_REFLECT_NONE,
     "The value that it is switched to"},
    {"set", FID_TYPE_STEPS, FID_FIELD_REQUIRED, AT(set), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What is posed, in order, so that nothing jumps"},
};

const fid_schema fid_match_schema = {"match", "Says how a switch is made without a jump", sizeof(fid_match_def), fields,
                                     sizeof fields / sizeof fields[0]};

fid_match_def fid_match_default(void) {
    fid_match_def def;
    fid_schema_defaults(&fid_match_schema, &def);
    def.origin = -1;
    return def;
}

/// The ik whose plane a step keeps takes the bone as its pole, or its swivel from a channel.
static fid_code check_plane(const fid_rig *rig, const fid_match_step *step, const fid_bone *bone, fid_error *err) {
    const fid_constraint *ik = fid_rig_constraint(rig, step->plane_of, err);
    if (ik == NULL) {
        return FID_STALE;
    }
    if (ik->def.kind != FID_CONSTRAINT_IK) {
        return fid_fail(err, FID_INVALID, "'set': 'plane_of' of '%s' is '%s', which is no ik",
                        bone != NULL ? bone->name : "a swivel", ik->address);
    }
    const fid_source *pole = &ik->def.as.ik.pole;
    if (bone == NULL && ik->def.as.ik.swivel.channel.kind == FID_CHANNEL_NONE) {
        return fid_fail(err, FID_INVALID, "'set': '%s' takes its swivel from no channel, so that none can be posed",
                        ik->address);
    }
    if (bone != NULL && (pole->kind != FID_SOURCE_BONE ||
                         fid_rig_bone_index(rig, pole->a.bone) != fid_rig_bone_index(rig, step->bone))) {
        return fid_fail(err, FID_INVALID, "'set': bone '%s' is not the pole of '%s', whose plane it is to stand in",
                        bone->name, ik->address);
    }
    return FID_OK;
}

static fid_code check_step(const fid_rig *rig, const fid_match_steps *set, int32_t number, fid_error *err) {
    const fid_match_step *step = &set->at[number];
    bool likes = !fid_handle_is_null(step->like.handle), planes = !fid_handle_is_null(step->plane_of.handle);
    if (fid_handle_is_null(step->bone.handle) && (!planes || step->neutral)) {
        return fid_fail(err, FID_INVALID, "'set': an entry poses a bone, or with 'plane_of' the swivel of an ik");
    }
    const fid_bone *bone = fid_handle_is_null(step->bone.handle) ? NULL : fid_rig_bone(rig, step->bone, err);
    if (bone != NULL && (step->neutral ? likes || planes : !likes && !planes)) {
        return fid_fail(err, FID_INVALID, "'set': bone '%s' takes one of 'like', 'neutral' and 'plane_of'", bone->name);
    }
    if (bone != NULL && bone->def.placement) {
        return fid_fail(err, FID_INVALID, "'set': bone '%s' places the character, which no switch moves", bone->name);
    }
    for (int32_t k = 0; k < number; k++) {
        const fid_match_step *other = &set->at[k];
        if (bone != NULL && other->bone.handle.slot == step->bone.handle.slot &&
            !fid_handle_is_null(other->bone.handle)) {
            return fid_fail(err, FID_INVALID, "'set' has bone '%s' twice", bone->name);
        }
        if (bone == NULL && fid_handle_is_null(other->bone.handle) &&
            other->plane_of.handle.slot == step->plane_of.handle.slot) {
            return fid_fail(err, FID_INVALID, "'set' has one swivel twice");
        }
    }
    return planes ? check_plane(rig, step, bone, err) : FID_OK;
}

static fid_code check_steps(const fid_rig *rig, const fid_match_steps *set, fid_error *err) {
    fid_code code = FID_OK;
    for (int32_t i = 0; i < set->count && code == FID_OK; i++) {
        code = check_step(rig, set, i, err);
    }
    return code;
}

static fid_code check_slider(const fid_rig *rig, const fid_match_def *def, fid_error *err) {
    const fid_slider *slider =
        def->slider.kind == FID_CHANNEL_SLIDER ? fid_rig_slider(rig, (fid_slider_id){def->slider.owner}, NULL) : NULL;
    if (slider == NULL) {
        return fid_fail(err, FID_INVALID, "'slider' must be a slider");
    }
    fid_error cause;
    if (fid_slider_check_value(&slider->def, def->value, &cause) != FID_OK) {
        return fid_fail(err, FID_RANGE, "'value': %s", cause.message);
    }
    for (int32_t i = 0; i < rig->matches.count; i++) {
        if (fid_channel_is(rig->matches.at[i].slider, def->slider) && rig->matches.at[i].value == def->value) {
            char made_at[FID_ENTRY_SIZE];
            fid_rig_made_at(rig, rig->matches.at[i].origin, made_at);
            return fid_fail(err, FID_NAME_TAKEN, "'value': slider '%s' has a match at %g already%s", slider->def.name,
                            (double)def->value, made_at);
        }
    }
    return FID_OK;
}

fid_code fid_rig_add_match(fid_rig *rig, const fid_match_def *def, fid_error *err) {
    fid_match_def match = *def;
    fid_code code = fid_schema_check(&fid_match_schema, def, rig, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    code = code == FID_OK ? check_slider(rig, def, err) : code;
    code = code == FID_OK ? check_steps(rig, &def->set, err) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    match.value += 0.0f; // no -0
    code = fid_schema_copy(&fid_match_schema, &match, &rig->arena, err);
    if (code == FID_OK && !fid_array_push(&rig->matches, match)) {
        code = fid_no_memory(err);
    }
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    rig->edits++;
    return FID_OK;
}
