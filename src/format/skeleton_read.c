#include "format/skeleton_read.h"

#include "format/field_read.h"
#include "format/moved_read.h"

#include <stdio.h>
#include <string.h>

typedef enum top_key {
    TOP_FORMAT,
    TOP_VERSION,
    TOP_GENERATOR,
    TOP_NAME,
    TOP_UNITS,
    TOP_AXES,
    TOP_HEIGHT,
    TOP_PLACEMENT,
    TOP_NAMING,
    TOP_THRESHOLDS,
    TOP_MODULES,
    TOP_BONES,
    TOP_CHANNELS,
    TOP_CONSTRAINTS,
    TOP_DRIVES,
    TOP_POSE_LAYERS,
    TOP_MATCHES,
    TOP_MOVED,
    TOP_DISPLAY_SETS,
    TOP_OUTLINES,
    TOP_SKINS,
    TOP_ORIGINS,
    TOP_COUNT
} top_key;

static const char *const top_keys[TOP_COUNT] = {
    "format",  "version",    "generator",    "name",     "units",    "axes",        "height", "placement",
    "naming",  "thresholds", "modules",      "bones",    "channels", "constraints", "drives", "pose_layers",
    "matches", "moved",      "display_sets", "outlines", "skins",    "origins",
};

static const char *const origin_key[] = {"origin"};

/// What the parts of a reading share.
typedef struct reading {
    fid_json_reader reader;
    fid_rig *rig;
    const fid_json_node *top[TOP_COUNT];
    const char *placement; ///< name of the bone, or NULL
    uint32_t *seen;        ///< channels that the file has listed: bits by bone, then of each constraint its weight
} reading;

static fid_code fail_with(reading *r, const fid_json_node *node, fid_code code, const char *rule,
                          const fid_error *err) {
    (void)fid_json_fail_with(&r->reader, node, rule, err);
    return code;
}

/// An object whose members are all texts that are fixed.
static fid_code read_fixed(reading *r, top_key top, const char *const *keys, const char *const *values, int32_t count) {
    const fid_json_node *members[4];
    fid_code code = fid_json_members(&r->reader, r->top[top], keys, count, 0, members);
    for (int32_t i = 0; i < count && code == FID_OK; i++) {
        code = fid_json_read_fixed(&r->reader, members[i], values[i]);
    }
    return code;
}

static fid_code read_conventions(reading *r) {
    static const char *const unit_keys[] = {"length", "angle"};
    static const char *const units[] = {"m", "deg"};
    static const char *const axis_keys[] = {"up", "forward", "aim", "handedness"};
    static const char *const axes[] = {"+y", "+z", "+z", "right"};
    const char *generator;
    fid_code code = fid_json_read_text(&r->reader, r->top[TOP_GENERATOR], &generator);
    code = code == FID_OK ? read_fixed(r, TOP_UNITS, unit_keys, units, 2) : code;
    return code == FID_OK ? read_fixed(r, TOP_AXES, axis_keys, axes, 4) : code;
}

/// A text that fits into `size` bytes with its NUL.
static fid_code copy_text(reading *r, const fid_json_node *node, char *out, size_t size) {
    const char *text;
    fid_code code = fid_json_read_text(&r->reader, node, &text);
    if (code != FID_OK) {
        return code;
    }
    if (strlen(text) >= size) {
        return fid_json_fail(&r->reader, node, FID_LIMIT, "", "must be at most %d bytes long", (int)size - 1);
    }
    memcpy(out, text, strlen(text) + 1);
    return FID_OK;
}

static fid_code read_words(reading *r, const fid_json_node *node, const char *const *keys, char words[3][16]) {
    const fid_json_node *members[3];
    fid_code code = fid_json_members(&r->reader, node, keys, 3, 0, members);
    for (int i = 0; i < 3 && code == FID_OK; i++) {
        code = copy_text(r, members[i], words[i], sizeof words[i]);
    }
    return code;
}

