#include "format/schema_write.h"

#include "format/json_write.h"
#include "rig/bone.h"
#include "rig/constraint.h"
#include "rig/display.h"
#include "rig/drive.h"
#include "rig/layer.h"
#include "rig/match.h"
#include "rig/slider.h"
#include "rig/thresholds.h"

#include <stdio.h>
#include <string.h>

enum { TOP_INDENT = 1, DEFINITION_INDENT = 2, PROPERTY_INDENT = 3, DESCRIPTION_SIZE = 256 };

/// A definition or property that is not made from a descriptor.
typedef struct fixed {
    const char *key;
    const char *json;
} fixed;

#define REF(name) "{\"$ref\": \"#/$defs/" name "\"}"
#define OBJECT(required, properties)                                                   \
    "{\"type\": \"object\", \"additionalProperties\": false, \"required\": [" required \
    "], \"properties\": {" properties "}}"
#define LIST(item) "{\"type\": \"array\", \"items\": " item "}"
#define NONE "{\"type\": \"null\"}"

static const fixed definitions[] = {
    {"vector",
     "{\"description\": \"x, y, z\", \"type\": \"array\", \"items\": {\"type\": \"number\"}, \"minItems\": 3, "
     "\"maxItems\": 3}"},
    {"quaternion", "{\"description\": \"x, y, z, w of length 1, w >= 0\", \"type\": \"array\", \"items\": {\"type\": "
                   "\"number\", \"minimum\": -1.001, \"maximum\": 1.001}, \"minItems\": 4, \"maxItems\": 4}"},
    {"frame",
     OBJECT("\"translation\", \"rotation\"", "\"translation\": " REF("vector") ", \"rotation\": " REF("quaternion"))},
    {"origin", "{\"description\": \"index into origins\", \"type\": [\"integer\", \"null\"], \"minimum\": 0}"},
    {"point", "{\"description\": \"the base of a bone, or a point along it\", \"oneOf\": [{\"type\": \"string\", "
              "\"minLength\": 1}, " REF("along") "]}"},
    {"along", OBJECT("\"bone\", \"along\"", "\"bone\": {\"type\": \"string\", \"minLength\": 1}, \"along\": {\"type\": "
                                            "\"number\", \"minimum\": 0, \"maximum\": 1}")},
    {"between", OBJECT("\"between\"", "\"between\": {\"type\": \"array\", \"prefixItems\": [" REF("point") ", " REF(
                                          "point") ", {\"type\": \"number\", \"minimum\": 0, \"maximum\": 1}], "
                                                   "\"items\": false, \"minItems\": 3}")},
    {"source", "{\"description\": \"a bone, rig, world, a point along a bone, or one between two points\", \"oneOf\": "
               "[{\"type\": \"string\", \"minLength\": 1}, " REF("along") ", " REF("between") "]}"},
    {"share",
     OBJECT("\"source\", \"share\"", "\"source\": " REF("source") ", \"share\": {\"type\": [\"number\", "
                                                                  "\"string\"], \"minimum\": 0, \"maximum\": 1}")},
    {"axis", "{\"enum\": [\"+x\", \"-x\", \"+y\", \"-y\", \"+z\", \"-z\"]}"},
    {"distance",
     OBJECT("\"distance\"", "\"distance\": {\"type\": \"array\", \"items\": " REF("source") ", \"minItems\": 2, "
                                                                                            "\"maxItems\": 2}")},
    {"angle",
     OBJECT("\"angle\"", "\"angle\": {\"type\": \"array\", \"prefixItems\": [" REF("name") ", " REF("axis") ", " REF(
                             "name") ", " REF("axis") "], \"items\": false, \"minItems\": 4}")},
    {"name", "{\"description\": \"a bone, rig or world\", \"oneOf\": [{\"type\": \"string\", \"minLength\": 1}, " REF(
                 "along") "]}"},
    {"twist_of", OBJECT("\"twist\"", "\"twist\": {\"type\": \"string\", \"minLength\": 1}")},
    {"factor", "{\"description\": \"a channel, or a measure of bones\", \"oneOf\": [{\"type\": \"string\", "
               "\"minLength\": 1}, " REF("distance") ", " REF("angle") ", " REF("twist_of") "]}"},
    {"space",
     OBJECT(
         "\"name\", \"source\", \"offset\", \"meet\", \"by\", \"origin\"",
         "\"name\": {\"type\": \"string\", \"pattern\": \"^[a-z][a-z0-9_]*$\"}, \"source\": " REF(
             "source") ", \"offset\": {\"oneOf\": [{\"enum\": [\"rest\", \"none\"]}, " REF("frame") "]}, "
                                                                                                    "\"meet\": "
                                                                                                    "{\"type\": "
                                                                                                    "[\"string\", "
                                                                                                    "\"null\"]}, "
                                                                                                    "\"by\": "
                                                                                                    "{\"type\": "
                                                                                                    "[\"string\", "
                                                                                                    "\"null\"]}, "
                                                                                                    "\"origin\": "
                                                                                                    "{\"type\": "
                                                                                                    "[\"integer\", "
                                                                                                    "\"null\"], "
                                                                                                    "\"minimum\": 0}")},
    {"bounds", "{\"description\": \"lowest and highest value; null: open\", \"oneOf\": [" NONE
               ", {\"type\": \"array\", \"items\": {\"type\": [\"number\", \"null\"]}, \"minItems\": 2, \"maxItems\": "
               "2}]}"},
    {"axis_range", "{\"oneOf\": [" NONE ", " OBJECT(
                       "\"x\", \"y\", \"z\"", "\"x\": " REF("bounds") ", \"y\": " REF("bounds") ", \"z\": "
                                                                                                "" REF("bounds")) "]}"},
    {"curve",
     "{\"oneOf\": [" NONE
     ", " OBJECT("\"interpolation\", \"points\"",
                 "\"interpolation\": {\"enum\": [\"linear\", \"smooth\"]}, \"points\": {\"type\": \"array\", "
                 "\"minItems\": 2, "
                 "\"items\": {\"type\": \"array\", \"items\": {\"type\": \"number\"}, \"minItems\": 2, \"maxItems\": "
                 "2}}") ", " OBJECT("\"power\", \"sign\"", "\"power\": {\"type\": \"number\", \"exclusiveMinimum\": 0, "
                                                           "\"maximum\": 100}, \"sign\": {\"enum\": [1, -1]}") "]}"},
    {"layer_pose",
     OBJECT("\"at\", \"pose\"",
            "\"at\": {\"type\": \"number\"}, \"pose\": {\"type\": \"array\", \"items\": " OBJECT(
                "\"bone\", \"translation\", \"rotation\", \"scale\"",
                "\"bone\": {\"type\": \"string\"}, \"translation\": " REF(
                    "vector") ", \"rotation\": {\"type\": \"array\", \"items\": "
                              "{\"type\": \"number\"}, \"minItems\": 4, \"maxItems\": 4}, \"scale\": " REF(
                                  "vector")) "}")},
    {"match_step", OBJECT("\"bone\", \"like\", \"neutral\", \"plane_of\"",
                          "\"bone\": {\"type\": [\"string\", \"null\"]}, \"like\": {\"type\": [\"string\", \"null\"]}, "
                          "\"neutral\": {\"type\": \"boolean\"}, \"plane_of\": {\"type\": [\"string\", \"null\"]}")},
    {"move", OBJECT("\"from\", \"to\"", "\"from\": {\"type\": \"string\", \"minLength\": 1}, \"to\": {\"type\": "
                                        "\"string\", \"minLength\": 1}")},
    {"stroke",
     OBJECT("\"closed\", \"points\"", "\"closed\": {\"type\": \"boolean\"}, \"points\": {\"type\": \"array\", "
                                      "\"items\": " REF("vector") ", \"minItems\": 2}")},
    {"channel",
     OBJECT(
         "\"name\", \"default\", \"min\", \"max\", \"animatable\"",
         "\"name\": {\"type\": \"string\", \"minLength\": 1}, \"default\": {\"type\": \"number\"}, \"min\": {\"type\": "
         "[\"number\", \"null\"]}, \"max\": {\"type\": [\"number\", \"null\"]}, \"animatable\": {\"type\": "
         "\"boolean\"}")},
    {"module", OBJECT("\"name\", \"version\", \"sha256\"",
                      "\"name\": {\"type\": \"string\"}, \"version\": {\"type\": \"string\"}, \"sha256\": {\"type\": "
                      "\"string\", \"pattern\": \"^[0-9a-f]{64}$\"}")},
    {"place",
     OBJECT("\"file\", \"line\", \"module\", \"instance\", \"used_at\"",
            "\"file\": {\"type\": \"string\"}, \"line\": {\"type\": \"integer\", \"minimum\": 0}, \"module\": "
            "{\"type\": [\"string\", \"null\"]}, \"instance\": {\"type\": [\"string\", \"null\"]}, \"used_at\": "
            "" REF("origin"))},
};

