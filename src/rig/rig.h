#ifndef FID_RIG_RIG_H
#define FID_RIG_RIG_H

#include "base/map.h"
#include "rig/bone.h"
#include "rig/chain.h"
#include "rig/constraint.h"
#include "rig/display.h"
#include "rig/drive.h"
#include "rig/layer.h"
#include "rig/match.h"
#include "rig/moved.h"
#include "rig/origin.h"
#include "rig/slider.h"
#include "rig/thresholds.h"

/// What spaces, and the slider that chooses among them, were before choices were added.
typedef struct fid_spaces_before {
    int32_t constraint;
    fid_space_list among;
    fid_words choices;
} fid_spaces_before;

/// The whole thing under construction: what recipes edit. Everything may be read directly; everything is changed
/// through the functions below, which leave the rig unchanged when they fail. Elements are in order of creation
/// (parents before children), and an element's index is its handle's slot.
typedef struct fid_rig {
    const char *name;
    float height; ///< H, metres; tolerances scale with it
    fid_naming naming;
    fid_thresholds thresholds; ///< of the rules of check
    int32_t origin;
    fid_bone_id placement; ///< null, or the bone that places the character
    FID_ARRAY(fid_bone) bones;
    FID_ARRAY(fid_chain) chains;
    FID_ARRAY(fid_constraint) constraints;
    FID_ARRAY(fid_slider) sliders;
    FID_ARRAY(fid_drive) drives;
    FID_ARRAY(fid_layer) layers;
    FID_ARRAY(fid_match_def) matches;
    FID_ARRAY(fid_moved) moved;
    FID_ARRAY(fid_set_def) sets;
    FID_ARRAY(fid_outline_def) outlines;
    FID_ARRAY(fid_origin) origins;
    FID_ARRAY(fid_module_mark) modules;     ///< sorted by name
    FID_ARRAY(fid_spaces_before) additions; ///< to spaces, in their order, so that they can be taken back
    fid_pool bone_pool, chain_pool, constraint_pool, slider_pool, drive_pool, layer_pool, set_pool, outline_pool;
    fid_map names;   ///< of bones: names and addresses; of all else: what rig/entry.h lists
    fid_arena arena; ///< of all strings and lists
    uint64_t edits;  ///< grows with every change: whoever keeps something derived compares it
} fid_rig;

/// A rig without bones. `name` matches [a-z][a-z0-9_]*; height above 0 up to 1e4; naming NULL: the default.
/// @return FID_OK, FID_INVALID (name, naming), FID_RANGE (height), FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_new(const char *name, float height, const fid_naming *naming, fid_rig **out,
                                   fid_error *err);
void fid_rig_free(fid_rig *rig);

/// From where on rules speak on this rig; without it that is fid_thresholds_default.
/// @return as fid_thresholds_check
FID_NODISCARD fid_code fid_rig_set_thresholds(fid_rig *rig, const fid_thresholds *thresholds, fid_error *err);

/// Adds where something was written; the same origin twice is kept once. `*out` is its index.
FID_NODISCARD fid_code fid_rig_add_origin(fid_rig *rig, const fid_origin *origin, int32_t *out, fid_error *err);

/// Notes that a module took part; once each.
FID_NODISCARD fid_code fid_rig_add_module(fid_rig *rig, const fid_module_mark *mark, fid_error *err);

/// Adds a bone and stores its handle in `*out`.
///
/// Existing handles stay valid. Strings of `def` are copied. Lengths in metres. A control without a display set is put
/// into `LEVEL_SIDE`, which is made where it is missing.
/// @return FID_OK, FID_NAME_TAKEN, FID_STALE (parent gone), FID_RANGE, FID_INVALID, FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_bone(fid_rig *rig, const fid_bone_def *def, fid_bone_id *out, fid_error *err);

/// Adds a chain and its bones, indexed from 1. The end bone keeps the orientation of the one before it and a quarter of
/// its length.
/// @return as fid_rig_add_bone; FID_RANGE where two points are closer than 1e-4 H [S202]
FID_NODISCARD fid_code fid_rig_add_chain(fid_rig *rig, const fid_chain_def *def, fid_chain_id *out, fid_error *err);

/// Makes a chain of bones that are there (in order; linked or fan is found out); bones of no chain become its own.
/// @return FID_OK, FID_STALE, FID_INVALID (neither linked nor fan, a bone twice, none, an end bone alone),
/// FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_bind_chain(fid_rig *rig, const fid_bone_id *bones, int32_t count, bool with_end,
                                          int32_t origin, fid_chain_id *out, fid_error *err);

