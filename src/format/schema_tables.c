#include "format/schema_write.h"

#include "rig/bone.h"
#include "rig/constraint.h"
#include "rig/display.h"
#include "rig/drive.h"
#include "rig/layer.h"
#include "rig/match.h"
#include "rig/slider.h"
#include "rig/thresholds.h"

#include <string.h>

/// How files write a value, as the page for importers explains it.
static const char *value_of(const fid_field *field) {
    bool is_required = (field->flags & FID_FIELD_REQUIRED) != 0;
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        return "true or false";
    case FID_TYPE_NUMBER:
        return "number";
    case FID_TYPE_CHOICE:
        return "one of";
    case FID_TYPE_TEXT:
        return is_required ? "text" : "text or null";
    case FID_TYPE_COLOR:
        return "color";
    case FID_TYPE_WORDS:
        return "list of texts";
    case FID_TYPE_INDEX:
        return "list of at most two whole numbers";
    case FID_TYPE_VECTOR:
        return "vector";
    case FID_TYPE_MAYBE_VECTOR:
        return "vector or null";
    case FID_TYPE_FRAME:
        return "frame";
    case FID_TYPE_BONE:
        return is_required ? "bone" : "bone or null";
    case FID_TYPE_BONES:
    case FID_TYPE_CHAIN:
        return "list of bones";
    case FID_TYPE_SET:
        return "display set or null";
    case FID_TYPE_OUTLINE:
        return "outline or null";
    case FID_TYPE_CHANNEL:
        return is_required ? "channel" : "channel or null";
    case FID_TYPE_AMOUNT:
        return "amount";
    case FID_TYPE_SOURCE:
        return is_required ? "source" : "source or null";
    case FID_TYPE_SOURCES:
        return "sources";
    case FID_TYPE_FACTORS:
        return "channel, measure, or list of these";
    case FID_TYPE_SPACES:
        return "spaces";
    case FID_TYPE_AXES:
        return "axes";
    case FID_TYPE_TAKES:
        return "axes, whole groups";
    case FID_TYPE_AXIS_RANGE:
        return "ranges";
    case FID_TYPE_NUMBERS:
        return "list of numbers";
    case FID_TYPE_POSES:
        return "list of {at, pose}: pose is a list of {bone, translation, rotation (quaternion), scale}";
    case FID_TYPE_STEPS:
        return "list of {bone, like, neutral, plane_of}: like is a bone or null, plane_of the address of an ik or "
               "null; bone "
               "is null for the swivel of that ik";
    case FID_TYPE_BOUNDS:
        return "list of [lo, hi] or null";
    case FID_TYPE_CURVE:
        return "curve or null";
    case FID_TYPE_STROKES:
        return "strokes";
    }
    return "";
}

static bool has_range(const fid_field *field) {
    return field->type == FID_TYPE_NUMBER || field->type == FID_TYPE_AMOUNT || field->type == FID_TYPE_NUMBERS ||
           field->type == FID_TYPE_BOUNDS;
}

static void add_range(fid_text *out, const fid_field *field) {
    bool is_above = (field->flags & FID_FIELD_ABOVE_MIN) != 0;
    if (!has_range(field) || (field->min <= -FID_UNLIMITED && field->max >= FID_UNLIMITED)) {
        return;
    }
    fid_text_add(out, is_above ? ", above " : ", ");
    fid_text_add_number(out, field->min);
    fid_text_add(out, is_above ? " up to " : " to ");
    fid_text_add_number(out, field->max);
}

static void add_row(fid_text *out, const fid_field *field) {
    fid_text_addf(out, "| `%s` | %s", field->type == FID_TYPE_SOURCES ? "source` or `sources" : field->key,
                  value_of(field));
    for (int32_t i = 0; field->type == FID_TYPE_CHOICE && field->choices[i] != NULL; i++) {
        fid_text_addf(out, "%s \"%s\"", i > 0 ? "," : "", field->choices[i]);
    }
    add_range(out, field);
    fid_text_addf(out, " | %s | %s |\n", field->unit, field->doc);
    if (field->type == FID_TYPE_CHAIN) {
        fid_text_add(out, "| `with_end` | true or false |  | Whether the last bone stands at the last point and is no "
                          "segment |\n");
    }
}

static void add_table(fid_text *out, const fid_schema *schema) {
    fid_text_addf(out, "\n### %s\n\n%s.\n\n| key | value | unit | meaning |\n|---|---|---|---|\n", schema->name,
                  schema->doc);
    for (int32_t i = 0; i < schema->count; i++) {
        if ((schema->fields[i].flags & FID_FIELD_SCRIPT) == 0) {
            add_row(out, &schema->fields[i]);
        }
    }
}

void fid_schema_tables(fid_text *out) {
    add_table(out, &fid_bone_schema);
    add_table(out, &fid_slider_schema);
    for (int i = 0; i < FID_CONSTRAINT_KINDS; i++) {
        add_table(out, fid_constraint_schemas[i]);
    }
    add_table(out, &fid_drive_schema);
    add_table(out, &fid_layer_schema);
    add_table(out, &fid_match_schema);
    add_table(out, &fid_set_schema);
    add_table(out, &fid_outline_schema);
    add_table(out, &fid_thresholds_schema);
}
