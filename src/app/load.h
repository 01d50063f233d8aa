#ifndef FID_APP_LOAD_H
#define FID_APP_LOAD_H

#include "app/options.h"
#include "script/recipe.h"

/// Options of every command that takes a recipe, and of every command.
extern const fid_option fid_param_options[];
extern const fid_option fid_script_options[];
extern const fid_option fid_common_options[];

/// Takes the options of recipes apart; `params` (one for each option given, and one more) and `names` must live as long
/// as `out`.
FID_NODISCARD fid_code fid_load_options(const fid_arguments *arguments, fid_arena *names, fid_param *params,
                                        fid_recipe_options *out, fid_error *err);

/// A rig from a recipe (.lua) or a skeleton file (.json), and how its origins are shown.
typedef struct fid_loaded {
    fid_rig *rig;
    char folder[1024]; ///< put before the files of origins
    bool has_folder;   ///< false: they stand as they are
    fid_inputs inputs; ///< every file that was read, --pose too
} fid_loaded;

/// Loads the file and prints what is wrong with it. Returns an exit status; `out->rig` is there only with 0.
int fid_load(const char *file, const fid_arguments *arguments, fid_loaded *out);

/// Refuses an output onto what the command reads: FILE, --pose, and all that the recipe read. `path` may be NULL or
/// "-". Prints the refusal; returns an exit status.
int fid_load_check_output(const char *path, const fid_loaded *loaded);

/// True if two outputs go to the same place; NULL and "-" are standard output.
bool fid_load_is_same_output(const char *a, const char *b);

void fid_loaded_clear(fid_loaded *loaded);

#endif
