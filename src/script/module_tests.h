#ifndef FID_SCRIPT_MODULE_TESTS_H
#define FID_SCRIPT_MODULE_TESTS_H

#include "script/module_info.h"
#include "script/path.h"

/// Where the tests of a module are.
typedef struct fid_module_tests_place {
    fid_file_path folder;     ///< of the module, as messages show it; "fid:modules/NAME" for an embedded one
    char name[FID_PATH_SIZE]; ///< of the file in it: "test.lua"
    bool is_root;             ///< what the module needs is looked for from its own folder on, else from the working one
} fid_module_tests_place;

/// What a file of tests says. Zero-initialise to begin.
typedef struct fid_module_tests {
    const char *module;     ///< the name of the module
    fid_module_words cases; ///< their names
    fid_arena arena;
} fid_module_tests;

/// Whether there is a file at the place.
bool fid_module_tests_are_there(const fid_module_tests_place *place);

/// Runs the file and finds the module, which is the one in the folder of the place. Errors and warnings are findings in
/// `report`.
/// @return FID_OK, FID_IO (a file is missing), or the code of the error
FID_NODISCARD fid_code fid_module_tests_read(const fid_module_tests_place *place, const fid_recipe_options *options,
                                             fid_module_tests *out, fid_report *report);

/// Runs the case of that index in a sandbox of its own. What failed is a finding in `report`, an error.
/// @return FID_OK or the code of the error
FID_NODISCARD fid_code fid_module_tests_run(const fid_module_tests_place *place, const fid_recipe_options *options,
                                            int32_t index, fid_report *report);

void fid_module_tests_clear(fid_module_tests *tests);

#endif
