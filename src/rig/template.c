#include "rig/template.h"

#include <string.h>

static const char *const keys[FID_KEY_COUNT] = {"{id}", "{part}", "{index}", "{side}", "{role}"};

static bool is_plain(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

fid_code fid_template_read(const char *text, fid_template *out, fid_error *err) {
    bool has[FID_KEY_COUNT] = {false};
    out->count = 0;
    const char *begin = text;
    for (const char *at = text; *at != '\0';) {
        if (is_plain(*at)) {
            at++;
            continue;
        }
        if (*at != '{') {
            return fid_fail(err, FID_INVALID,
                            "the naming template '%s' may hold letters, digits, '_', '-' and fields "
                            "in braces only",
                            text);
        }
        int key = 0;
        while (key < FID_KEY_COUNT && strncmp(at, keys[key], strlen(keys[key])) != 0) {
            key++;
        }
        if (key == FID_KEY_COUNT) {
            return fid_fail(err, FID_INVALID,
                            "the naming template '%s' has an unknown field: known are {id}, {part}, "
                            "{index}, {side} and {role}",
                            text);
        }
        if (has[key]) {
            return fid_fail(err, FID_INVALID, "the naming template '%s' has %s twice", text, keys[key]);
        }
        has[key] = true;
        out->at[out->count++] = (fid_template_field){begin, (size_t)(at - begin), (fid_name_key)key};
        at += strlen(keys[key]);
        begin = at;
    }
    if (!has[FID_KEY_PART]) {
        return fid_fail(err, FID_INVALID, "the naming template '%s' lacks {part}", text);
    }
    out->after = begin;
    return FID_OK;
}
