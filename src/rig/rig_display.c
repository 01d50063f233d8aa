#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

static fid_code check_key(const char *what, const char *name, fid_error *err) {
    return fid_name_is_key(name) ? FID_OK
                                 : fid_fail(err, FID_INVALID,
                                            "the name of %s must be small letters, digits and '_', begin with a "
                                            "letter and have at most 64 bytes",
                                            what);
}

fid_code fid_rig_append_set(fid_rig *rig, const fid_set_def *def, fid_set_id *out, fid_error *err) {
    fid_set_def set = *def;
    fid_code code = fid_schema_check(&fid_set_schema, &set, rig, err);
    code = code == FID_OK ? check_key("a display set", set.name, err) : code;
    code = code == FID_OK ? fid_rig_check_origin(rig, set.origin, err) : code;
    if (code != FID_OK) {
        return code;
    }
    int32_t other = fid_entry_find(rig, FID_ENTRY_SET, set.name);
    if (other >= 0) {
        char made_at[FID_ENTRY_SIZE];
        fid_rig_made_at(rig, rig->sets.at[other].origin, made_at);
        return fid_fail(err, FID_NAME_TAKEN, "name '%s' is taken by the display set%s", set.name, made_at);
    }
    if (set.color == NULL) {
        set.color = fid_set_default().color;
    }
    code = fid_schema_copy(&fid_set_schema, &set, &rig->arena, err);
    if (code != FID_OK) {
        return code;
    }
    if (!fid_array_reserve(&rig->sets, 1) || !fid_pool_add(&rig->set_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->sets.count++;
    rig->sets.at[index] = set;
    return fid_entry_add(rig, FID_ENTRY_SET, set.name, index) ? FID_OK : fid_no_memory(err);
}

fid_code fid_rig_add_set(fid_rig *rig, const fid_set_def *def, fid_set_id *out, fid_error *err) {
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_set_id id;
    fid_code code = fid_rig_append_set(rig, def, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}

fid_set_id fid_rig_find_set(const fid_rig *rig, const char *name) {
    return (fid_set_id){fid_pool_handle(&rig->set_pool, fid_entry_find(rig, FID_ENTRY_SET, name))};
}

fid_outline_id fid_rig_find_outline(const fid_rig *rig, const char *name) {
    return (fid_outline_id){fid_pool_handle(&rig->outline_pool, fid_entry_find(rig, FID_ENTRY_OUTLINE, name))};
}

uint64_t fid_strokes_hash(const fid_strokes *strokes) {
    uint64_t hash = fid_entry_hash(FID_HASH_BEGIN, &strokes->count, sizeof strokes->count);
    for (int32_t i = 0; i < strokes->count; i++) {
        const fid_stroke *stroke = &strokes->at[i];
        const int32_t shape[2] = {stroke->closed, stroke->count};
        hash = fid_entry_hash(hash, shape, sizeof shape);
        hash = fid_entry_hash(hash, stroke->points, (size_t)stroke->count * sizeof *stroke->points);
    }
    return hash;
}

static bool is_same_strokes(const fid_strokes *a, const fid_strokes *b) {
    if (a->count != b->count) {
        return false;
    }
    for (int32_t i = 0; i < a->count; i++) {
        const fid_stroke *one = &a->at[i], *two = &b->at[i];
        if (one->closed != two->closed || one->count != two->count ||
            memcmp(one->points, two->points, (size_t)one->count * sizeof *one->points) != 0) {
            return false;
        }
    }
    return true;
}

/// The text of the entry for these strokes; the index of the outline that has them, or -1.
static int32_t find_drawing(const fid_rig *rig, const fid_strokes *strokes, char entry[FID_ENTRY_SIZE]) {
    uint64_t hash = fid_strokes_hash(strokes);
    for (int32_t n = 0;; n++) {
        fid_entry_content(hash, n, entry);
        int32_t found = fid_entry_find(rig, FID_ENTRY_DRAWING, entry);
        if (found < 0 || is_same_strokes(&rig->outlines.at[found].strokes, strokes)) {
            return found;
        }
    }
}

static fid_code append_outline(fid_rig *rig, const fid_outline_def *def, const char *name, const char *drawing,
                               fid_outline_id *out, fid_error *err) {
    fid_outline_def outline = {name, def->strokes};
    fid_code code = fid_schema_copy(&fid_outline_schema, &outline, &rig->arena, err);
    if (code != FID_OK) {
        return code;
    }
    if (!fid_array_reserve(&rig->outlines, 1) || !fid_pool_add(&rig->outline_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->outlines.count++;
    rig->outlines.at[index] = outline;
    if (!fid_entry_add(rig, FID_ENTRY_OUTLINE, outline.name, index) ||
        (drawing != NULL && !fid_entry_add(rig, FID_ENTRY_DRAWING, drawing, index))) {
        return fid_no_memory(err);
    }
    return FID_OK;
}

fid_code fid_rig_add_outline(fid_rig *rig, const fid_outline_def *def, const char *base, fid_outline_id *out,
                             fid_error *err) {
    char name[FID_ENTRY_SIZE], drawing[FID_ENTRY_SIZE];
    fid_code code = fid_schema_check(&fid_outline_schema, def, rig, err);
    if (code != FID_OK) {
        return code;
    }
    int32_t same = find_drawing(rig, &def->strokes, drawing);
    if (def->name == NULL && same >= 0) {
        out->handle = fid_pool_handle(&rig->outline_pool, same);
        return FID_OK;
    }
    if (def->name != NULL) {
        snprintf(name, sizeof name, "%.200s", def->name);
    } else if (base != NULL) {
        fid_entry_number(rig, FID_ENTRY_OUTLINE, base, false, name);
    } else {
        return fid_fail(err, FID_INVALID, "'name' is missing");
    }
    code = check_key("an outline", name, err);
    if (code == FID_OK && fid_entry_find(rig, FID_ENTRY_OUTLINE, name) >= 0) {
        code = fid_fail(err, FID_NAME_TAKEN, "name '%s' is taken by another outline", name);
    }
    if (code != FID_OK) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_outline_id id;
    code = append_outline(rig, def, name, same < 0 ? drawing : NULL, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}
