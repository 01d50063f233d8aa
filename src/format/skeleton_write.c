#include "format/skeleton_write.h"

#include "format/field_write.h"
#include "format/json_scan.h"

#include <string.h>

/// Elements of the long lists begin a line after so many spaces; top-level keys after TOP_INDENT.
enum { TOP_INDENT = 1, ELEMENT_INDENT = 2 };

/// Which channels something reads or drives. Bit FID_TRANSLATION_X and so on of a bone; of a constraint its weight.
typedef struct channel_use {
    const fid_rig *rig;
    uint32_t *bones;
    uint32_t *weights;
} channel_use;

static void note_use(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    channel_use *use = user;
    (void)role;
    (void)bone;
    if (channel.kind == FID_CHANNEL_BONE) {
        use->bones[channel.owner.slot] |= 1u << channel.axis;
    } else if (channel.kind == FID_CHANNEL_WEIGHT) {
        use->weights[channel.owner.slot] = 1;
    }
}

/// `memory` has a zero for each bone and each constraint.
static channel_use find_use(const fid_rig *rig, uint32_t *memory) {
    channel_use use = {rig, memory, memory + rig->bones.count};
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint_def *def = &rig->constraints.at[i].def;
        fid_schema_references(fid_constraint_schemas[def->kind], def, rig, note_use, &use);
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        fid_schema_references(&fid_drive_schema, &rig->drives.at[i].def, rig, note_use, &use);
    }
    for (int32_t i = 0; i < rig->layers.count; i++) {
        fid_schema_references(&fid_layer_schema, &rig->layers.at[i].def, rig, note_use, &use);
    }
    return use;
}

static void write_index(fid_json_writer *writer, const char *key, int32_t index) {
    fid_json_key(writer, key);
    if (index < 0) {
        fid_json_null(writer);
    } else {
        fid_json_integer(writer, index);
    }
}

static void begin_top_list(fid_json_writer *writer, const char *key, int32_t indent) {
    fid_json_line(writer, indent);
    fid_json_key(writer, key);
    fid_json_begin_list(writer);
}

static void begin_element(fid_json_writer *writer) {
    fid_json_line(writer, ELEMENT_INDENT);
    fid_json_begin_object(writer);
}

static void write_head(fid_json_writer *writer, const fid_rig *rig) {
    fid_json_text_member(writer, "format", "fid-skeleton");
    fid_json_integer_member(writer, "version", 1);
    fid_json_text_member(writer, "generator", "fid " FID_VERSION);
    fid_json_text_member(writer, "name", rig->name);
    fid_json_key(writer, "units");
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "length", "m");
    fid_json_text_member(writer, "angle", "deg");
    fid_json_end_object(writer);
    fid_json_line(writer, TOP_INDENT);
    fid_json_key(writer, "axes");
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "up", "+y");
    fid_json_text_member(writer, "forward", "+z");
    fid_json_text_member(writer, "aim", "+z");
    fid_json_text_member(writer, "handedness", "right");
    fid_json_end_object(writer);
    fid_json_key(writer, "height");
    fid_json_number(writer, rig->height);
    fid_json_key(writer, "placement");
    fid_format_write_bone(writer, rig, rig->placement);
}

static void write_naming(fid_json_writer *writer, const fid_naming *naming) {
    fid_json_line(writer, TOP_INDENT);
    fid_json_key(writer, "naming");
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "template", naming->template_text);
    fid_json_text_member(writer, "index", naming->index);
    fid_json_key(writer, "sides");
    fid_json_begin_object(writer);
    for (int i = 0; i < 3; i++) {
        fid_json_text_member(writer, fid_side_names[i], naming->sides[i]);
    }
    fid_json_end_object(writer);
    fid_json_key(writer, "roles");
    fid_json_begin_object(writer);
    for (int i = 0; i < 3; i++) {
        fid_json_text_member(writer, fid_role_names[i], naming->roles[i]);
    }
    fid_json_end_object(writer);
    fid_json_end_object(writer);
}

static void write_thresholds(fid_json_writer *writer, const fid_rig *rig) {
    const fid_thresholds usual = fid_thresholds_default();
    if (memcmp(&usual, &rig->thresholds, sizeof usual) != 0) {
        fid_json_line(writer, TOP_INDENT);
        fid_json_key(writer, "thresholds");
        fid_json_begin_object(writer);
        fid_format_write_fields(writer, rig, &fid_thresholds_schema, &rig->thresholds);
        fid_json_end_object(writer);
    }
}

