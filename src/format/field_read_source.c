#include "format/field_read_inside.h"

#include "rig/constraint.h"

#include <string.h>

/// The readers of what refers to elements of the rig: amounts, sources, factors of drives, spaces.

fid_code fid_field_read_amount(fid_field_context *c, const fid_json_node *node, fid_amount *out) {
    // The value of an amount that is a channel stays at the default, which is in range.
    out->channel = (fid_channel){.kind = FID_CHANNEL_NONE};
    if (fid_json_kind_of(node) == FID_JSON_TEXT) {
        return fid_format_read_channel(c->reader, node, c->rig, &out->channel);
    }
    if (fid_json_kind_of(node) != FID_JSON_NUMBER) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "must be a number or the name of a channel, not %s",
                             fid_json_kind_name(fid_json_kind_of(node)));
    }
    return fid_json_read_number(c->reader, node, &out->value);
}

static fid_code read_along(fid_field_context *c, const fid_json_node *node, fid_spot *out) {
    static const char *const keys[] = {"bone", "along"};
    const fid_json_node *members[2];
    fid_code code = fid_json_members(c->reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_format_read_bone(c->reader, members[0], c->rig, false, &out->bone) : code;
    return code == FID_OK ? fid_json_read_number(c->reader, members[1], &out->along) : code;
}

static fid_code read_spot(fid_field_context *c, const fid_json_node *node, fid_spot *out) {
    *out = (fid_spot){0};
    if (fid_json_kind_of(node) == FID_JSON_OBJECT) {
        return read_along(c, node, out);
    }
    return fid_format_read_bone(c->reader, node, c->rig, false, &out->bone);
}

static fid_code read_between(fid_field_context *c, const fid_json_node *node, fid_source *out) {
    static const char *const keys[] = {"between"};
    const fid_json_node *list;
    fid_code code = fid_json_members(c->reader, node, keys, 1, 0, &list);
    code = code == FID_OK ? fid_json_expect(c->reader, list, FID_JSON_LIST) : code;
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(list) != 3) {
        return fid_json_fail(c->reader, list, FID_INVALID, "", "must be a list of two points and a number");
    }
    const fid_json_node *first = fid_json_first(list);
    const fid_json_node *second = fid_json_next(first);
    out->kind = FID_SOURCE_BETWEEN;
    code = read_spot(c, first, &out->a);
    code = code == FID_OK ? read_spot(c, second, &out->b) : code;
    return code == FID_OK ? fid_json_read_number(c->reader, fid_json_next(second), &out->f) : code;
}

fid_code fid_field_read_source(fid_field_context *c, const fid_json_node *node, fid_source *out) {
    *out = (fid_source){0};
    switch (fid_json_kind_of(node)) {
    case FID_JSON_NULL:
        return FID_OK;
    case FID_JSON_TEXT:
        break;
    case FID_JSON_OBJECT: {
        const fid_json_node *key = fid_json_first(node);
        if (key != NULL && strcmp(fid_json_key_of(key), "between") == 0) {
            return read_between(c, node, out);
        }
        fid_code code = read_along(c, node, &out->a);
        out->kind = out->a.along == 0.0f ? FID_SOURCE_BONE : FID_SOURCE_POINT;
        return code;
    }
    default:
        return fid_json_fail(c->reader, node, FID_INVALID, "",
                             "must be a bone, \"rig\", \"world\", {\"bone\", \"along\"} or {\"between\"}, not %s",
                             fid_json_kind_name(fid_json_kind_of(node)));
    }
    if (strcmp(fid_json_string(node), "rig") == 0 || strcmp(fid_json_string(node), "world") == 0) {
        out->kind = fid_json_string(node)[0] == 'r' ? FID_SOURCE_RIG : FID_SOURCE_WORLD;
        return FID_OK;
    }
    out->kind = FID_SOURCE_BONE;
    return fid_format_read_bone(c->reader, node, c->rig, false, &out->a.bone);
}