static fid_code read_naming(reading *r, fid_naming *out) {
    static const char *const keys[] = {"template", "index", "sides", "roles"};
    const fid_json_node *members[4];
    fid_code code = fid_json_members(&r->reader, r->top[TOP_NAMING], keys, 4, 0, members);
    code = code == FID_OK ? copy_text(r, members[0], out->template_text, sizeof out->template_text) : code;
    code = code == FID_OK ? copy_text(r, members[1], out->index, sizeof out->index) : code;
    code = code == FID_OK ? read_words(r, members[2], fid_side_names, out->sides) : code;
    code = code == FID_OK ? read_words(r, members[3], fid_role_names, out->roles) : code;
    return code;
}

static fid_code read_thresholds(reading *r) {
    const fid_json_node *node = r->top[TOP_THRESHOLDS];
    if (node == NULL) {
        return FID_OK;
    }
    fid_thresholds thresholds = fid_thresholds_default();
    fid_code code =
        fid_format_read_fields(&r->reader, node, r->rig, &fid_thresholds_schema, &thresholds, -1, NULL, 0, NULL);
    fid_error err;
    if (code == FID_OK) {
        code = fid_rig_set_thresholds(r->rig, &thresholds, &err);
        code = code == FID_OK ? FID_OK : fail_with(r, node, code, "", &err);
    }
    return code;
}

static fid_code read_rig(reading *r) {
    const char *name = "";
    float height = 0.0f;
    fid_naming naming = {0};
    fid_code code = read_conventions(r);
    code = code == FID_OK ? fid_json_read_text(&r->reader, r->top[TOP_NAME], &name) : code;
    code = code == FID_OK ? fid_json_read_number(&r->reader, r->top[TOP_HEIGHT], &height) : code;
    code = code == FID_OK ? fid_json_read_maybe_text(&r->reader, r->top[TOP_PLACEMENT], &r->placement) : code;
    code = code == FID_OK ? read_naming(r, &naming) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    code = fid_rig_new(name, height, &naming, &r->rig, &err);
    if (code != FID_OK) {
        bool is_name = !fid_name_is_key(name);
        top_key top = code == FID_RANGE ? TOP_HEIGHT : is_name ? TOP_NAME : TOP_NAMING;
        return fail_with(r, r->top[top], code, top == TOP_NAMING ? "N101" : "", &err);
    }
    return read_thresholds(r);
}

/// An index below `count`, or null (-1).
static fid_code read_index(reading *r, const fid_json_node *node, int32_t count, int32_t *out) {
    *out = -1;
    if (fid_json_kind_of(node) == FID_JSON_NULL) {
        return FID_OK;
    }
    if (fid_json_kind_of(node) == FID_JSON_NUMBER && count == 0) {
        return fid_json_fail(&r->reader, node, FID_UNKNOWN, "S201", "no origin stands before this one");
    }
    return fid_json_read_integer(&r->reader, node, 0, count - 1, out);
}

/// Calls `read` for every element of a top-level list.
static fid_code read_each(reading *r, top_key top, fid_code (*read)(reading *r, const fid_json_node *node)) {
    fid_code code = fid_json_expect(&r->reader, r->top[top], FID_JSON_LIST);
    const fid_json_node *node = code == FID_OK ? fid_json_first(r->top[top]) : NULL;
    for (; node != NULL && code == FID_OK; node = fid_json_next(node)) {
        code = read(r, node);
    }
    return code;
}

static fid_code read_origin(reading *r, const fid_json_node *node) {
    static const char *const keys[] = {"file", "line", "module", "instance", "used_at"};
    const fid_json_node *members[5];
    fid_origin origin = {0};
    int32_t count = r->rig->origins.count;
    fid_code code = fid_json_members(&r->reader, node, keys, 5, 0, members);
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[0], &origin.file) : code;
    code = code == FID_OK ? fid_json_read_integer(&r->reader, members[1], 0, INT32_MAX, &origin.line) : code;
    code = code == FID_OK ? fid_json_read_maybe_text(&r->reader, members[2], &origin.module) : code;
    code = code == FID_OK ? fid_json_read_maybe_text(&r->reader, members[3], &origin.instance) : code;
    code = code == FID_OK ? read_index(r, members[4], count, &origin.used_at) : code;
    if (code != FID_OK) {
        return code;
    }
    int32_t index;
    fid_error err;
    code = fid_rig_add_origin(r->rig, &origin, &index, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    if (index != count) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "the same origin as number %d", (int)index);
    }
    return FID_OK;
}

