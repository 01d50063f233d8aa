#include "app/command.h"
#include "app/modules.h"
#include "app/print.h"
#include "app/start.h"
#include "base/file.h"
#include "base/folder.h"
#include "script/module_search.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const fid_option own[] = {
    {"output", 'o', "FOLDER", "where it goes; modules/ of the project, or recipes/ where there is one, unless told"},
    {NULL, 0, NULL, NULL},
};

enum { MOST_FILES = 3 };

/// A start: its files in lua/start, and what they are called here behind the name.
typedef struct start {
    const char *file, *name;
} start;

static const start module_files[] = {
    {"module.lua", "/module.lua"}, {"test.lua", "/test.lua"}, {"README.md", "/README.md"}};
static const start recipe_files[] = {{"guided.lua", ".lua"}, {"guides.json", ".guides.json"}};

/// What is written, all of it or nothing.
typedef struct making {
    const char *name;
    fid_file_path folder; ///< where it goes
    const start *files;
    int32_t count;
    fid_file_path paths[MOST_FILES];
    bool has_made_folder;
} making;

static fid_code too_long(const char *path, fid_error *err) {
    return fid_fail(err, FID_LIMIT, "the path '%.100s' is longer than %d bytes", path, FID_PATH_SIZE - 1);
}

/// `folder`/NAME with `end` behind it.
static fid_code make_path(const making *now, const char *folder, const char *end, fid_file_path *out, fid_error *err) {
    char file[FID_MODULE_NAME_SIZE + 32];
    snprintf(file, sizeof file, "%s%s", now->name, end);
    return fid_path_join(out, folder, file) ? FID_OK : too_long(folder, err);
}

static fid_code refuse_there(const char *path, fid_error *err) {
    return fid_fail(err, FID_NAME_TAKEN, "'%.200s' is there already and is left as it is; choose another name", path);
}

static fid_code make_folder(making *now, fid_error *err) {
    now->has_made_folder = !fid_folder_is_there(now->folder.at);
    fid_code code = fid_folder_make(now->folder.at, err);
    now->has_made_folder = now->has_made_folder && !code;
    return code;
}

/// Takes back the folder that was made, where nothing else has come into it.
static void take_back(const making *now) {
    if (now->has_made_folder) {
        (void)rmdir(now->folder.at);
    }
}

/// The files of a module come into a folder aside, which is then put in its place.
static fid_code write_module(making *now, fid_error *err) {
    fid_file_path place, aside, file;
    fid_code code = make_path(now, now->folder.at, "", &place, err);
    if (!code && fid_path_is_present(place.at)) {
        return refuse_there(place.at, err);
    }
    code = code ? code : make_folder(now, err);
    code = code ? code : fid_folder_make_new(now->folder.at, ".fid-new", aside.at, sizeof aside.at, err);
    if (code) {
        take_back(now);
        return code;
    }
    for (int32_t i = 0; i < now->count && !code; i++) {
        fid_text text = {0};
        fid_start_add(now->files[i].file, now->name, &text);
        code = fid_path_join(&file, aside.at, now->files[i].file) ? FID_OK : too_long(aside.at, err);
        code = code ? code : text.failed ? fid_no_memory(err) : FID_OK;
        code = code ? code : fid_file_write(file.at, text.at, (size_t)text.count, err);
        code = code ? code : make_path(now, now->folder.at, now->files[i].name, &now->paths[i], err);
        fid_text_clear(&text);
    }
    code = code ? code : fid_folder_move(aside.at, place.at, false, err);
    if (code) {
        fid_folder_remove(aside.at);
        take_back(now);
    }
    return code;
}

static int write_recipe(making *now) {
    fid_output outputs[MOST_FILES] = {{0}};
    fid_error err = {0};
    fid_code code = FID_OK;
    for (int32_t i = 0; i < now->count && !code; i++) {
        code = make_path(now, now->folder.at, now->files[i].name, &now->paths[i], &err);
        if (!code && fid_path_is_present(now->paths[i].at)) {
            code = refuse_there(now->paths[i].at, &err);
        }
        fid_start_add(now->files[i].file, now->name, &outputs[i].bytes);
        outputs[i].path = now->paths[i].at;
        code = code ? code : outputs[i].bytes.failed ? fid_no_memory(&err) : FID_OK;
    }
    code = code ? code : make_folder(now, &err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_print_outputs(outputs, now->count);
    }
    if (status != FID_EXIT_FINE) {
        take_back(now);
    }
    for (int32_t i = 0; i < now->count; i++) {
        fid_text_clear(&outputs[i].bytes);
    }
    return status;
}