/// A list [a, b] of two sources.
static fid_code read_distance(fid_field_context *c, const fid_json_node *node, fid_factor *out) {
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(node) != 2) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "must be a list of two points");
    }
    const fid_json_node *first = fid_json_first(node);
    code = fid_field_read_source(c, first, &out->a);
    return code == FID_OK ? fid_field_read_source(c, fid_json_next(first), &out->b) : code;
}

/// A list [a, axis, b, axis].
static fid_code read_angle(fid_field_context *c, const fid_json_node *node, fid_factor *out) {
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(node) != 4) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "must be a list [bone, axis, bone, axis]");
    }
    const fid_json_node *item = fid_json_first(node);
    code = fid_field_read_source(c, item, &out->a);
    item = fid_json_next(item);
    code = code == FID_OK ? fid_json_read_choice(c->reader, item, fid_aim_axis_names, &out->axis_a) : code;
    item = fid_json_next(item);
    code = code == FID_OK ? fid_field_read_source(c, item, &out->b) : code;
    item = fid_json_next(item);
    return code == FID_OK ? fid_json_read_choice(c->reader, item, fid_aim_axis_names, &out->axis_b) : code;
}

/// The name of a channel, or a measure.
static fid_code read_factor(fid_field_context *c, const fid_json_node *node, fid_factor *out) {
    static const char *const keys[] = {"distance", "angle", "twist"};
    const fid_json_node *members[3];
    *out = (fid_factor){.kind = FID_FACTOR_CHANNEL};
    if (fid_json_kind_of(node) == FID_JSON_TEXT) {
        return fid_format_read_channel(c->reader, node, c->rig, &out->channel);
    }
    if (fid_json_kind_of(node) != FID_JSON_OBJECT) {
        return fid_json_fail(c->reader, node, FID_INVALID, "",
                             "must be the name of a channel, {\"distance\"}, {\"angle\"} or {\"twist\"}, not %s",
                             fid_json_kind_name(fid_json_kind_of(node)));
    }
    fid_code code = fid_json_members(c->reader, node, keys, 3, 7, members);
    if (code != FID_OK) {
        return code;
    }
    if (fid_json_count(node) != 1) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "a measure has one of 'distance', 'angle', 'twist'");
    }
    if (members[0] != NULL) {
        out->kind = FID_FACTOR_DISTANCE;
        return read_distance(c, members[0], out);
    }
    if (members[1] != NULL) {
        out->kind = FID_FACTOR_ANGLE;
        return read_angle(c, members[1], out);
    }
    out->kind = FID_FACTOR_TWIST;
    out->a.kind = FID_SOURCE_BONE;
    return fid_format_read_bone(c->reader, members[2], c->rig, false, &out->a.a.bone);
}

fid_code fid_field_begin_list(fid_field_context *c, const fid_json_node *node, size_t size, void **list,
                              int32_t *count) {
    fid_code code = fid_json_expect(c->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    *count = fid_json_count(node);
    *list = fid_format_get_list(c->reader, *count, size);
    return *list != NULL ? FID_OK : FID_NO_MEMORY;
}

fid_code fid_field_read_factors(fid_field_context *c, const fid_json_node *node, fid_factors *out) {
    bool several = fid_json_kind_of(node) == FID_JSON_LIST;
    int32_t count = several ? fid_json_count(node) : 1;
    if (several && count < 2) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "a product has two factors or more");
    }
    fid_factor *factor = fid_format_get_list(c->reader, count, sizeof *factor);
    if (factor == NULL) {
        return FID_NO_MEMORY;
    }
    *out = (fid_factors){factor, count};
    if (!several) {
        return read_factor(c, node, factor);
    }
    fid_code code = FID_OK;
    for (const fid_json_node *item = fid_json_first(node); code == FID_OK && item != NULL; item = fid_json_next(item)) {
        code = read_factor(c, item, factor++);
    }
    return code;
}

static fid_code read_source_list(fid_field_context *c, const fid_json_node *node, fid_sources *out) {
    static const char *const keys[] = {"source", "share"};
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(fid_share), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    fid_share *share = list;
    out->at = share;
    for (const fid_json_node *item = fid_json_first(node); item != NULL; item = fid_json_next(item), share++) {
        const fid_json_node *members[2];
        code = fid_json_members(c->reader, item, keys, 2, 0, members);
        code = code == FID_OK ? fid_field_read_source(c, members[0], &share->source) : code;
        code = code == FID_OK ? fid_field_read_amount(c, members[1], &share->share) : code;
        if (code != FID_OK) {
            return code;
        }
    }
    return FID_OK;
}

