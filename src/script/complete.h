#ifndef FID_SCRIPT_COMPLETE_H
#define FID_SCRIPT_COMPLETE_H

#include "script/host.h"

/// Adds how a text that is being typed may go on, for the session of a host (script/session.h): first a line with the
/// number of bytes at its end that stand for the beginning of a word, then a line for each word that fits, in order of
/// their bytes: the word, a tab, what follows where it is the only one. Nothing where no word fits.
///
/// Only looks: fields are read where they lie, and no function of a script runs; of a module that has not been used
/// its declarations are known where it is embedded. Whatever the text is, it is no error.
/// @return as fid_host_run; `*out` is empty on failure
FID_NODISCARD fid_code fid_complete(fid_host *host, const char *text, fid_text *out, fid_report *report);

/// Adds to `core` what the product's own Lua looks at values with. Once for each state, in a protected call.
void fid_complete_open(lua_State *L);

#endif
