#include "rig/drive.h"

#define AT(member) offsetof(fid_drive_def, member)
#define OPEN -FID_UNLIMITED, FID_UNLIMITED

static const char *const combine_names[] = {"replace", "add", "multiply", NULL};

static const fid_field fields[] = {
    {"to", FID_TYPE_CHANNEL, FID_FIELD_REQUIRED, AT(to), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The channel that is computed; it need not be one that may be posed"},
    {"from", FID_TYPE_FACTORS, FID_FIELD_REQUIRED, AT(from), "", 0, 0, 0, NULL, FID_REFLECT_AIM_AXIS,
     "What it is computed from: a channel, a measure of bones, or a list of these whose product is taken"},
    {"curve", FID_TYPE_CURVE, 0, AT(curve), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The response, a line of points held beyond its ends or a power; without one the value itself"},
    {"gain", FID_TYPE_AMOUNT, 0, AT(gain), "", OPEN, 1, NULL, FID_REFLECT_NONE, "What the response is multiplied with"},
    {"combine", FID_TYPE_CHOICE, 0, AT(combine), "", 0, 0, FID_REPLACE, combine_names, FID_REFLECT_NONE,
     "What becomes of the value that the channel had"},
};

const fid_schema fid_drive_schema = {"drive", "Computes a channel from others, or from where bones are",
                                     sizeof(fid_drive_def), fields, sizeof fields / sizeof fields[0]};

fid_drive_def fid_drive_default(void) {
    fid_drive_def def;
    fid_schema_defaults(&fid_drive_schema, &def);
    def.origin = -1;
    return def;
}
