#ifndef FID_FORMAT_SVG_VIEW_H
#define FID_FORMAT_SVG_VIEW_H

#include "math/vec3.h"

/// From where a picture looks. All are orthographic.
typedef enum fid_view { FID_VIEW_FRONT, FID_VIEW_SIDE, FID_VIEW_TOP, FID_VIEW_THREE_QUARTER, FID_VIEW_COUNT } fid_view;

extern const char *const fid_view_names[]; ///< "front", "side", "top", "three-quarter", NULL

/// A place on paper: to the right and down, in the unit of what was projected.
typedef struct fid_paper {
    double x, y;
} fid_paper;

/// Where a view shows a point of the world (metres). Front looks at the face of the character, whose left is on the
/// right hand; side at its left; top from above, the face down; three-quarter from the front, its left and above.
fid_paper fid_view_project(fid_view view, const double point[3]);

/// Depth towards the viewer, for what covers what.
double fid_view_depth(fid_view view, const double point[3]);

/// 1 where the character's left lies on the right hand of the picture, -1 on the left, 0 where it is the near side.
int fid_view_left(fid_view view);

#endif
