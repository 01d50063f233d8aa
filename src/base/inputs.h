#ifndef FID_BASE_INPUTS_H
#define FID_BASE_INPUTS_H

#include "base/array.h"
#include "base/error.h"

/// The files that a command or session has read, so that no output goes onto one of them. Zero-initialise to begin.
typedef struct fid_inputs {
    FID_ARRAY(char *) paths;
} fid_inputs;

/// Notes the file at `path`, below `folder` where that is not NULL. Once for each file is enough, more do no harm.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_inputs_add(fid_inputs *inputs, const char *folder, const char *path, fid_error *err);

/// True if `path` leads to a file that was read, by whatever name or link.
bool fid_inputs_has(const fid_inputs *inputs, const char *path);

void fid_inputs_clear(fid_inputs *inputs);

#endif
