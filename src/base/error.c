#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static bool is_control(const unsigned char *bytes, int32_t length) {
    // U+0000 to U+001F, U+007F, and U+0080 to U+009F, which UTF-8 writes as C2 80 to C2 9F.
    return bytes[0] < 0x20 || bytes[0] == 0x7f || (length == 2 && bytes[0] == 0xc2 && bytes[1] < 0xa0);
}

/// Copies `text` to the `size` bytes at `out`, cut at a character boundary, with '?' for what may not be shown.
static void copy_visible(char *out, size_t size, const char *text, size_t length) {
    size_t written = 0;
    size_t at = 0;
    while (at < length) {
        int32_t step = fid_text_character_length(text + at, length - at);
        bool shown = step > 0 && !is_control((const unsigned char *)text + at, step);
        size_t width = shown ? (size_t)step : 1;
        if (written + width >= size) {
            break;
        }
        if (shown) {
            memcpy(out + written, text + at, width);
        } else {
            out[written] = '?';
        }
        written += width;
        at += step > 0 ? (size_t)step : 1;
    }
    out[written] = '\0';
}

fid_code fid_fail_with(fid_error *err, fid_code code, const char *format, va_list args) {
    if (err == NULL) {
        return code;
    }
    // The arguments may point into *err (a message that wraps another), so the text is made elsewhere first. The few
    // extra bytes let copy_visible see the whole of a character at the cut.
    char text[FID_ERROR_MESSAGE_SIZE + 4];
    int length = vsnprintf(text, sizeof text, format, args);
    if (length < 0) {
        length = 0;
    }
    size_t kept = (size_t)length < sizeof text ? (size_t)length : sizeof text - 1;
    err->code = code;
    err->subject[0] = '\0';
    copy_visible(err->message, sizeof err->message, text, kept);
    return code;
}

fid_code fid_fail(fid_error *err, fid_code code, const char *format, ...) {
    va_list args;
    va_start(args, format);
    (void)fid_fail_with(err, code, format, args);
    va_end(args);
    return code;
}

void fid_error_about(fid_error *err, const char *subject) {
    if (err != NULL && err->subject[0] == '\0') {
        copy_visible(err->subject, sizeof err->subject, subject, strlen(subject));
    }
}

fid_code fid_no_memory(fid_error *err) { return fid_fail(err, FID_NO_MEMORY, "out of memory"); }
