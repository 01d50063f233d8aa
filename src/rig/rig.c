#include "rig/rig.h"

#include "math/scalar.h"
#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

fid_code fid_rig_new(const char *name, float height, const fid_naming *naming, fid_rig **out, fid_error *err) {
    if (!fid_name_is_key(name)) {
        return fid_fail(err, FID_INVALID,
                        "'name' must be small letters, digits and '_', begin with a letter and have at most 64 bytes");
    }
    if (!fid_is_finite(height) || !(height > 0.0f) || height > 1e4f) {
        return fid_fail(err, FID_RANGE, "'height' must be above 0 and at most 10000 m");
    }
    fid_naming usual = fid_naming_default();
    fid_code code = naming != NULL ? fid_naming_check(naming, err) : FID_OK;
    if (code != FID_OK) {
        return code;
    }
    fid_rig *rig = fid_memory_get_zero(1, sizeof *rig);
    if (rig == NULL) {
        return fid_no_memory(err);
    }
    rig->name = fid_arena_copy(&rig->arena, name, strlen(name));
    if (rig->name == NULL) {
        fid_rig_free(rig);
        return fid_no_memory(err);
    }
    rig->height = height;
    rig->naming = naming != NULL ? *naming : usual;
    rig->thresholds = fid_thresholds_default();
    rig->origin = -1;
    *out = rig;
    return FID_OK;
}

fid_code fid_rig_set_thresholds(fid_rig *rig, const fid_thresholds *thresholds, fid_error *err) {
    fid_code code = fid_thresholds_check(thresholds, err);
    if (code == FID_OK) {
        rig->thresholds = *thresholds;
        rig->edits++;
    }
    return code;
}

void fid_rig_free(fid_rig *rig) {
    if (rig == NULL) {
        return;
    }
    fid_array_clear(&rig->bones);
    fid_array_clear(&rig->chains);
    fid_array_clear(&rig->constraints);
    fid_array_clear(&rig->sliders);
    fid_array_clear(&rig->drives);
    fid_array_clear(&rig->layers);
    fid_array_clear(&rig->matches);
    fid_array_clear(&rig->moved);
    fid_array_clear(&rig->sets);
    fid_array_clear(&rig->outlines);
    fid_array_clear(&rig->origins);
    fid_array_clear(&rig->modules);
    fid_array_clear(&rig->additions);
    fid_pool_clear(&rig->bone_pool);
    fid_pool_clear(&rig->chain_pool);
    fid_pool_clear(&rig->constraint_pool);
    fid_pool_clear(&rig->slider_pool);
    fid_pool_clear(&rig->drive_pool);
    fid_pool_clear(&rig->layer_pool);
    fid_pool_clear(&rig->set_pool);
    fid_pool_clear(&rig->outline_pool);
    fid_map_clear(&rig->names);
    fid_arena_clear(&rig->arena);
    fid_memory_free(rig);
}

fid_rig_mark fid_rig_get_mark(const fid_rig *rig) {
    return (fid_rig_mark){.bones = rig->bones.count,
                          .chains = rig->chains.count,
                          .constraints = rig->constraints.count,
                          .sliders = rig->sliders.count,
                          .drives = rig->drives.count,
                          .layers = rig->layers.count,
                          .sets = rig->sets.count,
                          .outlines = rig->outlines.count,
                          .origins = rig->origins.count,
                          .modules = rig->modules.count,
                          .additions = rig->additions.count,
                          .matches = rig->matches.count,
                          .moved = rig->moved.count,
                          .placement = rig->placement,
                          .arena = fid_arena_get_mark(&rig->arena)};
}

/// Removes the entry of an element that is kept once, whatever its number among those of equal hash.
static void remove_content(fid_rig *rig, char kind, uint64_t hash, int32_t value) {
    char text[FID_ENTRY_SIZE];
    for (int32_t n = 0;; n++) {
        fid_entry_content(hash, n, text);
        int32_t found = fid_entry_find(rig, kind, text);
        if (found == value) {
            fid_entry_remove(rig, kind, text, value);
            return;
        }
        if (found < 0) {
            return;
        }
    }
}

/// Spaces that were there before lose what was added to them.
static void cut_additions(fid_rig *rig, int32_t count) {
    for (int32_t i = rig->additions.count - 1; i >= count; i--) {
        const fid_spaces_before *before = &rig->additions.at[i];
        fid_spaces *spaces = &rig->constraints.at[before->constraint].def.as.spaces;
        spaces->among = before->among;
        int32_t slider = fid_rig_slider_index(rig, (fid_slider_id){spaces->by.owner});
        if (slider >= 0) {
            rig->sliders.at[slider].def.choices = before->choices;
            rig->sliders.at[slider].def.max = (float)(before->choices.count - 1);
        }
        rig->additions.count = i;
    }
}

