#ifndef FID_RIG_CHAIN_H
#define FID_RIG_CHAIN_H

#include "rig/bone.h"

typedef enum fid_parenting { FID_LINKED, FID_FAN } fid_parenting;
extern const char *const fid_parenting_names[]; ///< "linked", "fan", NULL

/// Bones in a row: each hangs from the one before (linked), or all from one parent (fan).
typedef struct fid_chain {
    const char *address; ///< "leg1/joint/left": id, part and side of its first bone
    const fid_bone_id *bones;
    int32_t count;
    bool with_end; ///< the last bone stands at the last point and is no segment
    int32_t parenting;
    int32_t origin;
} fid_chain;

/// How a chain is made. `points` (count of them) give count - 1 bones, with_end one more.
typedef struct fid_chain_def {
    fid_bone_def bone;      ///< what every bone of it has; index, rest and length are the chain's
    const fid_vec3 *points; ///< in rig space
    int32_t count;
    bool with_end;
    int32_t parenting;
    fid_hint
        hint; ///< none: across is the normal of the bend plane where the chain bends, else the default of math/frame.h
    fid_vec3 hint_vector;
} fid_chain_def;

/// A chain whose joints all bend by less counts as straight: its hint is the default.
#define FID_STRAIGHT_DEGREES 3.0f

/// The normal of the plane in which points bend (right-handed from the first segment to the next; the largest bend
/// decides), a unit vector; false where no joint bends by `degrees` or more.
bool fid_points_bend_normal(const fid_vec3 *points, int32_t count, float degrees, fid_vec3 *normal);

/// Base of bone `i` at rest, or the end of the chain where i is the number of segments.
struct fid_rig;
fid_vec3 fid_chain_point(const struct fid_rig *rig, const fid_chain *chain, int32_t i);

/// Number of segments: count, or count - 1 with an end bone.
static inline int32_t fid_chain_segments(const fid_chain *chain) {
    return chain->with_end ? chain->count - 1 : chain->count;
}

#endif
