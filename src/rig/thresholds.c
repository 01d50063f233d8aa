#include "rig/thresholds.h"

#include "base/number.h"

#include <string.h>

#define AT(member) offsetof(fid_thresholds, member)

/// Of a length in heights, from `min`, with its default.
#define HEIGHTS(key, member, min, usual, doc) \
    { key, FID_TYPE_NUMBER, FID_FIELD_UNUSUAL, AT(member), "heights", min, 1, usual, NULL, FID_REFLECT_NONE, doc }
#define DEGREES(key, member, usual, doc) \
    { key, FID_TYPE_NUMBER, FID_FIELD_UNUSUAL, AT(member), "deg", 0, 180, usual, NULL, FID_REFLECT_NONE, doc }
#define RATIO(key, member, usual, doc) \
    { key, FID_TYPE_NUMBER, FID_FIELD_UNUSUAL, AT(member), "", 0, 1, usual, NULL, FID_REFLECT_NONE, doc }

static const fid_field fields[] = {
    HEIGHTS("N102_distance", n102_distance, 0, 1e-3f, "How far on the other side a bone of a side may lie"),
    HEIGHTS("S202_length", s202_length, 1e-4f, 1e-4f, "How short a bone may be"),
    DEGREES("S203_warning", s203_warning, 1, "How far a bone may aim past its only child without a warning"),
    DEGREES("S203_error", s203_error, 5, "How far a bone may aim past its only child without an error"),
    DEGREES("S205_warning", s205_warning, 0.5f, "How far a chain may stand out of its plane without a warning"),
    DEGREES("S205_error", s205_error, 2, "How far a chain may stand out of its plane without an error"),
    HEIGHTS("S207_distance", s207_distance, 0, 5e-4f, "How far a bone may lie from the image of its counterpart"),
    DEGREES("S207_angle", s207_angle, 0.1f, "How far its axes may turn from those of that image"),
    HEIGHTS("S209_distance", s209_distance, 0, 1e-5f, "How far a bone may move at rest"),
    DEGREES("S209_angle", s209_angle, 0.01f, "How far a bone may turn at rest"),
    RATIO("S209_scale", s209_scale, 1e-5f, "By which part its scale may change at rest"),
    RATIO("C301_ratio", c301_ratio, 1e-3f, "By which part a bone may move farther than what carries it"),
    HEIGHTS("P410_distance", p410_distance, 0, 1e-5f, "How far a bone may lie from the image in the mirrored pose"),
    DEGREES("P410_angle", p410_angle, 0.01f, "How far its axes may turn from those of that image"),
    RATIO("P410_scale", p410_scale, 1e-4f, "By which part its scale may differ from that of the image"),
    HEIGHTS("P411_distance", p411_distance, 0, 1e-4f, "How far a bone may jump where a switch is made up for"),
    DEGREES("P411_angle", p411_angle, 0.05f, "How far it may turn there"),
    RATIO("P411_scale", p411_scale, 1e-3f, "By which part its scale may change there"),
};

const fid_schema fid_thresholds_schema = {"thresholds", "From where on the rules of check speak",
                                          sizeof(fid_thresholds), fields, sizeof fields / sizeof fields[0]};

fid_thresholds fid_thresholds_default(void) {
    fid_thresholds out;
    fid_schema_defaults(&fid_thresholds_schema, &out);
    return out;
}

static fid_code check_order(const char *rule, float warning, float error, fid_error *err) {
    if (warning <= error) {
        return FID_OK;
    }
    char first[FID_NUMBER_SIZE], second[FID_NUMBER_SIZE];
    fid_number_write(first, warning);
    fid_number_write(second, error);
    return fid_fail(err, FID_RANGE, "'%s_warning' is %s, but must be at most '%s_error', which is %s: raise that, too",
                    rule, first, rule, second);
}

fid_code fid_thresholds_check(const fid_thresholds *thresholds, fid_error *err) {
    fid_code code = fid_schema_check(&fid_thresholds_schema, thresholds, NULL, err);
    code = code ? code : check_order("S203", thresholds->s203_warning, thresholds->s203_error, err);
    return code ? code : check_order("S205", thresholds->s205_warning, thresholds->s205_error, err);
}

const fid_field *fid_thresholds_of(const char *code, const fid_field *after) {
    size_t length = strlen(code);
    for (const fid_field *at = after ? after + 1 : fields; at < fields + sizeof fields / sizeof fields[0]; at++) {
        if (strncmp(at->key, code, length) == 0 && at->key[length] == '_') {
            return at;
        }
    }
    return NULL;
}