/// Adds a constraint. `spaces` makes its slider unless `by` is given; `ik` gives each joint a share of 1 where
/// `bend_shares` is empty.
/// @return FID_OK, FID_STALE, FID_RANGE, FID_INVALID (also `bend_shares` that are not one for each joint, which are one
/// less than the segments), FID_LIMIT (segments), FID_NAME_TAKEN (the slider), FID_UNKNOWN (`default`), FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_constraint(fid_rig *rig, const fid_constraint_def *def, fid_constraint_id *out,
                                              fid_error *err);

/// Adds choices to spaces that are there, as their last ones, written at `origin`; the slider that chooses gets their
/// names, mixed spaces one slider more for each. A rollback takes them back.
/// @return FID_OK, FID_STALE, FID_INVALID (no spaces, a name twice, entries as in fid_rig_add_constraint), FID_RANGE,
/// FID_LIMIT, FID_NAME_TAKEN (a slider), FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_spaces(fid_rig *rig, fid_constraint_id spaces, const fid_space_list *among,
                                          int32_t origin, fid_error *err);

FID_NODISCARD fid_code fid_rig_add_slider(fid_rig *rig, const fid_slider_def *def, fid_slider_id *out, fid_error *err);
FID_NODISCARD fid_code fid_rig_add_drive(fid_rig *rig, const fid_drive_def *def, fid_drive_id *out, fid_error *err);
FID_NODISCARD fid_code fid_rig_add_set(fid_rig *rig, const fid_set_def *def, fid_set_id *out, fid_error *err);

/// Adds an outline; without a name it gets one from `base` and a number ("circle1"), and an equal one that is there is
/// given instead. With a name it is a new one, and FID_NAME_TAKEN where that is taken.
FID_NODISCARD fid_code fid_rig_add_outline(fid_rig *rig, const fid_outline_def *def, const char *base,
                                           fid_outline_id *out, fid_error *err);

/// Ranges of channels of a bone that is there, as files give them; the default lies within. A rollback does not undo it
/// for bones and sliders from before its mark.
/// @return FID_OK, FID_STALE, FID_RANGE, FID_INVALID (a weight, a slider with choices)
FID_NODISCARD fid_code fid_rig_set_channel_range(fid_rig *rig, fid_channel channel, float min, float max,
                                                 bool animatable, fid_error *err);

/// Adds a pose layer.
/// @return FID_OK, FID_NAME_TAKEN, FID_STALE, FID_RANGE, FID_INVALID, FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_layer(fid_rig *rig, const fid_layer_def *def, fid_layer_id *out, fid_error *err);

/// Adds how a slider is switched to a value without a jump.
/// @return FID_OK, FID_NAME_TAKEN (that value of that slider), FID_STALE, FID_RANGE, FID_INVALID, FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_match(fid_rig *rig, const fid_match_def *def, fid_error *err);

/// Notes what a bone, or with a living `slider` that slider of it, was called before (rig/moved.h).
/// @return FID_OK, FID_STALE, FID_SYNTAX or FID_INVALID (`from`), FID_NAME_TAKEN (noted before), FID_NO_MEMORY
FID_NODISCARD fid_code fid_rig_add_moved(fid_rig *rig, const char *from, fid_bone_id bone, fid_slider_id slider,
                                         fid_error *err);

/// Elements by handle: NULL and FID_STALE in err where the handle is of an element that is gone.
const fid_bone *fid_rig_bone(const fid_rig *rig, fid_bone_id id, fid_error *err);
const fid_chain *fid_rig_chain(const fid_rig *rig, fid_chain_id id, fid_error *err);
const fid_constraint *fid_rig_constraint(const fid_rig *rig, fid_constraint_id id, fid_error *err);
const fid_slider *fid_rig_slider(const fid_rig *rig, fid_slider_id id, fid_error *err);
const fid_layer *fid_rig_layer(const fid_rig *rig, fid_layer_id id, fid_error *err);

