#ifndef FID_APP_COMPLETION_H
#define FID_APP_COMPLETION_H

#include "app/command.h"

/// The shells for which there is a script, closed by NULL.
extern const char *const fid_completion_shells[];

/// Adds the script that completes commands, options, their values and files in the shell of that number, made of the
/// same descriptions as `fid help`.
void fid_completion_write(int32_t shell, fid_text *out);

#endif
