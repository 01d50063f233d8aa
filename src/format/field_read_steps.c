#include "format/field_read.h"

/// A constraint by its address, or null.
static fid_code read_constraint(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                                fid_constraint_id *out) {
    const char *address = NULL;
    *out = (fid_constraint_id){0};
    fid_code code = fid_json_read_maybe_text(reader, node, &address);
    if (code != FID_OK || address == NULL) {
        return code;
    }
    *out = fid_rig_find_constraint(rig, address);
    return fid_handle_is_null(out->handle)
               ? fid_json_fail(reader, node, FID_UNKNOWN, "S201", "no constraint '%.96s'", address)
               : FID_OK;
}

fid_code fid_format_read_steps(fid_json_reader *reader, const fid_json_node *node, const fid_rig *rig,
                               fid_match_steps *out) {
    static const char *const keys[] = {"bone", "like", "neutral", "plane_of"};
    fid_code code = fid_json_expect(reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    out->count = fid_json_count(node);
    fid_match_step *step = fid_format_get_list(reader, out->count, sizeof *step);
    if (step == NULL) {
        return FID_NO_MEMORY;
    }
    out->at = step;
    for (const fid_json_node *item = fid_json_first(node); code == FID_OK && item != NULL;
         item = fid_json_next(item), step++) {
        const fid_json_node *members[4];
        code = fid_json_members(reader, item, keys, 4, 0, members);
        code = code == FID_OK ? fid_format_read_bone(reader, members[0], rig, true, &step->bone) : code;
        code = code == FID_OK ? fid_format_read_bone(reader, members[1], rig, true, &step->like) : code;
        code = code == FID_OK ? fid_json_read_boolean(reader, members[2], &step->neutral) : code;
        code = code == FID_OK ? read_constraint(reader, members[3], rig, &step->plane_of) : code;
    }
    return code;
}
