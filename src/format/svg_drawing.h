#ifndef FID_FORMAT_SVG_DRAWING_H
#define FID_FORMAT_SVG_DRAWING_H

#include "format/svg_box.h"
#include "program/pose.h"

/// Palette of Okabe and Ito (2008), which the color-blind tell apart.
extern const char *const fid_picture_side_colors[]; ///< of controls, by fid_side
extern const char *const fid_picture_deform_color, *const fid_picture_helper_color, *const fid_picture_mark_color;
extern const char *const fid_picture_rest_color;

/// From that many bones on only everyday controls and the first deform bone of each chain are named.
enum { FID_PICTURE_CROWD = 40 };

/// One view of a solved pose.
typedef struct fid_drawing {
    const fid_rig *rig;
    const fid_pose *pose;
    const char *const *marks; ///< by bone: what is written beside a bone that is marked, or NULL; NULL: none is
    const fid_pose *rest;     ///< whose bones are drawn light below; NULL: none
    const bool *skip;         ///< by bone: true where it is not drawn; NULL: all are
    int32_t crowd;            ///< from that many bones on not all are named
    fid_view view;
    fid_box extent;   ///< of what is drawn, metres on paper
    double scale;     ///< pixels a metre
    fid_paper shift;  ///< pixels from the origin of the paper to that of the view
    fid_box frame;    ///< where names may stand, pixels
    int32_t left_out; ///< names without a place
    int32_t hidden;   ///< names of the far side that are those of the near side
} fid_drawing;

/// Measures the extent of a view that is filled down to `crowd`: bones and outlines. Without any it is a point. The
/// caller chooses `scale`, `shift` and `frame` then.
void fid_drawing_measure(fid_drawing *drawing);

/// The length on paper of all bones that are drawn as links, metres.
double fid_drawing_length(const fid_drawing *drawing);

/// Appends what the view shows: outlines, links, then names, each from far to near. `taken` are places where no name
/// may stand. Counts what is not named in the drawing.
/// @return FID_OK, FID_NO_MEMORY (also of `out`)
FID_NODISCARD fid_code fid_drawing_add(fid_drawing *drawing, const fid_box *taken, int32_t taken_count, fid_text *out,
                                       fid_error *err);

#endif
