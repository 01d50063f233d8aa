#ifndef FID_TESTS_RIG_SNAPSHOT_H
#define FID_TESTS_RIG_SNAPSHOT_H

#include "rig/rig.h"

#include <stdarg.h>
#include <stdio.h>

enum { SNAPSHOT_SIZE = 1 << 16 };

/// The content of a rig as text, made without allocation.
typedef struct snapshot {
    char text[SNAPSHOT_SIZE];
    size_t count;
} snapshot;

FID_PRINTF(2, 3) static inline void snapshot_add(snapshot *to, const char *format, ...) {
    va_list args;
    va_start(args, format);
    int length = vsnprintf(to->text + to->count, SNAPSHOT_SIZE - to->count, format, args);
    va_end(args);
    to->count += length > 0 ? (size_t)length : 0;
    to->count = to->count < SNAPSHOT_SIZE ? to->count : SNAPSHOT_SIZE - 1;
}

static inline const char *snapshot_text(const char *text) { return text != NULL ? text : "(none)"; }

static inline void snapshot_bones(snapshot *to, const fid_rig *rig) {
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        snapshot_add(to, "bone %s %s %d %d set %d chain %d placement %d\n", bone->name, bone->address,
                     (int)fid_rig_bone_index(rig, fid_rig_find_bone(rig, bone->name)),
                     (int)fid_rig_bone_index(rig, fid_rig_find_bone(rig, bone->address)),
                     (int)bone->def.display_set.handle.slot, (int)fid_rig_chain_index(rig, bone->chain),
                     (int)bone->def.placement);
    }
    for (int32_t i = 0; i < rig->chains.count; i++) {
        snapshot_add(to, "chain %s %d\n", rig->chains.at[i].address, (int)rig->chains.at[i].count);
    }
}

static inline void snapshot_rest(snapshot *to, const fid_rig *rig) {
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        snapshot_add(to, "constraint %s %d\n", constraint->address,
                     (int)fid_rig_constraint_index(rig, fid_rig_find_constraint(rig, constraint->address)));
    }
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        const fid_slider_def *def = &rig->sliders.at[i].def;
        snapshot_add(to, "slider %s %d\n", def->name,
                     (int)fid_rig_slider_index(rig, fid_rig_find_slider(rig, def->on, def->name)));
    }
    for (int32_t i = 0; i < rig->sets.count; i++) {
        snapshot_add(to, "set %s %s %d\n", rig->sets.at[i].name, rig->sets.at[i].color,
                     (int)fid_rig_find_set(rig, rig->sets.at[i].name).handle.slot);
    }
    for (int32_t i = 0; i < rig->outlines.count; i++) {
        snapshot_add(to, "outline %s %d\n", rig->outlines.at[i].name,
                     (int)fid_rig_find_outline(rig, rig->outlines.at[i].name).handle.slot);
    }
    for (int32_t i = 0; i < rig->origins.count; i++) {
        const fid_origin *origin = &rig->origins.at[i];
        snapshot_add(to, "origin %s:%d %s %s %d\n", origin->file, (int)origin->line, snapshot_text(origin->module),
                     snapshot_text(origin->instance), (int)origin->used_at);
    }
    for (int32_t i = 0; i < rig->modules.count; i++) {
        snapshot_add(to, "module %s %s\n", rig->modules.at[i].name, rig->modules.at[i].version);
    }
    snapshot_add(to, "drives %d names %d arena %lu placement %d\n", (int)rig->drives.count, (int)rig->names.count,
                 (unsigned long)rig->arena.total, (int)fid_rig_bone_index(rig, rig->placement));
}

static inline void snapshot_take(snapshot *to, const fid_rig *rig) {
    to->count = 0;
    snapshot_add(to, "%s\n", rig->name);
    snapshot_bones(to, rig);
    snapshot_rest(to, rig);
}

#endif
