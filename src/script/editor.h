#ifndef FID_SCRIPT_EDITOR_H
#define FID_SCRIPT_EDITOR_H

#include "base/report.h"
#include "base/text.h"

/// Adds the settings of luacheck (.luacheckrc): the globals that scripts see, and nothing else.
/// @return FID_OK, or the code of an error, which is a finding in `report`
FID_NODISCARD fid_code fid_editor_add_luacheck(fid_text *out, fid_report *report);

/// Adds the settings of language servers for Lua (.luarc.json): the version, the parts of the standard library that
/// scripts have, and `folder`, where fid_annotate's file lies.
void fid_editor_add_luarc(const char *folder, fid_text *out);

#endif