static const fixed properties[] = {
    {"format", "{\"const\": \"fid-skeleton\"}"},
    {"version", "{\"const\": 1}"},
    {"generator", "{\"type\": \"string\"}"},
    {"name", "{\"type\": \"string\", \"pattern\": \"^[a-z][a-z0-9_]*$\", \"maxLength\": 64}"},
    {"units", "{\"const\": {\"length\": \"m\", \"angle\": \"deg\"}}"},
    {"axes", "{\"const\": {\"up\": \"+y\", \"forward\": \"+z\", \"aim\": \"+z\", \"handedness\": \"right\"}}"},
    {"height", "{\"type\": \"number\", \"exclusiveMinimum\": 0, \"maximum\": 10000}"},
    {"placement", "{\"type\": [\"string\", \"null\"]}"},
    {"naming",
     OBJECT("\"template\", \"index\", \"sides\", \"roles\"",
            "\"template\": {\"type\": \"string\", \"maxLength\": 95}, \"index\": {\"type\": \"string\", \"maxLength\": "
            "7}, \"sides\": " OBJECT(
                "\"left\", \"right\", \"center\"",
                "\"left\": {\"type\": \"string\"}, \"right\": {\"type\": \"string\"}, "
                "\"center\": {\"type\": \"string\"}") ", \"roles\": " OBJECT("\"deform\", \"helper\", \"control\"",
                                                                             "\"deform\": {\"type\": \"string\"}, "
                                                                             "\"helper\": {\"type\": \"string\"}, "
                                                                             "\"control\": {\"type\": "
                                                                             "\"string\"}"))},
    {"thresholds", REF("thresholds")},
    {"modules", LIST(REF("module"))},
    {"bones", LIST(REF("bone"))},
    {"channels", LIST("{\"oneOf\": [" REF("channel") ", " REF("slider") "]}")},
    {"constraints", NULL},
    {"drives", LIST(REF("drive"))},
    {"pose_layers", LIST(REF("pose_layer"))},
    {"matches", LIST(REF("match"))},
    {"moved", LIST(REF("move"))},
    {"display_sets", LIST(REF("display_set"))},
    {"outlines", LIST(REF("outline"))},
    {"skins", "{\"const\": []}"},
    {"origins", LIST(REF("place"))},
};