static fid_code read_module(reading *r, const fid_json_node *node) {
    static const char *const keys[] = {"name", "version", "sha256"};
    const fid_json_node *members[3];
    fid_module_mark mark = {0};
    int32_t count = r->rig->modules.count;
    fid_code code = fid_json_members(&r->reader, node, keys, 3, 0, members);
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[0], &mark.name) : code;
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[1], &mark.version) : code;
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[2], &mark.sha256) : code;
    if (code != FID_OK) {
        return code;
    }
    if (strlen(mark.sha256) != 64 || strspn(mark.sha256, "0123456789abcdef") != 64) {
        return fid_json_fail(&r->reader, members[2], FID_INVALID, "", "must be 64 hexadecimal digits, small letters");
    }
    fid_error err;
    code = fid_rig_add_module(r->rig, &mark, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    if (r->rig->modules.count == count) {
        return fid_json_fail(&r->reader, members[0], FID_NAME_TAKEN, "", "module '%.64s' stands here twice", mark.name);
    }
    return FID_OK;
}

static fid_code read_set(reading *r, const fid_json_node *node) {
    fid_set_def def = fid_set_default();
    const fid_json_node *origin;
    fid_code code = fid_format_read_fields(&r->reader, node, r->rig, &fid_set_schema, &def, -1, origin_key, 1, &origin);
    code = code == FID_OK ? read_index(r, origin, r->rig->origins.count, &def.origin) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    fid_set_id id;
    code = fid_rig_add_set(r->rig, &def, &id, &err);
    return code == FID_OK ? FID_OK : fail_with(r, node, code, "", &err);
}

static fid_code read_outline(reading *r, const fid_json_node *node) {
    fid_outline_def def = fid_outline_default();
    fid_code code = fid_format_read_fields(&r->reader, node, r->rig, &fid_outline_schema, &def, -1, NULL, 0, NULL);
    if (code != FID_OK) {
        return code;
    }
    if (def.name == NULL) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "an outline needs a name");
    }
    fid_error err;
    fid_outline_id id;
    int32_t count = r->rig->outlines.count;
    code = fid_rig_add_outline(r->rig, &def, def.name, &id, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    if (r->rig->outlines.count == count) {
        return fid_json_fail(&r->reader, node, FID_NAME_TAKEN, "", "outline '%.64s' stands here twice", def.name);
    }
    return FID_OK;
}

/// Refuses a parent that the file has, but later: the message for a name that is nowhere would mislead.
static fid_code check_parent(reading *r, const fid_json_node *bone) {
    const fid_json_node *parent = fid_json_kind_of(bone) == FID_JSON_OBJECT ? fid_json_find(bone, "parent") : NULL;
    const char *name = parent != NULL ? fid_json_string(parent) : NULL;
    if (name == NULL || !fid_handle_is_null(fid_rig_find_bone(r->rig, name).handle)) {
        return FID_OK;
    }
    for (; bone != NULL; bone = fid_json_next(bone)) {
        const fid_json_node *other = fid_json_kind_of(bone) == FID_JSON_OBJECT ? fid_json_find(bone, "name") : NULL;
        const char *other_name = other != NULL ? fid_json_string(other) : NULL;
        if (other_name != NULL && strcmp(other_name, name) == 0) {
            return fid_json_fail(&r->reader, parent, FID_INVALID, "S201",
                                 "bone '%.64s' stands later in the file; parents come before children", name);
        }
    }
    return FID_OK;
}

