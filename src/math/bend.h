#ifndef FID_MATH_BEND_H
#define FID_MATH_BEND_H

#include "math/vec3d.h"

#include <stdint.h>

enum { FID_BEND_SEGMENTS = 256 };

/// A bent chain of segments: how all its joints open and close together. Joint i (1 to count - 1) lies between the
/// segments i - 1 and i, turns about the hinge of its rest bend, and has the angle rest_i k^share_i; with an axis
/// rest_i + 30 k degrees. All vectors in one space, at rest.
typedef struct fid_bend {
    int32_t count; ///< segments, 1 to FID_BEND_SEGMENTS
    bool about_axis;
    bool plane;                 ///< all hinges are parallel
    const double *length;       ///< [count]
    const fid_vec3d *direction; ///< [count] unit
    const fid_vec3d *hinge;     ///< [count] unit; [0] is not used
    const double *angle;        ///< [count] radians, 0 or more; [0] is not used
    const double *share;        ///< [count] above 0; [0] is not used
} fid_bend;

/// Turn of each joint from its rest angle at k >= 0, radians: `turn` has count entries, [0] is 0.
void fid_bend_turns(const fid_bend *bend, double k, double *turn);

/// Rotation of each segment from its rest (`rotation`, count entries, [0] the identity; may be NULL) and the vector
/// from base to end.
fid_vec3d fid_bend_shape(const fid_bend *bend, const double *turn, fid_quatd *rotation);

/// Distance from base to end at k.
double fid_bend_distance(const fid_bend *bend, double k);

/// The largest k to use: the first minimum of the distance beyond k = 0, or where a joint stands at 180 degrees. 0
/// where the distance does not fall from k = 0.
double fid_bend_top(const fid_bend *bend);

/// The turns that bring the end to `distance` from the base, where distance at k = 0 is `longest`: the one root in [0,
/// top], by safeguarded Newton; two segments by closed form. Distances beyond either end give that end. `turn` as in
/// fid_bend_turns.
void fid_bend_solve(const fid_bend *bend, double longest, double top, double gap, double *turn);

#endif