/// The folder that was told, or that the project has for it.
static fid_code find_folder(const fid_arguments *arguments, bool is_module, making *now, fid_error *err) {
    const char *told = fid_arguments_last(arguments, "output");
    fid_file_path lock;
    if (told && (!told[0] || strcmp(told, "-") == 0)) {
        return fid_fail(err, FID_INVALID, "--output takes a folder, for several files");
    }
    if (told) {
        int length = snprintf(now->folder.at, sizeof now->folder.at, "%s", told);
        fid_path_normalize(&now->folder);
        return length < (int)sizeof now->folder.at ? FID_OK : too_long(told, err);
    }
    if (!is_module) {
        snprintf(now->folder.at, sizeof now->folder.at, "%s", fid_folder_is_there("recipes") ? "recipes" : ".");
    } else if (!fid_modules_find_project(&now->folder, &lock)) {
        snprintf(now->folder.at, sizeof now->folder.at, "modules");
    }
    return FID_OK;
}

/// A new module that stands in front of another says so.
static void tell_hidden(const char *hidden, const making *now, const char *name) {
    fid_report report = {0};
    char message[256];
    fid_place place = {.file = now->paths[0].at};
    fid_finding note = {.severity = FID_NOTE, .subject = name, .message = message, .places = &place, .place_count = 1};
    snprintf(message, sizeof message, "recipes find this module instead of %.180s now", hidden);
    fid_report_add(&report, &note);
    fid_print_report(&report, now->paths[0].at, NULL);
    fid_report_clear(&report);
}

static void tell(const making *now) {
    fid_text said = {0};
    for (int32_t i = 0; i < now->count; i++) {
        fid_text_addf(&said, "%swritten: %s", i > 0 ? "\n" : "", now->paths[i].at);
    }
    if (!said.failed) {
        fid_print_line(stderr, said.at);
    }
    fid_text_clear(&said);
}

static fid_code read_kind(const char *word, bool *is_module, fid_error *err) {
    static const char *const kinds[] = {"module", "recipe"};
    *is_module = strcmp(word, kinds[0]) == 0;
    if (*is_module || strcmp(word, kinds[1]) == 0) {
        return FID_OK;
    }
    const char *near = fid_text_nearest(word, kinds, 2);
    return fid_fail(err, FID_UNKNOWN, "new makes a module or a recipe, not '%.64s'%s%s%s", word,
                    near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

static int run(const fid_arguments *arguments) {
    making now = {.name = arguments->words.at[1]};
    fid_error err = {0};
    fid_file_path hidden = {""};
    bool is_module = false;
    fid_code code = read_kind(arguments->words.at[0], &is_module, &err);
    code = code ? code : fid_module_check_name(is_module ? "module" : "recipe", now.name, &err);
    code = code ? code : find_folder(arguments, is_module, &now, &err);
    if (code) {
        fid_print_error(NULL, &err);
        return fid_exit_status(code);
    }
    now.files = is_module ? module_files : recipe_files;
    now.count = is_module ? MOST_FILES : MOST_FILES - 1;
    bool hides = is_module && fid_module_find(".", getenv("FID_PATH"), now.name, &hidden, &err) == FID_OK;
    int status;
    if (is_module) {
        code = write_module(&now, &err);
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(NULL, &err);
        }
    } else {
        status = write_recipe(&now);
    }
    if (status == FID_EXIT_FINE && fid_arguments_last(arguments, "quiet") == NULL) {
        tell(&now);
        fid_file_path found;
        if (hides && fid_module_find(".", getenv("FID_PATH"), now.name, &found, &err) == FID_OK &&
            strcmp(found.at, hidden.at) != 0) {
            tell_hidden(hidden.at, &now, now.name);
        }
    }
    return status;
}

static const fid_option *const tables[] = {own, fid_common_options, NULL};

const fid_command fid_command_new = {
    "new",
    "module|recipe NAME [-o FOLDER]",
    "begins a module, with its tests and page, or a recipe, with its guides",
    "    fid new module tail       # modules/tail/ with module.lua, test.lua, README.md\n"
    "    fid new recipe crane      # crane.lua and crane.guides.json\n",
    tables,
    2,
    2,
    run,
};
