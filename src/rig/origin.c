#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

static uint64_t hash_text(uint64_t hash, const char *text) {
    // NULL and "" differ.
    return fid_entry_hash(hash, text != NULL ? text : "\1", text != NULL ? strlen(text) + 1 : 1);
}

uint64_t fid_origin_hash(const fid_origin *origin) {
    uint64_t hash = fid_entry_hash(FID_HASH_BEGIN, &origin->line, sizeof origin->line);
    hash = fid_entry_hash(hash, &origin->used_at, sizeof origin->used_at);
    return hash_text(hash_text(hash_text(hash, origin->file), origin->module), origin->instance);
}

static bool is_same_text(const char *a, const char *b) { return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0; }

static bool is_same_origin(const fid_origin *a, const fid_origin *b) {
    return a->line == b->line && a->used_at == b->used_at && is_same_text(a->file, b->file) &&
           is_same_text(a->module, b->module) && is_same_text(a->instance, b->instance);
}

/// Copies a text into the rig; false if there is no memory.
static bool copy_text(fid_rig *rig, const char **text) {
    if (*text != NULL) {
        *text = fid_arena_copy(&rig->arena, *text, strlen(*text));
        return *text != NULL;
    }
    return true;
}

static fid_code append_origin(fid_rig *rig, fid_origin origin, const char *entry, fid_error *err) {
    if (!copy_text(rig, &origin.file) || !copy_text(rig, &origin.module) || !copy_text(rig, &origin.instance) ||
        !fid_array_push(&rig->origins, origin) ||
        !fid_entry_add(rig, FID_ENTRY_ORIGIN, entry, rig->origins.count - 1)) {
        return fid_no_memory(err);
    }
    return FID_OK;
}

fid_code fid_rig_add_origin(fid_rig *rig, const fid_origin *origin, int32_t *out, fid_error *err) {
    if (origin->file == NULL || origin->line < 0) {
        return fid_fail(err, FID_INVALID, "an origin needs a file, and a line of 0 or more");
    }
    fid_code code = fid_rig_check_origin(rig, origin->used_at, err);
    if (code != FID_OK) {
        return code;
    }
    char entry[FID_ENTRY_SIZE];
    uint64_t hash = fid_origin_hash(origin);
    for (int32_t n = 0;; n++) {
        fid_entry_content(hash, n, entry);
        int32_t found = fid_entry_find(rig, FID_ENTRY_ORIGIN, entry);
        if (found < 0) {
            break;
        }
        if (is_same_origin(&rig->origins.at[found], origin)) {
            *out = found;
            return FID_OK;
        }
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    code = append_origin(rig, *origin, entry, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = rig->origins.count - 1;
    rig->edits++;
    return FID_OK;
}

fid_code fid_rig_check_origin(const fid_rig *rig, int32_t origin, fid_error *err) {
    return origin >= -1 && origin < rig->origins.count
               ? FID_OK
               : fid_fail(err, FID_INVALID, "the origin %d is none of the rig's", (int)origin);
}

static fid_code append_module(fid_rig *rig, fid_module_mark module, fid_error *err) {
    if (!copy_text(rig, &module.name) || !copy_text(rig, &module.version) || !copy_text(rig, &module.sha256) ||
        !fid_array_reserve(&rig->modules, 1) ||
        !fid_entry_add(rig, FID_ENTRY_MODULE, module.name, rig->modules.count)) {
        return fid_no_memory(err);
    }
    int32_t at = rig->modules.count++;
    for (; at > 0 && strcmp(rig->modules.at[at - 1].name, module.name) > 0; at--) {
        rig->modules.at[at] = rig->modules.at[at - 1];
    }
    rig->modules.at[at] = module;
    return FID_OK;
}

fid_code fid_rig_add_module(fid_rig *rig, const fid_module_mark *mark, fid_error *err) {
    if (!fid_name_is_key(mark->name) || mark->version == NULL || mark->sha256 == NULL) {
        return fid_fail(err, FID_INVALID,
                        "a module needs a name of small letters, digits and '_', a version and a checksum");
    }
    if (fid_entry_find(rig, FID_ENTRY_MODULE, mark->name) >= 0) {
        for (int32_t i = 0; i < rig->modules.count; i++) {
            const fid_module_mark *other = &rig->modules.at[i];
            if (strcmp(other->name, mark->name) == 0 &&
                (strcmp(other->version, mark->version) != 0 || strcmp(other->sha256, mark->sha256) != 0)) {
                return fid_fail(err, FID_INVALID, "module '%s' takes part in two versions, %.32s and %.32s", mark->name,
                                other->version, mark->version);
            }
        }
        return FID_OK;
    }
    fid_rig_mark begin = fid_rig_get_mark(rig);
    fid_code code = append_module(rig, *mark, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &begin);
        return code;
    }
    rig->edits++;
    return FID_OK;
}

int32_t fid_rig_places(const fid_rig *rig, int32_t origin, fid_place *out, int32_t size) {
    int32_t count = 0;
    // Each was used at one that was there before it, so this ends.
    while (origin >= 0 && origin < rig->origins.count && count < size) {
        const fid_origin *at = &rig->origins.at[origin];
        out[count++] = (fid_place){at->file, at->line, at->instance, at->module};
        origin = at->used_at;
    }
    return count;
}

void fid_rig_made_at(const fid_rig *rig, int32_t origin, char out[FID_ENTRY_SIZE]) {
    out[0] = '\0';
    if (origin >= 0 && origin < rig->origins.count) {
        const fid_origin *made = &rig->origins.at[origin];
        bool has_owner = made->instance != NULL && made->module != NULL;
        snprintf(out, FID_ENTRY_SIZE, " made at %.120s:%d%s%.60s%s%.60s", made->file, (int)made->line,
                 has_owner ? " by " : "", has_owner ? made->instance : "", has_owner ? " of " : "",
                 has_owner ? made->module : "");
    }
}
