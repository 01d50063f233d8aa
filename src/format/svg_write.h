#ifndef FID_FORMAT_SVG_WRITE_H
#define FID_FORMAT_SVG_WRITE_H

#include "format/svg_view.h"
#include "program/pose.h"

/// Appends an SVG picture of a solved pose: one sheet with the views of `views` (one bit each: 1 << FID_VIEW_FRONT),
/// all at one scale. Bones are links as in robot diagrams (a line from base to tip, a ring at the base, a tick for the
/// up axis), controls their outlines; names that do not overlap, L and R, a scale bar in metres, a legend, and what is
/// posed. `marks` (NULL: none) are by bone what is written beside it where it is marked, else NULL. Colors: palette of
/// Okabe and Ito (2008). The same pose gives the same bytes.
/// @return FID_OK, FID_INVALID (no view), FID_NO_MEMORY
FID_NODISCARD fid_code fid_svg_write(const fid_rig *rig, const fid_pose *pose, const char *const *marks, uint32_t views,
                                     fid_text *out, fid_error *err);

/// The length of the scale bar, metres: 1, 2 or 5 times a power of ten, 1e-12 at least, the first that has 80
/// pixels or more.
double fid_svg_bar(double pixels_a_metre);

#endif