/// Compares the bone that was added with the name and address of the file.
static fid_code check_name(reading *r, const fid_json_node *name_node, const char *name,
                           const fid_json_node *address_node, const char *address) {
    const fid_bone *bone = &r->rig->bones.at[r->rig->bones.count - 1];
    if (strcmp(bone->address, address) != 0) {
        return fid_json_fail(&r->reader, address_node, FID_INVALID, "N101", "the address must be written '%s'",
                             bone->address);
    }
    if (strcmp(bone->name, name) != 0) {
        return fid_json_fail(&r->reader, name_node, FID_INVALID, "N101",
                             "'%.64s' is not the name that the template gives to this address: '%s'", name, bone->name);
    }
    return FID_OK;
}

static fid_code add_bone(reading *r, const fid_json_node *node, fid_bone_def *def, const fid_json_node *address_node,
                         const char *address) {
    fid_error err;
    fid_name_parsed parsed;
    fid_code code = fid_address_parse(address, &parsed, &err);
    if (code != FID_OK) {
        return fail_with(r, address_node, code, "N101", &err);
    }
    const fid_name_fields *fields = &parsed.fields;
    if ((int32_t)fields->role != def->role) {
        return fid_json_fail(&r->reader, fid_json_find(node, "role"), FID_INVALID, "N101",
                             "the address says that the role is '%s'", fid_role_names[fields->role]);
    }
    def->id = fields->id;
    def->part = fields->part;
    def->side = (int32_t)fields->side;
    def->index[0] = fields->index_count;
    def->index[1] = fields->index[0];
    def->index[2] = fields->index[1];
    fid_bone_id id;
    code = fid_rig_add_bone(r->rig, def, &id, &err);
    return code == FID_OK ? FID_OK : fail_with(r, node, code, code == FID_NAME_TAKEN ? "N101" : "", &err);
}

static fid_code read_bone(reading *r, const fid_json_node *node) {
    static const char *const more[] = {"name", "address", "origin"};
    const fid_json_node *members[3];
    const char *name = "", *address = "";
    fid_bone_def def = fid_bone_default();
    fid_code code = check_parent(r, node);
    code = code == FID_OK
               ? fid_format_read_fields(&r->reader, node, r->rig, &fid_bone_schema, &def, -1, more, 3, members)
               : code;
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[0], &name) : code;
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[1], &address) : code;
    code = code == FID_OK ? read_index(r, members[2], r->rig->origins.count, &def.origin) : code;
    if (code != FID_OK) {
        return code;
    }
    // The list of channels says which may be posed.
    def.channels = 0;
    def.placement = r->placement != NULL && strcmp(r->placement, name) == 0;
    code = add_bone(r, node, &def, members[1], address);
    return code == FID_OK ? check_name(r, members[0], name, members[1], address) : code;
}

static fid_code check_placement(reading *r) {
    if (r->placement == NULL || !fid_handle_is_null(r->rig->placement.handle)) {
        return FID_OK;
    }
    fid_error err;
    fid_code code = fid_rig_no_bone(r->rig, r->placement, &err);
    return fail_with(r, r->top[TOP_PLACEMENT], code, "S201", &err);
}

enum { CHANNEL_NAME, CHANNEL_DEFAULT, CHANNEL_MIN, CHANNEL_MAX, CHANNEL_ANIMATABLE, CHANNEL_KEYS };

static const char *const channel_keys[CHANNEL_KEYS] = {"name", "default", "min", "max", "animatable"};

static fid_code read_channel_info(reading *r, const fid_json_node *const *members, fid_channel_info *out) {
    fid_code code = fid_json_read_number(&r->reader, members[CHANNEL_DEFAULT], &out->rest);
    code = code == FID_OK ? fid_format_read_bound(&r->reader, members[CHANNEL_MIN], -FID_UNLIMITED, &out->min) : code;
    code = code == FID_OK ? fid_format_read_bound(&r->reader, members[CHANNEL_MAX], FID_UNLIMITED, &out->max) : code;
    return code == FID_OK ? fid_json_read_boolean(&r->reader, members[CHANNEL_ANIMATABLE], &out->animatable) : code;
}

