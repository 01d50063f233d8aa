#ifndef FID_SCRIPT_HOLD_H
#define FID_SCRIPT_HOLD_H

#include "base/report.h"
#include "base/text.h"

#include <lua.h>

/// What C functions hold while they may raise: userdata that stay on the stack and free what is in them. Both are empty
/// at first.
fid_text *fid_hold_text(lua_State *L);
fid_report *fid_hold_report(lua_State *L);

#endif
