#include "app/command.h"
#include "app/load.h"
#include "app/parcel.h"
#include "app/print.h"
#include "app/progress.h"
#include "base/folder.h"
#include "script/module_page.h"
#include "script/module_search.h"

#include <string.h>

static const fid_option own[] = {
    {"out-dir", 0, "FOLDER", "where the pages go, each with its pictures; docs/modules unless told"},
    {NULL, 0, NULL, NULL},
};

enum { PATH_SIZE = 1200 };

/// A run of the command.
typedef struct documenting {
    const char *folder;
    fid_recipe_options options;
    fid_inputs inputs; ///< what was read: no page goes onto it
    FID_ARRAY(fid_file_path) modules;
    bool has_index; ///< all that can be found, so that a list of them is written, too
    bool quiet;
    fid_text index;
    fid_progress bar;
    int32_t over;  ///< modules, for the bar
    int32_t pages; ///< written
    int status;    ///< the worst so far
} documenting;

static void note_status(documenting *now, int status) { now->status = status > now->status ? status : now->status; }

static fid_code add_module(documenting *now, const fid_file_path *folder, fid_error *err) {
    return fid_array_push(&now->modules, *folder) ? FID_OK : fid_no_memory(err);
}

static fid_code add_all(documenting *now, fid_error *err) {
    fid_module_places found = {0};
    fid_file_path folder;
    fid_code code = fid_module_list(".", now->options.module_path, &found, err);
    for (int32_t i = 0; i < found.list.count && !code; i++) {
        if (!found.list.at[i].hidden_by) {
            snprintf(folder.at, sizeof folder.at, "%s", found.list.at[i].folder);
            code = add_module(now, &folder, err);
        }
    }
    fid_module_places_clear(&found);
    now->has_index = true;
    return code;
}

/// docs/modules: a folder in a folder.
static fid_code make_folder(const char *folder, fid_error *err) {
    char above[PATH_SIZE];
    const char *slash = strrchr(folder, '/');
    fid_code code = FID_OK;
    if (slash && slash != folder) {
        snprintf(above, sizeof above, "%.*s", (int)(slash - folder), folder);
        code = fid_folder_make(above, err);
    }
    return code ? code : fid_folder_make(folder, err);
}

/// Where a file of a page goes.
static fid_code set_path(const documenting *now, const char *file, char path[PATH_SIZE], fid_error *err) {
    snprintf(path, PATH_SIZE, "%s/%s", now->folder, file);
    return fid_inputs_has(&now->inputs, path)
               ? fid_fail(err, FID_INVALID, "the page would go onto '%.200s', which is a file of the module", path)
               : FID_OK;
}

/// Writes a page and its pictures: all or nothing.
static int put_page(documenting *now, const fid_module_page *page) {
    fid_output outputs[FID_OUTPUTS_MOST] = {{0}};
    char paths[FID_OUTPUTS_MOST][PATH_SIZE], name[FID_MODULE_NAME_SIZE + 4];
    int32_t count = page->pictures.count + 1;
    fid_error err = {0};
    snprintf(name, sizeof name, "%s.md", page->name);
    fid_code code = count <= FID_OUTPUTS_MOST ? FID_OK : fid_fail(&err, FID_LIMIT, "too many pictures");
    for (int32_t i = 0; i < count && !code; i++) {
        const fid_module_picture *picture = i > 0 ? &page->pictures.at[i - 1] : NULL;
        outputs[i].path = paths[i];
        fid_text_add(&outputs[i].bytes, picture ? picture->svg : page->text);
        code = set_path(now, picture ? picture->file : name, paths[i], &err);
        code = !code && outputs[i].bytes.failed ? fid_no_memory(&err) : code;
    }
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_print_outputs(outputs, count);
    }
    for (int32_t i = 0; i < count && i < FID_OUTPUTS_MOST; i++) {
        fid_text_clear(&outputs[i].bytes);
    }
    return status;
}

// Each module is run in a process of its own: one that breaks a limit leaves the pages of the others.

static void make_page(void *user, int32_t index, fid_text *out) {
    const documenting *now = user;
    fid_module_page page = {0};
    fid_report report = {0};
    fid_inputs inputs = {0};
    fid_recipe_options options = now->options;
    options.inputs = &inputs;
    fid_code code = fid_module_write_page(now->modules.at[index].at, &options, &page, &report);
    fid_parcel_add_run(out, code, &report);
    if (!code) {
        const char *const texts[] = {page.name, page.version, page.summary, page.text};
        for (int i = 0; i < 4; i++) {
            fid_parcel_add_text(out, texts[i]);
        }
        fid_parcel_add_number(out, page.pictures.count);
        for (int32_t i = 0; i < page.pictures.count; i++) {
            fid_parcel_add_text(out, page.pictures.at[i].file);
            fid_parcel_add_text(out, page.pictures.at[i].svg);
        }
        fid_parcel_add_number(out, inputs.paths.count);
        for (int32_t i = 0; i < inputs.paths.count; i++) {
            fid_parcel_add_text(out, inputs.paths.at[i]);
        }
    }
    fid_inputs_clear(&inputs);
    fid_report_clear(&report);
    fid_module_page_clear(&page);
}