/// The bone of "BONE.SLIDER"; `*name` is what stands after the point.
static fid_code read_slider_bone(reading *r, const fid_json_node *node, const char **name, fid_bone_id *out) {
    const char *text = fid_json_string(node);
    const char *point = strrchr(text, '.');
    if (point == NULL || (size_t)(point - text) >= FID_ADDRESS_SIZE) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "must be the name of a bone, a point, and a name");
    }
    char bone[FID_ADDRESS_SIZE];
    memcpy(bone, text, (size_t)(point - text));
    bone[point - text] = '\0';
    *name = point + 1;
    *out = fid_rig_find_bone(r->rig, bone);
    if (!fid_handle_is_null(out->handle)) {
        return FID_OK;
    }
    fid_error err;
    fid_code code = fid_rig_no_bone(r->rig, bone, &err);
    return fail_with(r, node, code, "S201", &err);
}

static fid_code read_slider(reading *r, const fid_json_node *node) {
    fid_slider_def def = fid_slider_default();
    const fid_json_node *name = fid_json_find(node, channel_keys[CHANNEL_NAME]);
    fid_code code = fid_format_read_fields(&r->reader, node, r->rig, &fid_slider_schema, &def, -1, NULL, 0, NULL);
    code = code == FID_OK ? read_slider_bone(r, name, &def.name, &def.on) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_channel_info is = {def.rest, def.min, def.max, def.animatable};
    def.origin = r->rig->bones.at[fid_rig_bone_index(r->rig, def.on)].def.origin;
    fid_error err;
    fid_slider_id id;
    code = fid_rig_add_slider(r->rig, &def, &id, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    const fid_slider_def *made = &r->rig->sliders.at[r->rig->sliders.count - 1].def;
    if (made->rest != is.rest || made->min != is.min || made->max != is.max) {
        return fid_json_fail(&r->reader, node, FID_RANGE, "", "the range of %d choices is 0 to %d",
                             (int)made->choices.count, (int)made->choices.count - 1);
    }
    return FID_OK;
}

/// Refuses a channel that was listed before.
static fid_code note_channel(reading *r, const fid_json_node *name, int32_t at, int32_t bit) {
    if ((r->seen[at] >> bit & 1u) != 0) {
        return fid_json_fail(&r->reader, name, FID_NAME_TAKEN, "", "channel '%.96s' stands here twice",
                             fid_json_string(name));
    }
    r->seen[at] |= 1u << bit;
    return FID_OK;
}

static fid_code read_bone_channel(reading *r, const fid_json_node *node, const fid_json_node *const *members) {
    fid_channel channel;
    fid_channel_info info = {0};
    fid_code code = read_channel_info(r, members, &info);
    code = code == FID_OK ? fid_format_read_channel(&r->reader, members[CHANNEL_NAME], r->rig, &channel) : code;
    if (code != FID_OK) {
        return code;
    }
    if (channel.kind != FID_CHANNEL_BONE) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "",
                             "a slider needs the keys 'choices', 'doc' and 'hidden'");
    }
    if (info.rest != fid_axis_rest(channel.axis)) {
        return fid_json_fail(&r->reader, members[CHANNEL_DEFAULT], FID_INVALID, "S206", "this channel rests at %d",
                             (int)fid_axis_rest(channel.axis));
    }
    code = note_channel(r, members[CHANNEL_NAME], (int32_t)channel.owner.slot, (int32_t)channel.axis);
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    code = fid_rig_set_channel_range(r->rig, channel, info.min, info.max, info.animatable, &err);
    return code == FID_OK ? FID_OK : fail_with(r, node, code, "", &err);
}

