#ifndef FID_SCRIPT_MODULE_INFO_H
#define FID_SCRIPT_MODULE_INFO_H

#include "script/recipe.h"

/// Texts that live in an arena beside them.
typedef FID_ARRAY(const char *) fid_module_words;

/// What the file of a module says about it. Zero-initialise to begin.
typedef struct fid_module_info {
    const char *name, *version, *summary;
    const char *text;        ///< all of it, as help prints it
    const char *json;        ///< all of it, an object of JSON
    fid_module_words params; ///< names
    fid_arena arena;
} fid_module_info;

/// Runs the file of the module in `folder` (as fid_module_find gives it), whose build is not called. `options` are
/// those of a session. With `with_needs`, what it needs is found and run, too, and what does not fit is an error.
/// Errors and warnings are findings in `report`.
/// @return as fid_host_run
FID_NODISCARD fid_code fid_module_read_info(const char *folder, const fid_recipe_options *options, bool with_needs,
                                            fid_module_info *out, fid_report *report);

/// A copy of the text on top of the stack, which is taken off. Raises.
const char *fid_module_take_text(lua_State *L, fid_arena *arena);

/// Copies the list of texts in the field `key` of the table on top of the stack. Raises.
void fid_module_take_texts(lua_State *L, const char *key, fid_arena *arena, fid_module_words *out);

void fid_module_info_clear(fid_module_info *info);

#endif