static void write_modules(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "modules", TOP_INDENT);
    for (int32_t i = 0; i < rig->modules.count; i++) {
        const fid_module_mark *mark = &rig->modules.at[i];
        begin_element(writer);
        fid_json_text_member(writer, "name", mark->name);
        fid_json_text_member(writer, "version", mark->version);
        fid_json_text_member(writer, "sha256", mark->sha256);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_bones(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "bones", TOP_INDENT);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        begin_element(writer);
        fid_json_text_member(writer, "name", bone->name);
        fid_json_text_member(writer, "address", bone->address);
        fid_format_write_fields(writer, rig, &fid_bone_schema, &bone->def);
        write_index(writer, "origin", bone->def.origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_limit(fid_json_writer *writer, const char *key, float limit) {
    fid_json_key(writer, key);
    if (limit <= -FID_UNLIMITED || limit >= FID_UNLIMITED) {
        fid_json_null(writer);
    } else {
        fid_json_number(writer, limit);
    }
}

static void begin_channel(fid_json_writer *writer, const fid_rig *rig, fid_channel channel,
                          const fid_channel_info *info) {
    begin_element(writer);
    fid_json_key(writer, "name");
    fid_format_write_channel(writer, rig, channel);
    fid_json_key(writer, "default");
    fid_json_number(writer, info->rest);
    write_limit(writer, "min", info->min);
    write_limit(writer, "max", info->max);
    fid_json_key(writer, "animatable");
    fid_json_boolean(writer, info->animatable);
}

static void write_bone_channels(fid_json_writer *writer, const fid_rig *rig, int32_t bone, uint32_t used) {
    bool is_placement = fid_rig_bone_index(rig, rig->placement) == bone;
    for (int axis = 0; axis < FID_AXIS_COUNT; axis++) {
        // The placement's one scale is the channel of its first axis.
        if (is_placement && axis > FID_SCALE_X) {
            return;
        }
        fid_channel channel = {FID_CHANNEL_BONE, (fid_axis)axis, fid_rig_bone_at(rig, bone).handle};
        fid_channel_info info = fid_rig_channel_info(rig, channel);
        bool is_limited = info.min > -FID_UNLIMITED || info.max < FID_UNLIMITED;
        if (info.animatable || is_limited || (used >> axis & 1u) != 0) {
            begin_channel(writer, rig, channel, &info);
            fid_json_end_object(writer);
        }
    }
}

static void write_slider(fid_json_writer *writer, const fid_rig *rig, int32_t i) {
    fid_slider_def def = rig->sliders.at[i].def;
    fid_text name = {0};
    fid_rig_add_channel_name(rig, (fid_channel){FID_CHANNEL_SLIDER, (fid_axis)0, fid_rig_slider_at(rig, i).handle},
                             &name);
    if (name.failed) {
        writer->out->failed = true;
    } else {
        def.name = name.at;
        begin_element(writer);
        fid_format_write_fields(writer, rig, &fid_slider_schema, &def);
        fid_json_end_object(writer);
    }
    fid_text_clear(&name);
}

static void write_channels(fid_json_writer *writer, const fid_rig *rig, const channel_use *use) {
    begin_top_list(writer, "channels", TOP_INDENT);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        write_bone_channels(writer, rig, i, use->bones[i]);
    }
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        write_slider(writer, rig, i);
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        if (use->weights[i] != 0) {
            fid_channel channel = {FID_CHANNEL_WEIGHT, (fid_axis)0, fid_rig_constraint_at(rig, i).handle};
            fid_channel_info info = fid_rig_channel_info(rig, channel);
            begin_channel(writer, rig, channel, &info);
            fid_json_end_object(writer);
        }
    }
    fid_json_end_list(writer);
}