/// Index of a living element, or -1.
static inline int32_t fid_rig_bone_index(const fid_rig *rig, fid_bone_id id) {
    return fid_pool_index(&rig->bone_pool, id.handle);
}
static inline int32_t fid_rig_chain_index(const fid_rig *rig, fid_chain_id id) {
    return fid_pool_index(&rig->chain_pool, id.handle);
}
static inline int32_t fid_rig_constraint_index(const fid_rig *rig, fid_constraint_id id) {
    return fid_pool_index(&rig->constraint_pool, id.handle);
}
static inline int32_t fid_rig_slider_index(const fid_rig *rig, fid_slider_id id) {
    return fid_pool_index(&rig->slider_pool, id.handle);
}
static inline fid_bone_id fid_rig_bone_at(const fid_rig *rig, int32_t index) {
    return (fid_bone_id){fid_pool_handle(&rig->bone_pool, index)};
}
static inline fid_chain_id fid_rig_chain_at(const fid_rig *rig, int32_t index) {
    return (fid_chain_id){fid_pool_handle(&rig->chain_pool, index)};
}
static inline fid_constraint_id fid_rig_constraint_at(const fid_rig *rig, int32_t index) {
    return (fid_constraint_id){fid_pool_handle(&rig->constraint_pool, index)};
}
static inline fid_slider_id fid_rig_slider_at(const fid_rig *rig, int32_t index) {
    return (fid_slider_id){fid_pool_handle(&rig->slider_pool, index)};
}

/// By name or address; null where there is none.
fid_bone_id fid_rig_find_bone(const fid_rig *rig, const char *name);
fid_constraint_id fid_rig_find_constraint(const fid_rig *rig, const char *address);
fid_set_id fid_rig_find_set(const fid_rig *rig, const char *name);
fid_outline_id fid_rig_find_outline(const fid_rig *rig, const char *name);
fid_slider_id fid_rig_find_slider(const fid_rig *rig, fid_bone_id on, const char *name);

/// "no bone 'x'; did you mean 'y'?" and FID_UNKNOWN: the message for a name that fid_rig_find_bone did not find.
fid_code fid_rig_no_bone(const fid_rig *rig, const char *name, fid_error *err);

/// A channel by text: `BONE.rotation.x`, `BONE.SLIDER`, `CONSTRAINT.weight`; bones by name or address. The error says
/// which part is unknown and the nearest right one.
FID_NODISCARD fid_code fid_rig_find_channel(const fid_rig *rig, const char *text, fid_channel *out, fid_error *err);

/// A channel of a bone by its own name ("rotation.x", "scale" of the placement bone, or a slider).
FID_NODISCARD fid_code fid_rig_bone_channel(const fid_rig *rig, fid_bone_id bone, const char *name, fid_channel *out,
                                            fid_error *err);

/// As fid_rig_find_bone, fid_rig_bone_channel and fid_rig_find_channel, for names that may be those of before, as old
/// poses have them: what is there today comes first. `*moved` becomes true where a name of before was followed, and
/// stays as it is otherwise.
fid_bone_id fid_rig_follow_bone(const fid_rig *rig, const char *name, bool *moved);
FID_NODISCARD fid_code fid_rig_follow_bone_channel(const fid_rig *rig, fid_bone_id bone, const char *name,
                                                   fid_channel *out, bool *moved, fid_error *err);
FID_NODISCARD fid_code fid_rig_follow_channel(const fid_rig *rig, const char *text, fid_channel *out, bool *moved,
                                              fid_error *err);

/// Writes the name of a living channel, as files have it; adds nothing for a null or stale one.
void fid_rig_add_channel_name(const fid_rig *rig, fid_channel channel, fid_text *out);

/// What a living channel is. The weight of a constraint that is a number rests at that number and is not animatable.
fid_channel_info fid_rig_channel_info(const fid_rig *rig, fid_channel channel);

/// True where the handle in the channel is alive.
bool fid_rig_has_channel(const fid_rig *rig, fid_channel channel);

/// The source's frame at rest in rig space; for the points their place with the rotation of the bone (between: none).
fid_frame fid_rig_source_rest(const fid_rig *rig, const fid_source *source);

/// Where an element was written, innermost first, in at most `size` places; returns their number.
int32_t fid_rig_places(const fid_rig *rig, int32_t origin, fid_place *out, int32_t size);

/// What exists now; fid_rig_rollback takes back everything that was added since, and its handles become stale.
typedef struct fid_rig_mark {
    int32_t bones, chains, constraints, sliders, drives, layers, sets, outlines, origins, modules, additions, matches,
        moved;
    fid_bone_id placement;
    fid_arena_mark arena;
} fid_rig_mark;

fid_rig_mark fid_rig_get_mark(const fid_rig *rig);
void fid_rig_rollback(fid_rig *rig, const fid_rig_mark *mark);

#endif
