#ifndef FID_SCRIPT_HELP_EXAMPLES_H
#define FID_SCRIPT_HELP_EXAMPLES_H

#include "base/text.h"

/// Adds an example of a call or object by the name of its entry (script/help_calls.h): lines of Lua that run as they
/// are typed, one after the other, in a session; each begins with `indent`. Nothing for other names.
void fid_help_add_example(const char *name, const char *indent, fid_text *out);

/// The names that have one, one after the other; NULL beyond the last.
const char *fid_help_example_name(int32_t index);

#endif
