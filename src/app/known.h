#ifndef FID_APP_KNOWN_H
#define FID_APP_KNOWN_H

#include "base/text.h"

/// Adds what editors know of fid in a project: fid_annotate's file, with the modules that are found from `folder` on.
/// Those that cannot be read are left out and, unless `quiet`, told.
/// @return FID_OK, or why modules cannot be looked for
FID_NODISCARD fid_code fid_known_add(const char *folder, bool quiet, fid_text *out, fid_error *err);

#endif
