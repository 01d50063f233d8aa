#include "library/message.h"

#include "format/findings_text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

int32_t fid_interface(void) { return FID_INTERFACE; }

const char *fid_version(void) { return FID_VERSION; }

const char *fid_status_name(fid_status status) {
    static const char *const names[] = {"ok",     "no memory", "invalid", "out of range", "unknown", "name taken",
                                        "locked", "syntax",    "limit",   "file",         "unsound", "internal"};
    return (unsigned)status < sizeof names / sizeof names[0] ? names[status] : "unknown status";
}

fid_status fid_status_of(fid_code code) {
    switch (code) {
    case FID_OK:
        return FID_STATUS_OK;
    case FID_NO_MEMORY:
        return FID_STATUS_NO_MEMORY;
    case FID_INVALID:
        return FID_STATUS_INVALID;
    case FID_RANGE:
        return FID_STATUS_RANGE;
    case FID_UNKNOWN:
        return FID_STATUS_UNKNOWN;
    case FID_NAME_TAKEN:
        return FID_STATUS_NAME_TAKEN;
    case FID_LOCKED:
        return FID_STATUS_LOCKED;
    case FID_SYNTAX:
        return FID_STATUS_SYNTAX;
    case FID_LIMIT:
        return FID_STATUS_LIMIT;
    case FID_IO:
        return FID_STATUS_FILE;
    case FID_UNSOUND:
        return FID_STATUS_UNSOUND;
    case FID_STALE: // no handle ever leaves the library
        break;
    }
    return FID_STATUS_INTERNAL;
}

fid_message fid_message_begin(char *at, size_t size) {
    fid_message message = {size > 0 ? at : NULL, size};
    if (message.at != NULL) {
        message.at[0] = '\0';
    }
    return message;
}

/// Copies the text without its last end of line, cut between two characters.
static void write_text(fid_message message, const char *text) {
    size_t length = strlen(text), kept = 0;
    length -= length > 0 && text[length - 1] == '\n' ? 1 : 0;
    if (message.at == NULL) {
        return;
    }
    while (kept < length) {
        int32_t step = fid_text_character_length(text + kept, length - kept);
        size_t next = kept + (step > 0 ? (size_t)step : 1);
        if (next >= message.size) {
            break;
        }
        kept = next;
    }
    memcpy(message.at, text, kept);
    message.at[kept] = '\0';
}

/// Hands the text over. Where something is to be said and cannot be, nothing was done.
static fid_status conclude(fid_message message, fid_code code, fid_text *text) {
    write_text(message, text->failed ? "fid: error: out of memory" : text->at != NULL ? text->at : "");
    code = code == FID_OK && text->failed ? FID_NO_MEMORY : code;
    fid_text_clear(text);
    return fid_status_of(code);
}

fid_status fid_message_error(fid_message message, const char *file, const fid_error *err) {
    fid_text text = {0};
    fid_findings_add_error(file, err, false, &text);
    return conclude(message, err->code, &text);
}

fid_status fid_message_report(fid_message message, const char *file, fid_code code, const fid_report *report,
                              const fid_error *err) {
    fid_text text = {0};
    fid_findings_add_text(report, file, NULL, NULL, false, &text);
    text.failed |= report->failed;
    if (code != FID_OK && report->count[FID_ERROR] == 0) {
        fid_findings_add_error(file, err, false, &text);
    }
    return conclude(message, code, &text);
}

fid_status fid_message_invalid(fid_message message, const char *format, ...) {
    char text[FID_ERROR_MESSAGE_SIZE];
    fid_error err;
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    fid_fail(&err, FID_INVALID, "%s", text);
    return fid_message_error(message, NULL, &err);
}
