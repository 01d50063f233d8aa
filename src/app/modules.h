#ifndef FID_APP_MODULES_H
#define FID_APP_MODULES_H

#include "app/load.h"
#include "script/path.h"

/// What the actions of `fid modules` share.
typedef struct fid_modules_wishes {
    const fid_arguments *arguments; ///< the first word is that of the action, if there is one
    fid_recipe_options options;
    bool json, quiet;
} fid_modules_wishes;

/// The project: `modules/` and `fid.lock` of the nearest folder, from the working folder upwards, that has a folder
/// `modules`; false where there is none.
bool fid_modules_find_project(fid_file_path *modules, fid_file_path *lock);

/// `fid modules add FOLDER_OR_ARCHIVE` and `fid modules lock`. They return exit statuses.
int fid_modules_add(const fid_modules_wishes *of);
int fid_modules_lock(const fid_modules_wishes *of);

#endif
