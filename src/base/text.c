#include "base/text.h"

#include "base/number.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static bool make_room(fid_text *text, size_t more) {
    if (text->failed || more >= (size_t)(INT32_MAX - text->count) || !fid_array_reserve(text, (int32_t)more + 1)) {
        text->failed = true;
        return false;
    }
    return true;
}

void fid_text_add(fid_text *text, const char *more) { fid_text_add_bytes(text, more, strlen(more)); }

void fid_text_add_bytes(fid_text *text, const char *bytes, size_t count) {
    if (!make_room(text, count)) {
        return;
    }
    if (count > 0) {
        memcpy(text->at + text->count, bytes, count);
        text->count += (int32_t)count;
    }
    text->at[text->count] = '\0';
}

void fid_text_addf(fid_text *text, const char *format, ...) {
    if (text->failed) {
        return;
    }
    va_list args;
    va_start(args, format);
    int length = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (length < 0) {
        text->failed = true;
        return;
    }
    if (!make_room(text, (size_t)length)) {
        return;
    }
    va_start(args, format);
    vsnprintf(text->at + text->count, (size_t)length + 1, format, args);
    va_end(args);
    text->count += length;
}

void fid_text_add_count(fid_text *text, int32_t count, const char *noun) {
    fid_text_addf(text, "%d %s%s", (int)count, noun, count == 1 ? "" : "s");
}

void fid_text_add_number(fid_text *text, float value) {
    char number[FID_NUMBER_SIZE];
    int length = fid_number_write(number, value);
    fid_text_add_bytes(text, number, (size_t)length);
}

/// The escape of one byte that JSON does not take as it is, or "" for one that it does.
static const char *get_escape(char byte, char hex[8]) {
    switch (byte) {
    case '"':
        return "\\\"";
    case '\\':
        return "\\\\";
    case '\b':
        return "\\b";
    case '\f':
        return "\\f";
    case '\n':
        return "\\n";
    case '\r':
        return "\\r";
    case '\t':
        return "\\t";
    default:
        break;
    }
    unsigned value = (unsigned char)byte;
    if (value >= 0x20) {
        return "";
    }
    snprintf(hex, 8, "\\u%04x", value);
    return hex;
}

void fid_text_add_json(fid_text *text, const char *value) {
    size_t length = strlen(value);
    size_t start = 0; // of the run of bytes that need no change
    size_t at = 0;
    fid_text_add_bytes(text, "\"", 1);
    while (at < length) {
        int32_t step = fid_text_character_length(value + at, length - at);
        char hex[8];
        const char *other = step > 0 ? get_escape(value[at], hex) : "\xef\xbf\xbd";
        size_t next = at + (step > 0 ? (size_t)step : 1);
        if (other[0] != '\0') {
            fid_text_add_bytes(text, value + start, at - start);
            fid_text_add(text, other);
            start = next;
        }
        at = next;
    }
    fid_text_add_bytes(text, value + start, length - start);
    fid_text_add_bytes(text, "\"", 1);
}

void fid_text_clear(fid_text *text) {
    fid_memory_free(text->at);
    memset(text, 0, sizeof *text);
}

int32_t fid_text_character_length(const char *bytes, size_t count) {
    if (count == 0) {
        return 0;
    }
    const unsigned char *byte = (const unsigned char *)bytes;
    if (byte[0] < 0x80) {
        return 1;
    }
    // The Unicode Standard, table 3-7: the second byte's range depends on the first, which rules out overlong forms,
    // surrogates and what lies beyond U+10FFFF.
    unsigned low = 0x80;
    unsigned high = 0xbf;
    int32_t length;
    if (byte[0] >= 0xc2 && byte[0] <= 0xdf) {
        length = 2;
    } else if (byte[0] >= 0xe0 && byte[0] <= 0xef) {
        length = 3;
        low = byte[0] == 0xe0 ? 0xa0 : low;
        high = byte[0] == 0xed ? 0x9f : high;
    } else if (byte[0] >= 0xf0 && byte[0] <= 0xf4) {
        length = 4;
        low = byte[0] == 0xf0 ? 0x90 : low;
        high = byte[0] == 0xf4 ? 0x8f : high;
    } else {
        return 0;
    }
    if (count < (size_t)length || byte[1] < low || byte[1] > high) {
        return 0;
    }
    for (int32_t i = 2; i < length; i++) {
        if ((byte[i] & 0xc0) != 0x80) {
            return 0;
        }
    }
    return length;
}

