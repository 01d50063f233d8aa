#ifndef FID_APP_OPTIONS_H
#define FID_APP_OPTIONS_H

#include "base/text.h"

/// One option of a command.
typedef struct fid_option {
    const char *name;     ///< "output"
    char letter;          ///< 'o', or 0
    const char *argument; ///< what stands for its value in help ("FILE"), or NULL: it takes none
    const char *doc;      ///< one that may be given several times says so, in these words
} fid_option;

/// Whether an option may be given several times. Any other that takes a value is refused a second one.
bool fid_option_repeats(const fid_option *option);

/// One option as it was given.
typedef struct fid_given {
    const fid_option *option;
    const char *value; ///< NULL where it takes none
} fid_given;

/// The words of a command line, taken apart. Strings belong to the command line.
typedef struct fid_arguments {
    FID_ARRAY(fid_given) given; ///< in order
    FID_ARRAY(const char *) words;
} fid_arguments;

/// Takes the words after the command apart: options (`--name VALUE`, `--name=VALUE`, `-x VALUE`) and others, in any
/// order; all after `--` are others. `tables` holds the options that the command knows, closed by NULL; each table is
/// closed by an option without a name.
/// @return FID_OK, FID_UNKNOWN (with the nearest option), FID_INVALID (a value that is missing or too much, a second
/// one of an option that has one), FID_NO_MEMORY
FID_NODISCARD fid_code fid_arguments_read(int count, char *const *words, const fid_option *const *tables,
                                          fid_arguments *out, fid_error *err);

void fid_arguments_clear(fid_arguments *arguments);

/// The value of the option of that name, of several the last, "" where it takes none; NULL if it was not given.
const char *fid_arguments_last(const fid_arguments *arguments, const char *name);

/// Reads the value of an option as a number from `min` to `max`; `*out` is unchanged where it was not given.
FID_NODISCARD fid_code fid_arguments_number(const fid_arguments *arguments, const char *name, double min, double max,
                                            double *out, fid_error *err);

/// As fid_arguments_number, for a whole number of at most 2^53.
FID_NODISCARD fid_code fid_arguments_whole(const fid_arguments *arguments, const char *name, int64_t min, int64_t max,
                                           int64_t *out, fid_error *err);

#endif
