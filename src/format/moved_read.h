#ifndef FID_FORMAT_MOVED_READ_H
#define FID_FORMAT_MOVED_READ_H

#include "format/json_read.h"
#include "rig/rig.h"

/// Reads one element of the list `moved` of a skeleton file and adds it to the rig.
FID_NODISCARD fid_code fid_format_read_moved(fid_json_reader *reader, const fid_json_node *node, fid_rig *rig);

#endif