/// Whether the channel is the weight of a constraint: only their addresses have a colon.
static bool is_weight(const fid_json_node *node) {
    const fid_json_node *name =
        fid_json_kind_of(node) == FID_JSON_OBJECT ? fid_json_find(node, channel_keys[CHANNEL_NAME]) : NULL;
    const char *text = name != NULL ? fid_json_string(name) : NULL;
    return text != NULL && strchr(text, ':') != NULL;
}

/// Sliders and channels of bones. Those of constraints are read after the constraints.
static fid_code read_channel(reading *r, const fid_json_node *node) {
    if (is_weight(node)) {
        return FID_OK;
    }
    if (fid_json_kind_of(node) == FID_JSON_OBJECT && fid_json_find(node, "choices") != NULL) {
        return read_slider(r, node);
    }
    const fid_json_node *members[CHANNEL_KEYS];
    fid_code code = fid_json_members(&r->reader, node, channel_keys, CHANNEL_KEYS, 0, members);
    return code == FID_OK ? read_bone_channel(r, node, members) : code;
}

/// Weights follow from the constraints; what the file says about them has to agree.
static fid_code read_weight(reading *r, const fid_json_node *node) {
    if (!is_weight(node)) {
        return FID_OK;
    }
    const fid_json_node *members[CHANNEL_KEYS];
    fid_channel channel;
    fid_channel_info info = {0};
    fid_code code = fid_json_members(&r->reader, node, channel_keys, CHANNEL_KEYS, 0, members);
    code = code == FID_OK ? read_channel_info(r, members, &info) : code;
    code = code == FID_OK ? fid_format_read_channel(&r->reader, members[CHANNEL_NAME], r->rig, &channel) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_channel_info is = fid_rig_channel_info(r->rig, channel);
    if (info.rest != is.rest || info.min != is.min || info.max != is.max || info.animatable != is.animatable) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "does not agree with the constraint that it weighs");
    }
    return note_channel(r, members[CHANNEL_NAME], r->rig->bones.count + (int32_t)channel.owner.slot, 0);
}

static fid_code read_kind(reading *r, const fid_json_node *node, fid_constraint_kind *out) {
    const char *names[FID_CONSTRAINT_KINDS + 1];
    for (int i = 0; i < FID_CONSTRAINT_KINDS; i++) {
        names[i] = fid_constraint_schemas[i]->name;
    }
    names[FID_CONSTRAINT_KINDS] = NULL;
    fid_code code = fid_json_expect(&r->reader, node, FID_JSON_OBJECT);
    if (code != FID_OK) {
        return code;
    }
    const fid_json_node *kind = fid_json_find(node, "kind");
    if (kind == NULL) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "key 'kind' is missing");
    }
    int32_t index = 0;
    code = fid_json_read_choice(&r->reader, kind, names, &index);
    *out = (fid_constraint_kind)index;
    return code;
}

/// The origin of a constraint before its members are read, because they may make a chain; -1 where it is none.
static int32_t peek_origin(const reading *r, const fid_json_node *node) {
    const fid_json_node *origin = fid_json_find(node, "origin");
    if (origin == NULL || fid_json_kind_of(origin) != FID_JSON_NUMBER) {
        return -1;
    }
    double value = fid_json_value(origin);
    return value >= 0.0 && value < (double)r->rig->origins.count ? (int32_t)value : -1;
}

/// Sliders stand among the channels; spaces of a file make none.
static fid_code check_space_sliders(reading *r, const fid_json_node *node, const fid_constraint_def *def) {
    if (def->kind != FID_CONSTRAINT_SPACES) {
        return FID_OK;
    }
    const fid_spaces *spaces = &def->as.spaces;
    if (!spaces->mixed && spaces->by.kind == FID_CHANNEL_NONE) {
        return fid_json_fail(&r->reader, fid_json_find(node, "by"), FID_INVALID, "", "must be the slider that chooses");
    }
    if (spaces->mixed && spaces->among.count > 0 && spaces->among.at[0].by.kind == FID_CHANNEL_NONE) {
        return fid_json_fail(&r->reader, fid_json_find(node, "among"), FID_INVALID, "",
                             "'by' of each entry must be a slider, its share: they are mixed");
    }
    return FID_OK;
}

