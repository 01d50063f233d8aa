#include "format/csv_read.h"

#include <string.h>

void fid_csv_begin(fid_csv_reader *reader, char *text, size_t count) {
    if (count >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        text += 3;
        count -= 3;
    }
    *reader = (fid_csv_reader){text, text + count, 1, 1};
}

/// Passes over one end of line; false where there is none.
static bool skip_line_end(fid_csv_reader *reader) {
    char *at = reader->at;
    if (at + 1 < reader->end && at[0] == '\r' && at[1] == '\n') {
        at++;
    }
    if (at == reader->end || *at != '\n') {
        return false;
    }
    reader->at = at + 1;
    reader->next_line++;
    return true;
}

bool fid_csv_is_at_end(fid_csv_reader *reader) {
    while (skip_line_end(reader)) {
    }
    reader->line = reader->next_line;
    return reader->at == reader->end;
}

/// Reads what stands between quotes; two of them are one.
static fid_code read_quoted(fid_csv_reader *reader, fid_csv_cell *out, fid_error *err) {
    char *to = reader->at;
    char *from = reader->at + 1;
    out->text = to;
    out->quoted = true;
    for (;; from++) {
        if (from == reader->end) {
            return fid_fail(err, FID_SYNTAX, "a quote is not closed");
        }
        if (*from == '"') {
            if (from + 1 == reader->end || from[1] != '"') {
                break;
            }
            from++;
        }
        reader->next_line += *from == '\n' ? 1 : 0;
        *to++ = *from;
    }
    out->length = (size_t)(to - out->text);
    reader->at = from + 1;
    return FID_OK;
}

static fid_code read_plain(fid_csv_reader *reader, fid_csv_cell *out, fid_error *err) {
    char *at = reader->at;
    out->text = at;
    out->quoted = false;
    while (at < reader->end && *at != ',' && *at != '\n' && !(*at == '\r' && at + 1 < reader->end && at[1] == '\n')) {
        if (*at == '"') {
            return fid_fail(err, FID_SYNTAX, "a quote stands inside a cell; put the whole cell into quotes");
        }
        at++;
    }
    out->length = (size_t)(at - reader->at);
    reader->at = at;
    return FID_OK;
}

fid_code fid_csv_next(fid_csv_reader *reader, fid_csv_cell *out, fid_error *err) {
    reader->line = reader->next_line;
    fid_code code =
        reader->at < reader->end && *reader->at == '"' ? read_quoted(reader, out, err) : read_plain(reader, out, err);
    if (code != FID_OK) {
        return code;
    }
    if (reader->at == reader->end) {
        out->ends_row = true;
        return FID_OK;
    }
    if (*reader->at == ',') {
        reader->at++;
        out->ends_row = false;
        return FID_OK;
    }
    out->ends_row = skip_line_end(reader);
    return out->ends_row ? FID_OK : fid_fail(err, FID_SYNTAX, "after a closing quote comes ',' or the end of the line");
}
