#include "math/scalar.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

// The polynomials are Taylor series, cut where the next term is below half a unit in the last place of the result on
// the reduced range. Those of every day are summed in pairs, which do not wait for each other (G. Estrin, 1960).
// Constants are split so that the product of a part with a whole number of up to 20 bits is exact (reduction after W.
// J. Cody, W. Waite, "Software Manual for the Elementary Functions", 1980).

static const double half_pi_1 = 0x1.921fb54400000p+0; // the first 33 bits of pi/2, the next 33, the next 33, the rest
static const double half_pi_2 = 0x1.0b4611a600000p-34;
static const double half_pi_3 = 0x1.3198a2e000000p-69;
static const double half_pi_4 = 0x1.b839a252049c1p-104;
static const double half_pi = 0x1.921fb54442d18p+0;
static const double half_pi_low = 0x1.1a62633145c07p-54;
static const double two_over_pi = 0x1.45f306dc9c883p-1;
static const double two_pi = 0x1.921fb54442d18p+2;
static const double ln2_high = 0x1.62e42fee00000p-1; // 32 bits of log 2, and the rest
static const double ln2_low = 0x1.a39ef35793c76p-33;
static const double one_over_ln2 = 0x1.71547652b82fep+0;
static const double exp_largest = 1e300;
static const double exp_smallest = 1e-300;
static const double log_largest = 690.77552789821370521; // log 1e300

static double absolute(double x) { return x < 0.0 ? -x : x; }

/// The whole number nearest to x, for |x| < 2^31 - 1.
static int32_t nearest(double x) { return (int32_t)(x < 0.0 ? x - 0.5 : x + 0.5); }

/// 2 to the power k, for -1022 <= k <= 1023.
static double two_to(int32_t k) {
    uint64_t bits = (uint64_t)(k + 1023) << 52;
    double out;
    memcpy(&out, &bits, sizeof out);
    return out;
}

/// high + low = a b exactly, without overflow for |a|, |b| < 1e150 (Dekker, "A floating-point technique for extending
/// the available precision", Numer. Math. 18, 1971).
static void product(double a, double b, double *high, double *low) {
    double split_a = 134217729.0 * a, split_b = 134217729.0 * b; // 2^27 + 1
    double a1 = split_a - (split_a - a), b1 = split_b - (split_b - b);
    double a2 = a - a1, b2 = b - b1;
    *high = a * b;
    *low = ((a1 * b1 - *high) + a1 * b2 + a2 * b1) + a2 * b2;
}

/// Remainder of x >= 0 by 2 pi (as a double); every step is exact.
static double remainder_of_turns(double x) {
    double step = two_pi;
    while (step <= x * 0.5) {
        step *= 2.0;
    }
    while (step >= two_pi) {
        if (x >= step) {
            x -= step;
        }
        step *= 0.5;
    }
    return x;
}

/// angle = k pi/2 + high + low with |high| <= pi/4 or a little more; returns k modulo 4.
static uint32_t reduce(double angle, double *high, double *low) {
    if (absolute(angle) > 1e6) {
        double rest = remainder_of_turns(absolute(angle));
        angle = angle < 0.0 ? -rest : rest;
    }
    int32_t quarters = nearest(angle * two_over_pi);
    double k = (double)quarters;
    double a = angle - k * half_pi_1;
    double b = a - k * half_pi_2;
    double lost = (a - b) - k * half_pi_2;
    double c = b - k * half_pi_3;
    lost += (b - c) - k * half_pi_3;
    lost -= k * half_pi_4;
    *high = c + lost;
    *low = (c - *high) + lost;
    return (uint32_t)quarters & 3u;
}

/// c[0] + c[1] z + ... + c[7] z^7.
static double series(const double c[8], double z) {
    double square = z * z;
    double low = (c[0] + c[1] * z) + (c[2] + c[3] * z) * square;
    double high = (c[4] + c[5] * z) + (c[6] + c[7] * z) * square;
    return low + high * (square * square);
}