static fid_code read_constraint(reading *r, const fid_json_node *node) {
    static const char *const more[] = {"address", "kind", "origin"};
    const fid_json_node *members[3];
    const char *address = "";
    fid_constraint_kind kind = FID_CONSTRAINT_FOLLOW;
    fid_code code = read_kind(r, node, &kind);
    if (code != FID_OK) {
        return code;
    }
    fid_constraint_def def = fid_constraint_default(kind);
    code = fid_format_read_fields(&r->reader, node, r->rig, fid_constraint_schemas[kind], &def, peek_origin(r, node),
                                  more, 3, members);
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[0], &address) : code;
    code = code == FID_OK ? read_index(r, members[2], r->rig->origins.count, &def.origin) : code;
    code = code == FID_OK ? check_space_sliders(r, node, &def) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    fid_constraint_id id;
    code = fid_rig_add_constraint(r->rig, &def, &id, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    const char *is = r->rig->constraints.at[r->rig->constraints.count - 1].address;
    if (strcmp(is, address) != 0) {
        return fid_json_fail(&r->reader, members[0], FID_INVALID, "N101", "the address of this constraint is '%s'", is);
    }
    return FID_OK;
}

static fid_code read_drive(reading *r, const fid_json_node *node) {
    fid_drive_def def = fid_drive_default();
    const fid_json_node *origin;
    fid_code code =
        fid_format_read_fields(&r->reader, node, r->rig, &fid_drive_schema, &def, -1, origin_key, 1, &origin);
    code = code == FID_OK ? read_index(r, origin, r->rig->origins.count, &def.origin) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    fid_drive_id id;
    code = fid_rig_add_drive(r->rig, &def, &id, &err);
    return code == FID_OK ? FID_OK : fail_with(r, node, code, "", &err);
}

/// Takes the address of a layer apart: id, name, side; the id may hold several words.
static bool split_address(const char *address, char id[FID_ADDRESS_SIZE], char name[FID_ADDRESS_SIZE],
                          fid_layer_def *def) {
    const char *end = address + strlen(address), *slash = strrchr(address, '/');
    def->side = FID_CENTER;
    for (int side = FID_LEFT; slash != NULL && side <= FID_RIGHT; side++) {
        if (strcmp(slash + 1, fid_side_names[side]) == 0) {
            def->side = side;
            end = slash;
            break;
        }
    }
    const char *start = address;
    const char *first = memchr(address, '/', (size_t)(end - address));
    if (first != NULL) {
        snprintf(id, FID_ADDRESS_SIZE, "%.*s", (int)(first - address), address);
        def->id = id;
        start = first + 1;
    }
    snprintf(name, FID_ADDRESS_SIZE, "%.*s", (int)(end - start), start);
    def->name = name;
    return end - start < FID_ADDRESS_SIZE - 1 && fid_name_is_key(name);
}

static fid_code read_layer(reading *r, const fid_json_node *node) {
    static const char *const more[] = {"address", "origin"};
    const fid_json_node *members[2];
    const char *address = "";
    char id[FID_ADDRESS_SIZE], name[FID_ADDRESS_SIZE];
    fid_layer_def def = fid_layer_default();
    fid_code code = fid_format_read_fields(&r->reader, node, r->rig, &fid_layer_schema, &def, -1, more, 2, members);
    code = code == FID_OK ? fid_json_read_text(&r->reader, members[0], &address) : code;
    code = code == FID_OK ? read_index(r, members[1], r->rig->origins.count, &def.origin) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    fid_layer_id layer;
    if (!split_address(address, id, name, &def)) {
        return fid_json_fail(&r->reader, members[0], FID_INVALID, "N101", "this is no address of a pose layer");
    }
    code = fid_rig_add_layer(r->rig, &def, &layer, &err);
    if (code != FID_OK) {
        return fail_with(r, node, code, "", &err);
    }
    const char *is = r->rig->layers.at[r->rig->layers.count - 1].address;
    return strcmp(is, address) == 0 ? FID_OK
                                    : fid_json_fail(&r->reader, members[0], FID_INVALID, "N101",
                                                    "the address of this pose layer is '%s'", is);
}

