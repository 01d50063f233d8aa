#ifndef FID_FORMAT_JSON_SCAN_H
#define FID_FORMAT_JSON_SCAN_H

#include "base/error.h"

#include <stdint.h>

enum {
    FID_JSON_BYTES = 256 * 1024 * 1024, ///< of one document
    FID_JSON_DEPTH = 64,                ///< of objects and lists in each other
    FID_JSON_ELEMENTS = 4000000,        ///< values of one document, containers included
    FID_JSON_NUMBER_BYTES = 60,         ///< of one number
};

/// Checks that the `count` bytes at `text` are one JSON document (RFC 8259) within the limits above: valid UTF-8
/// without a byte order mark, numbers that are finite as doubles, no escape `\u0000`, no half of a surrogate pair,
/// nothing after the end. On failure `*line` is the line of the fault, counted from 1.
/// @return FID_OK, FID_SYNTAX, FID_LIMIT (too large, too deep, too many), FID_RANGE (a number that is not finite)
FID_NODISCARD fid_code fid_json_scan(const char *text, size_t count, int32_t *line, fid_error *err);

#endif
