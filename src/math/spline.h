#ifndef FID_MATH_SPLINE_H
#define FID_MATH_SPLINE_H

#include "math/vec3d.h"

#include <stdint.h>

enum {
    FID_SPLINE_POINTS = 32, ///< most points of a curve
    FID_SPLINE_STEPS = 16,  ///< of each piece between two points
    FID_SPLINE_SAMPLES = (FID_SPLINE_POINTS - 1) * FID_SPLINE_STEPS + 1,
};

/// A cubic curve through points, measured by arc length, with a frame carried along it without turning about it.
///
/// Each piece between two points is a cubic Hermite curve over a parameter as wide as its `width`, and is cut into
/// FID_SPLINE_STEPS equal steps of that parameter. Arc lengths are sums of Gauss-Legendre quadratures with five nodes
/// over the steps. Frames go from sample to sample, and from there to places within a step, by double reflection: W.
/// Wang, B. Juettler, D. Zheng, Y. Liu, "Computation of rotation minimizing frames", ACM Trans. Graph. 27(1), 2008.
/// Beyond its ends the curve goes straight on.
typedef struct fid_spline {
    int32_t count; ///< points, 2 to FID_SPLINE_POINTS
    fid_vec3d point[FID_SPLINE_POINTS];
    fid_vec3d slope[FID_SPLINE_POINTS]; ///< the way per unit of the parameter
    double width[FID_SPLINE_POINTS];    ///< of the piece behind each point but the last; above 0
    double arc[FID_SPLINE_SAMPLES];     ///< arc length from the start to each sample
    fid_vec3d at[FID_SPLINE_SAMPLES], tangent[FID_SPLINE_SAMPLES];
    fid_vec3d up[FID_SPLINE_SAMPLES]; ///< from fid_spline_carry on
} fid_spline;

/// A spot on the curve; before its start (step -1) and behind its end (step: the number of steps) on the straight
/// lines.
typedef struct fid_spline_spot {
    int32_t step;
    double t;   ///< 0 to 1 within the step
    double arc; ///< from the start of the curve, negative before it
} fid_spline_spot;

/// The frame of the curve at a spot: tangent and up are unit vectors, square to each other.
typedef struct fid_spline_place {
    fid_vec3d point, tangent, up;
} fid_spline_place;

/// Slopes for a smooth curve through `count` >= 2 points: at inner points that from neighbour to neighbour, but at most
/// twice that of the slower of the straight ways to both; at the ends those with which the curve has no bend there (a
/// natural end). Two points: a straight line.
void fid_spline_slopes(int32_t count, const fid_vec3d *point, const double *width, fid_vec3d *slope);

/// Measures the curve whose count, point, slope and width are filled in. Where the curve stands still (slower than 1e-5
/// per unit of its parameter) it keeps the tangent before, at its start that which comes first; a curve that stands
/// still everywhere has the unit vector `still`.
void fid_spline_measure(fid_spline *spline, fid_vec3d still);

/// Carries `up`, a unit vector square to the first tangent, along the curve.
void fid_spline_carry(fid_spline *spline, fid_vec3d up);

static inline int32_t fid_spline_last(const fid_spline *spline) { return (spline->count - 1) * FID_SPLINE_STEPS; }
static inline double fid_spline_length(const fid_spline *spline) { return spline->arc[fid_spline_last(spline)]; }

/// The spot at an arc length, which may lie beyond the ends.
fid_spline_spot fid_spline_locate(const fid_spline *spline, double arc);

/// The first spot from `from` on whose distance from it reaches `chord`, to the fineness of the steps; `from` where the
/// chord has no length.
fid_spline_spot fid_spline_walk(const fid_spline *spline, fid_spline_spot from, double chord);

/// The arc length, `from` to `to`, whose spot is nearest to a point (the first, if several are).
double fid_spline_nearest(const fid_spline *spline, fid_vec3d point, double from, double to);

/// The frame at a spot.
fid_spline_place fid_spline_at(const fid_spline *spline, fid_spline_spot spot);

/// The rotation whose +Z is the tangent and whose +Y is up.
fid_quatd fid_spline_turn(const fid_spline_place *place);

#endif
