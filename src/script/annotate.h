#ifndef FID_SCRIPT_ANNOTATE_H
#define FID_SCRIPT_ANNOTATE_H

#include "base/text.h"

/// Adds a Lua file that is never run: it tells editors what `require "fid"` gives, in the annotations that language
/// servers for Lua read (`---@meta`, `---@class`, `---@field`, `---@param`). Made of the descriptions of `fid help`, so
/// that names of arguments, their types, choices, ranges and docs show while typing.
void fid_annotate(fid_text *out);

#endif
