#include "rig/member.h"
#include "rig/rig.h"

/// A visit in progress.
typedef struct visiting {
    fid_reference_visit visit;
    void *user;
    const char *role;
} visiting;

static void visit_bone(const visiting *v, fid_bone_id bone) {
    if (!fid_handle_is_null(bone.handle)) {
        v->visit(v->user, v->role, bone, (fid_channel){.kind = FID_CHANNEL_NONE});
    }
}

static void visit_channel(const visiting *v, fid_channel channel) {
    if (channel.kind != FID_CHANNEL_NONE) {
        v->visit(v->user, v->role, (fid_bone_id){{0, 0}}, channel);
    }
}

static void visit_source(const visiting *v, const fid_source *source) {
    switch (source->kind) {
    case FID_SOURCE_BONE:
    case FID_SOURCE_POINT:
        visit_bone(v, source->a.bone);
        break;
    case FID_SOURCE_BETWEEN:
        visit_bone(v, source->a.bone);
        visit_bone(v, source->b.bone);
        break;
    case FID_SOURCE_NONE:
    case FID_SOURCE_RIG:
    case FID_SOURCE_WORLD:
        break;
    }
}

static void visit_chain(const visiting *v, const fid_rig *rig, fid_chain_id id) {
    const fid_chain *chain = fid_rig_chain(rig, id, NULL);
    for (int32_t i = 0; chain != NULL && i < chain->count; i++) {
        visit_bone(v, chain->bones[i]);
    }
}

static void visit_field(const visiting *v, const fid_field *field, const void *record, const fid_rig *rig) {
    const void *at = fid_member_of(field, record);
    switch (field->type) {
    case FID_TYPE_BONE:
        visit_bone(v, *(const fid_bone_id *)at);
        break;
    case FID_TYPE_BONES: {
        const fid_bones *bones = at;
        for (int32_t i = 0; i < bones->count; i++) {
            visit_bone(v, bones->at[i]);
        }
        break;
    }
    case FID_TYPE_CHAIN:
        visit_chain(v, rig, *(const fid_chain_id *)at);
        break;
    case FID_TYPE_CHANNEL:
        visit_channel(v, *(const fid_channel *)at);
        break;
    case FID_TYPE_AMOUNT:
        visit_channel(v, ((const fid_amount *)at)->channel);
        break;
    case FID_TYPE_SOURCE:
        visit_source(v, at);
        break;
    case FID_TYPE_SOURCES: {
        const fid_sources *sources = at;
        for (int32_t i = 0; i < sources->count; i++) {
            visit_source(v, &sources->at[i].source);
            visit_channel(v, sources->at[i].share.channel);
        }
        break;
    }
    case FID_TYPE_FACTORS: {
        const fid_factors *factors = at;
        for (int32_t i = 0; i < factors->count; i++) {
            visit_source(v, &factors->at[i].a);
            visit_source(v, &factors->at[i].b);
            visit_channel(v, factors->at[i].channel);
        }
        break;
    }
    case FID_TYPE_SPACES: {
        const fid_space_list *spaces = at;
        const visiting grip = {v->visit, v->user, "meet"};
        for (int32_t i = 0; i < spaces->count; i++) {
            visit_source(v, &spaces->at[i].source);
            visit_bone(&grip, spaces->at[i].meet);
            visit_channel(v, spaces->at[i].by);
        }
        break;
    }
    case FID_TYPE_STEPS: {
        const fid_match_steps *steps = at;
        for (int32_t i = 0; i < steps->count; i++) {
            visit_bone(v, steps->at[i].bone);
            visit_bone(v, steps->at[i].like);
        }
        break;
    }
    case FID_TYPE_BOOLEAN:
    case FID_TYPE_NUMBER:
    case FID_TYPE_CHOICE:
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
    case FID_TYPE_WORDS:
    case FID_TYPE_INDEX:
    case FID_TYPE_VECTOR:
    case FID_TYPE_MAYBE_VECTOR:
    case FID_TYPE_FRAME:
    case FID_TYPE_SET:
    case FID_TYPE_OUTLINE:
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
    case FID_TYPE_AXIS_RANGE:
    case FID_TYPE_NUMBERS:
    case FID_TYPE_BOUNDS:
    case FID_TYPE_POSES: // acts on its bones, listens to none
    case FID_TYPE_CURVE:
    case FID_TYPE_STROKES:
        break;
    }
}

void fid_schema_references(const fid_schema *schema, const void *record, const fid_rig *rig, fid_reference_visit visit,
                           void *user) {
    for (int32_t i = 0; i < schema->count; i++) {
        visiting v = {visit, user, schema->fields[i].key};
        visit_field(&v, &schema->fields[i], record, rig);
    }
}