static void write_raw(fid_json_writer *writer, const char *key, const char *json) {
    fid_json_key(writer, key);
    fid_json_raw(writer, json);
}

static bool is_bound(const fid_field *field) {
    return field->type == FID_TYPE_NUMBER && (strcmp(field->key, "min") == 0 || strcmp(field->key, "max") == 0);
}

static bool is_required(const fid_field *field) { return (field->flags & FID_FIELD_REQUIRED) != 0; }

static void write_range(fid_json_writer *writer, const fid_field *field) {
    if (field->min > -FID_UNLIMITED) {
        fid_json_key(writer, (field->flags & FID_FIELD_ABOVE_MIN) != 0 ? "exclusiveMinimum" : "minimum");
        fid_json_number(writer, field->min);
    }
    if (field->max < FID_UNLIMITED) {
        fid_json_key(writer, "maximum");
        fid_json_number(writer, field->max);
    }
}

static void write_words(fid_json_writer *writer, const char *key, const char *const *words, int32_t count) {
    fid_json_key(writer, key);
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_text(writer, words[i]);
    }
    fid_json_end_list(writer);
}

static void write_choices(fid_json_writer *writer, const char *const *choices) {
    int32_t count = 0;
    while (choices[count] != NULL) {
        count++;
    }
    write_words(writer, "enum", choices, count);
}