static void cut_constraints(fid_rig *rig, int32_t count) {
    char text[FID_ENTRY_SIZE];
    for (int32_t i = rig->constraints.count - 1; i >= count; i--) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        fid_entry_remove(rig, FID_ENTRY_CONSTRAINT, constraint->address, i);
        const fid_chain *chain = fid_rig_chain(rig, constraint->def.chain, NULL);
        for (int32_t k = 0; chain != NULL && k < chain->count; k++) {
            fid_entry_slot(chain->bones[k].handle.slot, text);
            fid_entry_remove(rig, FID_ENTRY_SOLVED, text, i);
        }
    }
    rig->constraints.count = rig->constraints.count < count ? rig->constraints.count : count;
    fid_pool_cut(&rig->constraint_pool, count);
}

static void cut_chains(fid_rig *rig, int32_t count) {
    for (int32_t i = rig->chains.count - 1; i >= count; i--) {
        const fid_chain *chain = &rig->chains.at[i];
        for (int32_t k = 0; k < chain->count; k++) {
            int32_t bone = fid_rig_bone_index(rig, chain->bones[k]);
            if (bone >= 0 && fid_rig_chain_index(rig, rig->bones.at[bone].chain) == i) {
                rig->bones.at[bone].chain = (fid_chain_id){{0, 0}};
            }
        }
    }
    rig->chains.count = rig->chains.count < count ? rig->chains.count : count;
    fid_pool_cut(&rig->chain_pool, count);
}

static void cut_display(fid_rig *rig, const fid_rig_mark *mark) {
    for (int32_t i = rig->sets.count - 1; i >= mark->sets; i--) {
        fid_entry_remove(rig, FID_ENTRY_SET, rig->sets.at[i].name, i);
        rig->sets.count = i;
    }
    fid_pool_cut(&rig->set_pool, mark->sets);
    for (int32_t i = rig->outlines.count - 1; i >= mark->outlines; i--) {
        const fid_outline_def *outline = &rig->outlines.at[i];
        fid_entry_remove(rig, FID_ENTRY_OUTLINE, outline->name, i);
        remove_content(rig, FID_ENTRY_DRAWING, fid_strokes_hash(&outline->strokes), i);
        rig->outlines.count = i;
    }
    fid_pool_cut(&rig->outline_pool, mark->outlines);
}

static void cut_modules(fid_rig *rig, int32_t count) {
    int32_t kept = 0;
    for (int32_t i = 0; i < rig->modules.count; i++) {
        const fid_module_mark module = rig->modules.at[i];
        int32_t number = fid_entry_find(rig, FID_ENTRY_MODULE, module.name);
        if (number >= 0 && number < count) {
            rig->modules.at[kept++] = module;
        } else {
            fid_entry_remove(rig, FID_ENTRY_MODULE, module.name, number);
        }
    }
    rig->modules.count = kept;
}

void fid_rig_cut(fid_rig *rig, const fid_rig_mark *mark) {
    // What refers to others first, while these are still there; keys leave the map before the arena takes them back.
    fid_rig_cut_moved(rig, mark->moved);
    fid_pool_cut(&rig->drive_pool, mark->drives);
    rig->drives.count = rig->drives.count < mark->drives ? rig->drives.count : mark->drives;
    for (int32_t i = rig->layers.count - 1; i >= mark->layers; i--) {
        fid_entry_remove(rig, FID_ENTRY_LAYER, rig->layers.at[i].address, i);
        rig->layers.count = i;
    }
    fid_pool_cut(&rig->layer_pool, mark->layers);
    rig->matches.count = rig->matches.count < mark->matches ? rig->matches.count : mark->matches;
    cut_additions(rig, mark->additions);
    cut_constraints(rig, mark->constraints);
    for (int32_t i = rig->sliders.count - 1; i >= mark->sliders; i--) {
        char text[FID_ENTRY_SIZE];
        fid_entry_slider(rig->sliders.at[i].def.on, rig->sliders.at[i].def.name, text);
        fid_entry_remove(rig, FID_ENTRY_SLIDER, text, i);
        rig->sliders.count = i;
    }
    fid_pool_cut(&rig->slider_pool, mark->sliders);
    cut_chains(rig, mark->chains);
    for (int32_t i = rig->bones.count - 1; i >= mark->bones; i--) {
        const fid_bone *bone = &rig->bones.at[i];
        if (fid_map_find(&rig->names, bone->name) == i) {
            fid_map_remove(&rig->names, bone->name);
        }
        if (fid_map_find(&rig->names, bone->address) == i) {
            fid_map_remove(&rig->names, bone->address);
        }
        rig->bones.count = i;
    }
    fid_pool_cut(&rig->bone_pool, mark->bones);
    cut_display(rig, mark);
    for (int32_t i = rig->origins.count - 1; i >= mark->origins; i--) {
        remove_content(rig, FID_ENTRY_ORIGIN, fid_origin_hash(&rig->origins.at[i]), i);
        rig->origins.count = i;
    }
    cut_modules(rig, mark->modules);
    rig->placement = mark->placement;
    fid_arena_release(&rig->arena, mark->arena);
}

void fid_rig_rollback(fid_rig *rig, const fid_rig_mark *mark) {
    fid_rig_cut(rig, mark);
    rig->edits++;
}
