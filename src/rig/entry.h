#ifndef FID_RIG_ENTRY_H
#define FID_RIG_ENTRY_H

#include "rig/rig.h"

/// What the map of names holds beside the names and addresses of bones, by the first character of the key, which no
/// name has.
enum {
    FID_ENTRY_CONSTRAINT = ':', ///< address
    FID_ENTRY_SOLVED = '*',     ///< slot of a bone that ik or a spline lays
    FID_ENTRY_SLIDER = '$',     ///< slot of its bone, '.', name
    FID_ENTRY_LAYER = '%',      ///< address
    FID_ENTRY_SET = '@',        ///< name
    FID_ENTRY_OUTLINE = '^',    ///< name
    FID_ENTRY_DRAWING = '~',    ///< hash of the strokes of an outline
    FID_ENTRY_ORIGIN = '!',     ///< hash of an origin
    FID_ENTRY_MODULE = '&',     ///< name; the value is how many came before
    FID_ENTRY_MOVED = '<',      ///< address, and of bones name, of before
};
enum { FID_ENTRY_SIZE = 256 };

/// The value of an entry, or -1. Texts of 255 bytes and more are nowhere.
int32_t fid_entry_find(const fid_rig *rig, char kind, const char *text);

/// Makes an entry, whose key is put into the arena of the rig; false if there is no memory.
FID_NODISCARD bool fid_entry_add(fid_rig *rig, char kind, const char *text, int32_t value);

/// Removes an entry if it has this value.
void fid_entry_remove(fid_rig *rig, char kind, const char *text, int32_t value);

/// Texts of entries.
void fid_entry_slider(fid_bone_id bone, const char *name, char out[FID_ENTRY_SIZE]);
void fid_entry_slot(uint32_t slot, char out[FID_ENTRY_SIZE]);

/// The smallest free number from 1 on that a search finds which doubles and halves: PREFIX + STEM + number is no entry.
/// The stem itself stands for 1 where `bare`. `out` is the text.
void fid_entry_number(const fid_rig *rig, char kind, const char *stem, bool bare, char out[FID_ENTRY_SIZE]);

/// Hash of bytes, to be continued; begin with FID_HASH_BEGIN.
#define FID_HASH_BEGIN UINT64_C(14695981039346656037)
uint64_t fid_entry_hash(uint64_t hash, const void *bytes, size_t count);

/// Elements by content: `n` distinguishes those of equal hash. The text of the entry.
void fid_entry_content(uint64_t hash, int32_t n, char out[FID_ENTRY_SIZE]);

/// Hashes of what is kept once.
uint64_t fid_origin_hash(const fid_origin *origin);
uint64_t fid_strokes_hash(const fid_strokes *strokes);

/// Takes back everything that was added since `mark`, without counting as an edit.
void fid_rig_cut(fid_rig *rig, const fid_rig_mark *mark);

/// Takes back names of before down to `count`; a part of fid_rig_cut.
void fid_rig_cut_moved(fid_rig *rig, int32_t count);

/// " made at FILE:LINE", for an instance " by leg1 (left) of stretch_leg 1.0.0" behind it, or "" where it is not known.
void fid_rig_made_at(const fid_rig *rig, int32_t origin, char out[FID_ENTRY_SIZE]);

/// FID_INVALID where an origin is neither -1 nor one of the rig's.
FID_NODISCARD fid_code fid_rig_check_origin(const fid_rig *rig, int32_t origin, fid_error *err);

/// Parts of adding that other additions use too: they change the rig and are cut by the caller on failure.
FID_NODISCARD fid_code fid_rig_append_set(fid_rig *rig, const fid_set_def *def, fid_set_id *out, fid_error *err);
FID_NODISCARD fid_code fid_rig_append_slider(fid_rig *rig, const fid_slider_def *def, fid_slider_id *out,
                                             fid_error *err);

/// Makes the sliders that spaces lack and notes them in the definition (its list is copied into the arena first).
FID_NODISCARD fid_code fid_rig_append_space_sliders(fid_rig *rig, fid_constraint_def *def, fid_error *err);

/// What a constraint must be beyond its fields (constraint_check.c).
FID_NODISCARD fid_code fid_spaces_check(const fid_rig *rig, const fid_constraint_def *def, fid_error *err); ///< entries
FID_NODISCARD fid_code fid_constraint_check(const fid_rig *rig, const fid_constraint_def *def, fid_error *err);

#endif