/// A list of words of which none stands twice.
static void write_axes(fid_json_writer *writer, bool groups_only) {
    static const char *const groups[] = {"translation", "rotation", "scale"};
    fid_json_text_member(writer, "type", "array");
    write_raw(writer, "uniqueItems", "true");
    fid_json_key(writer, "items");
    fid_json_begin_object(writer);
    fid_json_key(writer, "enum");
    fid_json_begin_list(writer);
    for (int i = 0; i < 3; i++) {
        fid_json_text(writer, groups[i]);
    }
    for (int i = 0; i < FID_AXIS_COUNT && !groups_only; i++) {
        fid_json_text(writer, fid_axis_names[i]);
    }
    fid_json_end_list(writer);
    fid_json_end_object(writer);
}

static void write_number_list(fid_json_writer *writer, const fid_field *field) {
    fid_json_text_member(writer, "type", "array");
    fid_json_key(writer, "items");
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "type", "number");
    write_range(writer, field);
    fid_json_end_object(writer);
}

/// What the value of a field must be: members of the open object.
static void write_type(fid_json_writer *writer, const fid_field *field) {
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        fid_json_text_member(writer, "type", "boolean");
        return;
    case FID_TYPE_NUMBER:
        write_raw(writer, "type", is_bound(field) ? "[\"number\", \"null\"]" : "\"number\"");
        write_range(writer, field);
        return;
    case FID_TYPE_AMOUNT:
        write_raw(writer, "type", "[\"number\", \"string\"]");
        write_range(writer, field);
        return;
    case FID_TYPE_CHOICE:
        write_choices(writer, field->choices);
        return;
    case FID_TYPE_COLOR:
        fid_json_text_member(writer, "type", "string");
        fid_json_text_member(writer, "pattern", "^#[0-9A-F]{6}$");
        return;
    case FID_TYPE_WORDS:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", "{\"type\": \"string\", \"minLength\": 1}");
        return;
    case FID_TYPE_INDEX:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", "{\"type\": \"integer\", \"minimum\": 0, \"maximum\": 9999}");
        write_raw(writer, "maxItems", "2");
        return;
    case FID_TYPE_TEXT:
    case FID_TYPE_BONE:
        write_raw(writer, "type", is_required(field) ? "\"string\"" : "[\"string\", \"null\"]");
        return;
    case FID_TYPE_SET:
    case FID_TYPE_OUTLINE:
        write_raw(writer, "type", "[\"string\", \"null\"]");
        return;
    case FID_TYPE_CHANNEL:
        if (is_required(field)) {
            fid_json_text_member(writer, "type", "string");
        } else {
            write_raw(writer, "type", "[\"string\", \"null\"]");
        }
        return;
    case FID_TYPE_BONES:
    case FID_TYPE_CHAIN:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", "{\"type\": \"string\"}");
        write_raw(writer, "minItems", "1");
        return;
    case FID_TYPE_VECTOR:
        fid_json_text_member(writer, "$ref", "#/$defs/vector");
        return;
    case FID_TYPE_MAYBE_VECTOR:
        write_raw(writer, "oneOf", "[" NONE ", " REF("vector") "]");
        return;
    case FID_TYPE_FRAME:
        fid_json_text_member(writer, "$ref", "#/$defs/frame");
        return;
    case FID_TYPE_SOURCE:
        write_raw(writer, "oneOf", is_required(field) ? "[" REF("source") "]" : "[" NONE ", " REF("source") "]");
        return;
    case FID_TYPE_SOURCES:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", REF("share"));
        return;
    case FID_TYPE_FACTORS:
        write_raw(writer, "oneOf",
                  "[" REF("factor") ", {\"type\": \"array\", \"items\": " REF(
                      "factor") ", \"minItems\": 2, \"maxItems\": 64}]");
        return;
    case FID_TYPE_SPACES:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", REF("space"));
        write_raw(writer, "minItems", "1");
        return;
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
        write_axes(writer, field->type == FID_TYPE_TAKES);
        return;
    case FID_TYPE_AXIS_RANGE:
        fid_json_text_member(writer, "$ref", "#/$defs/axis_range");
        return;
    case FID_TYPE_NUMBERS:
        write_number_list(writer, field);
        return;
    case FID_TYPE_POSES:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", REF("layer_pose"));
        return;
    case FID_TYPE_STEPS:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", REF("match_step"));
        write_raw(writer, "minItems", "1");
        return;
    case FID_TYPE_BOUNDS:
        write_raw(writer, "type", "[\"array\", \"null\"]");
        write_raw(writer, "items",
                  "{\"type\": \"array\", \"items\": {\"type\": \"number\"}, \"minItems\": 2, \"maxItems\": 2}");
        return;
    case FID_TYPE_CURVE:
        fid_json_text_member(writer, "$ref", "#/$defs/curve");
        return;
    case FID_TYPE_STROKES:
        fid_json_text_member(writer, "type", "array");
        write_raw(writer, "items", REF("stroke"));
        return;
    }
}

