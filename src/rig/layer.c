#include "rig/layer.h"

#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

#define AT(member) offsetof(fid_layer_def, member)

static const char *const interpolation_names[] = {"linear", "smooth", NULL};

static const fid_field fields[] = {
    {"name", FID_TYPE_TEXT, FID_FIELD_REQUIRED | FID_FIELD_SCRIPT, AT(name), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Its name within the instance"},
    {"by", FID_TYPE_CHANNEL, FID_FIELD_REQUIRED, AT(by), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The channel that blends the poses in"},
    {"interpolation", FID_TYPE_CHOICE, 0, AT(interpolation), "", 0, 0, FID_LINEAR, interpolation_names,
     FID_REFLECT_NONE, "How translations go from pose to pose; turns go the shorter way, scales in the logarithm"},
    {"poses", FID_TYPE_POSES, FID_FIELD_REQUIRED, AT(poses), "", 0, 0, 0, NULL, FID_REFLECT_FRAME,
     "Poses of bones at values of the channel; at 0 all are at rest"},
};

const fid_schema fid_layer_schema = {"pose_layer", "Blends poses of several bones in by a channel",
                                     sizeof(fid_layer_def), fields, sizeof fields / sizeof fields[0]};

fid_layer_def fid_layer_default(void) {
    fid_layer_def def;
    fid_schema_defaults(&fid_layer_schema, &def);
    def.side = FID_CENTER;
    def.origin = -1;
    return def;
}

static void render_address(const fid_layer_def *def, char out[FID_ENTRY_SIZE]) {
    snprintf(out, FID_ENTRY_SIZE, "%.100s%s%.64s%s%s", def->id ? def->id : "", def->id ? "/" : "", def->name,
             def->side != FID_CENTER ? "/" : "", def->side != FID_CENTER ? fid_side_names[def->side] : "");
}

static fid_code append(fid_rig *rig, const fid_layer_def *def, const char *address, fid_layer_id *out, fid_error *err) {
    fid_layer layer = {*def, fid_arena_copy(&rig->arena, address, strlen(address))};
    layer.def.id = def->id ? fid_arena_copy(&rig->arena, def->id, strlen(def->id)) : NULL;
    if (!layer.address || (def->id && !layer.def.id)) {
        return fid_no_memory(err);
    }
    fid_code code = fid_schema_copy(&fid_layer_schema, &layer.def, &rig->arena, err);
    if (code != FID_OK) {
        return code;
    }
    if (!fid_array_reserve(&rig->layers, 1) || !fid_pool_add(&rig->layer_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->layers.count++;
    rig->layers.at[index] = layer;
    return fid_entry_add(rig, FID_ENTRY_LAYER, address, index) ? FID_OK : fid_no_memory(err);
}

/// The bone that places the character obeys nothing.
static fid_code check_bones(const fid_rig *rig, const fid_layer_def *def, fid_error *err) {
    int32_t placement = fid_rig_bone_index(rig, rig->placement);
    for (int32_t i = 0; i < def->poses.count; i++) {
        for (int32_t j = 0; j < def->poses.at[i].count; j++) {
            int32_t bone = fid_rig_bone_index(rig, def->poses.at[i].entries[j].bone);
            if (bone == placement) {
                return fid_fail(err, FID_INVALID, "'poses': bone '%s' places the character and takes no layers",
                                rig->bones.at[bone].name);
            }
        }
    }
    return FID_OK;
}

fid_code fid_rig_add_layer(fid_rig *rig, const fid_layer_def *def, fid_layer_id *out, fid_error *err) {
    char address[FID_ENTRY_SIZE];
    fid_code code = fid_schema_check(&fid_layer_schema, def, rig, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    if (code == FID_OK && !fid_name_is_key(def->name)) {
        code = fid_fail(err, FID_INVALID,
                        "'name' of a pose layer must be small letters, digits and '_', and begin with a letter");
    }
    code = code == FID_OK ? check_bones(rig, def, err) : code;
    if (code != FID_OK) {
        return code;
    }
    render_address(def, address);
    int32_t other = fid_entry_find(rig, FID_ENTRY_LAYER, address);
    if (other >= 0) {
        char made_at[FID_ENTRY_SIZE];
        fid_rig_made_at(rig, rig->layers.at[other].def.origin, made_at);
        return fid_fail(err, FID_NAME_TAKEN, "there is a pose layer '%s'%s already", address, made_at);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_layer_id id;
    code = append(rig, def, address, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}

const fid_layer *fid_rig_layer(const fid_rig *rig, fid_layer_id id, fid_error *err) {
    int32_t index = fid_pool_index(&rig->layer_pool, id.handle);
    if (index < 0) {
        (void)fid_fail(err, FID_STALE, "the pose layer is gone");
        return NULL;
    }
    return &rig->layers.at[index];
}