/// The short form of one source with share 1.
static fid_code read_single_source(fid_field_context *c, const fid_json_node *node, fid_sources *out) {
    fid_share *share = fid_format_get_list(c->reader, 1, sizeof *share);
    if (share == NULL) {
        return FID_NO_MEMORY;
    }
    share->share.value = 1.0f;
    *out = (fid_sources){share, 1};
    return fid_field_read_source(c, node, &share->source);
}

static fid_code read_offset(fid_field_context *c, const fid_json_node *node, fid_space *out) {
    static const char *const offsets[] = {"rest", "none", NULL};
    if (fid_json_kind_of(node) == FID_JSON_OBJECT) {
        out->has_frame = true;
        return fid_format_read_frame(c->reader, node, &out->frame);
    }
    out->frame = FID_FRAME_IDENTITY;
    int32_t i = 0;
    fid_code code = fid_json_read_choice(c->reader, node, offsets, &i);
    out->at_rest = i == 0;
    return code;
}

/// A channel, or null (none).
fid_code fid_field_read_maybe_channel(fid_field_context *c, const fid_json_node *node, fid_channel *out) {
    *out = (fid_channel){.kind = FID_CHANNEL_NONE};
    return fid_json_kind_of(node) == FID_JSON_NULL ? FID_OK : fid_format_read_channel(c->reader, node, c->rig, out);
}

/// Where an entry was written, or null: with its constraint.
static fid_code read_entry_origin(fid_field_context *c, const fid_json_node *node, fid_space *out) {
    out->is_added = fid_json_kind_of(node) != FID_JSON_NULL;
    if (!out->is_added) {
        out->origin = -1;
        return FID_OK;
    }
    if (fid_json_kind_of(node) == FID_JSON_NUMBER && c->rig->origins.count == 0) {
        return fid_json_fail(c->reader, node, FID_UNKNOWN, "S201", "the file has no origins");
    }
    return fid_json_read_integer(c->reader, node, 0, c->rig->origins.count - 1, &out->origin);
}

fid_code fid_field_read_spaces(fid_field_context *c, const fid_json_node *node, fid_space_list *out) {
    static const char *const keys[] = {"name", "source", "offset", "meet", "by", "origin"};
    void *list;
    fid_code code = fid_field_begin_list(c, node, sizeof(fid_space), &list, &out->count);
    if (code != FID_OK) {
        return code;
    }
    fid_space *space = list;
    out->at = space;
    for (const fid_json_node *item = fid_json_first(node); item != NULL; item = fid_json_next(item), space++) {
        const fid_json_node *members[6];
        code = fid_json_members(c->reader, item, keys, 6, 0, members);
        code = code == FID_OK ? fid_json_read_text(c->reader, members[0], &space->name) : code;
        code = code == FID_OK ? fid_field_read_source(c, members[1], &space->source) : code;
        code = code == FID_OK ? read_offset(c, members[2], space) : code;
        code = code == FID_OK ? fid_format_read_bone(c->reader, members[3], c->rig, true, &space->meet) : code;
        code = code == FID_OK ? fid_field_read_maybe_channel(c, members[4], &space->by) : code;
        code = code == FID_OK ? read_entry_origin(c, members[5], space) : code;
        if (code != FID_OK) {
            return code;
        }
    }
    return FID_OK;
}

fid_code fid_field_read_sources(fid_field_context *c, const fid_json_node *node, const fid_json_node *const *members,
                                fid_sources *out) {
    if (members[0] != NULL && members[1] != NULL) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "'source' and 'sources' exclude each other");
    }
    if (members[0] == NULL && members[1] == NULL) {
        return fid_json_fail(c->reader, node, FID_INVALID, "", "key 'source' or 'sources' is missing");
    }
    return members[0] != NULL ? read_single_source(c, members[0], out) : read_source_list(c, members[1], out);
}
