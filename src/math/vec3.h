#ifndef FID_MATH_VEC3_H
#define FID_MATH_VEC3_H

#include <math.h>
#include <stdbool.h>

/// A point, direction or three scales, in metres where it is a length.
typedef struct fid_vec3 {
    float x, y, z;
} fid_vec3;

static inline fid_vec3 fid_vec3_make(float x, float y, float z) { return (fid_vec3){x, y, z}; }
static inline fid_vec3 fid_vec3_add(fid_vec3 a, fid_vec3 b) { return (fid_vec3){a.x + b.x, a.y + b.y, a.z + b.z}; }
static inline fid_vec3 fid_vec3_sub(fid_vec3 a, fid_vec3 b) { return (fid_vec3){a.x - b.x, a.y - b.y, a.z - b.z}; }
static inline fid_vec3 fid_vec3_mul(fid_vec3 a, fid_vec3 b) { return (fid_vec3){a.x * b.x, a.y * b.y, a.z * b.z}; }
static inline fid_vec3 fid_vec3_div(fid_vec3 a, fid_vec3 b) { return (fid_vec3){a.x / b.x, a.y / b.y, a.z / b.z}; }
static inline fid_vec3 fid_vec3_scale(fid_vec3 a, float f) { return (fid_vec3){a.x * f, a.y * f, a.z * f}; }
static inline float fid_vec3_dot(fid_vec3 a, fid_vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
static inline fid_vec3 fid_vec3_cross(fid_vec3 a, fid_vec3 b) {
    return (fid_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
static inline fid_vec3 fid_vec3_lerp(fid_vec3 a, fid_vec3 b, float t) {
    return (fid_vec3){a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t, a.z + (b.z - a.z) * t};
}

/// The length, computed in double, so that neither 1e-30 nor 1e30 is lost.
static inline float fid_vec3_length(fid_vec3 a) {
    double x = a.x, y = a.y, z = a.z;
    return (float)sqrt(x * x + y * y + z * z);
}
static inline float fid_vec3_distance(fid_vec3 a, fid_vec3 b) { return fid_vec3_length(fid_vec3_sub(a, b)); }

/// The unit vector along `a`, or `fallback` where its length is 0.
fid_vec3 fid_vec3_normalize(fid_vec3 a, fid_vec3 fallback);

/// Any unit vector square to the unit vector `a`, chosen the same way every time.
fid_vec3 fid_vec3_across(fid_vec3 a);

/// Angle between two directions of any length, radians in [0, pi]; 0 where one has no length. Precise at both ends
/// (atan2 of cross and dot).
double fid_vec3_angle(fid_vec3 a, fid_vec3 b);

bool fid_vec3_is_finite(fid_vec3 a);

#endif
