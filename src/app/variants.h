#ifndef FID_APP_VARIANTS_H
#define FID_APP_VARIANTS_H

#include "app/options.h"

/// Builds the variants that --variants lists into --out-dir: each in a process of its own, --jobs at a time, so that
/// one that fails or is stopped leaves the others alone. NAME.json is the skeleton of a variant. The table of results
/// is written anew while they come in, so that a run that is stopped goes on where it was: what has the same skeleton,
/// checked with as many poses, is not checked again. Prints what is wrong in the order of the table; returns the worst
/// exit status.
int fid_variants_run(const char *file, const fid_arguments *arguments);

#endif
