#ifndef FID_FORMAT_SKELETON_READ_H
#define FID_FORMAT_SKELETON_READ_H

#include "rig/rig.h"

/// Reads the `count` bytes of a skeleton file at `text` as a new rig, to be ended with fid_rig_free. `name_of_file` is
/// how messages name the file.
///
/// Reading is strict: on failure nothing is built (`*out` is NULL) and the report has one error more, either with the
/// line of a fault of the syntax or with the path of an element as its subject (format/json_read.h). Writing the rig
/// again gives the same bytes.
/// @return FID_OK, FID_SYNTAX, FID_LIMIT, FID_INVALID, FID_RANGE, FID_UNKNOWN, FID_NAME_TAKEN, FID_NO_MEMORY
FID_NODISCARD fid_code fid_skeleton_read(const char *text, size_t count, const char *name_of_file, fid_rig **out,
                                         fid_report *report);

#endif
