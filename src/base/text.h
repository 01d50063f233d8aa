#ifndef FID_BASE_TEXT_H
#define FID_BASE_TEXT_H

#include "base/array.h"

/// Text under construction, always NUL-terminated once something was added. Zero-initialise to begin; end with
/// fid_text_clear. After a failed allocation `failed` stays true and further additions do nothing, so that a caller
/// tests once at the end.
typedef struct fid_text {
    char *at;
    int32_t count; ///< bytes without the NUL
    int32_t capacity;
    bool failed;
} fid_text;

void fid_text_add(fid_text *text, const char *more);
void fid_text_add_bytes(fid_text *text, const char *bytes, size_t count);

/// As printf, for words and whole numbers. Not for fractions: their decimal separator is the locale's
/// (fid_text_add_number has none of that).
FID_PRINTF(2, 3) void fid_text_addf(fid_text *text, const char *format, ...);

/// "1 bone", "2 bones": `noun` takes an s.
void fid_text_add_count(fid_text *text, int32_t count, const char *noun);

/// The shortest text that reads back as the same single-precision value (base/number.h).
void fid_text_add_number(fid_text *text, float value);

/// `value` as a JSON string with its quotes; control characters, quotes and backslashes escaped, U+FFFD for each byte
/// that is not UTF-8, everything else as it is.
void fid_text_add_json(fid_text *text, const char *value);

void fid_text_clear(fid_text *text);

/// How many bytes (1 to 4) the UTF-8 character at the begin of `bytes` has; 0 where there is none or where it is not
/// valid.
int32_t fid_text_character_length(const char *bytes, size_t count);

/// True where the bytes are valid UTF-8 (no surrogates, no overlong forms, at most U+10FFFF).
bool fid_text_is_utf8(const char *bytes, size_t count);

/// True where `text` ends with `end`.
bool fid_text_ends_with(const char *text, const char *end);

/// The one of `count` words that is nearest to `word` (Damerau-Levenshtein distance in bytes, in its restricted form
/// where no part is edited twice; at most a third of the longer length, at least 1; a word that begins with `word` or
/// that `word` begins with counts as near; ties: the first), or NULL. Empty words and those over 128 bytes are near to
/// nothing.
const char *fid_text_nearest(const char *word, const char *const *words, int32_t count);

/// True where all of `text` matches `pattern` with `*` (any run, also none) and `?` (any one character). Time at most
/// the product of both lengths, however many stars there are.
bool fid_text_matches(const char *text, const char *pattern);

#endif
