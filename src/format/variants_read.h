#ifndef FID_FORMAT_VARIANTS_READ_H
#define FID_FORMAT_VARIANTS_READ_H

#include "base/report.h"

/// A parameter of a recipe as it is given on the command line: texts of choices and strings as they are, all other
/// values as JSON.
typedef struct fid_variant_value {
    const char *parameter;
    const char *text;
} fid_variant_value;

/// One variant of a recipe. What is not among its values has its default.
typedef struct fid_variant {
    const char *name; ///< of its skeleton file, too: letters, digits, '_' and '-', at most FID_VARIANT_NAME_MOST
    const fid_variant_value *values;
    int32_t value_count;
    int32_t line; ///< in the table; 0 in JSON
} fid_variant;

enum { FID_VARIANT_NAME_MOST = 64 };

/// A table of variants. Zero-initialise to begin; end with fid_variants_clear.
typedef struct fid_variants {
    FID_ARRAY(fid_variant) list; ///< in the order of the table
    fid_arena arena;
} fid_variants;

/// Reads a table: CSV, or JSON where `file` ends in ".json". In CSV the column `name` names the variants, every other
/// column is a parameter, and an empty cell leaves it at its default. In JSON it is a list of objects with a `name` and
/// parameters; null leaves one at its default. Names differ by more than case: they are files. What is wrong is one
/// finding in `report`, with the line where there is one.
/// @return FID_OK, FID_SYNTAX, FID_INVALID (a name), FID_NAME_TAKEN, FID_LIMIT, FID_NO_MEMORY
FID_NODISCARD fid_code fid_variants_read(const char *text, size_t count, const char *file, fid_variants *out,
                                         fid_report *report);

void fid_variants_clear(fid_variants *variants);

#endif
