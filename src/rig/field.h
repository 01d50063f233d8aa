#ifndef FID_RIG_FIELD_H
#define FID_RIG_FIELD_H

#include "base/arena.h"
#include "rig/source.h"

struct fid_rig;

/// The closed list of types of fields. Each has one reader and writer in `format/`, one reader in `script/`, and its
/// checking, copying and mirroring in `rig/field.c`.
typedef enum fid_field_type {
    FID_TYPE_BOOLEAN,      ///< bool
    FID_TYPE_NUMBER,       ///< float, min to max
    FID_TYPE_CHOICE,       ///< int32_t, an index into `choices`
    FID_TYPE_TEXT,         ///< const char *, or NULL
    FID_TYPE_COLOR,        ///< const char *, "#rrggbb" with capital hexadecimal digits
    FID_TYPE_WORDS,        ///< fid_words
    FID_TYPE_INDEX,        ///< int32_t[3]: count, first, second; one number or a list of two
    FID_TYPE_VECTOR,       ///< fid_vec3
    FID_TYPE_MAYBE_VECTOR, ///< fid_maybe_vector; null allowed
    FID_TYPE_FRAME,        ///< fid_frame, rigid
    FID_TYPE_BONE,         ///< fid_bone_id
    FID_TYPE_BONES,        ///< fid_bones
    FID_TYPE_CHAIN,        ///< fid_chain_id; in files a list of bones and `with_end`
    FID_TYPE_SET,          ///< fid_set_id
    FID_TYPE_OUTLINE,      ///< fid_outline_id
    FID_TYPE_CHANNEL,      ///< fid_channel
    FID_TYPE_AMOUNT,       ///< fid_amount: a number, min to max, or a channel
    FID_TYPE_SOURCE,       ///< fid_source
    FID_TYPE_SOURCES,      ///< fid_sources; `source` for one with share 1, `sources` for several
    FID_TYPE_FACTORS,      ///< fid_factors: one, or a list
    FID_TYPE_SPACES,       ///< fid_space_list
    FID_TYPE_AXES,         ///< uint32_t, a set of fid_axis: {"translation", "rotation.x"}
    FID_TYPE_TAKES,        ///< uint32_t, whole groups of axes only: {"translation", "rotation", "scale"} or "all"
    FID_TYPE_AXIS_RANGE,   ///< fid_axis_range: {x = {lo, hi}, ...}
    FID_TYPE_NUMBERS,      ///< fid_numbers, each min to max
    FID_TYPE_BOUNDS,       ///< fid_bounds, each number min to max: a list of {lo, hi}
    FID_TYPE_POSES,        ///< fid_pose_table: list of {at = value, pose = {[bone] = {translation, rotation, scale}}}
    FID_TYPE_STEPS,        ///< fid_match_steps: list of {bone or swivel, like = bone | neutral = true | plane_of = ik}
    FID_TYPE_CURVE,        ///< fid_curve
    FID_TYPE_STROKES,      ///< fid_strokes
} fid_field_type;

typedef struct fid_maybe_vector {
    bool given;
    fid_vec3 vector;
} fid_maybe_vector;

enum {
    FID_FIELD_REQUIRED = 1,  ///< must be given
    FID_FIELD_SCRIPT = 2,    ///< in scripts only
    FID_FIELD_FILE = 4,      ///< in files only
    FID_FIELD_ABOVE_MIN = 8, ///< a number must be greater than min, not equal
    FID_FIELD_UNUSUAL = 16,  ///< a number that files have only where it is not the default
};

/// How a value changes when its element is built in the mirrored world (math: the reflection X = 0).
typedef enum fid_reflect {
    FID_REFLECT_NONE,
    FID_REFLECT_POINT,       ///< (-x, y, z): points, directions
    FID_REFLECT_AXIAL,       ///< (x, -y, -z): axes of turns
    FID_REFLECT_FRAME,       ///< also of the frames in spaces and pose tables
    FID_REFLECT_TRANSLATION, ///< ranges of translation: x changes sign and bounds change places
    FID_REFLECT_ROTATION,    ///< ranges of rotation: y and z
    FID_REFLECT_SIGN,        ///< a number changes sign; of a list {lo, hi} both, and they change places
    FID_REFLECT_AIM_AXIS,    ///< "+x" and "-x" change places
} fid_reflect;

/// One field of one kind of element.
typedef struct fid_field {
    const char *key; ///< in scripts and files alike
    fid_field_type type;
    uint32_t flags;
    size_t offset;              ///< in the element's record
    const char *unit;           ///< "m", "deg", "" (a ratio or no number)
    float min, max;             ///< of numbers
    float number;               ///< default of numbers, amounts, booleans, choices; AXES, TAKES: the mask
    const char *const *choices; ///< NULL-terminated
    fid_reflect reflect;
    const char *doc; ///< one sentence without a full stop
} fid_field;

/// All fields of one kind of element, in the order in which files write them.
typedef struct fid_schema {
    const char *name; ///< the call in scripts and the kind in files: "follow"
    const char *doc;
    size_t size; ///< of the record
    const fid_field *fields;
    int32_t count;
} fid_schema;

/// Fills a record with the defaults of its schema; fields without one are zero (null, no text, empty list).
void fid_schema_defaults(const fid_schema *schema, void *record);

/// Checks a record: numbers finite and in range, choices known, handles alive, required fields there, shares at most 1,
/// curves rising. The error names the key, which is its subject. `rig` NULL: every handle but null is stale.
/// @return FID_OK, FID_INVALID, FID_RANGE, FID_UNKNOWN (a choice), FID_STALE, FID_LIMIT (a list too long)
FID_NODISCARD fid_code fid_schema_check(const fid_schema *schema, const void *record, const struct fid_rig *rig,
                                        fid_error *err);

/// Copies every text and list of the record into the arena and makes the record point there. FID_NO_MEMORY, or FID_OK.
FID_NODISCARD fid_code fid_schema_copy(const fid_schema *schema, void *record, fid_arena *arena, fid_error *err);

/// Reflects every field of the record (lists are copied into the arena first).
FID_NODISCARD fid_code fid_schema_mirror(const fid_schema *schema, void *record, fid_arena *arena, fid_error *err);

/// Calls `visit` for every bone and every channel that the record refers to, in the order of the fields; `role` is the
/// key. One of bone and channel is null.
typedef void (*fid_reference_visit)(void *user, const char *role, fid_bone_id bone, fid_channel channel);
void fid_schema_references(const fid_schema *schema, const void *record, const struct fid_rig *rig,
                           fid_reference_visit visit, void *user);

/// The field of a key, or NULL.
const fid_field *fid_schema_find(const fid_schema *schema, const char *key);

#endif
