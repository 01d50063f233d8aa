#ifndef FID_MATH_VEC3D_H
#define FID_MATH_VEC3D_H

#include "math/quat.h"

/// Double-precision vectors and rotations, for what single precision would lose: the bend of a nearly straight chain.
typedef struct fid_vec3d {
    double x, y, z;
} fid_vec3d;

typedef struct fid_quatd {
    double x, y, z, w;
} fid_quatd;

static inline fid_vec3d fid_vec3d_from(fid_vec3 a) { return (fid_vec3d){a.x, a.y, a.z}; }
static inline fid_vec3 fid_vec3d_round(fid_vec3d a) { return (fid_vec3){(float)a.x, (float)a.y, (float)a.z}; }
static inline fid_vec3d fid_vec3d_add(fid_vec3d a, fid_vec3d b) { return (fid_vec3d){a.x + b.x, a.y + b.y, a.z + b.z}; }
static inline fid_vec3d fid_vec3d_sub(fid_vec3d a, fid_vec3d b) { return (fid_vec3d){a.x - b.x, a.y - b.y, a.z - b.z}; }
static inline fid_vec3d fid_vec3d_scale(fid_vec3d a, double f) { return (fid_vec3d){a.x * f, a.y * f, a.z * f}; }
static inline double fid_vec3d_dot(fid_vec3d a, fid_vec3d b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static inline fid_vec3d fid_vec3d_cross(fid_vec3d a, fid_vec3d b) {
    return (fid_vec3d){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
static inline double fid_vec3d_length(fid_vec3d a) { return sqrt(fid_vec3d_dot(a, a)); }

/// The part of `a` square to the unit vector `axis`.
static inline fid_vec3d fid_vec3d_off(fid_vec3d a, fid_vec3d axis) {
    return fid_vec3d_sub(a, fid_vec3d_scale(axis, fid_vec3d_dot(a, axis)));
}

/// The unit vector along `a`, or `fallback` where it is shorter than 1e-200.
fid_vec3d fid_vec3d_normalize(fid_vec3d a, fid_vec3d fallback);

static inline fid_quatd fid_quatd_from(fid_quat q) { return (fid_quatd){q.x, q.y, q.z, q.w}; }
static inline fid_quat fid_quatd_round(fid_quatd q) {
    return (fid_quat){(float)q.x, (float)q.y, (float)q.z, (float)q.w};
}
static inline fid_quatd fid_quatd_inverse(fid_quatd q) { return (fid_quatd){-q.x, -q.y, -q.z, q.w}; }
static inline fid_quatd fid_quatd_mul(fid_quatd a, fid_quatd b) {
    return (fid_quatd){a.w * b.x + a.x * b.w + a.y * b.z - a.z * b.y, a.w * b.y - a.x * b.z + a.y * b.w + a.z * b.x,
                       a.w * b.z + a.x * b.y - a.y * b.x + a.z * b.w, a.w * b.w - a.x * b.x - a.y * b.y - a.z * b.z};
}
static inline fid_vec3d fid_quatd_rotate(fid_quatd q, fid_vec3d v) {
    fid_vec3d u = {q.x, q.y, q.z};
    fid_vec3d t = fid_vec3d_scale(fid_vec3d_cross(u, v), 2.0);
    return fid_vec3d_add(fid_vec3d_add(v, fid_vec3d_scale(t, q.w)), fid_vec3d_cross(u, t));
}

/// Turn by `radians` about the unit vector `axis`.
fid_quatd fid_quatd_about(fid_vec3d axis, double radians);

/// The shortest turn that carries the unit vector `from` to `to`; opposed: half a turn about the part of `spare` square
/// to `from` (any perpendicular, if there is none).
fid_quatd fid_quatd_arc(fid_vec3d from, fid_vec3d to, fid_vec3d spare);

/// The turn about the unit vector `axis` that carries `a` to `b`, both square to it and of any length but 0.
fid_quatd fid_quatd_arc_about(fid_vec3d axis, fid_vec3d a, fid_vec3d b);

/// Signed angle from `a` to `b`, both square to the unit vector `axis`, about it; radians.
double fid_vec3d_turn(fid_vec3d a, fid_vec3d b, fid_vec3d axis);

#endif
