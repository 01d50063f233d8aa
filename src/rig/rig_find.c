#include "rig/entry.h"

#include <string.h>

fid_bone_id fid_rig_find_bone(const fid_rig *rig, const char *name) {
    // Other entries begin with a character that names do not have.
    bool plain = name[0] != '\0' && strchr(":*$%@^~!&<", name[0]) == NULL;
    return fid_rig_bone_at(rig, plain ? fid_map_find(&rig->names, name) : -1);
}

fid_constraint_id fid_rig_find_constraint(const fid_rig *rig, const char *address) {
    return fid_rig_constraint_at(rig, fid_entry_find(rig, FID_ENTRY_CONSTRAINT, address));
}

fid_code fid_rig_no_bone(const fid_rig *rig, const char *name, fid_error *err) {
    const char *near = NULL;
    int32_t count = rig->bones.count;
    bool is_address = strchr(name, '/') != NULL;
    const char **words = count > 0 ? fid_memory_get((size_t)count * sizeof *words) : NULL;
    if (words != NULL) {
        for (int32_t i = 0; i < count; i++) {
            words[i] = is_address ? rig->bones.at[i].address : rig->bones.at[i].name;
        }
        near = fid_text_nearest(name, words, count);
        fid_memory_free(words);
    }
    fid_code code = near != NULL ? fid_fail(err, FID_UNKNOWN, "no bone '%.160s'; did you mean '%s'?", name, near)
                                 : fid_fail(err, FID_UNKNOWN, "no bone '%.160s'", name);
    fid_error_about(err, name);
    return code;
}

const fid_bone *fid_rig_bone(const fid_rig *rig, fid_bone_id id, fid_error *err) {
    int32_t index = fid_rig_bone_index(rig, id);
    if (index < 0) {
        (void)fid_fail(err, FID_STALE, "the bone is gone");
        return NULL;
    }
    return &rig->bones.at[index];
}

const fid_chain *fid_rig_chain(const fid_rig *rig, fid_chain_id id, fid_error *err) {
    int32_t index = fid_rig_chain_index(rig, id);
    if (index < 0) {
        (void)fid_fail(err, FID_STALE, "the chain is gone");
        return NULL;
    }
    return &rig->chains.at[index];
}

const fid_constraint *fid_rig_constraint(const fid_rig *rig, fid_constraint_id id, fid_error *err) {
    int32_t index = fid_rig_constraint_index(rig, id);
    if (index < 0) {
        (void)fid_fail(err, FID_STALE, "the constraint is gone");
        return NULL;
    }
    return &rig->constraints.at[index];
}

const fid_slider *fid_rig_slider(const fid_rig *rig, fid_slider_id id, fid_error *err) {
    int32_t index = fid_rig_slider_index(rig, id);
    if (index < 0) {
        (void)fid_fail(err, FID_STALE, "the slider is gone");
        return NULL;
    }
    return &rig->sliders.at[index];
}

static fid_vec3 find_spot(const fid_rig *rig, const fid_spot *spot) {
    const fid_bone *bone = fid_rig_bone(rig, spot->bone, NULL);
    return bone != NULL ? fid_frame_point(bone->rest, (fid_vec3){0, 0, bone->def.length * spot->along})
                        : (fid_vec3){0, 0, 0};
}

fid_frame fid_rig_source_rest(const fid_rig *rig, const fid_source *source) {
    fid_frame frame = FID_FRAME_IDENTITY;
    const fid_bone *bone = fid_rig_bone(rig, source->a.bone, NULL);
    switch (source->kind) {
    case FID_SOURCE_BONE:
        return bone != NULL ? bone->rest : frame;
    case FID_SOURCE_POINT:
        frame = bone != NULL ? bone->rest : frame;
        frame.t = find_spot(rig, &source->a);
        return frame;
    case FID_SOURCE_BETWEEN:
        frame.t = fid_vec3_lerp(find_spot(rig, &source->a), find_spot(rig, &source->b), source->f);
        return frame;
    case FID_SOURCE_NONE:
    case FID_SOURCE_RIG:
    case FID_SOURCE_WORLD:
        break;
    }
    return frame;
}
