#include "app/archive.h"
#include "app/modules.h"
#include "app/print.h"
#include "base/file.h"
#include "base/folder.h"
#include "script/module_info.h"
#include "script/module_lock.h"
#include "script/module_search.h"

#include <string.h>
#include <sys/stat.h>

/// The project that modules are added to: the nearest folder, from the working folder upwards, that has a folder
/// `modules`.
typedef struct project {
    fid_file_path modules, lock;
    fid_lock locked;
} project;

bool fid_modules_find_project(fid_file_path *modules, fid_file_path *lock) {
    fid_file_path folder = {"."};
    int above = fid_path_count_above(".");
    do {
        if (fid_path_join(modules, folder.at, "modules") && fid_folder_is_there(modules->at)) {
            return fid_path_join(lock, folder.at, "fid.lock");
        }
    } while (above-- > 0 && fid_path_step_up(&folder));
    return false;
}

static bool find_project(project *out) { return fid_modules_find_project(&out->modules, &out->lock); }

static fid_code read_lock(project *of, fid_error *err) {
    return fid_path_is_present(of->lock.at) ? fid_module_lock_read(NULL, of->lock.at, &of->locked, err) : FID_OK;
}

/// Writes the lock beside its place; fid_file_place puts it there.
static fid_code prepare_lock(const project *of, fid_file_pending *out, fid_error *err) {
    fid_text text = {0};
    *out = (fid_file_pending){.folder = -1};
    fid_code code = fid_lock_write(&of->locked, &text, err);
    code = code ? code : fid_file_prepare(of->lock.at, text.at, (size_t)text.count, out, err);
    fid_text_clear(&text);
    return code;
}

static fid_code put_module(project *of, fid_bundle *bundle, const fid_module_info *info, fid_error *err) {
    fid_lock_module module;
    fid_code code = fid_bundle_describe(bundle, info->name, info->version, &module, err);
    return code ? code : fid_lock_put(&of->locked, &module, err);
}

// add

/// Takes the folder off that all files of an archive stand in, unless module.lua stands at its top.
static fid_code take_off_folder(fid_bundle *bundle, fid_error *err) {
    const char *first = bundle->files.count > 0 ? bundle->files.at[0].path : "";
    size_t length = strcspn(first, "/");
    bool has_module = false, is_one = bundle->files.count > 0 && first[length] == '/';
    for (int32_t i = 0; i < bundle->files.count; i++) {
        const char *path = bundle->files.at[i].path;
        if (strcmp(path, "module.lua") == 0) {
            return FID_OK;
        }
        is_one = is_one && strncmp(path, first, length + 1) == 0;
        has_module = has_module || (is_one && strcmp(path + length + 1, "module.lua") == 0);
    }
    if (!is_one || !has_module) {
        return fid_fail(err, FID_INVALID, "there is no module.lua, at the top of the archive or in its one folder");
    }
    for (int32_t i = 0; i < bundle->files.count; i++) {
        bundle->files.at[i].path += length + 1;
    }
    return FID_OK;
}

/// All files of the folder or archive.
static fid_code read_source(const char *source, fid_bundle *out, fid_error *err) {
    if (fid_folder_is_there(source)) {
        return fid_bundle_read(source, true, out, err);
    }
    if (!fid_path_is_present(source)) {
        return fid_fail(err, FID_IO, "there is no folder or archive '%.200s'", source);
    }
    fid_code code = fid_archive_read(source, out, err);
    if (!code) {
        code = take_off_folder(out, err);
        code = code ? code : fid_bundle_seal(out, err);
        if (code == FID_INVALID || code == FID_NAME_TAKEN) {
            fid_archive_refuse(source, code, err);
        }
    }
    return code;
}

/// Makes the folders in which a file stands, below `folder`.
static fid_code make_folders(const char *folder, const char *path, fid_error *err) {
    char whole[FID_PATH_SIZE + FID_BUNDLE_PATH_SIZE];
    fid_code code = FID_OK;
    for (const char *at = strchr(path, '/'); at && !code; at = strchr(at + 1, '/')) {
        snprintf(whole, sizeof whole, "%s/%.*s", folder, (int)(at - path), path);
        code = fid_folder_make(whole, err);
    }
    return code;
}

static fid_code write_files(const char *folder, const fid_bundle *bundle, fid_error *err) {
    char whole[FID_PATH_SIZE + FID_BUNDLE_PATH_SIZE];
    fid_code code = FID_OK;
    for (int32_t i = 0; i < bundle->files.count && !code; i++) {
        const fid_bundle_file *file = &bundle->files.at[i];
        snprintf(whole, sizeof whole, "%s/%s", folder, file->path);
        code = make_folders(folder, file->path, err);
        code = code ? code : fid_file_write(whole, file->bytes.at, (size_t)file->bytes.count, err);
    }
    return code;
}

