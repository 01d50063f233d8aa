#ifndef FID_FORMAT_ORIGIN_TEXT_H
#define FID_FORMAT_ORIGIN_TEXT_H

#include "format/findings_text.h"
#include "rig/rig.h"

/// How origins are shown: what adds a file, and the folder that it gets; both NULL: files stand as they are.
typedef struct fid_origin_style {
    fid_findings_file add_file;
    const char *folder;
} fid_origin_style;

/// Adds where an element was written, "FILE:LINE (leg1 of stretch_leg 1.0.0), used at FILE:LINE", or "not known".
void fid_origin_add(const fid_rig *rig, int32_t origin, const fid_origin_style *style, fid_text *out);

#endif
