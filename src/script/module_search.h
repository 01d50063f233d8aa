#ifndef FID_SCRIPT_MODULE_SEARCH_H
#define FID_SCRIPT_MODULE_SEARCH_H

#include "base/arena.h"
#include "base/array.h"
#include "script/path.h"

/// Where modules are: in `modules/` of a folder, then of each folder above it, then in the folders of a list (each
/// holds `NAME/module.lua` or `modules/NAME/module.lua`), then among the embedded ones. Nothing here runs a script.

enum { FID_MODULE_NAME_SIZE = 65 };

/// True for [a-z][a-z0-9_]* of at most 64 bytes.
bool fid_module_is_name(const char *name);

/// Refuses what is no such name; `what` says of what ("module").
/// @return FID_OK, FID_INVALID
FID_NODISCARD fid_code fid_module_check_name(const char *what, const char *name, fid_error *err);

/// Finds the folder of a module, as messages show it: "modules/post", "fid:modules/post" for an embedded one.
/// @param folder  where the search begins: that of the recipe
/// @param list    colon-separated folders (FID_PATH), or NULL
/// @return FID_OK; FID_UNKNOWN (where was looked, and the nearest name there is); FID_NAME_TAKEN (two in one folder of
/// the list); FID_INVALID (no name); FID_LIMIT (a path too long)
FID_NODISCARD fid_code fid_module_find(const char *folder, const char *list, const char *name, fid_file_path *out,
                                       fid_error *err);

/// One module that is there.
typedef struct fid_module_place {
    const char *name;
    const char *folder;    ///< as shown
    const char *hidden_by; ///< folder of the one that is found instead of it, or NULL
} fid_module_place;

/// Those that can be found, and those that they hide. Zero-initialise to begin.
typedef struct fid_module_places {
    FID_ARRAY(fid_module_place) list; ///< by name, in each name in the order of the search
    fid_arena arena;
} fid_module_places;

/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_module_list(const char *folder, const char *list, fid_module_places *out, fid_error *err);

void fid_module_places_clear(fid_module_places *places);

#endif
