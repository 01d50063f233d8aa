#include "app/known.h"

#include "app/print.h"
#include "script/annotate.h"
#include "script/module_search.h"

#include <stdlib.h>
#include <string.h>

/// Modules that were read.
typedef struct known {
    FID_ARRAY(fid_module_info) modules;
} known;

static void read_module(known *all, const char *folder, const fid_recipe_options *options, bool quiet, fid_text *out) {
    fid_module_info info = {0};
    fid_report report = {0};
    if (fid_module_read_info(folder, options, FID_MODULE_EDITORS, &info, &report) != FID_OK) {
        if (!quiet) {
            fid_print_report(&report, folder, NULL);
        }
        fid_module_info_clear(&info);
    } else if (!fid_array_push(&all->modules, info)) {
        fid_module_info_clear(&info);
        out->failed = true;
    }
    fid_report_clear(&report);
}

fid_code fid_known_add(const char *folder, bool quiet, fid_text *out, fid_error *err) {
    known all = {0};
    fid_module_places places = {0};
    const char *list = getenv("FID_PATH");
    fid_text path = {0};
    // What modules of another folder need is with them, too.
    bool is_here = strcmp(folder, ".") == 0;
    if (!is_here) {
        fid_text_addf(&path, "%s/modules%s%s", folder, list ? ":" : "", list ? list : "");
    }
    fid_code code = path.failed ? fid_no_memory(err) : fid_module_list(folder, list, &places, err);
    fid_recipe_options options = {.module_path = is_here ? list : path.at};
    for (int32_t i = 0; i < places.list.count && !code; i++) {
        if (!places.list.at[i].hidden_by) {
            read_module(&all, places.list.at[i].folder, &options, quiet, out);
        }
    }
    if (!code) {
        fid_annotate(out, all.modules.at, all.modules.count);
    }
    for (int32_t i = 0; i < all.modules.count; i++) {
        fid_module_info_clear(&all.modules.at[i]);
    }
    fid_array_clear(&all.modules);
    fid_module_places_clear(&places);
    fid_text_clear(&path);
    return code;
}
