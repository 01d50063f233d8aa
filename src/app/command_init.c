#include "app/command.h"
#include "app/known.h"
#include "app/load.h"
#include "app/print.h"
#include "app/start.h"
#include "base/folder.h"
#include "script/editor.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { MOST_FILES = 4, PATH_SIZE = 1200, NAME_SIZE = 33 };

/// What is written: whole, all of it or nothing.
typedef struct project {
    const char *folder;
    fid_output outputs[MOST_FILES];
    char paths[MOST_FILES][PATH_SIZE];
    int32_t count;
    fid_text said; ///< what was left as it is
} project;

/// The next file, at `name` in the project's folder; NULL where it is there already and is the user's.
static fid_text *add_file(project *now, const char *name, bool is_ours) {
    char *path = now->paths[now->count];
    snprintf(path, PATH_SIZE, "%s/%s", now->folder, name);
    if (!is_ours && access(path, F_OK) == 0) {
        fid_text_addf(&now->said, "%sleft as it is: %s", now->said.count > 0 ? "\n" : "", path);
        return NULL;
    }
    now->outputs[now->count].path = path;
    return &now->outputs[now->count++].bytes;
}

/// Whether a recipe is there, so that none is begun.
static bool has_recipe(const char *folder) {
    bool found = false;
    DIR *open = opendir(folder);
    for (const struct dirent *entry = open ? readdir(open) : NULL; entry && !found; entry = readdir(open)) {
        found = fid_text_ends_with(entry->d_name, ".lua");
    }
    if (open) {
        closedir(open);
    }
    return found;
}

/// The name of the folder as that of a rig: small letters and digits, beginning with a letter.
static void make_name(const char *folder, char out[NAME_SIZE]) {
    char whole[4096];
    size_t count = 0;
    // One that is not there yet has its name on the command line only.
    if (!realpath(folder, whole)) {
        snprintf(whole, sizeof whole, "/%s", folder);
    }
    for (size_t end = strlen(whole); end > 1 && whole[end - 1] == '/'; end--) {
        whole[end - 1] = '\0';
    }
    for (const char *at = strrchr(whole, '/') + 1; *at && count < NAME_SIZE - 1; at++) {
        char letter = *at >= 'A' && *at <= 'Z' ? (char)(*at - 'A' + 'a') : *at;
        bool is_letter = letter >= 'a' && letter <= 'z';
        if (is_letter || (count > 0 && letter >= '0' && letter <= '9')) {
            out[count++] = letter;
        }
    }
    out[count] = '\0';
    if (count == 0) {
        snprintf(out, NAME_SIZE, "creature");
    }
}

static void add_recipe(project *now) {
    char name[NAME_SIZE], file[NAME_SIZE + 4];
    make_name(now->folder, name);
    snprintf(file, sizeof file, "%s.lua", name);
    fid_text *out = has_recipe(now->folder) ? NULL : add_file(now, file, false);
    if (out) {
        fid_start_add("recipe.lua", name, out);
    }
}

static fid_code add_files(project *now, bool quiet, fid_report *report, fid_error *err) {
    fid_text *out = add_file(now, ".fid/fid.lua", true);
    fid_code code = fid_known_add(now->folder, quiet, out, err);
    if (code) {
        fid_print_error(NULL, err);
        return code;
    }
    out = add_file(now, ".luarc.json", false);
    if (out) {
        fid_editor_add_luarc(".fid", out);
    }
    out = add_file(now, ".luacheckrc", false);
    code = out ? fid_editor_add_luacheck(out, report) : FID_OK;
    add_recipe(now);
    return code;
}

static int write_files(project *now, bool quiet) {
    fid_error err = {0};
    char own[PATH_SIZE];
    snprintf(own, sizeof own, "%s/.fid", now->folder);
    fid_code code = fid_folder_make(now->folder, &err);
    code = code ? code : fid_folder_make(own, &err);
    for (int32_t i = 0; i < now->count && !code; i++) {
        code = now->outputs[i].bytes.failed ? fid_no_memory(&err) : FID_OK;
    }
    if (code) {
        fid_print_error(NULL, &err);
        return fid_exit_status(code);
    }
    int status = fid_print_outputs(now->outputs, now->count);
    for (int32_t i = 0; i < now->count && status == FID_EXIT_FINE; i++) {
        fid_text_addf(&now->said, "%swritten: %s", now->said.count > 0 ? "\n" : "", now->paths[i]);
    }
    if (status == FID_EXIT_FINE && !quiet && !now->said.failed) {
        fid_print_line(stderr, now->said.at);
    }
    return status;
}

static int run(const fid_arguments *arguments) {
    project now = {.folder = arguments->words.count > 0 ? arguments->words.at[0] : "."};
    fid_report report = {0};
    fid_error err = {0};
    int status;
    if (strlen(now.folder) > 1000) {
        status = fid_exit_status(fid_fail(&err, FID_LIMIT, "the path of the folder is longer than 1000 bytes"));
        fid_print_error(NULL, &err);
    } else {
        bool quiet = fid_arguments_last(arguments, "quiet") != NULL;
        fid_code code = add_files(&now, quiet, &report, &err);
        fid_print_report(&report, "fid", NULL);
        status = code ? fid_exit_status(code) : write_files(&now, quiet);
    }
    for (int32_t i = 0; i < now.count; i++) {
        fid_text_clear(&now.outputs[i].bytes);
    }
    fid_text_clear(&now.said);
    fid_report_clear(&report);
    return status;
}

static const fid_option *const tables[] = {fid_common_options, NULL};

const fid_command fid_command_init = {
    "init",
    "[FOLDER]",
    "makes a folder a project: a recipe that builds, settings for editors",
    "    fid init marsh        # a new folder, or one that is there: what is yours is left as it is\n"
    "    fid init              # after an update: what editors know of fid is written anew\n",
    tables,
    0,
    1,
    run,
};