/// A text in which `from` is written `to`.
static const char *replace(fid_arena *arena, const char *text, const char *from, const char *to) {
    fid_text out = {0};
    const char *found;
    for (; (found = strstr(text, from)) != NULL; text = found + strlen(from)) {
        fid_text_add_bytes(&out, text, (size_t)(found - text));
        fid_text_add(&out, to);
    }
    fid_text_add(&out, text);
    const char *copy = out.failed ? NULL : fid_arena_copy(arena, out.at, (size_t)out.count);
    fid_text_clear(&out);
    return copy ? copy : text;
}

/// Prints what is wrong with a module that stands aside, as if it stood where it comes from.
static void print_aside(const fid_report *report, const char *aside, const char *source, fid_severity most) {
    fid_report told = {0};
    for (int32_t i = 0; i < report->findings.count; i++) {
        fid_finding finding = report->findings.at[i];
        fid_place places[16];
        finding.severity = finding.severity > most ? most : finding.severity;
        finding.message = replace(&told.arena, finding.message, aside, source);
        for (int32_t k = 0; k < finding.place_count && k < 16; k++) {
            places[k] = finding.places[k];
            places[k].file = places[k].file ? replace(&told.arena, places[k].file, aside, source) : NULL;
        }
        finding.places = places;
        finding.place_count = finding.place_count < 16 ? finding.place_count : 16;
        fid_report_add(&told, &finding);
    }
    fid_print_report(&told, source, NULL);
    fid_report_clear(&told);
}

/// One module on its way into the project.
typedef struct adding {
    const fid_modules_wishes *of;
    const char *source;
    project into;
    fid_bundle bundle;
    fid_module_info info;
    char aside[FID_PATH_SIZE + 64]; ///< where it stands until it is whole; "" before that
    fid_file_path place;
    bool replaces;
} adding;

/// Runs the module where it stands aside: its name decides its place.
static fid_code read_aside(adding *now) {
    fid_report report = {0};
    fid_code code = fid_module_read_info(now->aside, &now->of->options, FID_MODULE_DECLARED, &now->info, &report);
    if (code || !now->of->quiet) {
        print_aside(&report, now->aside, now->source, FID_ERROR);
    }
    fid_report_clear(&report);
    return code;
}

static fid_code check_place(adding *now, fid_error *err) {
    struct stat status;
    if (!fid_path_join(&now->place, now->into.modules.at, now->info.name)) {
        return fid_fail(err, FID_LIMIT, "the path of module '%s' would be too long", now->info.name);
    }
    if (lstat(now->place.at, &status) != 0) {
        return FID_OK;
    }
    if (!S_ISDIR(status.st_mode)) {
        return fid_fail(err, FID_NAME_TAKEN, "'%.200s' is no folder of a module and is not replaced", now->place.at);
    }
    now->replaces = true;
    return fid_arguments_last(now->of->arguments, "replace")
               ? FID_OK
               : fid_fail(err, FID_NAME_TAKEN,
                          "there is a module '%s' in %.200s already; --replace puts this one, "
                          "version %s, in its place",
                          now->info.name, now->place.at, now->info.version);
}

/// The module and the lock come into place together, or neither does.
static fid_code place(adding *now, fid_error *err) {
    fid_file_pending lock;
    fid_code code = put_module(&now->into, &now->bundle, &now->info, err);
    code = code ? code : prepare_lock(&now->into, &lock, err);
    if (code) {
        return code;
    }
    code = fid_folder_move(now->aside, now->place.at, now->replaces, err);
    if (code) {
        fid_file_abandon(&lock);
        return code;
    }
    code = fid_file_place(&lock, err);
    if (code) {
        fid_error ignored;
        // Back as it was; the module is in nobody's way where even that fails.
        fid_code back = now->replaces ? fid_folder_move(now->aside, now->place.at, true, &ignored)
                                      : fid_folder_move(now->place.at, now->aside, false, &ignored);
        (void)back;
    }
    return code;
}

/// What the module needs need not be there yet, but is told.
static void tell_needs(const adding *now) {
    fid_report report = {0};
    fid_module_info info = {0};
    fid_code code = fid_module_read_info(now->place.at, &now->of->options, FID_MODULE_NEEDED, &info, &report);
    if (code && !now->of->quiet) {
        print_aside(&report, now->place.at, now->place.at, FID_WARNING);
    }
    fid_report_clear(&report);
    fid_module_info_clear(&info);
}

