#ifndef FID_MATH_QUAT_H
#define FID_MATH_QUAT_H

#include "math/vec3.h"

/// A rotation as a unit quaternion.
typedef struct fid_quat {
    float x, y, z, w;
} fid_quat;

#define FID_QUAT_IDENTITY ((fid_quat){0, 0, 0, 1})

/// Order of intrinsic Euler angles: xyz is Rx Ry Rz. Three angles are always listed in the order x, y, z.
typedef enum fid_order {
    FID_ORDER_XYZ,
    FID_ORDER_XZY,
    FID_ORDER_YXZ,
    FID_ORDER_YZX,
    FID_ORDER_ZXY,
    FID_ORDER_ZYX
} fid_order;

/// First b, then a. Summed in pairs, which do not wait for each other: products stand in a row down every hierarchy.
static inline fid_quat fid_quat_mul(fid_quat a, fid_quat b) {
    return (fid_quat){
        (a.w * b.x + a.x * b.w) + (a.y * b.z - a.z * b.y), (a.w * b.y + a.y * b.w) + (a.z * b.x - a.x * b.z),
        (a.w * b.z + a.z * b.w) + (a.x * b.y - a.y * b.x), (a.w * b.w - a.x * b.x) - (a.y * b.y + a.z * b.z)};
}
static inline fid_quat fid_quat_inverse(fid_quat q) { return (fid_quat){-q.x, -q.y, -q.z, q.w}; }
static inline float fid_quat_dot(fid_quat a, fid_quat b) { return (a.x * b.x + a.y * b.y) + (a.z * b.z + a.w * b.w); }
static inline fid_vec3 fid_quat_rotate(fid_quat q, fid_vec3 v) {
    fid_vec3 u = {q.x, q.y, q.z};
    fid_vec3 t = fid_vec3_scale(fid_vec3_cross(u, v), 2.0f);
    return fid_vec3_add(fid_vec3_add(v, fid_vec3_scale(t, q.w)), fid_vec3_cross(u, t));
}

/// Unit length again; identity for a zero quaternion.
fid_quat fid_quat_normalize(fid_quat q);

/// Unit length again for a product of unit quaternions, which is off by rounding only: one step of Newton's method for
/// 1 / sqrt, no division.
static inline fid_quat fid_quat_renormalize(fid_quat q) {
    float f = 1.5f - 0.5f * fid_quat_dot(q, q);
    return (fid_quat){q.x * f, q.y * f, q.z * f, q.w * f};
}

/// The sign with w >= 0 (w = 0: first non-zero of x, y, z positive), no -0: how quaternions are written.
static inline fid_quat fid_quat_canonical(fid_quat q) {
    float first = q.w != 0.0f ? q.w : q.x != 0.0f ? q.x : q.y != 0.0f ? q.y : q.z;
    float sign = first < 0.0f ? -1.0f : 1.0f;
    return (fid_quat){q.x * sign + 0.0f, q.y * sign + 0.0f, q.z * sign + 0.0f, q.w * sign + 0.0f};
}

/// Turn by `radians` about the unit vector `axis`.
fid_quat fid_quat_about(fid_vec3 axis, double radians);

/// Exponential of a rotation vector (axis times radians), and its inverse (the shorter way, length in [0, pi]).
fid_quat fid_quat_exp(fid_vec3 rotation);
fid_vec3 fid_quat_log(fid_quat q);

/// Angle of the turn, radians in [0, pi]; of the turn between two.
double fid_quat_angle(fid_quat q);
double fid_quat_angle_between(fid_quat a, fid_quat b);

/// The turn q, made `power` times as large the shorter way: exp(power log q). 0 gives exactly the identity, 1 exactly q
/// up to sign.
fid_quat fid_quat_power(fid_quat q, float power);

/// Along the shorter arc; t = 0 gives exactly a, t = 1 exactly b.
fid_quat fid_quat_slerp(fid_quat a, fid_quat b, float t);

/// The shortest turn that carries direction `from` to `to` (any length); exactly opposed: half a turn about the part of
/// `spare` square to `from` (any perpendicular, if there is none). Identity where either has no length.
fid_quat fid_quat_arc(fid_vec3 from, fid_vec3 to, fid_vec3 spare);

/// q = swing twist: twist about the unit vector `axis`, swing square to it. Where the twist is undefined (swing of half
/// a turn) it is the identity. Formulas: M. B. Reynolds, "Factoring quaternions"; see 90-references.
void fid_quat_swing_twist(fid_quat q, fid_vec3 axis, fid_quat *swing, fid_quat *twist);

/// Signed twist angle of q about the unit vector `axis`, radians in (-pi, pi].
double fid_quat_twist(fid_quat q, fid_vec3 axis);

/// From and to angles in degrees (x, y, z) in an intrinsic order. The result has the middle angle in [-90, 90]; at the
/// pole the last angle is 0.
fid_quat fid_quat_from_euler(fid_vec3 degrees, fid_order order);
fid_vec3 fid_quat_to_euler(fid_quat q, fid_order order);

/// From the unit axes of a right-handed frame (columns of the matrix).
fid_quat fid_quat_from_axes(fid_vec3 across, fid_vec3 up, fid_vec3 aim);

/// The rotation matrix of q made unit, 3x3 in double, column-major.
void fid_quat_to_matrix(fid_quat q, double out[9]);
static inline fid_vec3 fid_quat_x(fid_quat q) { return fid_quat_rotate(q, (fid_vec3){1, 0, 0}); }
static inline fid_vec3 fid_quat_y(fid_quat q) { return fid_quat_rotate(q, (fid_vec3){0, 1, 0}); }
static inline fid_vec3 fid_quat_z(fid_quat q) { return fid_quat_rotate(q, (fid_vec3){0, 0, 1}); }

/// Reflection of the rotation in the plane X = 0: (x, -y, -z, w).
static inline fid_quat fid_quat_mirror(fid_quat q) { return (fid_quat){q.x, -q.y, -q.z, q.w}; }

#endif