static fid_code read_page(documenting *now, fid_parcel *parcel, fid_module_page *out, fid_error *err) {
    const char **const texts[] = {&out->name, &out->version, &out->summary, &out->text};
    for (int i = 0; i < 4; i++) {
        *texts[i] = fid_parcel_read_text(parcel);
    }
    for (int32_t count = fid_parcel_read_number(parcel); count > 0 && !parcel->is_broken; count--) {
        fid_module_picture picture = {.file = fid_parcel_read_text(parcel)};
        picture.svg = fid_parcel_read_text(parcel);
        if (!fid_array_push(&out->pictures, picture)) {
            return fid_no_memory(err);
        }
    }
    fid_code code = FID_OK;
    for (int32_t count = fid_parcel_read_number(parcel); count > 0 && !parcel->is_broken && !code; count--) {
        const char *path = fid_parcel_read_text(parcel);
        code = path ? fid_inputs_add(&now->inputs, NULL, path, err) : FID_OK;
    }
    return code ? code : parcel->is_broken ? fid_no_memory(err) : FID_OK;
}

static void take_page(void *user, int32_t index, const fid_apart_end *end) {
    documenting *now = user;
    const char *folder = now->modules.at[index].at;
    fid_module_page page = {0};
    fid_report report = {0};
    fid_parcel parcel;
    fid_error err = {0};
    fid_progress_hide(&now->bar);
    fid_code code = fid_parcel_read_run(end, folder, &parcel, &report);
    if (code || !now->quiet) {
        fid_print_report(&report, folder, NULL);
    }
    int status = fid_exit_status(code);
    if (!code && read_page(now, &parcel, &page, &err)) {
        fid_print_error(folder, &err);
        status = FID_EXIT_UNUSABLE;
    } else if (!code) {
        status = put_page(now, &page);
    }
    if (status == FID_EXIT_FINE) {
        now->pages++;
        fid_text_addf(&now->index, "| [%s](%s.md) | %s | %s |\n", page.name, page.name, page.version, page.summary);
    }
    note_status(now, status);
    fid_report_clear(&report);
    fid_module_page_clear(&page);
}

static void show_progress(void *user, int32_t index, const fid_apart_end *end) {
    documenting *now = user;
    (void)index;
    (void)end;
    fid_progress_show(&now->bar, ++now->over, now->modules.count);
}

static int put_index(const documenting *now) {
    fid_text text = {0};
    fid_error err = {0};
    char path[PATH_SIZE];
    fid_code code = set_path(now, "index.md", path, &err);
    fid_text_add(&text, "# Modules\n\n| module | version | what it is |\n|---|---|---|\n");
    fid_text_add(&text, now->index.at ? now->index.at : "");
    code = !code && (text.failed || now->index.failed) ? fid_no_memory(&err) : code;
    if (code) {
        fid_print_error(NULL, &err);
    }
    int status = code ? fid_exit_status(code) : fid_print_output(path, &text);
    fid_text_clear(&text);
    return status;
}

static void write_pages(documenting *now) {
    fid_apart parts = {now->modules.count, fid_apart_processors(), now, make_page, show_progress, take_page};
    fid_error err = {0};
    now->bar = fid_progress_begin("pages", now->quiet);
    fid_code code = fid_apart_run(&parts, &err);
    fid_progress_hide(&now->bar);
    if (code) {
        fid_print_error(NULL, &err);
        note_status(now, fid_exit_status(code));
    }
    // Where a page is missing, the list of all would leave it out.
    if (now->has_index && now->status == FID_EXIT_FINE) {
        note_status(now, put_index(now));
    }
    if (!now->quiet) {
        fid_text line = {0};
        fid_text_add_count(&line, now->pages, "page");
        fid_text_add(&line, " written to ");
        fid_print_add_plain(now->folder, &line);
        if (!line.failed) {
            fid_print_line(stderr, line.at);
        }
        fid_text_clear(&line);
    }
}

static fid_code read_wishes(const fid_arguments *arguments, fid_arena *names, fid_param *none, documenting *out,
                            fid_error *err) {
    const char *folder = fid_arguments_last(arguments, "out-dir");
    out->folder = folder ? folder : "docs/modules";
    out->quiet = fid_arguments_last(arguments, "quiet") != NULL;
    if (!out->folder[0] || strlen(out->folder) > 1000) {
        return fid_fail(err, FID_INVALID, "--out-dir takes the folder where the pages go");
    }
    fid_code code = fid_load_options(arguments, names, none, &out->options, err);
    for (int32_t i = 0; i < arguments->words.count && !code; i++) {
        fid_file_path found;
        code = fid_module_find(".", out->options.module_path, arguments->words.at[i], &found, err);
        code = code ? code : add_module(out, &found, err);
    }
    code = code || arguments->words.count > 0 ? code : add_all(out, err);
    return code ? code : make_folder(out->folder, err);
}

static int run(const fid_arguments *arguments) {
    documenting now = {.status = FID_EXIT_FINE};
    fid_arena names = {0};
    fid_param none;
    fid_error err = {0};
    fid_code code = read_wishes(arguments, &names, &none, &now, &err);
    if (code) {
        fid_print_error(NULL, &err);
        now.status = fid_exit_status(code);
    } else {
        write_pages(&now);
    }
    fid_array_clear(&now.modules);
    fid_inputs_clear(&now.inputs);
    fid_text_clear(&now.index);
    fid_arena_clear(&names);
    return now.status;
}

static const fid_option *const tables[] = {own, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_doc = {
    "doc",
    "[NAME...] [--out-dir FOLDER]",
    "writes pages about modules, with pictures of their poses",
    "    fid doc                              all that can be found, and a list of them\n"
    "    fid doc stretch_leg tail --out-dir pages\n",
    tables,
    0,
    INT32_MAX,
    run,
};
