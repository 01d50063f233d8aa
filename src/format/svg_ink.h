#ifndef FID_FORMAT_SVG_INK_H
#define FID_FORMAT_SVG_INK_H

#include "base/array.h"
#include "format/svg_box.h"

/// Where a picture has lines already: squares of a few pixels with weights, and their sums, so that the ink under a box
/// is read off in the same time whatever the picture shows.
typedef struct fid_ink {
    fid_box frame;
    int32_t columns, rows;
    uint8_t *weights; ///< by square
    int32_t *sums;    ///< of all squares above and to the left; one more column and row than squares
} fid_ink;

enum { FID_INK_SQUARE = 4 }; ///< pixels

/// Paper without ink. `frame` is at least a square and at most 1e5 pixels wide and high. End with fid_ink_clear, also
/// after a failure.
FID_NODISCARD fid_code fid_ink_begin(fid_ink *ink, const fid_box *frame, fid_error *err);

/// Draws a line of that weight (1 to 255); of several weights on a square the largest counts. What lies outside the
/// frame is left out.
void fid_ink_add_line(fid_ink *ink, fid_paper a, fid_paper b, uint8_t weight);

/// Makes the sums; once, after the last line.
void fid_ink_sum(fid_ink *ink);

/// The weight of the squares that a box touches.
int32_t fid_ink_under(const fid_ink *ink, const fid_box *box);

void fid_ink_clear(fid_ink *ink);

#endif
