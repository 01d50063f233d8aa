#ifndef FID_SCRIPT_RECIPE_H
#define FID_SCRIPT_RECIPE_H

#include "rig/rig.h"
#include "script/host.h"

/// A parameter of a recipe from the command line: `--param key=value`.
typedef struct fid_param {
    const char *key;
    const char *value;
} fid_param;

typedef struct fid_recipe_options {
    fid_limits limits;
    const fid_param *params;
    int32_t param_count;
    const char *module_path; ///< colon-separated folders searched after `modules/`, or NULL (FID_PATH)
    bool locked;             ///< modules must be as in their fid.lock (fid_loader_set_locked)
    void (*print)(void *user, const char *line); ///< what the script prints; NULL: nowhere
    void *print_user;
    fid_inputs *inputs; ///< takes every file that is read; NULL: nowhere. Not of sessions, which have their own
} fid_recipe_options;

/// Opens the host that `options`, which must live as long, describe for the recipe at `path` (NULL: a session without
/// one). An error is a finding in `report`.
/// @return as fid_host_open; `*out` is NULL unless FID_OK
FID_NODISCARD fid_code fid_recipe_open(const char *path, const fid_recipe_options *options, fid_host **out,
                                       fid_report *report);

/// Pushes the parameters of the options as a table of texts.
void fid_recipe_push_params(lua_State *L, const fid_recipe_options *options);

/// Runs a recipe file and hands out the rig that it returns; the caller frees it. Errors are findings in `report`, with
/// the place and trail.
/// @return FID_OK, FID_IO (file), FID_UNSOUND or the code of the script's error; `*out` is NULL then
FID_NODISCARD fid_code fid_recipe_build(const char *path, const fid_recipe_options *options, fid_rig **out,
                                        fid_report *report);

#endif
