#include "app/known.h"

#include "app/parcel.h"
#include "app/print.h"
#include "script/annotate.h"
#include "script/module_search.h"

#include <stdlib.h>
#include <string.h>

/// Modules that are read, each in a process of its own: one that breaks a limit is left out alone.
typedef struct reading {
    fid_recipe_options options;
    FID_ARRAY(fid_file_path) folders;
    FID_ARRAY(fid_module_info) modules;
    bool quiet;
    bool failed; ///< there was no memory
} reading;

static void read_alone(void *user, int32_t index, fid_text *out) {
    const reading *now = user;
    fid_module_info info = {0};
    fid_report report = {0};
    fid_code code = fid_module_read_info(now->folders.at[index].at, &now->options, FID_MODULE_EDITORS, &info, &report);
    fid_parcel_add_run(out, code, &report);
    fid_parcel_add_text(out, info.name);
    fid_parcel_add_text(out, info.classes);
    fid_parcel_add_text(out, info.requests);
    fid_report_clear(&report);
    fid_module_info_clear(&info);
}

static const char *copy_text(fid_parcel *parcel, fid_arena *arena) {
    const char *text = fid_parcel_read_text(parcel);
    return text ? fid_arena_copy(arena, text, strlen(text)) : NULL;
}

static void take_module(void *user, int32_t index, const fid_apart_end *end) {
    reading *now = user;
    fid_module_info info = {0};
    fid_report report = {0};
    fid_parcel parcel;
    fid_code code = fid_parcel_read_run(end, now->folders.at[index].at, &parcel, &report);
    if (code && !now->quiet) {
        fid_print_report(&report, now->folders.at[index].at, NULL);
    } else if (!code) {
        info.name = copy_text(&parcel, &info.arena);
        info.classes = copy_text(&parcel, &info.arena);
        info.requests = copy_text(&parcel, &info.arena);
    }
    bool is_kept = info.name && info.classes && info.requests && fid_array_push(&now->modules, info);
    if (!is_kept) {
        fid_module_info_clear(&info);
    }
    now->failed |= !code && !is_kept;
    fid_report_clear(&report);
}

static fid_code list_folders(reading *now, const char *folder, const char *list, fid_error *err) {
    fid_module_places places = {0};
    fid_code code = fid_module_list(folder, list, &places, err);
    for (int32_t i = 0; i < places.list.count && !code; i++) {
        fid_file_path path;
        snprintf(path.at, sizeof path.at, "%s", places.list.at[i].folder);
        bool is_wanted = !places.list.at[i].hidden_by;
        code = !is_wanted || fid_array_push(&now->folders, path) ? FID_OK : fid_no_memory(err);
    }
    fid_module_places_clear(&places);
    return code;
}

fid_code fid_known_add(const char *folder, bool quiet, fid_text *out, fid_error *err) {
    reading now = {.quiet = quiet};
    const char *list = getenv("FID_PATH");
    fid_text path = {0};
    // What modules of another folder need is with them, too.
    bool is_here = strcmp(folder, ".") == 0;
    if (!is_here) {
        fid_text_addf(&path, "%s/modules%s%s", folder, list ? ":" : "", list ? list : "");
    }
    now.options.module_path = is_here ? list : path.at;
    fid_code code = path.failed ? fid_no_memory(err) : list_folders(&now, folder, list, err);
    fid_apart parts = {now.folders.count, fid_apart_processors(), &now, read_alone, NULL, take_module};
    code = code ? code : fid_apart_run(&parts, err);
    code = !code && now.failed ? fid_no_memory(err) : code;
    if (!code) {
        fid_annotate(out, now.modules.at, now.modules.count);
    }
    for (int32_t i = 0; i < now.modules.count; i++) {
        fid_module_info_clear(&now.modules.at[i]);
    }
    fid_array_clear(&now.modules);
    fid_array_clear(&now.folders);
    fid_text_clear(&path);
    return code;
}
