#ifndef FID_FORMAT_SVG_BOX_H
#define FID_FORMAT_SVG_BOX_H

#include "format/svg_view.h"

#include <stdbool.h>

/// A rectangle on paper, pixels; `bottom` is the larger number.
typedef struct fid_box {
    double left, top, right, bottom;
} fid_box;

/// True where two boxes overlap; edges that touch do not.
bool fid_box_overlaps(const fid_box *a, const fid_box *b);

/// True where all of `inner` lies in `outer`.
bool fid_box_holds(const fid_box *outer, const fid_box *inner);

/// Cuts the line from `*a` to `*b` down to what lies in the box; false, with both unchanged, where nothing does.
bool fid_box_cut(const fid_box *box, fid_paper *a, fid_paper *b);

/// True where two lines cross; ends that touch do not.
bool fid_paper_crosses(fid_paper a, fid_paper b, fid_paper c, fid_paper d);

#endif
