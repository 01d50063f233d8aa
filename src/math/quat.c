#include "math/quat.h"

#include "math/scalar.h"

/// A quaternion in double precision, for what needs angles or differences.
typedef struct wide {
    double x, y, z, w;
} wide;

static wide widen(fid_quat q) { return (wide){q.x, q.y, q.z, q.w}; }

static fid_quat narrow(wide q) { return (fid_quat){(float)q.x, (float)q.y, (float)q.z, (float)q.w}; }

static wide wide_unit(wide q) {
    double length = sqrt(q.x * q.x + q.y * q.y + q.z * q.z + q.w * q.w), by = 1.0 / length;
    if (!(length > 0.0) || !isfinite(length) || !isfinite(by)) {
        return (wide){0, 0, 0, 1};
    }
    return (wide){q.x * by, q.y * by, q.z * by, q.w * by};
}

static wide wide_mul(wide a, wide b) {
    return (wide){a.w * b.x + a.x * b.w + a.y * b.z - a.z * b.y, a.w * b.y - a.x * b.z + a.y * b.w + a.z * b.x,
                  a.w * b.z + a.x * b.y - a.y * b.x + a.z * b.w, a.w * b.w - a.x * b.x - a.y * b.y - a.z * b.z};
}

static double wide_angle(wide q) { return 2.0 * fid_atan2(sqrt(q.x * q.x + q.y * q.y + q.z * q.z), fabs(q.w)); }

fid_quat fid_quat_normalize(fid_quat q) { return narrow(wide_unit(widen(q))); }

fid_quat fid_quat_about(fid_vec3 axis, double radians) {
    double s, c;
    fid_sincos(0.5 * radians, &s, &c);
    return narrow((wide){axis.x * s, axis.y * s, axis.z * s, c});
}

fid_quat fid_quat_exp(fid_vec3 rotation) {
    double x = rotation.x, y = rotation.y, z = rotation.z;
    double angle = sqrt(x * x + y * y + z * z);
    if (!(angle > 0.0) || !isfinite(angle)) {
        return FID_QUAT_IDENTITY;
    }
    double s, c;
    fid_sincos(0.5 * angle, &s, &c);
    s /= angle;
    return narrow((wide){x * s, y * s, z * s, c});
}

fid_vec3 fid_quat_log(fid_quat q) {
    double x = q.x, y = q.y, z = q.z;
    double length = sqrt(x * x + y * y + z * z);
    if (!(length > 0.0) || !isfinite(length)) {
        return (fid_vec3){0, 0, 0};
    }
    double factor = 2.0 * fid_atan2(length, fabs((double)q.w)) / length;
    factor = q.w < 0.0f ? -factor : factor;
    return (fid_vec3){(float)(x * factor), (float)(y * factor), (float)(z * factor)};
}

double fid_quat_angle(fid_quat q) { return wide_angle(widen(q)); }

double fid_quat_angle_between(fid_quat a, fid_quat b) {
    return wide_angle(wide_mul(widen(fid_quat_inverse(a)), widen(b)));
}

fid_quat fid_quat_power(fid_quat q, float power) {
    if (power == 0.0f) {
        return FID_QUAT_IDENTITY;
    }
    if (q.w < 0.0f) {
        q = (fid_quat){-q.x, -q.y, -q.z, -q.w};
    }
    if (power == 1.0f) {
        return q;
    }
    double x = q.x, y = q.y, z = q.z;
    double length = sqrt(x * x + y * y + z * z);
    if (!(length > 0.0) || !isfinite(length)) {
        return FID_QUAT_IDENTITY;
    }
    double s, c;
    fid_sincos(power * fid_atan2(length, q.w), &s, &c);
    s /= length;
    return narrow((wide){x * s, y * s, z * s, c});
}

fid_quat fid_quat_slerp(fid_quat a, fid_quat b, float t) {
    if (t == 0.0f) {
        return a;
    }
    if (t == 1.0f) {
        return b;
    }
    wide p = wide_unit(widen(a)), q = wide_unit(widen(b));
    if (p.x * q.x + p.y * q.y + p.z * q.z + p.w * q.w < 0.0) {
        q = (wide){-q.x, -q.y, -q.z, -q.w};
    }
    wide d = {q.x - p.x, q.y - p.y, q.z - p.z, q.w - p.w};
    wide m = {q.x + p.x, q.y + p.y, q.z + p.z, q.w + p.w};
    // The half angle from difference and sum keeps its digits where the arc is short. Equal ends leave the straight
    // mix, its limit.
    double half = fid_atan2(sqrt(d.x * d.x + d.y * d.y + d.z * d.z + d.w * d.w),
                            sqrt(m.x * m.x + m.y * m.y + m.z * m.z + m.w * m.w));
    double whole = fid_sin(2.0 * half);
    double u = 1.0 - t, v = t;
    if (whole > 0.0) {
        u = fid_sin(2.0 * half * u) / whole;
        v = fid_sin(2.0 * half * v) / whole;
    }
    return narrow(wide_unit((wide){p.x * u + q.x * v, p.y * u + q.y * v, p.z * u + q.z * v, p.w * u + q.w * v}));
}