static void write_constraints(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "constraints", TOP_INDENT);
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        const fid_schema *schema = fid_constraint_schemas[constraint->def.kind];
        begin_element(writer);
        fid_json_text_member(writer, "address", constraint->address);
        fid_json_text_member(writer, "kind", schema->name);
        fid_format_write_fields(writer, rig, schema, &constraint->def);
        write_index(writer, "origin", constraint->def.origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_drives(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "drives", TOP_INDENT);
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        begin_element(writer);
        fid_format_write_fields(writer, rig, &fid_drive_schema, def);
        write_index(writer, "origin", def->origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_layers(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "pose_layers", -1);
    for (int32_t i = 0; i < rig->layers.count; i++) {
        const fid_layer *layer = &rig->layers.at[i];
        begin_element(writer);
        fid_json_text_member(writer, "address", layer->address);
        fid_format_write_fields(writer, rig, &fid_layer_schema, &layer->def);
        write_index(writer, "origin", layer->def.origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_matches(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "matches", -1);
    for (int32_t i = 0; i < rig->matches.count; i++) {
        begin_element(writer);
        fid_format_write_fields(writer, rig, &fid_match_schema, &rig->matches.at[i]);
        write_index(writer, "origin", rig->matches.at[i].origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_moved(fid_json_writer *writer, const fid_rig *rig) {
    if (rig->moved.count == 0) {
        return;
    }
    begin_top_list(writer, "moved", -1);
    for (int32_t i = 0; i < rig->moved.count; i++) {
        const fid_moved *moved = &rig->moved.at[i];
        begin_element(writer);
        fid_json_text_member(writer, "from", moved->from);
        fid_json_key(writer, "to");
        if (fid_handle_is_null(moved->slider.handle)) {
            fid_format_write_bone(writer, rig, moved->bone);
        } else {
            fid_channel slider = {.kind = FID_CHANNEL_SLIDER, .owner = moved->slider.handle};
            fid_format_write_channel(writer, rig, slider);
        }
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_empty(fid_json_writer *writer, const char *key) {
    begin_top_list(writer, key, -1);
    fid_json_end_list(writer);
}

static void write_sets(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "display_sets", -1);
    for (int32_t i = 0; i < rig->sets.count; i++) {
        const fid_set_def *def = &rig->sets.at[i];
        begin_element(writer);
        fid_format_write_fields(writer, rig, &fid_set_schema, def);
        write_index(writer, "origin", def->origin);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_outlines(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "outlines", -1);
    for (int32_t i = 0; i < rig->outlines.count; i++) {
        begin_element(writer);
        fid_format_write_fields(writer, rig, &fid_outline_schema, &rig->outlines.at[i]);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_origins(fid_json_writer *writer, const fid_rig *rig) {
    begin_top_list(writer, "origins", TOP_INDENT);
    for (int32_t i = 0; i < rig->origins.count; i++) {
        const fid_origin *origin = &rig->origins.at[i];
        begin_element(writer);
        fid_json_text_member(writer, "file", origin->file);
        fid_json_integer_member(writer, "line", origin->line);
        fid_json_text_member(writer, "module", origin->module);
        fid_json_text_member(writer, "instance", origin->instance);
        write_index(writer, "used_at", origin->used_at);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

/// Gives the number of values written.
static int64_t write_document(const fid_rig *rig, const channel_use *use, fid_text *out) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    write_head(&writer, rig);
    write_naming(&writer, &rig->naming);
    write_thresholds(&writer, rig);
    write_modules(&writer, rig);
    write_bones(&writer, rig);
    write_channels(&writer, rig, use);
    write_constraints(&writer, rig);
    write_drives(&writer, rig);
    write_layers(&writer, rig);
    write_matches(&writer, rig);
    write_moved(&writer, rig);
    write_sets(&writer, rig);
    write_outlines(&writer, rig);
    write_empty(&writer, "skins");
    write_origins(&writer, rig);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
    return writer.count;
}

fid_code fid_skeleton_write(const fid_rig *rig, fid_text *out, fid_error *err) {
    size_t bones = (size_t)rig->bones.count, constraints = (size_t)rig->constraints.count;
    // One more of each, so that an empty rig asks for something.
    uint32_t *memory = fid_memory_get_zero(bones + constraints + 1, sizeof *memory);
    bool done = memory != NULL;
    int64_t count = 0;
    if (done) {
        channel_use use = find_use(rig, memory);
        count = write_document(rig, &use, out);
        done = !out->failed;
    }
    fid_memory_free(memory);
    // What is written can be read.
    if (done && (count > FID_JSON_ELEMENTS || out->count > FID_JSON_BYTES)) {
        return fid_fail(err, FID_LIMIT,
                        "the rig is too large for one file: %lld values and %d bytes; at most %d and %d are read",
                        (long long)count, (int)out->count, (int)FID_JSON_ELEMENTS, (int)FID_JSON_BYTES);
    }
    return done ? FID_OK : fid_no_memory(err);
}
