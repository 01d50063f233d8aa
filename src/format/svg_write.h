#ifndef FID_FORMAT_SVG_WRITE_H
#define FID_FORMAT_SVG_WRITE_H

#include "format/svg_view.h"
#include "program/pose.h"

/// What a picture shows, and how large. Zero-initialise what is not wished for.
typedef struct fid_svg_wishes {
    uint32_t views;           ///< one bit each: 1 << FID_VIEW_FRONT
    const char *const *marks; ///< by bone: what is written beside it where it is marked, else NULL; NULL: none is
    const fid_pose *rest;     ///< a solved pose of the same rig, whose bones are drawn light below; NULL: none
    const bool *skip;         ///< by bone: true where it is not drawn; NULL: all are
    int32_t crowd;            ///< from that many bones on not all are named; 0: FID_PICTURE_CROWD
    double width, height;     ///< of the sheet at its largest, pixels, from 600 by 500 on; 0: 1800 by 1700
} fid_svg_wishes;

/// Appends an SVG picture of a solved pose: one sheet with the views that are wished for, all at one scale. Bones are
/// links as in robot diagrams (a line from base to tip, a ring at the base, a tick for the up axis), controls their
/// outlines; names that do not overlap, L and R, a scale bar in metres, a legend, and what is posed. Colors: palette of
/// Okabe and Ito (2008). The same pose gives the same bytes.
/// @return FID_OK, FID_INVALID (no view), FID_NO_MEMORY
FID_NODISCARD fid_code fid_svg_write(const fid_rig *rig, const fid_pose *pose, const fid_svg_wishes *wishes,
                                     fid_text *out, fid_error *err);

/// Front, side or top: the view in which the bones look longest; of equal ones the first. `skip` as above.
fid_view fid_svg_straight_view(const fid_rig *rig, const fid_pose *pose, const bool *skip);

/// The length of the scale bar, metres: 1, 2 or 5 times a power of ten, 1e-12 at least, the first that has 80
/// pixels or more.
double fid_svg_bar(double pixels_a_metre);

#endif