void fid_sincos(double angle, double *sine, double *cosine) {
    static const double of_sine[8] = {
        -1.0 / 6.0,        1.0 / 120.0,        -1.0 / 5040.0,          1.0 / 362880.0,
        -1.0 / 39916800.0, 1.0 / 6227020800.0, -1.0 / 1307674368000.0, 1.0 / 355687428096000.0,
    };
    static const double of_cosine[8] = {
        1.0 / 24.0,        -1.0 / 720.0,         1.0 / 40320.0,          -1.0 / 3628800.0,
        1.0 / 479001600.0, -1.0 / 87178291200.0, 1.0 / 20922789888000.0, -1.0 / 6402373705728000.0,
    };

    if (!isfinite(angle)) {
        *sine = 0.0;
        *cosine = 1.0;
        return;
    }
    double x = angle, low = 0.0;
    uint32_t quarter = absolute(angle) < 0.78 ? 0 : reduce(angle, &x, &low); // below pi/4 nothing is taken off
    double z = x * x;
    double s = x + (x * z * series(of_sine, z) + low * (1.0 - 0.5 * z));
    double half = 0.5 * z, near = 1.0 - half;
    double c = near + (((1.0 - near) - half) + (z * z * series(of_cosine, z) - x * low));
    switch (quarter) {
    case 0:
        *sine = s;
        *cosine = c;
        break;
    case 1:
        *sine = c;
        *cosine = -s;
        break;
    case 2:
        *sine = -s;
        *cosine = -c;
        break;
    default:
        *sine = -c;
        *cosine = s;
        break;
    }
}

double fid_sin(double angle) {
    double s, c;
    fid_sincos(angle, &s, &c);
    return s;
}

double fid_cos(double angle) {
    double s, c;
    fid_sincos(angle, &s, &c);
    return c;
}

double fid_tan(double angle) {
    double s, c;
    fid_sincos(angle, &s, &c);
    if (absolute(c) * 1e16 <= absolute(s)) {
        return (s < 0.0) == (c < 0.0) ? 1e16 : -1e16;
    }
    return s / c;
}

/// atan t for 0 <= t <= 1: atan t = atan c + atan((t - c) / (1 + t c)) with the nearest c = k/8.
static double arc_tangent(double t) {
    static const double at_eighths[9] = {
        0.0,
        0.1243549945467614350314,
        0.2449786631268641541721,
        0.3587706702705722203959,
        0.4636476090008061162143,
        0.5585993153435624359715,
        0.6435011087932843868028,
        0.7188299996216245054170,
        0.7853981633974483096157,
    };
    int32_t k = nearest(t * 8.0);
    double c = (double)k * 0.125;
    double r = (t - c) / (1.0 + t * c);
    double z = r * r;
    double p = -1.0 / 11.0 + z * (1.0 / 13.0);
    p = 1.0 / 9.0 + z * p;
    p = -1.0 / 7.0 + z * p;
    p = 1.0 / 5.0 + z * p;
    p = -1.0 / 3.0 + z * p;
    return at_eighths[k] + (r + r * z * p);
}

double fid_atan2(double y, double x) {
    if (!isfinite(x) || !isfinite(y)) {
        return 0.0;
    }
    double ax = absolute(x), ay = absolute(y);
    if (ax + ay == 0.0) {
        return 0.0;
    }
    double angle = ay > ax ? (half_pi - arc_tangent(ax / ay)) + half_pi_low : arc_tangent(ay / ax);
    if (x < 0.0) {
        angle = (2.0 * half_pi - angle) + 2.0 * half_pi_low;
    }
    return y < 0.0 ? -angle : angle;
}

double fid_asin(double sine) {
    double s = sine >= 1.0 ? 1.0 : sine > -1.0 ? sine : -1.0;
    return fid_atan2(s, sqrt((1.0 - s) * (1.0 + s)));
}

