#ifndef FID_FORMAT_CSV_TABLE_H
#define FID_FORMAT_CSV_TABLE_H

#include "base/arena.h"
#include "base/text.h"

/// A cell; NUL-terminated.
typedef struct fid_csv_cell {
    const char *text;
    size_t length;
    bool quoted; ///< stood between quotes: text, whatever it looks like
} fid_csv_cell;

/// A CSV text (RFC 4180; lines may also end in a bare line feed, the last one need not end; empty lines are passed
/// over): its first line names the columns, each different, and every row has a cell for each. Zero-initialise to
/// begin; end with fid_csv_table_clear.
typedef struct fid_csv_table {
    const char **columns;
    FID_ARRAY(fid_csv_cell) cells; ///< row by row
    FID_ARRAY(int32_t) lines;      ///< of the rows, from 1
    int32_t column_count;
    int32_t line; ///< where reading ended: the line of an error
    fid_arena arena;
} fid_csv_table;

enum { FID_CSV_COLUMNS_MOST = 256 };

/// Reads the `count` bytes at `text` (NULL only with 0) into `*out`, which is empty.
/// @return FID_OK, FID_SYNTAX (with `out->line`; 0: the whole file), FID_LIMIT (columns), FID_NO_MEMORY
FID_NODISCARD fid_code fid_csv_table_read(const char *text, size_t count, fid_csv_table *out, fid_error *err);

/// The cell of a row and column, both from 0.
const fid_csv_cell *fid_csv_table_cell(const fid_csv_table *table, int32_t row, int32_t column);

/// The number of a column, or -1.
int32_t fid_csv_table_column(const fid_csv_table *table, const char *name);

void fid_csv_table_clear(fid_csv_table *table);

/// Adds a cell as it is written: between quotes where it needs them.
void fid_csv_add_cell(fid_text *out, const char *cell);

#endif
