#include "math/curve.h"

#include "math/scalar.h"

#include <float.h>
#include <math.h>
#include <stddef.h>

static double rise(const float *x, const float *y, int32_t k) {
    double width = (double)x[k + 1] - x[k];
    return width > 0.0 ? ((double)y[k + 1] - y[k]) / width : 0.0;
}

/// What the slopes at both ends of interval `k` must be multiplied with so that the cubic is monotone there.
static double shrink(const float *x, const float *y, int32_t k, double left, double right) {
    double d = rise(x, y, k);
    if (d == 0.0) {
        return 0.0;
    }
    double a = left / d, b = right / d;
    double square = a * a + b * b;
    return square > 9.0 ? 3.0 / sqrt(square) : 1.0;
}

/// The slope at point `k` before anything is made monotone: the parabola through its neighbors; 0 at an extremum.
static double first_slope(int32_t count, const float *x, const float *y, int32_t k) {
    if (k == 0) {
        return rise(x, y, 0);
    }
    double before = rise(x, y, k - 1);
    if (k == count - 1) {
        return before;
    }
    double after = rise(x, y, k);
    if (!(before * after > 0.0)) {
        return 0.0;
    }
    double h = (double)x[k] - x[k - 1], next = (double)x[k + 1] - x[k];
    return (next * before + h * after) / (h + next);
}

void fid_curve_slopes(int32_t count, const float *x, const float *y, float *slopes) {
    for (int32_t k = 0; k < count; ++k) {
        if (count < 2) {
            slopes[k] = 0.0f;
            continue;
        }
        // Each slope is shrunk once, by what the stricter of its two intervals asks for: the result does not depend on
        // the direction in which the points are walked, so a reflected curve is the reflection of the curve.
        double slope = first_slope(count, x, y, k), factor = 1.0;
        if (k > 0) {
            factor = fmin(factor, shrink(x, y, k - 1, first_slope(count, x, y, k - 1), slope));
        }
        if (k < count - 1) {
            factor = fmin(factor, shrink(x, y, k, slope, first_slope(count, x, y, k + 1)));
        }
        slope *= factor;
        slopes[k] = (float)(slope > FLT_MAX ? FLT_MAX : slope < -FLT_MAX ? -FLT_MAX : slope);
    }
}

float fid_curve_at(int32_t count, const float *x, const float *y, const float *slopes, float at) {
    if (!(at > x[0])) {
        return y[0];
    }
    if (at >= x[count - 1]) {
        return y[count - 1];
    }
    int32_t low = 0, high = count - 1; // x[low] <= at < x[high]
    while (high - low > 1) {
        int32_t middle = low + (high - low) / 2;
        if (x[middle] <= at) {
            low = middle;
        } else {
            high = middle;
        }
    }
    double width = (double)x[high] - x[low], t = ((double)at - x[low]) / width;
    double a = y[low], b = y[high], value = a + (b - a) * t;
    if (slopes != NULL) {
        double u = 1.0 - t;
        value = a * (u * u * (1.0 + 2.0 * t)) + b * (t * t * (3.0 - 2.0 * t)) +
                width * (slopes[low] * (t * u * u) - slopes[high] * (t * t * u));
        // Between its ends in theory; rounding must not lead out.
        value = fmax(fmin(value, fmax(a, b)), fmin(a, b));
    }
    return (float)value;
}

float fid_curve_power(float power, float x) {
    if (power == 1.0f || x == 0.0f) {
        return x;
    }
    double y = fmin(fid_pow(fabs((double)x), (double)power), 1e30);
    return (float)(x < 0.0f ? -y : y);
}
