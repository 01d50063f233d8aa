#include "format/csv_table.h"

#include "base/array.h"

#include <string.h>

/// A place in the text. Quotes are taken off where they stand, so that cells need no memory of their own.
typedef struct reader {
    char *at;
    char *end;
    int32_t line; ///< of the cell that was read last, from 1
    int32_t next_line;
} reader;

/// A cell before it is ended by a NUL: what follows it is not read yet.
typedef struct raw_cell {
    char *text;
    size_t length;
    bool quoted, ends_row;
} raw_cell;

/// Passes over one end of line; false where there is none.
static bool skip_line_end(reader *from) {
    char *at = from->at;
    if (at + 1 < from->end && at[0] == '\r' && at[1] == '\n') {
        at++;
    }
    if (at == from->end || *at != '\n') {
        return false;
    }
    from->at = at + 1;
    from->next_line++;
    return true;
}

static bool is_at_end(reader *from) {
    while (skip_line_end(from)) {
    }
    from->line = from->next_line;
    return from->at == from->end;
}

/// Reads what stands between quotes; two of them are one.
static fid_code read_quoted(reader *from, raw_cell *out, fid_error *err) {
    char *to = from->at;
    char *now = from->at + 1;
    out->text = to;
    out->quoted = true;
    for (;; now++) {
        if (now == from->end) {
            return fid_fail(err, FID_SYNTAX, "a quote is not closed");
        }
        if (*now == '"') {
            if (now + 1 == from->end || now[1] != '"') {
                break;
            }
            now++;
        }
        from->next_line += *now == '\n' ? 1 : 0;
        *to++ = *now;
    }
    out->length = (size_t)(to - out->text);
    from->at = now + 1;
    return FID_OK;
}

static fid_code read_plain(reader *from, raw_cell *out, fid_error *err) {
    char *at = from->at;
    out->text = at;
    out->quoted = false;
    while (at < from->end && *at != ',' && *at != '\n' && !(*at == '\r' && at + 1 < from->end && at[1] == '\n')) {
        if (*at == '"') {
            return fid_fail(err, FID_SYNTAX, "a quote stands inside a cell; put the whole cell into quotes");
        }
        at++;
    }
    out->length = (size_t)(at - from->at);
    from->at = at;
    return FID_OK;
}

static fid_code read_cell(reader *from, raw_cell *out, fid_error *err) {
    from->line = from->next_line;
    fid_code code = from->at < from->end && *from->at == '"' ? read_quoted(from, out, err) : read_plain(from, out, err);
    if (code != FID_OK) {
        return code;
    }
    if (memchr(out->text, '\0', out->length)) {
        return fid_fail(err, FID_SYNTAX, "a cell holds a zero byte");
    }
    if (from->at == from->end) {
        out->ends_row = true;
    } else if (*from->at == ',') {
        from->at++;
        out->ends_row = false;
    } else {
        out->ends_row = skip_line_end(from);
        if (!out->ends_row) {
            return fid_fail(err, FID_SYNTAX, "after a closing quote comes ',' or the end of the line");
        }
    }
    return FID_OK;
}

/// The words of the first line.
static fid_code read_columns(reader *from, fid_csv_table *out, fid_error *err) {
    raw_cell cell = {0};
    do {
        fid_code code = read_cell(from, &cell, err);
        if (code) {
            return code;
        }
        if (cell.length == 0) {
            return fid_fail(err, FID_SYNTAX, "column %d of the first line has no name", (int)out->column_count + 1);
        }
        if (out->column_count == FID_CSV_COLUMNS_MOST) {
            return fid_fail(err, FID_LIMIT, "the first line has more than %d columns", (int)FID_CSV_COLUMNS_MOST);
        }
        cell.text[cell.length] = '\0';
        if (fid_csv_table_column(out, cell.text) >= 0) {
            return fid_fail(err, FID_SYNTAX, "two columns are called '%.64s'", cell.text);
        }
        out->columns[out->column_count++] = cell.text;
    } while (!cell.ends_row);
    return FID_OK;
}

static fid_code read_row(reader *from, fid_csv_table *out, fid_error *err) {
    raw_cell cell = {0};
    int32_t column = 0;
    if (!fid_array_push(&out->lines, from->line)) {
        return fid_no_memory(err);
    }
    do {
        fid_code code = read_cell(from, &cell, err);
        if (code) {
            return code;
        }
        if (++column > out->column_count || (cell.ends_row && column < out->column_count)) {
            return fid_fail(err, FID_SYNTAX, "the row has %s cells than the first line, which has %d",
                            column > out->column_count ? "more" : "fewer", (int)out->column_count);
        }
        cell.text[cell.length] = '\0';
        fid_csv_cell kept = {cell.text, cell.length, cell.quoted};
        if (!fid_array_push(&out->cells, kept)) {
            return fid_no_memory(err);
        }
    } while (!cell.ends_row);
    return FID_OK;
}

fid_code fid_csv_table_read(const char *text, size_t count, fid_csv_table *out, fid_error *err) {
    if (count > 0 && !fid_text_is_utf8(text, count)) {
        return fid_fail(err, FID_SYNTAX, "the file is no UTF-8 text");
    }
    char *copy = fid_arena_copy(&out->arena, count > 0 ? text : "", count);
    out->columns = fid_arena_get(&out->arena, FID_CSV_COLUMNS_MOST * sizeof *out->columns);
    if (!copy || !out->columns) {
        return fid_no_memory(err);
    }
    size_t mark = count >= 3 && memcmp(copy, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    reader from = {copy + mark, copy + count, 1, 1};
    fid_code code = read_columns(&from, out, err);
    while (!code && !is_at_end(&from)) {
        code = read_row(&from, out, err);
    }
    out->line = from.line;
    return code;
}

const fid_csv_cell *fid_csv_table_cell(const fid_csv_table *table, int32_t row, int32_t column) {
    return &table->cells.at[(int64_t)row * table->column_count + column];
}

int32_t fid_csv_table_column(const fid_csv_table *table, const char *name) {
    for (int32_t i = 0; i < table->column_count; i++) {
        if (strcmp(table->columns[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

void fid_csv_table_clear(fid_csv_table *table) {
    fid_array_clear(&table->cells);
    fid_array_clear(&table->lines);
    fid_arena_clear(&table->arena);
    *table = (fid_csv_table){0};
}

void fid_csv_add_cell(fid_text *out, const char *cell) {
    if (!strpbrk(cell, ",\"\r\n")) {
        fid_text_add(out, cell);
        return;
    }
    fid_text_add(out, "\"");
    for (; *cell; cell++) {
        fid_text_add_bytes(out, cell, 1);
        if (*cell == '"') {
            fid_text_add(out, "\"");
        }
    }
    fid_text_add(out, "\"");
}
