#ifndef FID_SCRIPT_ANNOTATE_H
#define FID_SCRIPT_ANNOTATE_H

#include "script/module_info.h"

/// Adds a Lua file that is never run: it tells editors what `require "fid"` gives, in the annotations that language
/// servers for Lua read (`---@meta`, `---@class`, `---@field`, `---@param`). Made of the descriptions of `fid help`, so
/// that names of arguments, their types, choices, ranges and docs show while typing. `modules` (read with
/// FID_MODULE_EDITORS) are those that rig:use knows, each by its own arguments and results.
void fid_annotate(fid_text *out, const fid_module_info *modules, int32_t count);

#endif
