#ifndef FID_FORMAT_FIELD_WRITE_H
#define FID_FORMAT_FIELD_WRITE_H

#include "format/json_write.h"
#include "rig/rig.h"

/// Writes the fields of a record as members of the open object, in the order of the schema; fields for scripts alone
/// are left out. References are written as names. Most fields are one member under their key; a chain is its list of
/// bones and `with_end`; sources are `source` where there is one with share 1, else `sources`.
void fid_format_write_fields(fid_json_writer *writer, const fid_rig *rig, const fid_schema *schema, const void *record);

/// Writes one value: the name of a bone, or null.
void fid_format_write_bone(fid_json_writer *writer, const fid_rig *rig, fid_bone_id bone);

/// {"translation": [x, y, z], "rotation": [x, y, z, w]}; the quaternion with w >= 0.
void fid_format_write_frame(fid_json_writer *writer, const fid_frame *frame);

/// The name of a channel, or null.
void fid_format_write_channel(fid_json_writer *writer, const fid_rig *rig, fid_channel channel);

#endif
