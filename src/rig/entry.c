#include "rig/entry.h"

#include <stdio.h>
#include <string.h>

/// Puts the key together; false where it is too long.
static bool make_key(char kind, const char *text, char out[FID_ENTRY_SIZE]) {
    size_t length = strlen(text);
    if (length > FID_ENTRY_SIZE - 2) {
        return false;
    }
    out[0] = kind;
    memcpy(out + 1, text, length + 1);
    return true;
}

int32_t fid_entry_find(const fid_rig *rig, char kind, const char *text) {
    char key[FID_ENTRY_SIZE];
    return make_key(kind, text, key) ? fid_map_find(&rig->names, key) : -1;
}

bool fid_entry_add(fid_rig *rig, char kind, const char *text, int32_t value) {
    char key[FID_ENTRY_SIZE];
    if (!make_key(kind, text, key)) {
        return false;
    }
    const char *copy = fid_arena_copy(&rig->arena, key, strlen(key));
    return copy != NULL && fid_map_set(&rig->names, copy, value);
}

void fid_entry_remove(fid_rig *rig, char kind, const char *text, int32_t value) {
    char key[FID_ENTRY_SIZE];
    if (make_key(kind, text, key) && fid_map_find(&rig->names, key) == value) {
        fid_map_remove(&rig->names, key);
    }
}

void fid_entry_slider(fid_bone_id bone, const char *name, char out[FID_ENTRY_SIZE]) {
    snprintf(out, FID_ENTRY_SIZE, "%lu.%.200s", (unsigned long)bone.handle.slot, name);
}

void fid_entry_slot(uint32_t slot, char out[FID_ENTRY_SIZE]) {
    snprintf(out, FID_ENTRY_SIZE, "%lu", (unsigned long)slot);
}

static bool is_number_taken(const fid_rig *rig, char kind, const char *stem, bool bare, int32_t number,
                            char out[FID_ENTRY_SIZE]) {
    if (bare && number == 1) {
        snprintf(out, FID_ENTRY_SIZE, "%.200s", stem);
    } else {
        snprintf(out, FID_ENTRY_SIZE, "%.200s%d", stem, (int)number);
    }
    return fid_entry_find(rig, kind, out) >= 0;
}

void fid_entry_number(const fid_rig *rig, char kind, const char *stem, bool bare, char out[FID_ENTRY_SIZE]) {
    int32_t taken = 0, open = 1;
    while (is_number_taken(rig, kind, stem, bare, open, out)) {
        taken = open;
        open *= 2;
    }
    while (open - taken > 1) {
        int32_t middle = taken + (open - taken) / 2;
        if (is_number_taken(rig, kind, stem, bare, middle, out)) {
            taken = middle;
        } else {
            open = middle;
        }
    }
    (void)is_number_taken(rig, kind, stem, bare, open, out);
}

uint64_t fid_entry_hash(uint64_t hash, const void *bytes, size_t count) {
    // Fowler, Noll and Vo, form 1a with 64 bits.
    const unsigned char *at = bytes;
    for (size_t i = 0; i < count; i++) {
        hash = (hash ^ at[i]) * UINT64_C(1099511628211);
    }
    return hash;
}

void fid_entry_content(uint64_t hash, int32_t n, char out[FID_ENTRY_SIZE]) {
    snprintf(out, FID_ENTRY_SIZE, "%08lx%08lx.%d", (unsigned long)(hash >> 32),
             (unsigned long)(hash & UINT64_C(0xffffffff)), (int)n);
}
