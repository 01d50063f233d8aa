#ifndef FID_SCRIPT_MODULE_PAGE_H
#define FID_SCRIPT_MODULE_PAGE_H

#include "script/module_info.h"

/// A picture of a page.
typedef struct fid_module_picture {
    const char *file; ///< "stretch_leg-raised.svg"
    const char *svg;
} fid_module_picture;

/// The page of a module. Zero-initialise to begin.
typedef struct fid_module_page {
    const char *name, *version;
    const char *summary; ///< as it stands in a table of Markdown
    const char *text;    ///< Markdown
    FID_ARRAY(fid_module_picture) pictures;
    fid_arena arena;
} fid_module_page;

/// Writes the page of the module in `folder` (as fid_module_find gives it): what it declares, what its README.md says
/// by hand, and, by building the example of its test.lua, what it hands out, pictures, and a recipe. `options` are
/// those of a session. Errors and warnings are findings in `report`. The same module gives the same bytes.
/// @return as fid_host_run
FID_NODISCARD fid_code fid_module_write_page(const char *folder, const fid_recipe_options *options,
                                             fid_module_page *out, fid_report *report);

void fid_module_page_clear(fid_module_page *page);

#endif
