#ifndef FID_BASE_NUMBER_H
#define FID_BASE_NUMBER_H

#include "base/error.h"

#include <stdbool.h>

enum { FID_NUMBER_SIZE = 32 };

/// Writes the shortest decimal text (at most 9 significant digits) that reads back as the same single-precision value,
/// directly or by way of a double, and returns its length without the final NUL. Integers below 1e9 are written
/// exactly, without exponent or point; -0 is written "0"; plain notation for 1e-5 <= |value| < 1e9, else `d.ddde-7`.
/// Always '.', whatever the locale. `value` must be finite (anything else is written "0", so that the text is a number
/// in any case).
int fid_number_write(char out[FID_NUMBER_SIZE], float value);

/// As fid_number_write for a double with at most `digits` (1 to 17) significant digits, trailing zeros dropped; no
/// claim of shortest.
int fid_number_write_double(char out[FID_NUMBER_SIZE], double value, int digits);

/// Reads all of the `length` bytes at `text` as a JSON number (RFC 8259 grammar) into `*out`, rounded correctly,
/// whatever the locale. False, with `*out` unchanged, for anything else, and for a value that is not finite as a
/// double.
FID_NODISCARD bool fid_number_read(const char *text, size_t length, double *out);

#endif
