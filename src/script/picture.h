#ifndef FID_SCRIPT_PICTURE_H
#define FID_SCRIPT_PICTURE_H

#include <lua.h>

/// Adds core.picture(rig, pose, bones), which gives an SVG picture as pages of modules show it: the three-quarter view,
/// and the straight one in which the bones look longest at rest; where the pose is not nil, the bones at rest below it.
/// Controls that are not in the list of bones are left out. Raises what rig:solve raises. Once for each state.
void fid_picture_open(lua_State *L);

#endif
