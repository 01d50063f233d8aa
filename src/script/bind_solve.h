#ifndef FID_SCRIPT_BIND_SOLVE_H
#define FID_SCRIPT_BIND_SOLVE_H

#include "program/pose.h"

#include <lauxlib.h>
#include <lua.h>

/// Makes the metatables and adds `rig:solve`; once for each state.
void fid_solve_open(lua_State *L);

/// Pushes what owns the program of a rig, compiled anew where the rig has changed, and gives a pose of it for use until
/// the next call. Raises the first problem where the rig does not compile.
fid_pose *fid_program_need(lua_State *L, fid_rig *rig);

/// Poses the pose of fid_program_need as the Pose, table or path at `index` (nil: rest) says; notes of what was held in
/// its range go to the list at `notes`. Pushes the owner of the program.
fid_pose *fid_pose_apply(lua_State *L, int index, const char *call, fid_rig *rig, int notes);

/// Pushes what owns an empty report.
fid_report *fid_report_push(lua_State *L);

/// Raises the first error of the report.
_Noreturn void fid_report_raise(lua_State *L, const fid_report *report);

#endif
