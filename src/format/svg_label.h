#ifndef FID_FORMAT_SVG_LABEL_H
#define FID_FORMAT_SVG_LABEL_H

#include "base/array.h"
#include "format/svg_view.h"

/// A rectangle on paper, pixels.
typedef struct fid_box {
    double left, top, right, bottom;
} fid_box;

/// Boxes that are taken already. Zero-initialise to begin; end with fid_array_clear(&boxes.at).
typedef struct fid_boxes {
    FID_ARRAY(fid_box) taken;
    bool failed; ///< no memory
} fid_boxes;

/// Finds a place for a label of `width` times `height` near `anchor`, inside `frame` and off every box that is taken,
/// and takes it. Places are tried in a fixed order, nearest first. False where there is none.
bool fid_boxes_place(fid_boxes *boxes, fid_paper anchor, double width, double height, const fid_box *frame,
                     fid_box *out);

/// Takes a box whatever it covers.
void fid_boxes_take(fid_boxes *boxes, fid_box box);

/// True where two boxes overlap.
bool fid_box_overlaps(const fid_box *a, const fid_box *b);

#endif
