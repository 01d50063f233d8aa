#include "format/json_scan.h"

#include "base/number.h"
#include "base/text.h"

#include <string.h>

typedef struct scan {
    const char *text;
    size_t count;
    size_t at;
    int32_t line;
    int32_t elements;
    fid_error *err;
} scan;

static bool scan_ends(const scan *s) { return s->at >= s->count; }

/// The byte at the present place; 0, which no document holds, at the end.
static char scan_peek(const scan *s) { return scan_ends(s) ? '\0' : s->text[s->at]; }

static void skip_space(scan *s) {
    size_t at = s->at;
    for (; at < s->count; at++) {
        char c = s->text[at];
        if (c == '\n') {
            s->line++;
        } else if (c != ' ' && c != '\t' && c != '\r') {
            break;
        }
    }
    s->at = at;
}

/// Something else than `wanted` stands at the present place.
static fid_code fail_wanted(scan *s, const char *wanted) {
    if (scan_ends(s)) {
        return fid_fail(s->err, FID_SYNTAX, "the file ends where %s should stand", wanted);
    }
    const char *at = s->text + s->at;
    int32_t length = fid_text_character_length(at, s->count - s->at);
    if (length == 0) {
        return fid_fail(s->err, FID_SYNTAX, "byte 0x%02x is not UTF-8", (unsigned)(unsigned char)*at);
    }
    if ((unsigned char)*at < 0x20) {
        return fid_fail(s->err, FID_SYNTAX, "control character 0x%02x where %s should stand",
                        (unsigned)(unsigned char)*at, wanted);
    }
    return fid_fail(s->err, FID_SYNTAX, "'%.*s' where %s should stand", (int)length, at, wanted);
}

static bool read_hex(scan *s, unsigned *out) {
    unsigned value = 0;
    for (int i = 0; i < 4; i++, s->at++) {
        char c = scan_peek(s);
        unsigned digit;
        if (c >= '0' && c <= '9') {
            digit = (unsigned)(c - '0');
        } else if (c >= 'a' && c <= 'f') {
            digit = (unsigned)(c - 'a') + 10;
        } else if (c >= 'A' && c <= 'F') {
            digit = (unsigned)(c - 'A') + 10;
        } else {
            return false;
        }
        value = value * 16 + digit;
    }
    *out = value;
    return true;
}

/// The four digits after `\u`, and the second half of a pair.
static fid_code scan_code_unit(scan *s) {
    unsigned unit, low;
    if (!read_hex(s, &unit)) {
        return fid_fail(s->err, FID_SYNTAX, "\\u needs four hexadecimal digits");
    }
    if (unit == 0) {
        return fid_fail(s->err, FID_SYNTAX, "\\u0000 is not allowed in a text");
    }
    if (unit < 0xd800 || unit > 0xdfff) {
        return FID_OK;
    }
    if (unit <= 0xdbff && s->count - s->at >= 2 && memcmp(s->text + s->at, "\\u", 2) == 0) {
        s->at += 2;
        if (read_hex(s, &low) && low >= 0xdc00 && low <= 0xdfff) {
            return FID_OK;
        }
    }
    return fid_fail(s->err, FID_SYNTAX, "\\u%04x is half of a surrogate pair", unit);
}

static fid_code scan_escape(scan *s) {
    s->at++;
    char c = scan_peek(s);
    if (c != '\0' && strchr("\"\\/bfnrt", c) != NULL) {
        s->at++;
        return FID_OK;
    }
    if (c != 'u') {
        return fail_wanted(s, "the letter of an escape (one of \"\\/bfnrtu)");
    }
    s->at++;
    return scan_code_unit(s);
}

/// Skips what texts are mostly made of: letters of ASCII that mean themselves.
static void skip_plain(scan *s) {
    size_t at = s->at;
    for (; at < s->count; at++) {
        unsigned char c = (unsigned char)s->text[at];
        if (c < 0x20 || c >= 0x80 || c == '"' || c == '\\') {
            break;
        }
    }
    s->at = at;
}

static fid_code scan_text(scan *s) {
    s->at++;
    for (skip_plain(s); scan_peek(s) != '"'; skip_plain(s)) {
        char c = scan_peek(s);
        fid_code code = FID_OK;
        if (c == '\\') {
            code = scan_escape(s);
        } else if ((unsigned char)c < 0x20) {
            code = fail_wanted(s, "the rest of a text and its closing quote");
        } else {
            int32_t length = fid_text_character_length(s->text + s->at, s->count - s->at);
            if (length == 0) {
                return fail_wanted(s, "the rest of a text");
            }
            s->at += (size_t)length;
        }
        if (code != FID_OK) {
            return code;
        }
    }
    s->at++;
    return FID_OK;
}

static size_t skip_digits(const char *text, size_t count, size_t at) {
    while (at < count && text[at] >= '0' && text[at] <= '9') {
        at++;
    }
    return at;
}

