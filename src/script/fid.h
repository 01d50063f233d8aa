#ifndef FID_SCRIPT_FID_H
#define FID_SCRIPT_FID_H

#include "script/host.h"

/// Makes what `require "fid"` gives. Once for each state, within a run.
void fid_open(lua_State *L);

#endif
