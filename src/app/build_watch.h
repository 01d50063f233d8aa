#ifndef FID_APP_BUILD_WATCH_H
#define FID_APP_BUILD_WATCH_H

#include "app/options.h"

/// Builds the recipe into the file `to`, and again whenever something that it reads changes, until Ctrl-C. A build that
/// fails leaves the file as it was. Each runs in a process of its own, which a limit of scripts may end. Prints what is
/// wrong; returns an exit status: 0 at Ctrl-C, whatever the last build was.
int fid_build_watch(const char *file, const fid_arguments *arguments, const char *to);

#endif
