#ifndef FID_SCRIPT_RECORDING_H
#define FID_SCRIPT_RECORDING_H

#include <lua.h>

/// Puts into the table on top of the stack what lua/record.lua needs: trying a recipe that is not written yet,
/// comparing rigs, and writing the file. A recording begins with a line that has the SHA-256 of what follows: by it one
/// that nobody has changed is known.
void fid_recording_open(lua_State *L);

#endif