static void write_description(fid_json_writer *writer, const fid_field *field) {
    char text[DESCRIPTION_SIZE];
    snprintf(text, sizeof text, "%s%s%s%s", field->doc, field->unit[0] != '\0' ? " (" : "", field->unit,
             field->unit[0] != '\0' ? ")" : "");
    fid_json_text_member(writer, "description", text);
}

static void write_property(fid_json_writer *writer, const fid_field *field) {
    fid_json_line(writer, PROPERTY_INDENT);
    if (field->type == FID_TYPE_SOURCES) {
        write_raw(writer, "source", REF("source"));
        fid_json_line(writer, PROPERTY_INDENT);
    }
    fid_json_key(writer, field->key);
    fid_json_begin_object(writer);
    write_description(writer, field);
    write_type(writer, field);
    fid_json_end_object(writer);
    if (field->type == FID_TYPE_CHAIN) {
        fid_json_line(writer, PROPERTY_INDENT);
        write_raw(writer, "with_end",
                  "{\"description\": \"Whether the last bone is no segment\", \"type\": \"boolean\"}");
    }
}

static void write_required(fid_json_writer *writer, const fixed *before, int32_t count, const fid_schema *schema,
                           bool has_origin) {
    fid_json_key(writer, "required");
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_text(writer, before[i].key);
    }
    for (int32_t i = 0; i < schema->count; i++) {
        const fid_field *field = &schema->fields[i];
        if ((field->flags & (FID_FIELD_SCRIPT | FID_FIELD_UNUSUAL)) == 0 && field->type != FID_TYPE_SOURCES) {
            fid_json_text(writer, field->key);
            if (field->type == FID_TYPE_CHAIN) {
                fid_json_text(writer, "with_end");
            }
        }
    }
    if (has_origin) {
        fid_json_text(writer, "origin");
    }
    fid_json_end_list(writer);
}

/// One kind of element: `before` are the properties that stand before those of the descriptors.
static void write_element(fid_json_writer *writer, const fixed *before, int32_t count, const fid_schema *schema,
                          bool has_origin) {
    bool has_sources = false;
    fid_json_line(writer, DEFINITION_INDENT);
    fid_json_key(writer, schema->name);
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "description", schema->doc);
    fid_json_text_member(writer, "type", "object");
    write_raw(writer, "additionalProperties", "false");
    write_required(writer, before, count, schema, has_origin);
    fid_json_key(writer, "properties");
    fid_json_begin_object(writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_line(writer, PROPERTY_INDENT);
        write_raw(writer, before[i].key, before[i].json);
    }
    for (int32_t i = 0; i < schema->count; i++) {
        has_sources = has_sources || schema->fields[i].type == FID_TYPE_SOURCES;
        if ((schema->fields[i].flags & FID_FIELD_SCRIPT) == 0) {
            write_property(writer, &schema->fields[i]);
        }
    }
    if (has_origin) {
        fid_json_line(writer, PROPERTY_INDENT);
        write_raw(writer, "origin", REF("origin"));
    }
    fid_json_end_object(writer);
    if (has_sources) {
        write_raw(writer, "oneOf", "[{\"required\": [\"source\"]}, {\"required\": [\"sources\"]}]");
    }
    fid_json_end_object(writer);
}

