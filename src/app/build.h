#ifndef FID_APP_BUILD_H
#define FID_APP_BUILD_H

#include "app/load.h"

/// Loads the file, compiles the rig, since what does not compile could be solved by nobody, and adds its skeleton to
/// `out`. Refuses an output at `to` that is an input. Prints what is wrong; returns an exit status. The caller clears
/// `loaded` in any case.
int fid_build(const char *file, const fid_arguments *arguments, const char *to, fid_loaded *loaded, fid_text *out);

#endif
