#ifndef FID_FORMAT_FIELD_READ_H
#define FID_FORMAT_FIELD_READ_H

#include "format/json_read.h"
#include "rig/rig.h"

/// Reads the members of the object `node`: the fields of `schema` into `record` (those for scripts alone keep what they
/// have), and the members under the `more_count` keys of `more` (at most 16; all must be there) as they stand into
/// `more_out`. Every field of a file must be there (but those that are unusual), and no other key. Texts and lists
/// belong to the reader. Names are looked up in `rig`; the chain that a list of bones describes is made in it, with the
/// origin `origin`.
///
/// Ranges are not checked here but where the record is added to the rig.
FID_NODISCARD fid_code fid_format_read_fields(fid_json_reader *reader, const fid_json_node *node, fid_rig *rig,
                                              const fid_schema *schema, void *record, int32_t origin,
                                              const char *const *more, int32_t more_count,
                                              const fid_json_node **more_out);

/// Reads one value: the name (or address) of a bone of the rig, or null where `may_be_null`.
FID_NODISCARD fid_code fid_format_read_bone(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                                            bool may_be_null, fid_bone_id *out);

/// A rigid frame: {"translation": [x, y, z], "rotation": [x, y, z, w]} with a unit quaternion of either sign.
FID_NODISCARD fid_code fid_format_read_frame(fid_json_reader *reader, const fid_json_node *node, fid_frame *out);

/// The name of a channel.
FID_NODISCARD fid_code fid_format_read_channel(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                                               fid_channel *out);

/// A bound: a number, or null for `open`.
FID_NODISCARD fid_code fid_format_read_bound(fid_json_reader *reader, const fid_json_node *node, float open,
                                             float *out);

/// `count` zeroed elements of `size` bytes that live as long as the reader; NULL, reported, where there is no memory.
void *fid_format_get_list(fid_json_reader *reader, int32_t count, size_t size);

/// Reads what a match sets (field_read_steps.c).
FID_NODISCARD fid_code fid_format_read_steps(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                                             fid_match_steps *out);

#endif
