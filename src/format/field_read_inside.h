#ifndef FID_FORMAT_FIELD_READ_INSIDE_H
#define FID_FORMAT_FIELD_READ_INSIDE_H

#include "format/field_read.h"

/// Private to field_read.c and field_read_source.c. All report what they refuse.

/// What the readers of single values share.
typedef struct fid_field_context {
    fid_json_reader *reader;
    fid_rig *rig;
    int32_t origin;
} fid_field_context;

/// Starts reading a list: `*list` has room for its `*count` elements.
fid_code fid_field_begin_list(fid_field_context *c, const fid_json_node *node, size_t size, void **list,
                              int32_t *count);

fid_code fid_field_read_amount(fid_field_context *c, const fid_json_node *node, fid_amount *out);
fid_code fid_field_read_source(fid_field_context *c, const fid_json_node *node, fid_source *out);

/// One factor, or a list of several.
fid_code fid_field_read_factors(fid_field_context *c, const fid_json_node *node, fid_factors *out);

fid_code fid_field_read_spaces(fid_field_context *c, const fid_json_node *node, fid_space_list *out);

/// The members `source` and `sources`, of which one is there.
fid_code fid_field_read_sources(fid_field_context *c, const fid_json_node *node, const fid_json_node *const *members,
                                fid_sources *out);

/// A channel, or null (none).
fid_code fid_field_read_maybe_channel(fid_field_context *c, const fid_json_node *node, fid_channel *out);

#endif
