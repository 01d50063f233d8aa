#ifndef FID_FORMAT_JSON_WRITE_H
#define FID_FORMAT_JSON_WRITE_H

#include "base/text.h"

/// Writes one JSON document piece by piece onto a text; commas and spaces come by themselves. Numbers and texts are
/// written by base/text.h: the shortest text of a single-precision value, never -0 or NaN. A failed allocation shows in
/// `out->failed`. Begin with fid_json_writer_new.
typedef struct fid_json_writer {
    fid_text *out;
    bool is_first;  ///< nothing stands yet in the innermost object or list
    bool has_key;   ///< a key was written and its value is due
    int32_t indent; ///< the next element begins a line with so many spaces; -1: no line
    int64_t count;  ///< values written so far, objects and lists included
} fid_json_writer;

fid_json_writer fid_json_writer_new(fid_text *out);

/// The next element of the innermost object or list begins on a new line after `indent` spaces.
void fid_json_line(fid_json_writer *writer, int32_t indent);

void fid_json_begin_object(fid_json_writer *writer);
void fid_json_end_object(fid_json_writer *writer);
void fid_json_begin_list(fid_json_writer *writer);
void fid_json_end_list(fid_json_writer *writer);

/// The key of the member whose value is written next.
void fid_json_key(fid_json_writer *writer, const char *key);

void fid_json_null(fid_json_writer *writer);
void fid_json_boolean(fid_json_writer *writer, bool value);
void fid_json_integer(fid_json_writer *writer, int32_t value);
void fid_json_number(fid_json_writer *writer, float value);

/// With at most 9 significant digits.
void fid_json_double(fid_json_writer *writer, double value);

/// NULL is written as null.
void fid_json_text(fid_json_writer *writer, const char *value);

/// A member of the innermost object: its key and a text (NULL: null), or a whole number.
void fid_json_text_member(fid_json_writer *writer, const char *key, const char *value);
void fid_json_integer_member(fid_json_writer *writer, const char *key, int32_t value);

/// A value that is JSON text already.
void fid_json_raw(fid_json_writer *writer, const char *json);

/// A list of `count` numbers.
void fid_json_numbers(fid_json_writer *writer, const float *values, int32_t count);

#endif
