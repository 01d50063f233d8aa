#ifndef FID_FORMAT_SKELETON_WRITE_H
#define FID_FORMAT_SKELETON_WRITE_H

#include "rig/rig.h"

/// Appends the skeleton file of a rig, with a final newline, to `out`: one bone, constraint or channel a line, keys in
/// a fixed order, every default written out. The same rig gives the same bytes (docs/skeleton-format.md).
/// @return FID_OK, FID_NO_MEMORY (then `out` holds a part of it), FID_LIMIT (larger than what is read)
FID_NODISCARD fid_code fid_skeleton_write(const fid_rig *rig, fid_text *out, fid_error *err);

#endif
