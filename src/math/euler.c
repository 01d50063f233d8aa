#include "math/quat.h"
#include "math/scalar.h"

/// Cosine of the middle angle below which the first and the last turn about the same axis, as far as single precision
/// can tell.
static const double pole = 1e-6;

/// The axes of an order, first turn first, and +1 where they follow each other as x, y, z do, else -1.
typedef struct sequence {
    int first, middle, last;
    double sign;
} sequence;

static sequence get_sequence(fid_order order) {
    switch (order) {
    case FID_ORDER_XYZ:
        return (sequence){0, 1, 2, 1.0};
    case FID_ORDER_XZY:
        return (sequence){0, 2, 1, -1.0};
    case FID_ORDER_YXZ:
        return (sequence){1, 0, 2, -1.0};
    case FID_ORDER_YZX:
        return (sequence){1, 2, 0, 1.0};
    case FID_ORDER_ZXY:
        return (sequence){2, 0, 1, 1.0};
    case FID_ORDER_ZYX:
        break;
    }
    return (sequence){2, 1, 0, -1.0};
}

fid_quat fid_quat_from_euler(fid_vec3 degrees, fid_order order) {
    const sequence axes = get_sequence(order);
    const double angles[3] = {degrees.x, degrees.y, degrees.z};
    double s1, c1, s2, c2, s3, c3;
    fid_sincos(0.5 * fid_radians(angles[axes.first]), &s1, &c1);
    fid_sincos(0.5 * fid_radians(angles[axes.middle]), &s2, &c2);
    fid_sincos(0.5 * fid_radians(angles[axes.last]), &s3, &c3);
    // The product of the three turns, written out for axes i, j, k with i j = +-k.
    double v[3];
    v[axes.first] = s1 * c2 * c3 + axes.sign * c1 * s2 * s3;
    v[axes.middle] = c1 * s2 * c3 - axes.sign * s1 * c2 * s3;
    v[axes.last] = c1 * c2 * s3 + axes.sign * s1 * s2 * c3;
    double w = c1 * c2 * c3 - axes.sign * s1 * s2 * s3;
    return (fid_quat){(float)v[0], (float)v[1], (float)v[2], (float)w};
}

fid_vec3 fid_quat_to_euler(fid_quat q, fid_order order) {
    const sequence axes = get_sequence(order);
    const int i = axes.first, j = axes.middle, k = axes.last;
    double m[9]; // m[column * 3 + row]
    fid_quat_to_matrix(q, m);
    double sine = axes.sign * m[k * 3 + i];
    double cosine = sqrt(m[i * 3 + i] * m[i * 3 + i] + m[j * 3 + i] * m[j * 3 + i]);
    double angles[3];
    angles[j] = fid_atan2(sine, cosine);
    if (cosine > pole) {
        angles[i] = fid_atan2(-axes.sign * m[k * 3 + j], m[k * 3 + k]);
        angles[k] = fid_atan2(-axes.sign * m[j * 3 + i], m[i * 3 + i]);
    } else {
        angles[i] = fid_atan2(axes.sign * m[j * 3 + k], m[j * 3 + j]);
        angles[k] = 0.0;
    }
    // Adding zero turns -0 into 0.
    return (fid_vec3){(float)fid_degrees(angles[0]) + 0.0f, (float)fid_degrees(angles[1]) + 0.0f,
                      (float)fid_degrees(angles[2]) + 0.0f};
}