static void write_constraint(fid_json_writer *writer, const fid_schema *schema) {
    char kind[64];
    snprintf(kind, sizeof kind, "{\"const\": \"%s\"}", schema->name);
    const fixed before[] = {{"address", "{\"type\": \"string\"}"}, {"kind", kind}};
    write_element(writer, before, 2, schema, true);
}

static void write_elements(fid_json_writer *writer) {
    static const fixed of_bone[] = {
        {"name", "{\"type\": \"string\", \"pattern\": \"^[A-Za-z0-9_-]+$\", \"maxLength\": 64}"},
        {"address", "{\"type\": \"string\", \"pattern\": \"^[a-z0-9./]+$\"}"},
    };
    write_element(writer, of_bone, 2, &fid_bone_schema, true);
    write_element(writer, NULL, 0, &fid_slider_schema, false);
    write_element(writer, NULL, 0, &fid_thresholds_schema, false);
    for (int i = 0; i < FID_CONSTRAINT_KINDS; i++) {
        write_constraint(writer, fid_constraint_schemas[i]);
    }
    write_element(writer, NULL, 0, &fid_drive_schema, true);
    static const fixed of_layer[] = {{"address", "{\"type\": \"string\"}"}};
    write_element(writer, of_layer, 1, &fid_layer_schema, true);
    write_element(writer, NULL, 0, &fid_match_schema, true);
    write_element(writer, NULL, 0, &fid_set_schema, true);
    write_element(writer, NULL, 0, &fid_outline_schema, false);
}

static void write_kinds(fid_json_writer *writer) {
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "type", "array");
    fid_json_key(writer, "items");
    fid_json_begin_object(writer);
    fid_json_key(writer, "oneOf");
    fid_json_begin_list(writer);
    for (int i = 0; i < FID_CONSTRAINT_KINDS; i++) {
        char path[64];
        snprintf(path, sizeof path, "#/$defs/%s", fid_constraint_schemas[i]->name);
        fid_json_begin_object(writer);
        fid_json_text_member(writer, "$ref", path);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
    fid_json_end_object(writer);
    fid_json_end_object(writer);
}

void fid_schema_document(fid_text *out) {
    int32_t count = sizeof properties / sizeof *properties;
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_text_member(&writer, "$schema", "https://json-schema.org/draft/2020-12/schema");
    fid_json_line(&writer, TOP_INDENT);
    fid_json_text_member(&writer, "title", "fid-skeleton, version 1");
    fid_json_line(&writer, TOP_INDENT);
    fid_json_text_member(&writer, "type", "object");
    write_raw(&writer, "additionalProperties", "false");
    fid_json_line(&writer, TOP_INDENT);
    fid_json_key(&writer, "required");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < count; i++) {
        // A file has these only where there is something to say.
        if (strcmp(properties[i].key, "thresholds") != 0 && strcmp(properties[i].key, "moved") != 0) {
            fid_json_text(&writer, properties[i].key);
        }
    }
    fid_json_end_list(&writer);
    fid_json_line(&writer, TOP_INDENT);
    fid_json_key(&writer, "properties");
    fid_json_begin_object(&writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_line(&writer, DEFINITION_INDENT);
        fid_json_key(&writer, properties[i].key);
        if (properties[i].json != NULL) {
            fid_json_raw(&writer, properties[i].json);
        } else {
            write_kinds(&writer);
        }
    }
    fid_json_end_object(&writer);
    fid_json_line(&writer, TOP_INDENT);
    fid_json_key(&writer, "$defs");
    fid_json_begin_object(&writer);
    for (size_t i = 0; i < sizeof definitions / sizeof *definitions; i++) {
        fid_json_line(&writer, DEFINITION_INDENT);
        write_raw(&writer, definitions[i].key, definitions[i].json);
    }
    write_elements(&writer);
    fid_json_end_object(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
}
