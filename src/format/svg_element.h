#ifndef FID_FORMAT_SVG_ELEMENT_H
#define FID_FORMAT_SVG_ELEMENT_H

#include "base/text.h"
#include "format/svg_label.h"

/// Elements of SVG, appended to a text. Numbers have hundredths of a pixel at most, are never -0, and have a point
/// whatever the locale; they are cut at +-1e9. Colors are texts like "#E69F00".

void fid_svg_add_number(fid_text *out, double value);

/// ` key="value"`
void fid_svg_add_attribute(fid_text *out, const char *key, double value);

void fid_svg_add_line(fid_text *out, fid_paper a, fid_paper b, const char *color, double width);

/// A circle line filled with white.
void fid_svg_add_ring(fid_text *out, fid_paper at, double radius, const char *color);

/// A rectangle that is not filled.
void fid_svg_add_box(fid_text *out, const fid_box *box, const char *color);

/// Words whose line stands on `at`, which is their begin, middle or end. They have a white rim, so that they stay
/// readable on lines.
void fid_svg_add_words(fid_text *out, fid_paper at, fid_fastening fastening, double size, const char *color,
                       const char *words);

#endif