static fid_code read_match(reading *r, const fid_json_node *node) {
    fid_match_def def = fid_match_default();
    const fid_json_node *origin;
    fid_code code =
        fid_format_read_fields(&r->reader, node, r->rig, &fid_match_schema, &def, -1, origin_key, 1, &origin);
    code = code == FID_OK ? read_index(r, origin, r->rig->origins.count, &def.origin) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_error err;
    code = fid_rig_add_match(r->rig, &def, &err);
    return code == FID_OK ? FID_OK : fail_with(r, node, code, "", &err);
}

static fid_code read_moved(reading *r, const fid_json_node *node) {
    return fid_format_read_moved(&r->reader, node, r->rig);
}

static fid_code refuse(reading *r, const fid_json_node *node) {
    return fid_json_fail(&r->reader, node, FID_INVALID, "", "this list must be empty in version 1");
}

/// Room to note every channel of a bone, and every weight, that the list of channels names.
static fid_code make_seen(reading *r) {
    int32_t constraints =
        fid_json_kind_of(r->top[TOP_CONSTRAINTS]) == FID_JSON_LIST ? fid_json_count(r->top[TOP_CONSTRAINTS]) : 0;
    r->seen = fid_format_get_list(&r->reader, r->rig->bones.count + constraints, sizeof *r->seen);
    return r->seen != NULL ? FID_OK : FID_NO_MEMORY;
}

static fid_code read_document(reading *r) {
    fid_code code = fid_json_read_header(&r->reader, "fid-skeleton", 1);
    code = code == FID_OK ? fid_json_members(&r->reader, r->reader.root, top_keys, TOP_COUNT,
                                             1u << TOP_THRESHOLDS | 1u << TOP_MOVED, r->top)
                          : code;
    code = code == FID_OK ? read_rig(r) : code;
    code = code == FID_OK ? read_each(r, TOP_ORIGINS, read_origin) : code;
    code = code == FID_OK ? read_each(r, TOP_MODULES, read_module) : code;
    code = code == FID_OK ? read_each(r, TOP_DISPLAY_SETS, read_set) : code;
    code = code == FID_OK ? read_each(r, TOP_OUTLINES, read_outline) : code;
    code = code == FID_OK ? read_each(r, TOP_BONES, read_bone) : code;
    code = code == FID_OK ? check_placement(r) : code;
    code = code == FID_OK ? make_seen(r) : code;
    code = code == FID_OK ? read_each(r, TOP_CHANNELS, read_channel) : code;
    code = code == FID_OK ? read_each(r, TOP_CONSTRAINTS, read_constraint) : code;
    code = code == FID_OK ? read_each(r, TOP_CHANNELS, read_weight) : code;
    code = code == FID_OK ? read_each(r, TOP_DRIVES, read_drive) : code;
    code = code == FID_OK ? read_each(r, TOP_POSE_LAYERS, read_layer) : code;
    code = code == FID_OK ? read_each(r, TOP_MATCHES, read_match) : code;
    code = code == FID_OK && r->top[TOP_MOVED] != NULL ? read_each(r, TOP_MOVED, read_moved) : code;
    return code == FID_OK ? read_each(r, TOP_SKINS, refuse) : code;
}

fid_code fid_skeleton_read(const char *text, size_t count, const char *name_of_file, fid_rig **out,
                           fid_report *report) {
    reading r = {0};
    *out = NULL;
    fid_code code = fid_json_open(&r.reader, text, count, name_of_file, report);
    code = code == FID_OK ? read_document(&r) : code;
    fid_json_close(&r.reader);
    if (code != FID_OK) {
        fid_rig_free(r.rig);
        return code;
    }
    *out = r.rig;
    return FID_OK;
}
