#ifndef FID_FORMAT_SVG_LABEL_H
#define FID_FORMAT_SVG_LABEL_H

#include "format/svg_ink.h"

/// Which part of its box a label is fastened to, so that its words begin or end there whatever the font.
typedef enum fid_fastening { FID_FASTEN_LEFT, FID_FASTEN_MIDDLE, FID_FASTEN_RIGHT } fid_fastening;

/// A name beside a place.
typedef struct fid_label {
    int32_t of;       ///< the caller's number
    fid_paper anchor; ///< the place that it names
    double width;     ///< pixels
    bool is_placed;   ///< the rest is there only then
    fid_box box;
    fid_paper end; ///< where the line from the anchor meets the box
    fid_fastening fastening;
} fid_label;

enum { FID_LABEL_HEIGHT = 12 }; ///< pixels

/// The labels of one view. Zero-initialise to begin; fill `frame`, `ink`, `taken` and `at`; end with fid_labels_clear.
typedef struct fid_labels {
    fid_box frame;            ///< all labels lie in it
    fid_paper middle;         ///< labels rather lie on the far side of their anchor
    fid_ink ink;              ///< what they rather do not cover
    FID_ARRAY(fid_box) taken; ///< what they never cover
    FID_ARRAY(fid_label) at;  ///< the first choose first
} fid_labels;

/// Chooses a place for each label: in the frame, off what is taken, off each other and each other's lines, with little
/// ink below and near the anchor. Each tries the same places in the same order (16 directions, 10 distances); a second
/// round lets each choose again among what the others have left. Labels without a place are not placed.
void fid_labels_place(fid_labels *labels);

void fid_labels_clear(fid_labels *labels);

/// The width of a name in a wide sans-serif font, pixels: rather too wide than too narrow.
double fid_label_width(const char *name, double size);

#endif