fid_quat fid_quat_arc(fid_vec3 from, fid_vec3 to, fid_vec3 spare) {
    double a[3] = {from.x, from.y, from.z}, b[3] = {to.x, to.y, to.z}, h[3];
    double square_a = a[0] * a[0] + a[1] * a[1] + a[2] * a[2], square_b = b[0] * b[0] + b[1] * b[1] + b[2] * b[2];
    double dot = a[0] * b[0] + a[1] * b[1] + a[2] * b[2], both = sqrt(square_a * square_b);
    if (!(both > 0.0) || !isfinite(both)) {
        return FID_QUAT_IDENTITY;
    }
    if (dot > -0.999 * both) {
        // (a x b, |a||b| + a . b) is the quaternion but for its length, whose square is 2 |a||b| (|a||b| + a . b);
        // where they are opposed its digits are lost.
        double w = both + dot, by = 1.0 / sqrt(2.0 * both * w);
        return narrow((wide){(a[1] * b[2] - a[2] * b[1]) * by, (a[2] * b[0] - a[0] * b[2]) * by,
                             (a[0] * b[1] - a[1] * b[0]) * by, w * by});
    }
    double length_a = sqrt(square_a), length_b = sqrt(square_b);
    for (int i = 0; i < 3; ++i) {
        a[i] /= length_a;
        b[i] /= length_b;
        h[i] = a[i] + b[i];
    }
    double half = sqrt(h[0] * h[0] + h[1] * h[1] + h[2] * h[2]);
    if (half > 1e-12) {
        // To the direction half way, taken twice: the quaternion (a x h, a . h).
        wide q = {a[1] * h[2] - a[2] * h[1], a[2] * h[0] - a[0] * h[2], a[0] * h[1] - a[1] * h[0],
                  a[0] * h[0] + a[1] * h[1] + a[2] * h[2]};
        return narrow(wide_unit(q));
    }
    double s[3] = {spare.x, spare.y, spare.z};
    double length_s = sqrt(s[0] * s[0] + s[1] * s[1] + s[2] * s[2]);
    double along = s[0] * a[0] + s[1] * a[1] + s[2] * a[2];
    wide q = {s[0] - along * a[0], s[1] - along * a[1], s[2] - along * a[2], 0.0};
    if (isfinite(length_s) && sqrt(q.x * q.x + q.y * q.y + q.z * q.z) > 1e-6 * length_s) {
        return narrow(wide_unit(q));
    }
    fid_vec3 any = fid_vec3_across((fid_vec3){(float)a[0], (float)a[1], (float)a[2]});
    return (fid_quat){any.x, any.y, any.z, 0.0f};
}

/// Below this the twist of a turn is lost: single-precision rounding of a swing of half a turn.
static const double twist_smallest = 1e-6;

static double along_axis(fid_quat q, fid_vec3 axis) {
    return (double)q.x * axis.x + (double)q.y * axis.y + (double)q.z * axis.z;
}

void fid_quat_swing_twist(fid_quat q, fid_vec3 axis, fid_quat *swing, fid_quat *twist) {
    double d = along_axis(q, axis), w = q.w;
    double n = sqrt(d * d + w * w);
    if (!(n > twist_smallest) || !isfinite(n)) {
        *twist = FID_QUAT_IDENTITY;
        *swing = fid_quat_normalize(q);
        return;
    }
    wide about = wide_unit((wide){axis.x * d, axis.y * d, axis.z * d, w});
    wide back = {-about.x, -about.y, -about.z, about.w};
    *swing = narrow(wide_unit(wide_mul(widen(q), back)));
    *twist = narrow(about);
}

double fid_quat_twist(fid_quat q, fid_vec3 axis) {
    double d = along_axis(q, axis), w = q.w;
    double n = sqrt(d * d + w * w);
    if (!(n > twist_smallest)) {
        return 0.0;
    }
    double angle = 2.0 * (w < 0.0 ? fid_atan2(-d, -w) : fid_atan2(d, w));
    return angle <= -FID_PI ? FID_PI : angle;
}

fid_quat fid_quat_from_axes(fid_vec3 across, fid_vec3 up, fid_vec3 aim) {
    double xx = across.x, yy = up.y, zz = aim.z;
    wide q;
    // Of the four squares 4 x^2, 4 y^2, 4 z^2, 4 w^2 the largest is divided by (S. W. Shepperd, "Quaternion from
    // rotation matrix", 1978).
    if (xx + yy + zz > 0.0) {
        q = (wide){(double)up.z - aim.y, (double)aim.x - across.z, (double)across.y - up.x, 1.0 + xx + yy + zz};
    } else if (xx >= yy && xx >= zz) {
        q = (wide){1.0 + xx - yy - zz, (double)across.y + up.x, (double)aim.x + across.z, (double)up.z - aim.y};
    } else if (yy >= zz) {
        q = (wide){(double)across.y + up.x, 1.0 + yy - xx - zz, (double)up.z + aim.y, (double)aim.x - across.z};
    } else {
        q = (wide){(double)aim.x + across.z, (double)up.z + aim.y, 1.0 + zz - xx - yy, (double)across.y - up.x};
    }
    return fid_quat_canonical(narrow(wide_unit(q)));
}

void fid_quat_to_matrix(fid_quat rotation, double out[9]) {
    wide q = wide_unit(widen(rotation));
    double x2 = q.x + q.x, y2 = q.y + q.y, z2 = q.z + q.z;
    out[0] = 1.0 - (q.y * y2 + q.z * z2);
    out[1] = q.x * y2 + q.w * z2;
    out[2] = q.x * z2 - q.w * y2;
    out[3] = q.x * y2 - q.w * z2;
    out[4] = 1.0 - (q.x * x2 + q.z * z2);
    out[5] = q.y * z2 + q.w * x2;
    out[6] = q.x * z2 + q.w * y2;
    out[7] = q.y * z2 - q.w * x2;
    out[8] = 1.0 - (q.x * x2 + q.y * y2);
}
