#ifndef FID_MATH_FRAME_H
#define FID_MATH_FRAME_H

#include "math/quat.h"

/// A frame without shear: translation t, unit rotation q, scales s per axis of its own. A point p of its space is at t
/// + q (s * p).
typedef struct fid_frame {
    fid_vec3 t;
    fid_quat q;
    fid_vec3 s;
} fid_frame;

#define FID_FRAME_IDENTITY ((fid_frame){{0, 0, 0}, {0, 0, 0, 1}, {1, 1, 1}})

static inline fid_frame fid_frame_rigid(fid_frame a) { return (fid_frame){a.t, a.q, {1, 1, 1}}; }

/// Where the frame takes a point: t + q (s * p).
static inline fid_vec3 fid_frame_point(fid_frame a, fid_vec3 p) {
    return fid_vec3_add(a.t, fid_quat_rotate(a.q, fid_vec3_mul(a.s, p)));
}

/// rigid(a) rigid(b), with scales a.s * b.s. The rotation is not renormalised.
static inline fid_frame fid_frame_compose(fid_frame a, fid_frame b) {
    return (fid_frame){fid_vec3_add(a.t, fid_quat_rotate(a.q, b.t)), fid_quat_mul(a.q, b.q), fid_vec3_mul(a.s, b.s)};
}

/// rigid(a)^-1 rigid(b), with scales b.s / a.s: compose(a, relation(a, b)) is b.
static inline fid_frame fid_frame_relation(fid_frame a, fid_frame b) {
    fid_quat inverse = fid_quat_inverse(a.q);
    return (fid_frame){fid_quat_rotate(inverse, fid_vec3_sub(b.t, a.t)), fid_quat_mul(inverse, b.q),
                       fid_vec3_div(b.s, a.s)};
}

/// The point of a's own space that `a` takes to `p`.
static inline fid_vec3 fid_frame_to_own(fid_frame a, fid_vec3 p) {
    return fid_vec3_div(fid_quat_rotate(fid_quat_inverse(a.q), fid_vec3_sub(p, a.t)), a.s);
}

/// Mix: translation linear, rotation by slerp along the shorter arc, scale in the logarithm. 0 gives exactly a, 1
/// exactly b.
fid_frame fid_frame_mix(fid_frame a, fid_frame b, float t);

/// Scale in the logarithm: a^(1-t) b^t for each axis; 0 gives exactly a, 1 exactly b.
fid_vec3 fid_scale_mix(fid_vec3 a, fid_vec3 b, float t);

/// Scales that a child with rest rotation `rest` takes from a parent scaled by `parent`: the lengths of the columns of
/// R(rest)^-1 S(parent) R(rest).
fid_vec3 fid_scale_take(fid_vec3 parent, fid_quat rest);

/// Reflection in the plane X = 0.
fid_frame fid_frame_mirror(fid_frame a);
static inline fid_vec3 fid_vec3_mirror(fid_vec3 a) { return (fid_vec3){-a.x, a.y, a.z}; }

/// How the second axis of an aimed frame is given.
typedef enum fid_hint { FID_HINT_NONE, FID_HINT_UP, FID_HINT_ACROSS } fid_hint;

/// The rotation of a bone that aims along `aim` (any length): z along aim; hint up: y the part of `vector` square to z,
/// x = y cross z; hint across: x the part of `vector` square to z, y = z cross x; none: up +Y, or up +Z where z is
/// within 15 degrees of +-Y (`vector` unused). False where aim has no length or the hint lies within 0.5 degrees of z
/// and differs from the default; `*out` unchanged.
bool fid_frame_aim(fid_vec3 aim, fid_hint hint, fid_vec3 vector, fid_quat *out);

/// Largest angle, radians, between the axes of two rotations.
double fid_frame_axis_error(fid_quat a, fid_quat b);

bool fid_frame_is_finite(fid_frame a);

/// 4x4 matrix, column-major: T(t) R(q) S(s).
static inline void fid_frame_to_matrix(fid_frame a, float out[16]) {
    float x2 = a.q.x + a.q.x, y2 = a.q.y + a.q.y, z2 = a.q.z + a.q.z;
    float xx = a.q.x * x2, yy = a.q.y * y2, zz = a.q.z * z2;
    float xy = a.q.x * y2, yz = a.q.y * z2, xz = a.q.x * z2;
    float wx = a.q.w * x2, wy = a.q.w * y2, wz = a.q.w * z2;
    out[0] = (1.0f - (yy + zz)) * a.s.x;
    out[1] = (xy + wz) * a.s.x;
    out[2] = (xz - wy) * a.s.x;
    out[3] = 0.0f;
    out[4] = (xy - wz) * a.s.y;
    out[5] = (1.0f - (xx + zz)) * a.s.y;
    out[6] = (yz + wx) * a.s.y;
    out[7] = 0.0f;
    out[8] = (xz + wy) * a.s.z;
    out[9] = (yz - wx) * a.s.z;
    out[10] = (1.0f - (xx + yy)) * a.s.z;
    out[11] = 0.0f;
    out[12] = a.t.x;
    out[13] = a.t.y;
    out[14] = a.t.z;
    out[15] = 1.0f;
}

/// The same in double, of the frame `a` seen through a placement `p` (whose scale is uniform: p.s.x): T(p) R(p) S(p)
/// M(a).
void fid_frame_to_world(fid_frame p, fid_frame a, double out[16]);

#endif
