#ifndef FID_MATH_BEND_H
#define FID_MATH_BEND_H

#include "math/vec3d.h"

#include <stdint.h>

enum { FID_BEND_SEGMENTS = 256, FID_BEND_SEEDS = 17 };

/// A bent chain of segments: how all its joints open and close together. Joint i (1 to count - 1) lies between the
/// segments i - 1 and i, turns about the hinge of its rest bend, and has the angle rest_i k^share_i; with an axis
/// rest_i + 30 k degrees. All vectors in one space, at rest.
typedef struct fid_bend {
    int32_t count; ///< segments, 1 to FID_BEND_SEGMENTS
    bool about_axis;
    bool plane;                    ///< all hinges are parallel
    const double *length;          ///< [count]
    const fid_vec3d *direction;    ///< [count] unit
    const fid_vec3d *hinge;        ///< [count] unit; [0] is not used
    const double *angle;           ///< [count] radians, 0 or more; [0] is not used
    const double *share;           ///< [count] above 0; [0] is not used
    const double *lo, *hi;         ///< [count] bounds of the angles, radians, around those at rest; NULL: none
    double bottom;                 ///< the smallest k: where the first joint leaves its lower bound
    bool seeded;                   ///< fid_bend_prepare was called; what follows is its work
    double rest_sine, rest_cosine; ///< of a chain of two: of half its angle at rest
    double shortest;               ///< distance at the top
    double seed_step;              ///< from one seed to the next: see bend.c
    double seed[2][FID_BEND_SEEDS],
        seed_slope[2][FID_BEND_SEEDS]; ///< k and its slope, from the bottom and from the top
} fid_bend;

/// Turn of each joint from its rest angle at k >= 0, radians: `turn` has count entries, [0] is 0.
void fid_bend_turns(const fid_bend *bend, double k, double *turn);

/// Rotation of each segment from its rest (`rotation`, count entries, [0] the identity; may be NULL) and the vector
/// from base to end.
fid_vec3d fid_bend_shape(const fid_bend *bend, const double *turn, fid_quatd *rotation);

/// Distance from base to end at k.
double fid_bend_distance(const fid_bend *bend, double k);

/// Where the first joint leaves its lower bound; 0 without bounds.
double fid_bend_bottom(const fid_bend *bend);

/// The largest k to use: the first minimum of the distance beyond the bottom, where a joint stands at 180 degrees, or
/// all are at their upper bounds. 0 where the distance does not fall from k = 0.
double fid_bend_top(const fid_bend *bend);

/// Tabulates the way from `longest` (the distance at the bottom) to that at `top`, so that fid_bend_solve begins next
/// to the root; of a chain of two what its closed form needs.
void fid_bend_prepare(fid_bend *bend, double longest, double top);

/// The shape whose end is `gap` inside its distance at the bottom, which is `longest`: the one root in [bottom, top],
/// by safeguarded Newton; two segments that are prepared by closed form, without angles. Gaps beyond either end give
/// that end. Fills `rotation` and returns the vector to the end, as fid_bend_shape.
fid_vec3d fid_bend_solve(const fid_bend *bend, double longest, double top, double gap, fid_quatd *rotation);

#endif
