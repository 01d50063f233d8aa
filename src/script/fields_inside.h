#ifndef FID_SCRIPT_FIELDS_INSIDE_H
#define FID_SCRIPT_FIELDS_INSIDE_H

#include "script/fields.h"

/// Private to fields.c and fields_source.c. All of these raise.

/// What the reader of one value knows.
typedef struct fid_reading {
    lua_State *L;
    const char *call; ///< "rig:bone{}"
    fid_rig *rig;
    fid_arena *arena;
    const fid_schema *schema;
    void *record;
    const fid_field *field;
} fid_reading;

/// Room for `count` elements in the arena.
void *fid_reading_get(fid_reading *in, size_t count, size_t size);

/// "rig:bone{}: 'parent' is a number; it takes a Bone": the message for a value of the wrong kind.
void fid_reading_raise_kind(fid_reading *in, int index, const char *wanted);

/// The message for a word that is none of the NULL-terminated choices: all of them and the nearest.
void fid_reading_raise_choice(fid_reading *in, const char *word, const char *const *words);

/// The index of a word among NULL-terminated ones, or -1.
int32_t fid_reading_find_word(const char *word, const char *const *words);

/// Checks for a plain list and gives its length.
int32_t fid_reading_count(fid_reading *in, int index, const char *wanted);

/// Refuses what belongs to another rig.
void fid_reading_check_owner(fid_reading *in, const fid_rig *owner);

/// A number within the range of the field.
float fid_reading_number(fid_reading *in, int index);

fid_channel fid_reading_channel(fid_reading *in, int index);
fid_amount fid_reading_amount(fid_reading *in, int index);
fid_source fid_reading_source(fid_reading *in, int index);
/// A channel, a measure, or a list of these (fields_factor.c).
fid_factors fid_reading_factors(fid_reading *in, int index);

fid_space_list fid_reading_spaces(fid_reading *in, int index);

/// One `source` with the share 1, or several `sources`, of the arguments at `table`.
void fid_reading_sources(fid_reading *in, int table);

/// Reads the poses of a layer (fields_poses.c).
fid_pose_table fid_reading_poses(fid_reading *in, int index);

/// Reads what a match sets (fields_steps.c).
fid_match_steps fid_reading_steps(fid_reading *in, int index);

#endif
