#ifndef FID_TESTS_SUPPORT_ASSERT_FRAME_H
#define FID_TESTS_SUPPORT_ASSERT_FRAME_H

#include "math/frame.h"
#include "support/assert.h"

/// Angle in degrees of the turn between two unit quaternions, with the C library's functions; NaN where one is not a
/// unit to 1e-3.
static inline double assert_frame_degrees(fid_quat a, fid_quat b) {
    const double p[4] = {a.x, a.y, a.z, a.w}, q[4] = {b.x, b.y, b.z, b.w};
    double pp = 0.0, qq = 0.0, pq = 0.0, square = 0.0;
    for (int i = 0; i < 4; ++i) {
        pp += p[i] * p[i];
        qq += q[i] * q[i];
        pq += p[i] * q[i];
    }
    if (!(fabs(sqrt(pp) - 1.0) <= 1e-3) || !(fabs(sqrt(qq) - 1.0) <= 1e-3)) {
        return (double)NAN;
    }
    for (int i = 0; i < 4; ++i) {
        double d = p[i] / sqrt(pp) - (pq < 0.0 ? -q[i] : q[i]) / sqrt(qq);
        square += d * d;
    }
    return 4.0 * asin(sqrt(square) / 2.0) * (180.0 / acos(-1.0));
}

static inline void assert_vec3_near_at(fid_vec3 actual, fid_vec3 expected, double tolerance, const char *text,
                                       const char *file, int line) {
    double x = (double)actual.x - expected.x, y = (double)actual.y - expected.y, z = (double)actual.z - expected.z;
    if (!isfinite(tolerance) || !(sqrt(x * x + y * y + z * z) <= tolerance)) {
        print_error("%s: (%.9g, %.9g, %.9g) is not within %.3g of (%.9g, %.9g, %.9g)\n", text, (double)actual.x,
                    (double)actual.y, (double)actual.z, tolerance, (double)expected.x, (double)expected.y,
                    (double)expected.z);
        _fail(file, line);
    }
}

static inline void assert_quat_near_at(fid_quat actual, fid_quat expected, double tolerance, const char *text,
                                       const char *file, int line) {
    const double p[4] = {actual.x, actual.y, actual.z, actual.w};
    const double q[4] = {expected.x, expected.y, expected.z, expected.w};
    double dot = 0.0, largest = 0.0;
    for (int i = 0; i < 4; ++i) {
        dot += p[i] * q[i];
    }
    for (int i = 0; i < 4; ++i) {
        double d = fabs(p[i] - (dot < 0.0 ? -q[i] : q[i]));
        largest = d <= largest ? largest : d;
    }
    if (!isfinite(dot) || !isfinite(tolerance) || !(largest <= tolerance)) {
        print_error("%s: (%.9g, %.9g, %.9g, %.9g) is not within %.3g of +-(%.9g, %.9g, %.9g, %.9g)\n", text, p[0], p[1],
                    p[2], p[3], tolerance, q[0], q[1], q[2], q[3]);
        _fail(file, line);
    }
}

static inline void assert_frame_near_at(fid_frame actual, fid_frame expected, double tolerance, double degrees,
                                        const char *text, const char *file, int line) {
    assert_vec3_near_at(actual.t, expected.t, tolerance, text, file, line);
    double turn = assert_frame_degrees(actual.q, expected.q);
    if (!isfinite(degrees) || !(turn <= degrees)) {
        print_error("%s: (%.9g, %.9g, %.9g, %.9g) is turned by %.3g degrees from (%.9g, %.9g, %.9g, %.9g), not %.3g\n",
                    text, (double)actual.q.x, (double)actual.q.y, (double)actual.q.z, (double)actual.q.w, turn,
                    (double)expected.q.x, (double)expected.q.y, (double)expected.q.z, (double)expected.q.w, degrees);
        _fail(file, line);
    }
    double size = (double)fid_vec3_length(expected.s);
    assert_vec3_near_at(actual.s, expected.s, 1e-5 * size, text, file, line);
}

/// Fails unless the distance of two points is at most `tolerance`. Refuses NaN and infinities, as all below.
#define assert_vec3_near(actual, expected, tolerance) \
    assert_vec3_near_at((actual), (expected), (tolerance), #actual, __FILE__, __LINE__)

/// Fails unless all four components agree within `tolerance`, up to a common sign.
#define assert_quat_near(actual, expected, tolerance) \
    assert_quat_near_at((actual), (expected), (tolerance), #actual, __FILE__, __LINE__)

/// Fails unless translations agree within `tolerance`, rotations (units to 1e-3) within `degrees` of turn, and scales
/// within 1e-5 of their size.
#define assert_frame_near(actual, expected, tolerance, degrees) \
    assert_frame_near_at((actual), (expected), (tolerance), (degrees), #actual, __FILE__, __LINE__)

#endif
