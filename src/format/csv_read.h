#ifndef FID_FORMAT_CSV_READ_H
#define FID_FORMAT_CSV_READ_H

#include "base/error.h"

#include <stdbool.h>
#include <stdint.h>

/// Reads a CSV text (RFC 4180; lines may also end in a bare line feed, the last one need not end) cell by cell. The
/// text is changed on the way: quotes are taken off in place, so that nothing is allocated.
typedef struct fid_csv_reader {
    char *at;
    char *end;
    int32_t line; ///< of the cell that was read last, from 1
    int32_t next_line;
} fid_csv_reader;

typedef struct fid_csv_cell {
    const char *text; ///< not NUL-terminated
    size_t length;
    bool quoted;
    bool ends_row;
} fid_csv_cell;

/// Begins with the `count` bytes at `text`, which the reader changes; a byte order mark is passed over.
void fid_csv_begin(fid_csv_reader *reader, char *text, size_t count);

/// True where no further row begins; empty lines are passed over.
bool fid_csv_is_at_end(fid_csv_reader *reader);

/// The next cell. FID_SYNTAX where a quote is not closed, or stands inside a cell; FID_OK otherwise.
FID_NODISCARD fid_code fid_csv_next(fid_csv_reader *reader, fid_csv_cell *out, fid_error *err);

#endif
