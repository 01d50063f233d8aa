#ifndef FID_PROGRAM_POSE_H
#define FID_PROGRAM_POSE_H

#include "program/program.h"

/// Channel values in, frames out. One block of memory; belongs to one thread at a time. The program must outlive it.
typedef struct fid_pose {
    const fid_program *program;
    float *value;       ///< by channel: what was set, else rest; angles in degrees
    float *effective;   ///< by channel: what every reader sees, after drives and ranges (of driven channels: since the
                        ///< last solve)
    fid_quat *rotation; ///< by bone: the posed rotation
    uint8_t *posed;     ///< by bone: FID_POSED_*
    fid_frame *frames;  ///< by bone: the result in rig space
    fid_frame *chain;   ///< by chain bone: what ik and splines offer (relations of linked chains)
    fid_vec3 *chain_scale;     ///< by chain bone: scale before the pose
    fid_frame *departures;     ///< of bones that others follow in own space: what constraints and pose did to them
    fid_vec3 *departure_turns; ///< their rotations as rotation vectors: every follower needs them
    uint64_t *stale;           ///< a bit for each step: what it reads was set since it was solved
    fid_frame world;           ///< the rig's space as a frame in the world: the placement
    fid_frame from_world;      ///< its inverse
} fid_pose;

/// Sets the bit of step number `at`.
static inline void fid_stale_mark(uint64_t *stale, int32_t at) {
    stale[(uint32_t)at / 64] |= (uint64_t)1 << (uint32_t)at % 64;
}

/// The first three are the bits of FID_DRIVEN_* too: what is posed or driven is found at once.
enum { FID_POSED_TRANSLATION = 1, FID_POSED_ROTATION = 2, FID_POSED_SCALE = 4, FID_POSED_QUATERNION = 8 };

/// A pose at rest, not solved yet.
FID_NODISCARD fid_code fid_pose_new(const fid_program *program, fid_pose **out, fid_error *err);
void fid_pose_free(fid_pose *pose);

/// Back to rest.
void fid_pose_reset(fid_pose *pose);

/// Sets one channel by its number. Angles in degrees, lengths in metres. A value outside the channel's range is
/// clamped, and `*clamped` (may be NULL) says so. Setting an angle of a rotation that was posed as a quaternion
/// replaces the whole rotation by that angle alone.
/// @return FID_OK; FID_LOCKED (not animatable, and not its rest value; weights that are numbers may be set); FID_RANGE
/// (not finite, translation beyond 1e4 H,
///         scale outside 1e-3 to 1e3, angle beyond 1e5 degrees)
FID_NODISCARD fid_code fid_pose_set(fid_pose *pose, int32_t channel, float value, bool *clamped, fid_error *err);

/// Poses the rotation of a bone as a quaternion (any length above 1e-6, any sign). Where ranges or drives look at the
/// angles, they are taken from it.
FID_NODISCARD fid_code fid_pose_set_rotation(fid_pose *pose, int32_t bone, fid_quat rotation, bool *clamped,
                                             fid_error *err);

/// The posed rotation as angles in degrees, in the bone's order.
fid_vec3 fid_pose_angles(const fid_pose *pose, int32_t bone);

/// Makes `out` (of the same program, made of `rig`) the mirror image of a pose: left and right change places, what
/// stands in the center is reflected. Returns how many values found no channel on the other side that takes them.
int32_t fid_pose_mirror(const fid_rig *rig, const fid_pose *from, fid_pose *out);

/// Sets every channel that may be posed to a value from its range: the same pose for the same seed and number. `wild`:
/// one value in ten lies at the bounds of what may be set at all. The pose is not solved: what it had solved before is
/// left in it, and a bone that reads that shows.
void fid_pose_randomly(fid_pose *pose, uint64_t seed, int32_t number, bool wild);

/// Matrices of all bones of a solved pose in rig space: 16 numbers each, column-major.
void fid_pose_matrices(const fid_pose *pose, float *out);

/// Matrix of a solved bone in the world: 16 numbers, column-major, in double, so that a character far from the origin
/// keeps its shape.
void fid_pose_world(const fid_pose *pose, int32_t bone, double out[16]);

/// A point of a bone's own space (metres at rest) in the world.
void fid_pose_world_point(const fid_pose *pose, int32_t bone, fid_vec3 point, double out[3]);

#endif
