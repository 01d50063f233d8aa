#ifndef FID_SCRIPT_HELPERS_H
#define FID_SCRIPT_HELPERS_H

#include "rig/source.h"

#include <lua.h>

/// Plain values beside points and frames. All of these may raise through fid_raise.

/// Puts fid.outline, fid.curve, fid.zip, fid.random, fid.data, fid.name and fid.points into the table on top of the
/// stack, and what the product's own Lua needs into its table `core`. Once for each state, after fid_value_open has put
/// vec and frame there.
void fid_helpers_open(lua_State *L);

/// True if the value is an outline (fid.outline.circle{} and so on). The strokes live as long as the value.
bool fid_outline_get(lua_State *L, int index, fid_strokes *out);

/// True if the value is a curve (fid.curve{}). Its points live as long as the value.
bool fid_curve_get(lua_State *L, int index, fid_curve *out);

/// True if the value is a table {power = p}, which stands for a curve. May raise.
bool fid_power_get(lua_State *L, int index, fid_curve *out);

#endif
