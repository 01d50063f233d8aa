#ifndef FID_MATH_CURVE_H
#define FID_MATH_CURVE_H

#include <stdbool.h>
#include <stdint.h>

/// A response curve through points with rising x, held beyond its ends.
/// Monotone cubic interpolation: F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer.
/// Anal. 17(2), 1980.

/// Fills `slopes` (count values) for monotone cubic interpolation of `count` >= 2 points.
void fid_curve_slopes(int32_t count, const float *x, const float *y, float *slopes);

/// The value at `at`; `slopes` NULL: linear. count >= 1.
float fid_curve_at(int32_t count, const float *x, const float *y, const float *slopes, float at);

/// |x|^power with the sign of x; power above 0. At most 1e30 in size.
float fid_curve_power(float power, float x);

#endif