static int tell_added(const adding *now) {
    if (now->of->quiet) {
        return FID_EXIT_FINE;
    }
    tell_needs(now);
    fid_text text = {0};
    fid_text_addf(&text, "%s %s is in ", now->info.name, now->info.version);
    fid_print_add_plain(now->place.at, &text);
    fid_text_add(&text, ": ");
    fid_text_add_count(&text, now->bundle.files.count, "file");
    fid_text_addf(&text, ", sha256 %s\n", now->bundle.sha256);
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

/// Brings the module in; `*told`: what is wrong was printed already.
static fid_code add(adding *now, bool *told, fid_error *err) {
    fid_code code = read_source(now->source, &now->bundle, err);
    if (!code && !find_project(&now->into)) {
        now->into = (project){.modules = {"modules"}, .lock = {"fid.lock"}};
        code = fid_folder_make("modules", err);
    }
    code = code ? code : read_lock(&now->into, err);
    if (!code) {
        code = fid_folder_make_new(now->into.modules.at, ".fid-add", now->aside, sizeof now->aside, err);
        now->aside[0] = code ? '\0' : now->aside[0];
    }
    code = code ? code : write_files(now->aside, &now->bundle, err);
    if (!code) {
        code = read_aside(now);
        *told = code != FID_OK;
    }
    code = code ? code : check_place(now, err);
    return code ? code : place(now, err);
}

int fid_modules_add(const fid_modules_wishes *of) {
    adding now = {.of = of, .source = of->arguments->words.at[1]};
    fid_error err = {0};
    bool told = false;
    fid_code code = add(&now, &told, &err);
    // Where it has replaced another one, that is what stands aside now.
    if (now.aside[0]) {
        fid_folder_remove(now.aside);
    }
    if (code && !told) {
        fid_print_error(NULL, &err);
    }
    int status = code ? fid_exit_status(code) : tell_added(&now);
    fid_module_info_clear(&now.info);
    fid_bundle_clear(&now.bundle);
    fid_lock_clear(&now.into.locked);
    return status;
}

// lock

/// Takes the module of that name as it is now; prints what its file says is wrong.
static fid_code lock_module(const fid_modules_wishes *of, project *into, const char *name, bool *told, fid_error *err) {
    fid_file_path folder;
    fid_report report = {0};
    fid_module_info info = {0};
    fid_bundle bundle = {0};
    if (!fid_path_join(&folder, into->modules.at, name)) {
        return fid_fail(err, FID_LIMIT, "the path of module '%s' is too long", name);
    }
    fid_code code = fid_module_read_info(folder.at, &of->options, FID_MODULE_DECLARED, &info, &report);
    *told = code != FID_OK;
    if (code || !of->quiet) {
        fid_print_report(&report, folder.at, NULL);
    }
    if (!code && strcmp(info.name, name) != 0) {
        code = fid_fail(err, FID_INVALID, "%.200s/module.lua is called '%s', not as its folder; call both alike",
                        folder.at, info.name);
    }
    code = code ? code : fid_bundle_read(folder.at, false, &bundle, err);
    code = code ? code : put_module(into, &bundle, &info, err);
    fid_bundle_clear(&bundle);
    fid_module_info_clear(&info);
    fid_report_clear(&report);
    return code;
}

/// All modules of the project.
static fid_code lock_all(const fid_modules_wishes *of, project *into, bool *told, fid_error *err) {
    fid_module_places places = {0};
    fid_code code = fid_module_list(".", NULL, &places, err);
    for (int32_t i = 0; i < places.list.count && !code; i++) {
        const fid_module_place *found = &places.list.at[i];
        fid_file_path folder;
        bool is_own = fid_path_join(&folder, into->modules.at, found->name) && strcmp(folder.at, found->folder) == 0;
        code = is_own ? lock_module(of, into, found->name, told, err) : FID_OK;
    }
    fid_module_places_clear(&places);
    return code;
}

/// The modules named are locked anew, the others stay as they were locked; without names, all are, and those that are
/// gone are forgotten.
static fid_code lock(const fid_modules_wishes *of, project *into, bool *told, fid_error *err) {
    const fid_arguments *arguments = of->arguments;
    if (!find_project(into)) {
        return fid_fail(err, FID_IO, "there is no folder 'modules' here or above, and so nothing to lock");
    }
    fid_code code = arguments->words.count > 1 ? read_lock(into, err) : lock_all(of, into, told, err);
    for (int32_t i = 1; i < arguments->words.count && !code; i++) {
        fid_file_path folder, file;
        const char *name = arguments->words.at[i];
        if (!fid_module_is_name(name) || !fid_path_join(&folder, into->modules.at, name) ||
            !fid_path_join(&file, folder.at, "module.lua") || !fid_path_is_present(file.at)) {
            code = fid_fail(err, FID_UNKNOWN, "there is no module '%.64s' in %.200s", name, into->modules.at);
        } else {
            code = lock_module(of, into, name, told, err);
        }
    }
    fid_file_pending pending;
    code = code ? code : prepare_lock(into, &pending, err);
    return code ? code : fid_file_place(&pending, err);
}

int fid_modules_lock(const fid_modules_wishes *of) {
    project into = {.lock = {""}};
    fid_error err = {0};
    bool told = false;
    fid_code code = lock(of, &into, &told, &err);
    int status = fid_exit_status(code);
    if (code && !told) {
        fid_print_error(NULL, &err);
    } else if (!code && !of->quiet) {
        fid_text text = {0};
        fid_print_add_plain(into.lock.at, &text);
        fid_text_add(&text, ": ");
        fid_text_add_count(&text, into.locked.modules.count, "module");
        fid_text_add(&text, "\n");
        status = fid_print_output(NULL, &text);
        fid_text_clear(&text);
    }
    fid_lock_clear(&into.locked);
    return status;
}
