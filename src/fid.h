#ifndef FID_H
#define FID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// The C library: loads a skeleton file, poses it, solves it, and gives matrices. For importers and engines; needs no
/// Lua. For C17 and C++.
///
/// A skeleton is what was loaded: bones and channels, which never change. A pose is a set of channel values of one
/// skeleton and the matrices that were solved from them. Any number of poses of one skeleton may exist at once.
///
/// - Units and axes: metres and degrees; right-handed, +Y up, the character faces +Z, a bone aims along its own +Z.
/// - Matrices: 4x4, column-major (element [4 * column + row]; 12, 13 and 14 are the translation), multiplying column
///   vectors. Those in rig space are single precision; those in the world are double precision, so that a character
///   far from the origin keeps its shape. No value is ever NaN or infinite.
/// - Bones and channels are numbered from 0, parents before children. A number that is not there, or NULL for a
///   skeleton, a pose or an output, does no harm: functions that return a status give FID_STATUS_INVALID, the others
///   what they say below.
/// - Errors: what can fail returns a status and, where `message` is not NULL, writes one text of at most
///   `message_size` - 1 bytes and a final zero: what is wrong and where, as the program prints it, without a final
///   newline; "" where there is nothing to say. A text that is too long is cut between two characters. Where
///   something fails, skeletons and poses stay as they were and `*out` is NULL.
/// - Threads: a skeleton may be used by any number of threads at once. A pose belongs to one thread at a time;
///   different poses never meet. Ending a skeleton or pose is for the one thread that still uses it.
///   No function starts threads but fid_skeleton_poses_solve.
/// - Memory: from malloc, realloc and free. Solving and reading matrices allocate nothing.
/// - Results: the same values give the same bits on every machine, in the usual floating-point environment (rounding to
///   nearest, denormal numbers kept). The locale makes no difference.

#if defined(__GNUC__)
#define FID_API __attribute__((visibility("default")))
#define FID_API_CHECKED __attribute__((visibility("default"), warn_unused_result))
#else
#define FID_API
#define FID_API_CHECKED
#endif

/// The number of the binary interface that this header describes. It grows when a program that was compiled with an
/// older header would no longer run; functions may be added without that.
#define FID_INTERFACE 1

