#ifndef FID_SCRIPT_BIND_LAYER_H
#define FID_SCRIPT_BIND_LAYER_H

#include <lua.h>

/// Makes the metatable and adds `rig:pose_layer`; once for each state.
void fid_layer_open(lua_State *L);

#endif
