#ifndef FID_SCRIPT_MODULE_INFO_H
#define FID_SCRIPT_MODULE_INFO_H

#include "script/recipe.h"

/// What the file of a module says about it. Zero-initialise to begin.
typedef struct fid_module_info {
    const char *name, *version, *summary;
    const char *text;               ///< all of it, as help prints it
    const char *json;               ///< all of it, an object of JSON
    FID_ARRAY(const char *) params; ///< names
    fid_arena arena;
} fid_module_info;

/// Runs the file of the module in `folder` (as fid_module_find gives it), whose build is not called. `options` are
/// those of a session. With `with_needs`, what it needs is found and run, too, and what does not fit is an error.
/// Errors and warnings are findings in `report`.
/// @return as fid_host_run
FID_NODISCARD fid_code fid_module_read_info(const char *folder, const fid_recipe_options *options, bool with_needs,
                                            fid_module_info *out, fid_report *report);

void fid_module_info_clear(fid_module_info *info);

#endif
