#include "math/vec3.h"

#include "math/scalar.h"

fid_vec3 fid_vec3_normalize(fid_vec3 a, fid_vec3 fallback) {
    double x = a.x, y = a.y, z = a.z;
    double length = sqrt(x * x + y * y + z * z);
    if (!(length > 0.0) || !isfinite(length)) {
        return fallback;
    }
    return (fid_vec3){(float)(x / length), (float)(y / length), (float)(z / length)};
}

fid_vec3 fid_vec3_across(fid_vec3 a) {
    float x = fabsf(a.x), y = fabsf(a.y), z = fabsf(a.z);
    // Crossed with the axis that `a` leans to least, so that the product is never short.
    fid_vec3 axis = x <= y && x <= z ? (fid_vec3){1, 0, 0} : y <= z ? (fid_vec3){0, 1, 0} : (fid_vec3){0, 0, 1};
    return fid_vec3_normalize(fid_vec3_cross(axis, a), (fid_vec3){1, 0, 0});
}

double fid_vec3_angle(fid_vec3 a, fid_vec3 b) {
    double ax = a.x, ay = a.y, az = a.z, bx = b.x, by = b.y, bz = b.z;
    double x = ay * bz - az * by, y = az * bx - ax * bz, z = ax * by - ay * bx;
    return fid_atan2(sqrt(x * x + y * y + z * z), ax * bx + ay * by + az * bz);
}

bool fid_vec3_is_finite(fid_vec3 a) { return fid_is_finite(a.x) && fid_is_finite(a.y) && fid_is_finite(a.z); }
