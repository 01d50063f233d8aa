#ifndef FID_APP_START_H
#define FID_APP_START_H

#include "base/text.h"

/// Adds a file of lua/start, in which each NAME becomes `name`. `out` has failed where there is no such file.
void fid_start_add(const char *file, const char *name, fid_text *out);

#endif