#ifdef __cplusplus
extern "C" {
#endif

/// The FID_INTERFACE of the library that is running, to be compared with that of the header.
FID_API int32_t fid_interface(void);

/// The version of the library that is running, as in "0.1.0".
FID_API const char *fid_version(void);

/// What functions that can fail return. The numbers never change; later versions may add some.
typedef enum fid_status {
    FID_STATUS_OK = 0,
    FID_STATUS_NO_MEMORY = 1,  ///< an allocation failed
    FID_STATUS_INVALID = 2,    ///< a number of a bone or channel that is not there, NULL, a value that makes no sense
    FID_STATUS_RANGE = 3,      ///< a number outside its range, or not finite
    FID_STATUS_UNKNOWN = 4,    ///< a name that does not exist
    FID_STATUS_NAME_TAKEN = 5, ///< in a file: a name that stands there twice
    FID_STATUS_LOCKED = 6,     ///< a channel that may not be posed
    FID_STATUS_SYNTAX = 7,     ///< text that cannot be read
    FID_STATUS_LIMIT = 8,      ///< too large, too deep, too many
    FID_STATUS_FILE = 9,       ///< a file is missing or unreadable
    FID_STATUS_UNSOUND = 10,   ///< a skeleton that cannot be solved, such as one with a cycle
    FID_STATUS_INTERNAL = 11   ///< a fault of the library
} fid_status;

/// "ok", "no memory", "invalid" ...; "unknown status" for a number that is none.
FID_API const char *fid_status_name(fid_status status);

/// A loaded skeleton.
typedef struct fid_skeleton fid_skeleton;

/// A pose of a skeleton.
typedef struct fid_skeleton_pose fid_skeleton_pose;

/// The number of no bone and no channel.
enum { FID_NO_INDEX = -1 };

/// Loads a skeleton file (format fid-skeleton, version 1) of at most 256 MB, to be ended with fid_skeleton_free.
///
/// On success the message holds what the program would warn of, "" as a rule.
/// @return FID_STATUS_OK, _FILE, _SYNTAX, _LIMIT, _INVALID, _RANGE, _UNKNOWN, _NAME_TAKEN, _UNSOUND, _NO_MEMORY
FID_API_CHECKED fid_status fid_skeleton_load(const char *path, fid_skeleton **out, char *message, size_t message_size);

/// As fid_skeleton_load, from the `size` bytes at `text`, which need no final zero and are not kept. `name` stands for
/// the file in messages (NULL: "skeleton").
FID_API_CHECKED fid_status fid_skeleton_load_text(const char *text, size_t size, const char *name, fid_skeleton **out,
                                                  char *message, size_t message_size);

/// Ends a skeleton, whose poses must have been ended. NULL is fine.
FID_API void fid_skeleton_free(fid_skeleton *skeleton);

/// The name of the rig; "" for NULL. Texts that these functions give are UTF-8 and live as long as the skeleton.
FID_API const char *fid_skeleton_name(const fid_skeleton *skeleton);

/// The height of the character, metres; 0 for NULL.
FID_API float fid_skeleton_height(const fid_skeleton *skeleton);

/// The bone that places the whole character in the world, or FID_NO_INDEX.
FID_API int32_t fid_skeleton_placement(const fid_skeleton *skeleton);

/// What a bone is for.
typedef enum fid_skeleton_role {
    FID_SKELETON_DEFORM = 0, ///< moves the skin
    FID_SKELETON_HELPER = 1, ///< stands between
    FID_SKELETON_CONTROL = 2 ///< is posed by animators
} fid_skeleton_role;

/// How many bones there are; 0 for NULL.
FID_API int32_t fid_skeleton_bone_count(const fid_skeleton *skeleton);

/// The bone with this name or address, else the one that had it before (`moved` of the file), or FID_NO_INDEX.
FID_API int32_t fid_skeleton_find_bone(const fid_skeleton *skeleton, const char *name);

/// Name of a bone, unique in its skeleton; NULL where there is no such bone.
FID_API const char *fid_skeleton_bone_name(const fid_skeleton *skeleton, int32_t bone);

/// The permanent identity of a bone, which survives a change of names; NULL where there is no such bone.
FID_API const char *fid_skeleton_bone_address(const fid_skeleton *skeleton, int32_t bone);

/// The parent, always of a smaller number; FID_NO_INDEX where there is none.
FID_API int32_t fid_skeleton_bone_parent(const fid_skeleton *skeleton, int32_t bone);

/// FID_SKELETON_HELPER where there is no such bone.
FID_API fid_skeleton_role fid_skeleton_bone_role(const fid_skeleton *skeleton, int32_t bone);

/// Metres from base to tip at rest; 0 where there is no such bone.
FID_API float fid_skeleton_bone_length(const fid_skeleton *skeleton, int32_t bone);

/// The matrix of a bone at rest in rig space: 16 floats. A rotation and a translation.
FID_API_CHECKED fid_status fid_skeleton_rest_matrix(const fid_skeleton *skeleton, int32_t bone, float out[16]);

/// The inverses of the rest matrices of all bones, 16 floats for each in order: what a skin multiplies vertices with
/// before the posed matrix. Computed in double precision, then rounded. `count` is how many floats fit at `out`.
/// @return FID_STATUS_OK; _INVALID where `count` is less than 16 times the number of bones: nothing is written
FID_API_CHECKED fid_status fid_skeleton_inverse_rest_matrices(const fid_skeleton *skeleton, float *out, size_t count);

/// What a channel moves. It says the unit: metres, degrees, a factor; of sliders what they make of it; 0 to 1.
typedef enum fid_skeleton_channel {
    FID_SKELETON_TRANSLATION = 0, ///< metres along one axis of the bone
    FID_SKELETON_ROTATION = 1,    ///< degrees
    FID_SKELETON_SCALE = 2,       ///< a factor; the placement has one for all axes
    FID_SKELETON_SLIDER = 3,      ///< a slider on a bone
    FID_SKELETON_WEIGHT = 4       ///< the weight of a constraint, 0 to 1
} fid_skeleton_channel;

/// How many channels there are, those that may not be posed included: nine for each bone in order (translation.x to
/// scale.z; seven for the placement), then sliders, then weights. 0 for NULL.
FID_API int32_t fid_skeleton_channel_count(const fid_skeleton *skeleton);

/// Finds a channel by name: `BONE.rotation.x`, `BONE.SLIDER`, `CONSTRAINT.weight`, as the option --set of the program
/// takes them: bones by name or address, names of before too. The message has the nearest right name.
/// @return FID_STATUS_OK, _UNKNOWN (`*out` is FID_NO_INDEX), _INVALID
FID_API_CHECKED fid_status fid_skeleton_find_channel(const fid_skeleton *skeleton, const char *name, int32_t *out,
                                                     char *message, size_t message_size);

/// Name of a channel, as files have it; NULL where there is no such channel.
FID_API const char *fid_skeleton_channel_name(const fid_skeleton *skeleton, int32_t channel);

/// FID_SKELETON_WEIGHT where there is no such channel.
FID_API fid_skeleton_channel fid_skeleton_channel_kind(const fid_skeleton *skeleton, int32_t channel);

/// The bone that a channel is on; FID_NO_INDEX for weights.
FID_API int32_t fid_skeleton_channel_bone(const fid_skeleton *skeleton, int32_t channel);

/// The value at rest; 0 where there is no such channel.
FID_API float fid_skeleton_channel_default(const fid_skeleton *skeleton, int32_t channel);

/// The ends of the range; -FLT_MAX and FLT_MAX (float.h) where it is open, 0 where there is no such channel.
FID_API float fid_skeleton_channel_min(const fid_skeleton *skeleton, int32_t channel);
FID_API float fid_skeleton_channel_max(const fid_skeleton *skeleton, int32_t channel);

/// Whether animators may pose the channel.
FID_API bool fid_skeleton_channel_animatable(const fid_skeleton *skeleton, int32_t channel);

/// The number of choices of a slider, whose values are 0, 1, 2 ...; 0 for channels that take any number of their range.
FID_API int32_t fid_skeleton_channel_choice_count(const fid_skeleton *skeleton, int32_t channel);

/// The name of a choice; NULL where there is none.
FID_API const char *fid_skeleton_channel_choice(const fid_skeleton *skeleton, int32_t channel, int32_t choice);

/// A pose at rest, to be ended with fid_skeleton_pose_free. The skeleton must outlive it.
/// @return FID_STATUS_OK, _INVALID, _NO_MEMORY
FID_API_CHECKED fid_status fid_skeleton_pose_new(const fid_skeleton *skeleton, fid_skeleton_pose **out);

/// NULL is fine.
FID_API void fid_skeleton_pose_free(fid_skeleton_pose *pose);

/// Every channel and matrix back to rest.
FID_API void fid_skeleton_pose_reset(fid_skeleton_pose *pose);

/// Sets a channel. A value outside the channel's range is clamped, and `*clamped` (may be NULL) says so. Matrices
/// follow with the next solve. Setting an angle of a rotation that was set as a quaternion replaces all of it.
/// @return FID_STATUS_OK; _LOCKED (not animatable, and not its value at rest; weights that are no channel of their own
/// may be set); _RANGE (not finite, translation beyond 10000 heights, scale outside 0.001 to 1000, angle beyond 100000
/// degrees); _INVALID
FID_API_CHECKED fid_status fid_skeleton_pose_set(fid_skeleton_pose *pose, int32_t channel, float value, bool *clamped,
                                                 char *message, size_t message_size);

/// Sets the rotation of a bone as a quaternion x, y, z, w of any length from 1e-6. Where the ranges of the bone or
/// drives look at its angles these are taken from it, and may be clamped.
/// @return FID_STATUS_OK; _LOCKED (an axis of the rotation is not animatable, and it is not the identity); _RANGE (not
/// finite, no length); _INVALID
FID_API_CHECKED fid_status fid_skeleton_pose_set_rotation(fid_skeleton_pose *pose, int32_t bone,
                                                          const float quaternion[4], bool *clamped, char *message,
                                                          size_t message_size);

/// Poses all channels as a pose file (format fid-pose, version 1) has them: what it does not name goes back to rest,
/// and all matrices do until the next solve. On success the message says which values were clamped.
/// @return FID_STATUS_OK, _FILE, _SYNTAX, _LIMIT, _INVALID, _RANGE, _UNKNOWN, _NAME_TAKEN, _LOCKED, _NO_MEMORY
FID_API_CHECKED fid_status fid_skeleton_pose_load(fid_skeleton_pose *pose, const char *path, char *message,
                                                  size_t message_size);

/// As fid_skeleton_pose_load, from the `size` bytes at `text`. `name` stands for the file in messages (NULL: "pose").
FID_API_CHECKED fid_status fid_skeleton_pose_load_text(fid_skeleton_pose *pose, const char *text, size_t size,
                                                       const char *name, char *message, size_t message_size);

/// Solves: makes matrices and effective values from what was set. Cannot fail. Only what depends on the channels that
/// were set since the last solve is computed; the result has the same bits whatever was solved before.
FID_API void fid_skeleton_pose_solve(fid_skeleton_pose *pose);

/// Solves `count` poses, of one skeleton or of several, each as fid_skeleton_pose_solve does and to the same bits, on
/// up to `threads` threads: the calling one, which works too, and others that are started here and have ended when the
/// function returns. Less than 1 counts as 1, more than 64 as 64; where the system starts no more threads, those that
/// run do all. All poses belong to the call until it returns.
/// @return FID_STATUS_OK; _INVALID where `poses` is NULL and `count` is not 0, or where a pose is NULL or stands there
/// twice: none is solved
FID_API_CHECKED fid_status fid_skeleton_poses_solve(fid_skeleton_pose *const *poses, size_t count, int32_t threads);

/// The value that a channel was set to; 0 where there is none. An angle of a rotation that was set as a quaternion is
/// taken from it.
FID_API float fid_skeleton_pose_value(const fid_skeleton_pose *pose, int32_t channel);

/// The value that acts, after drives and ranges; that of a driven channel is there once the pose was solved.
FID_API float fid_skeleton_pose_effective(const fid_skeleton_pose *pose, int32_t channel);

/// The matrix of a bone in rig space, as of the last solve: 16 floats.
FID_API_CHECKED fid_status fid_skeleton_pose_matrix(const fid_skeleton_pose *pose, int32_t bone, float out[16]);

/// Those of all bones, 16 floats for each in order. `count` is how many floats fit at `out`.
/// @return FID_STATUS_OK; _INVALID where `count` is less than 16 times the number of bones: nothing is written
FID_API_CHECKED fid_status fid_skeleton_pose_matrices(const fid_skeleton_pose *pose, float *out, size_t count);

/// The matrix of a bone in the world, the placement included: 16 doubles. Rounded to nine significant digits these are
/// the numbers that `fid pose` prints.
FID_API_CHECKED fid_status fid_skeleton_pose_world_matrix(const fid_skeleton_pose *pose, int32_t bone, double out[16]);

/// Those of all bones, 16 doubles for each in order. `count` is how many doubles fit at `out`.
/// @return FID_STATUS_OK; _INVALID where `count` is less than 16 times the number of bones: nothing is written
FID_API_CHECKED fid_status fid_skeleton_pose_world_matrices(const fid_skeleton_pose *pose, double *out, size_t count);

#ifdef __cplusplus
}
#endif

#endif