double fid_acos(double cosine) {
    double c = cosine >= 1.0 ? 1.0 : cosine > -1.0 ? cosine : -1.0;
    return fid_atan2(sqrt((1.0 - c) * (1.0 + c)), c);
}

double fid_exp(double x) {
    if (x >= log_largest) {
        return exp_largest;
    }
    if (!(x > -log_largest)) {
        return exp_smallest;
    }
    int32_t k = nearest(x * one_over_ln2);
    double r = (x - (double)k * ln2_high) - (double)k * ln2_low;
    double p = 1.0 / 6227020800.0;
    p = 1.0 / 479001600.0 + r * p;
    p = 1.0 / 39916800.0 + r * p;
    p = 1.0 / 3628800.0 + r * p;
    p = 1.0 / 362880.0 + r * p;
    p = 1.0 / 40320.0 + r * p;
    p = 1.0 / 5040.0 + r * p;
    p = 1.0 / 720.0 + r * p;
    p = 1.0 / 120.0 + r * p;
    p = 1.0 / 24.0 + r * p;
    p = 1.0 / 6.0 + r * p;
    p = 0.5 + r * p;
    double out = (1.0 + (r + r * r * p)) * two_to(k);
    return out > exp_largest ? exp_largest : out < exp_smallest ? exp_smallest : out;
}

/// log x = high + low with about ten bits more than a double has, so that a large exponent leaves enough of them.
static void logarithm(double x, double *high, double *low) {
    x = !(x >= DBL_MIN) ? DBL_MIN : x > DBL_MAX ? DBL_MAX : x;
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    int32_t e = (int32_t)(bits >> 52) - 1023;
    bits = (bits & 0x000fffffffffffffu) | 0x3ff0000000000000u;
    memcpy(&x, &bits, sizeof x);
    if (x > 1.4142135623730951) {
        x *= 0.5;
        e += 1;
    }
    // log x = 2 atanh s, s = (x - 1) / (x + 1); the quotient is carried on by its remainder.
    double f = x - 1.0, g = 2.0 + f, g_low = (2.0 - g) + f;
    double s = f / g, whole, rest;
    product(s, g, &whole, &rest);
    double s_low = (((f - whole) - rest) - s * g_low) / g;
    double z = s * s;
    double p = 1.0 / 19.0 + z * (1.0 / 21.0);
    p = 1.0 / 17.0 + z * p;
    p = 1.0 / 15.0 + z * p;
    p = 1.0 / 13.0 + z * p;
    p = 1.0 / 11.0 + z * p;
    p = 1.0 / 9.0 + z * p;
    p = 1.0 / 7.0 + z * p;
    p = 1.0 / 5.0 + z * p;
    p = 1.0 / 3.0 + z * p;
    double tail = 2.0 * (s_low + s * z * p) + (double)e * ln2_low;
    double head = (double)e * ln2_high, twice = 2.0 * s;
    double sum = head + twice;
    double other = sum - head;
    tail += (head - (sum - other)) + (twice - other);
    *high = sum + tail;
    *low = (sum - *high) + tail;
}

double fid_log(double x) {
    double high, low;
    logarithm(x, &high, &low);
    return high;
}

double fid_pow(double base, double exponent) {
    if (exponent == 0.0 || base == 1.0 || isnan(exponent)) {
        return 1.0;
    }
    if (!(base > 0.0)) {
        return exponent > 0.0 ? 0.0 : exp_largest;
    }
    if (exponent == 1.0) {
        return base > exp_largest ? exp_largest : base < exp_smallest ? exp_smallest : base;
    }
    double high, low;
    logarithm(base, &high, &low);
    double about = exponent * high;
    if (about >= log_largest + 1.0) {
        return exp_largest;
    }
    if (about <= -log_largest - 1.0) {
        return exp_smallest;
    }
    double rest;
    product(exponent, high, &about, &rest);
    rest += exponent * low;
    double out = fid_exp(about);
    return out < exp_largest && out > exp_smallest ? out + out * rest : out;
}

bool fid_is_finite(float value) { return isfinite(value); }
