#include "math/frame.h"

#include "math/scalar.h"

#include <float.h>
#include <stddef.h>

static float to_float(double x) { return (float)(x > FLT_MAX ? FLT_MAX : x < -FLT_MAX ? -FLT_MAX : x); }

static float mix(float a, float b, float t) { return to_float((double)a + ((double)b - a) * t); }

static float mix_scale(float a, float b, float t) {
    if (a == b) {
        return a;
    }
    if (!(a > 0.0f) || !(b > 0.0f)) {
        return mix(a, b, t); // has no logarithm
    }
    return to_float(fid_exp((1.0 - t) * fid_log(a) + t * fid_log(b)));
}

fid_vec3 fid_scale_mix(fid_vec3 a, fid_vec3 b, float t) {
    if (t == 0.0f) {
        return a;
    }
    if (t == 1.0f) {
        return b;
    }
    return (fid_vec3){mix_scale(a.x, b.x, t), mix_scale(a.y, b.y, t), mix_scale(a.z, b.z, t)};
}

fid_frame fid_frame_mix(fid_frame a, fid_frame b, float t) {
    if (t == 0.0f) {
        return a;
    }
    if (t == 1.0f) {
        return b;
    }
    return (fid_frame){{mix(a.t.x, b.t.x, t), mix(a.t.y, b.t.y, t), mix(a.t.z, b.t.z, t)},
                       fid_quat_slerp(a.q, b.q, t),
                       fid_scale_mix(a.s, b.s, t)};
}

fid_vec3 fid_scale_take(fid_vec3 parent, fid_quat rest) {
    double m[9], length[3];
    fid_quat_to_matrix(rest, m);
    // The rotation on the left changes no length, so the columns of S(parent) R(rest) are enough.
    for (size_t i = 0; i < 3; ++i) {
        double x = parent.x * m[i * 3], y = parent.y * m[i * 3 + 1], z = parent.z * m[i * 3 + 2];
        length[i] = sqrt(x * x + y * y + z * z);
    }
    return (fid_vec3){to_float(length[0]), to_float(length[1]), to_float(length[2])};
}

fid_frame fid_frame_mirror(fid_frame a) { return (fid_frame){fid_vec3_mirror(a.t), fid_quat_mirror(a.q), a.s}; }

/// Sets `v` to unit length; false if it has none.
static bool make_unit(double v[3]) {
    double length = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    if (!(length > 0.0) || !isfinite(length)) {
        return false;
    }
    for (int i = 0; i < 3; ++i) {
        v[i] /= length;
    }
    return true;
}

static void cross(const double a[3], const double b[3], double out[3]) {
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

/// Makes `v` the unit part of itself that is square to the unit vector `z`; false if it lies within 0.5 degrees of it.
static bool make_square(const double z[3], double v[3]) {
    if (!make_unit(v)) {
        return false;
    }
    double side[3];
    cross(v, z, side);
    if (side[0] * side[0] + side[1] * side[1] + side[2] * side[2] < 7.615242180438e-5) { // sin^2 of 0.5 degrees
        return false;
    }
    double along = v[0] * z[0] + v[1] * z[1] + v[2] * z[2];
    for (int i = 0; i < 3; ++i) {
        v[i] -= along * z[i];
    }
    return make_unit(v);
}

bool fid_frame_aim(fid_vec3 aim, fid_hint hint, fid_vec3 vector, fid_quat *out) {
    double z[3] = {aim.x, aim.y, aim.z}, v[3] = {vector.x, vector.y, vector.z}, x[3], y[3];
    if (!make_unit(z)) {
        return false;
    }
    if (hint == FID_HINT_UP && vector.x == 0.0f && vector.y > 0.0f && vector.z == 0.0f && !make_square(z, v)) {
        hint = FID_HINT_NONE; // +Y is what is meant without a hint too
    }
    if (hint == FID_HINT_NONE) {
        bool upright = fabs(z[1]) >= 0.96592582628906831; // cos 15 degrees
        v[0] = 0.0;
        v[1] = upright ? 0.0 : 1.0;
        v[2] = upright ? 1.0 : 0.0;
    }
    if (!make_square(z, v)) {
        return false;
    }
    if (hint == FID_HINT_ACROSS) {
        cross(z, v, y);
        for (int i = 0; i < 3; ++i) {
            x[i] = v[i];
        }
    } else {
        cross(v, z, x);
        for (int i = 0; i < 3; ++i) {
            y[i] = v[i];
        }
    }
    *out = fid_quat_from_axes((fid_vec3){(float)x[0], (float)x[1], (float)x[2]},
                              (fid_vec3){(float)y[0], (float)y[1], (float)y[2]},
                              (fid_vec3){(float)z[0], (float)z[1], (float)z[2]});
    return true;
}

double fid_frame_axis_error(fid_quat a, fid_quat b) {
    double m[9], n[9], largest = 0.0;
    fid_quat_to_matrix(a, m);
    fid_quat_to_matrix(b, n);
    for (int i = 0; i < 9; i += 3) {
        double side[3];
        cross(m + i, n + i, side);
        double angle = fid_atan2(sqrt(side[0] * side[0] + side[1] * side[1] + side[2] * side[2]),
                                 m[i] * n[i] + m[i + 1] * n[i + 1] + m[i + 2] * n[i + 2]);
        largest = angle > largest ? angle : largest;
    }
    return largest;
}

bool fid_frame_is_finite(fid_frame a) {
    return fid_vec3_is_finite(a.t) && fid_is_finite(a.q.x) && fid_is_finite(a.q.y) && fid_is_finite(a.q.z) &&
           fid_is_finite(a.q.w) && fid_vec3_is_finite(a.s);
}

void fid_frame_to_world(fid_frame p, fid_frame a, double out[16]) {
    double m[9], n[9];
    fid_quat_to_matrix(p.q, m);
    fid_quat_to_matrix(a.q, n);
    const double scale = p.s.x;
    const double own[3] = {a.s.x, a.s.y, a.s.z}, at[3] = {p.t.x, p.t.y, p.t.z};
    for (size_t row = 0; row < 3; ++row) {
        const double r0 = m[row] * scale, r1 = m[3 + row] * scale, r2 = m[6 + row] * scale;
        for (size_t column = 0; column < 3; ++column) {
            const double *n_column = n + 3 * column;
            out[4 * column + row] = (r0 * n_column[0] + r1 * n_column[1] + r2 * n_column[2]) * own[column];
        }
        out[12 + row] = at[row] + (r0 * a.t.x + r1 * a.t.y + r2 * a.t.z);
        out[4 * row + 3] = 0.0;
    }
    out[15] = 1.0;
}
