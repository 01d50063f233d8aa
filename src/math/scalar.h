#ifndef FID_MATH_SCALAR_H
#define FID_MATH_SCALAR_H

#include <stdbool.h>

#define FID_PI 3.14159265358979323846

/// Own transcendental functions: the same bits on every processor, compiler and optimisation level (they use + - * /
/// sqrt, comparison and exact scaling only). Arguments and results in double; relative error below 1e-13 over the
/// stated range; never NaN or infinity for finite input. Angles in radians; sine and cosine for any finite argument
/// (beyond 1e6 the reduction loses digits, the result stays in [-1, 1]).
void fid_sincos(double angle, double *sine, double *cosine);
double fid_sin(double angle);
double fid_cos(double angle);
double fid_tan(double angle);         ///< bounded by 1e16 at the poles
double fid_asin(double sine);         ///< the argument is clamped to [-1, 1]
double fid_acos(double cosine);       ///< the argument is clamped to [-1, 1]
double fid_atan2(double y, double x); ///< (0, 0) gives 0; never -pi for y = -0
double fid_exp(double x);             ///< clamped to [1e-300, 1e300]
double fid_log(double x);             ///< x <= 0 or denormal gives the logarithm of the smallest normal number
double fid_pow(double base,
               double exponent); ///< base >= 0; 0 gives 0 for a positive exponent and 1 for 0; clamped as fid_exp

static inline double fid_radians(double degrees) { return degrees * (FID_PI / 180.0); }
static inline double fid_degrees(double radians) { return radians * (180.0 / FID_PI); }
static inline float fid_clamp(float value, float low, float high) {
    return value < low ? low : value > high ? high : value;
}
static inline float fid_min(float a, float b) { return a < b ? a : b; }
static inline float fid_max(float a, float b) { return a > b ? a : b; }
static inline double fid_mind(double a, double b) { return b < a ? b : a; }
static inline double fid_maxd(double a, double b) { return b > a ? b : a; }

/// True for every value but NaN and the infinities.
bool fid_is_finite(float value);

#endif
