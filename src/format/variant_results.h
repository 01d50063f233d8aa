#ifndef FID_FORMAT_VARIANT_RESULTS_H
#define FID_FORMAT_VARIANT_RESULTS_H

#include "base/text.h"
#include "format/variants_read.h"

enum { FID_VARIANT_MESSAGE_SIZE = 512, FID_SHA256_SIZE = 65 };

/// What became of one variant: a row of the table of results.
typedef struct fid_variant_result {
    char name[FID_VARIANT_NAME_MOST + 1];
    bool built;                             ///< false: it failed, and only `seconds` and `message` say more
    int32_t bones, deform_bones;            ///< of the rig
    int32_t errors, warnings, notes, poses; ///< of the check, with so many random poses
    double seconds;                         ///< building and checking; of the run that checked it
    char sha256[FID_SHA256_SIZE];           ///< of the skeleton file
    char message[FID_VARIANT_MESSAGE_SIZE]; ///< of a failure: its first error
} fid_variant_result;

/// Adds the table as CSV, in the order given.
void fid_variant_results_write(const fid_variant_result *results, int32_t count, fid_text *out);

/// Results by the hash of their skeleton. Zero-initialise to begin; end with fid_array_clear.
typedef FID_ARRAY(fid_variant_result) fid_variant_results;

/// Adds the rows of a table that the same version of the program wrote and that were built; other rows, and a text that
/// is no such table, are passed over: they only save work.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_variant_results_read(const char *text, size_t count, fid_variant_results *out,
                                                fid_error *err);

/// The result of that name and hash, tried with as many poses; or NULL.
const fid_variant_result *fid_variant_results_find(const fid_variant_results *results, const char *name,
                                                   const char *sha256, int32_t poses);

#endif