bool fid_text_is_utf8(const char *bytes, size_t count) {
    size_t at = 0;
    while (at < count) {
        int32_t step = fid_text_character_length(bytes + at, count - at);
        if (step == 0) {
            return false;
        }
        at += (size_t)step;
    }
    return true;
}

enum { LONGEST_WORD = 128 };

static int32_t get_smallest(int32_t a, int32_t b) { return a < b ? a : b; }

/// Insertions, deletions, changes and swaps of neighbors that lead from one word to the other; both at most
/// LONGEST_WORD bytes.
static int32_t measure_distance(const char *a, int32_t a_length, const char *b, int32_t b_length) {
    int32_t rows[3][LONGEST_WORD + 1];
    for (int32_t j = 0; j <= b_length; j++) {
        rows[0][j] = j;
    }
    for (int32_t i = 1; i <= a_length; i++) {
        int32_t *row = rows[i % 3];
        const int32_t *above = rows[(i + 2) % 3];
        const int32_t *above_that = rows[(i + 1) % 3];
        row[0] = i;
        for (int32_t j = 1; j <= b_length; j++) {
            int32_t cost = above[j - 1] + (a[i - 1] != b[j - 1] ? 1 : 0);
            cost = get_smallest(cost, get_smallest(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                cost = get_smallest(cost, above_that[j - 2] + 1);
            }
            row[j] = cost;
        }
    }
    return rows[a_length % 3][b_length];
}

bool fid_text_ends_with(const char *text, const char *end) {
    size_t length = strlen(text), tail = strlen(end);
    return length >= tail && strcmp(text + length - tail, end) == 0;
}

const char *fid_text_nearest(const char *word, const char *const *words, int32_t count) {
    const char *nearest = NULL;
    int32_t nearest_distance = INT32_MAX;
    size_t length = strlen(word);
    if (length == 0 || length > LONGEST_WORD) {
        return NULL;
    }
    for (int32_t i = 0; i < count; i++) {
        size_t other = strlen(words[i]);
        if (other == 0 || other > LONGEST_WORD) {
            continue;
        }
        int32_t shorter = (int32_t)(length < other ? length : other);
        int32_t longer = (int32_t)(length < other ? other : length);
        int32_t most = longer < 3 ? 1 : longer / 3;
        int32_t distance = measure_distance(word, (int32_t)length, words[i], (int32_t)other);
        // Words of one letter that differ have nothing in common.
        bool near = (distance <= most && distance < longer) || memcmp(word, words[i], (size_t)shorter) == 0;
        if (near && distance < nearest_distance) {
            nearest = words[i];
            nearest_distance = distance;
        }
    }
    return nearest;
}

/// Bytes of the character at `text`; a byte that begins no valid character counts as one.
static size_t get_step(const char *text) {
    size_t available = 0;
    while (available < 4 && text[available] != '\0') {
        available++;
    }
    int32_t step = fid_text_character_length(text, available);
    return step > 0 ? (size_t)step : 1;
}

bool fid_text_matches(const char *text, const char *pattern) {
    // What comes between two stars is best matched as early as possible, so only the last star is ever tried again.
    const char *after_star = NULL;
    const char *tried = NULL;
    while (*text != '\0') {
        if (*pattern == '*') {
            pattern++;
            after_star = pattern;
            tried = text;
        } else if (*pattern == '?') {
            pattern++;
            text += get_step(text);
        } else if (*pattern == *text) {
            pattern++;
            text++;
        } else if (after_star != NULL) {
            tried += get_step(tried);
            text = tried;
            pattern = after_star;
        } else {
            return false;
        }
    }
    while (*pattern == '*') {
        pattern++;
    }
    return *pattern == '\0';
}
