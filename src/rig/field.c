#include "rig/member.h"
#include "rig/rig.h"

#include <string.h>

/// Sets a field, which is zero, to its default.
static void set_default(const fid_field *field, void *record) {
    void *at = fid_member(field, record);
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        *(bool *)at = field->number != 0.0f;
        break;
    case FID_TYPE_NUMBER:
        *(float *)at = field->number;
        break;
    case FID_TYPE_CHOICE:
        *(int32_t *)at = (int32_t)field->number;
        break;
    case FID_TYPE_AMOUNT:
        ((fid_amount *)at)->value = field->number;
        break;
    case FID_TYPE_AXES:
    case FID_TYPE_TAKES:
        *(uint32_t *)at = (uint32_t)field->number;
        break;
    case FID_TYPE_FRAME:
        *(fid_frame *)at = FID_FRAME_IDENTITY;
        break;
    case FID_TYPE_AXIS_RANGE:
        for (int i = 0; i < 3; i++) {
            ((fid_axis_range *)at)->lo[i] = -FID_UNLIMITED;
            ((fid_axis_range *)at)->hi[i] = FID_UNLIMITED;
        }
        break;
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
    case FID_TYPE_WORDS:
    case FID_TYPE_INDEX:
    case FID_TYPE_VECTOR:
    case FID_TYPE_MAYBE_VECTOR:
    case FID_TYPE_BONE:
    case FID_TYPE_BONES:
    case FID_TYPE_CHAIN:
    case FID_TYPE_SET:
    case FID_TYPE_OUTLINE:
    case FID_TYPE_CHANNEL:
    case FID_TYPE_SOURCE:
    case FID_TYPE_SOURCES:
    case FID_TYPE_FACTORS:
    case FID_TYPE_SPACES:
    case FID_TYPE_NUMBERS:
    case FID_TYPE_BOUNDS:
    case FID_TYPE_POSES:
    case FID_TYPE_STEPS:
    case FID_TYPE_CURVE:
    case FID_TYPE_STROKES:
        break;
    }
}

void fid_schema_defaults(const fid_schema *schema, void *record) {
    memset(record, 0, schema->size);
    for (int32_t i = 0; i < schema->count; i++) {
        set_default(&schema->fields[i], record);
    }
}

const fid_field *fid_schema_find(const fid_schema *schema, const char *key) {
    for (int32_t i = 0; i < schema->count; i++) {
        if (strcmp(schema->fields[i].key, key) == 0) {
            return &schema->fields[i];
        }
    }
    return NULL;
}