/// How many bytes at the begin of `text` are a number, and whether it has an
/// exponent; 0: it begins with none.
static size_t number_length(const char *text, size_t count, bool *has_exponent) {
    size_t start = text[0] == '-' ? 1 : 0;
    *has_exponent = false;
    size_t at = skip_digits(text, count, start);
    if (at == start || (text[start] == '0' && at > start + 1)) {
        return 0;
    }
    if (at < count && text[at] == '.') {
        start = at + 1;
        at = skip_digits(text, count, start);
        if (at == start) {
            return 0;
        }
    }
    if (at < count && (text[at] == 'e' || text[at] == 'E')) {
        *has_exponent = true;
        start = at + 1;
        start += start < count && (text[start] == '+' || text[start] == '-') ? 1 : 0;
        at = skip_digits(text, count, start);
        if (at == start) {
            return 0;
        }
    }
    return at;
}

static fid_code scan_number(scan *s) {
    const char *start = s->text + s->at;
    bool has_exponent;
    size_t length = number_length(start, s->count - s->at, &has_exponent);
    if (length == 0) {
        return fid_fail(s->err, FID_SYNTAX, "a number is written wrongly; right are -1, 0.5, 2e-7");
    }
    if (length > FID_JSON_NUMBER_BYTES) {
        return fid_fail(s->err, FID_LIMIT, "a number of more than %d characters", FID_JSON_NUMBER_BYTES);
    }
    // So few characters without an exponent are no large number.
    double value;
    if ((length > 20 || has_exponent) && !fid_number_read(start, length, &value)) {
        return fid_fail(s->err, FID_RANGE, "%.*s is too large for a number", (int)length, start);
    }
    s->at += length;
    return FID_OK;
}

static fid_code scan_word(scan *s) {
    static const char *const words[] = {"true", "false", "null"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        size_t length = strlen(words[i]);
        if (s->count - s->at >= length && memcmp(s->text + s->at, words[i], length) == 0) {
            s->at += length;
            return FID_OK;
        }
    }
    return fail_wanted(s, "a value");
}

static fid_code scan_value(scan *s, int32_t depth);

static fid_code scan_member(scan *s, int32_t depth) {
    if (scan_peek(s) != '"') {
        return fail_wanted(s, "a key in quotes");
    }
    fid_code code = scan_text(s);
    if (code != FID_OK) {
        return code;
    }
    skip_space(s);
    if (scan_peek(s) != ':') {
        return fail_wanted(s, "':'");
    }
    s->at++;
    return scan_value(s, depth);
}

static fid_code scan_container(scan *s, int32_t depth, bool is_object) {
    char end = is_object ? '}' : ']';
    s->at++;
    skip_space(s);
    if (scan_peek(s) == end) {
        s->at++;
        return FID_OK;
    }
    for (;;) {
        fid_code code = is_object ? scan_member(s, depth + 1) : scan_value(s, depth + 1);
        if (code != FID_OK) {
            return code;
        }
        skip_space(s);
        if (scan_peek(s) == end) {
            s->at++;
            return FID_OK;
        }
        if (scan_peek(s) != ',') {
            return fail_wanted(s, is_object ? "',' or '}'" : "',' or ']'");
        }
        s->at++;
        skip_space(s);
    }
}

/// Recursion ends at FID_JSON_DEPTH.
static fid_code scan_value(scan *s, int32_t depth) {
    skip_space(s);
    if (++s->elements > FID_JSON_ELEMENTS) {
        return fid_fail(s->err, FID_LIMIT, "more than %d values", FID_JSON_ELEMENTS);
    }
    char c = scan_peek(s);
    if (c == '{' || c == '[') {
        if (depth >= FID_JSON_DEPTH) {
            return fid_fail(s->err, FID_LIMIT, "more than %d objects and lists in each other", FID_JSON_DEPTH);
        }
        return scan_container(s, depth, c == '{');
    }
    if (c == '"') {
        return scan_text(s);
    }
    if (c == '-' || (c >= '0' && c <= '9')) {
        return scan_number(s);
    }
    return scan_word(s);
}

static fid_code scan_document(scan *s) {
    if (s->count > FID_JSON_BYTES) {
        return fid_fail(s->err, FID_LIMIT, "larger than %d MiB", FID_JSON_BYTES / (1024 * 1024));
    }
    if (s->count >= 3 && memcmp(s->text, "\xef\xbb\xbf", 3) == 0) {
        return fid_fail(s->err, FID_SYNTAX, "a byte order mark at the begin; UTF-8 is read without one");
    }
    fid_code code = scan_value(s, 0);
    if (code != FID_OK) {
        return code;
    }
    skip_space(s);
    return scan_ends(s) ? FID_OK : fail_wanted(s, "the end of the file");
}

fid_code fid_json_scan(const char *text, size_t count, int32_t *line, fid_error *err) {
    scan s = {.text = text, .count = count, .line = 1, .err = err};
    fid_code code = scan_document(&s);
    *line = s.line;
    return code;
}
