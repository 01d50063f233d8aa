#ifndef FID_APP_FORMATS_H
#define FID_APP_FORMATS_H

#include "app/load.h"
#include "app/print.h"

/// One --format: which of the words it is, and its file (NULL: standard output).
typedef struct fid_format {
    int32_t kind;
    const char *file;
    const char *text; ///< as it was given
} fid_format;

/// All that were given: no two go to the same place.
typedef struct fid_formats {
    fid_format at[FID_OUTPUTS_MOST];
    int32_t count;
} fid_formats;

/// Reads the options --format, `WORD` or `WORD:FILE`; the first of the words (closed by NULL) on standard output where
/// none is given. At most `most` may be given. `example` is one with a file, for messages.
/// @return FID_OK, FID_INVALID, FID_LIMIT
FID_NODISCARD fid_code fid_formats_read(const fid_arguments *arguments, const char *const *words, const char *example,
                                        int32_t most, fid_formats *out, fid_error *err);

/// None goes onto an input (fid_load_check_output).
int fid_formats_check(const fid_formats *formats, const fid_loaded *loaded);

/// Whether one on a terminal may be colored.
bool fid_format_has_color(const fid_format *format);

#endif
