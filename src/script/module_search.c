#include "script/module_search.h"

#include "base/text.h"
#include "script/embedded.h"
#include "script/loader.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_FOLDERS = 256, MOST_NAMES = 4096 };

bool fid_module_is_name(const char *name) {
    size_t length = strlen(name);
    if (length == 0 || length >= FID_MODULE_NAME_SIZE || name[0] < 'a' || name[0] > 'z') {
        return false;
    }
    return strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_") == length;
}

fid_code fid_module_check_name(const char *what, const char *name, fid_error *err) {
    if (fid_module_is_name(name)) {
        return FID_OK;
    }
    fid_fail(err, FID_INVALID,
             "the name of a %s has lower-case letters, digits and '_', at most %d, beginning with a letter; not "
             "'%.100s'",
             what, FID_MODULE_NAME_SIZE - 1, name);
    fid_error_about(err, name);
    return FID_INVALID;
}

/// Where modules are looked for, from the nearest folder on.
typedef struct search {
    fid_file_path folder; ///< where it begins, or one above
    int above;            ///< how many folders are still above
    const char *rest;     ///< of the list of folders, or NULL
    bool is_nested;       ///< next is modules/ within the entry of the list
    bool is_started;
} search;

static search begin_search(const char *folder, const char *list) {
    search at = {.above = fid_path_count_above(folder), .rest = list};
    at.above = at.above < MOST_FOLDERS ? at.above : MOST_FOLDERS;
    snprintf(at.folder.at, sizeof at.folder.at, "%s", folder);
    fid_path_normalize(&at.folder);
    return at;
}

/// The next folder; false after the last. Those with a path too long are passed over.
static bool next_folder(search *at, fid_file_path *out) {
    bool is_first = !at->is_started;
    at->is_started = true;
    while (is_first || (at->above > 0 && fid_path_step_up(&at->folder))) {
        at->above -= is_first ? 0 : 1;
        is_first = false;
        if (fid_path_join(out, at->folder.at, "modules")) {
            fid_path_normalize(out);
            return true;
        }
    }
    at->above = 0;
    while (at->rest != NULL && *at->rest != '\0') {
        size_t length = strcspn(at->rest, ":");
        bool is_kept = length > 0 && length + 16 < FID_PATH_SIZE;
        if (is_kept) {
            memcpy(out->at, at->rest, length);
            out->at[length] = '\0';
            if (at->is_nested) {
                memcpy(out->at + length, "/modules", 9);
            }
            fid_path_normalize(out);
        }
        if (at->is_nested || !is_kept) {
            at->rest += length;
            at->rest += *at->rest == ':';
        }
        at->is_nested = is_kept && !at->is_nested;
        if (is_kept) {
            return true;
        }
    }
    return false;
}

/// Whether there is `folder`/NAME/module.lua; `out` is `folder`/NAME.
static bool has_module(const char *folder, const char *name, fid_file_path *out) {
    fid_file_path file;
    return fid_path_join(out, folder, name) && fid_path_join(&file, out->at, "module.lua") &&
           fid_path_is_present(file.at);
}

/// The length of NAME in "modules/NAME/module.lua", or 0.
static size_t measure_embedded_name(const char *file) {
    if (strncmp(file, "modules/", 8) != 0) {
        return 0;
    }
    size_t length = strcspn(file + 8, "/");
    return strcmp(file + 8 + length, "/module.lua") == 0 ? length : 0;
}

static fid_code add_place(fid_module_places *places, const char *name, size_t length, const char *folder,
                          fid_error *err) {
    if (places->list.count >= MOST_NAMES) {
        return FID_OK;
    }
    fid_module_place place = {fid_arena_copy(&places->arena, name, length),
                              fid_arena_copy(&places->arena, folder, strlen(folder)), NULL};
    return place.name != NULL && place.folder != NULL && fid_array_push(&places->list, place) ? FID_OK
                                                                                              : fid_no_memory(err);
}

static fid_code add_folder(fid_module_places *places, const char *folder, fid_error *err) {
    DIR *open = opendir(folder);
    fid_code code = FID_OK;
    for (const struct dirent *entry = open != NULL ? readdir(open) : NULL; entry != NULL && code == FID_OK;
         entry = readdir(open)) {
        fid_file_path own;
        if (fid_module_is_name(entry->d_name) && has_module(folder, entry->d_name, &own)) {
            code = add_place(places, entry->d_name, strlen(entry->d_name), own.at, err);
        }
    }
    if (open != NULL) {
        closedir(open);
    }
    return code;
}

/// The order in which a folder gives its names is not ours. The sort is stable: `order` breaks ties.
typedef struct ranked {
    fid_module_place place;
    int32_t order;
} ranked;

static int compare(const void *a, const void *b) {
    const ranked *one = a, *other = b;
    int names = strcmp(one->place.name, other->place.name);
    return names != 0 ? names : one->order < other->order ? -1 : 1;
}

static fid_code sort(fid_module_places *places, fid_error *err) {
    int32_t count = places->list.count;
    ranked *rows = fid_memory_get((size_t)(count > 0 ? count : 1) * sizeof *rows);
    if (rows == NULL) {
        return fid_no_memory(err);
    }
    for (int32_t i = 0; i < count; i++) {
        rows[i] = (ranked){places->list.at[i], i};
    }
    qsort(rows, (size_t)count, sizeof *rows, compare);
    const fid_module_place *first = NULL;
    for (int32_t i = 0; i < count; i++) {
        fid_module_place *place = &places->list.at[i];
        *place = rows[i].place;
        bool is_hidden = first != NULL && strcmp(first->name, place->name) == 0;
        place->hidden_by = is_hidden ? first->folder : NULL;
        first = is_hidden ? first : place;
    }
    fid_memory_free(rows);
    return FID_OK;
}

fid_code fid_module_list(const char *folder, const char *list, fid_module_places *out, fid_error *err) {
    search at = begin_search(folder, list);
    fid_file_path now;
    fid_code code = FID_OK;
    while (code == FID_OK && next_folder(&at, &now)) {
        code = add_folder(out, now.at, err);
    }
    for (size_t i = 0; i < fid_embedded_count && code == FID_OK; i++) {
        const char *file = fid_embedded_files[i].path;
        size_t length = measure_embedded_name(file);
        if (length > 0) {
            snprintf(now.at, sizeof now.at, "fid:modules/%.*s", (int)length, file + 8);
            code = add_place(out, file + 8, length, now.at, err);
        }
    }
    return code == FID_OK ? sort(out, err) : code;
}

void fid_module_places_clear(fid_module_places *places) {
    fid_array_clear(&places->list);
    fid_arena_clear(&places->arena);
}

static fid_code refuse_unknown(const char *folder, const char *list, const char *name, fid_error *err) {
    fid_module_places places = {0};
    const char *near = NULL;
    // Without memory there is no suggestion, that is all.
    if (fid_module_list(folder, list, &places, NULL) == FID_OK) {
        const char **names = fid_memory_get(((size_t)places.list.count + 1) * sizeof *names);
        for (int32_t i = 0; names != NULL && i < places.list.count; i++) {
            names[i] = places.list.at[i].name;
        }
        near = names != NULL ? fid_text_nearest(name, names, places.list.count) : NULL;
        fid_memory_free(names);
    }
    bool has_list = list != NULL && list[0] != '\0';
    fid_code code =
        fid_fail(err, FID_UNKNOWN,
                 "there is no module '%s'%s%s%s; looked in modules/ of the folder '%.120s' and of each folder above "
                 "it, %s%.120s) and among the standard modules",
                 name, near != NULL ? " (did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?)" : "",
                 folder, has_list ? "in FID_PATH (" : "in FID_PATH (which is empty", has_list ? list : "");
    fid_module_places_clear(&places);
    fid_error_about(err, name);
    return code;
}

fid_code fid_module_find(const char *folder, const char *list, const char *name, fid_file_path *out, fid_error *err) {
    fid_code named = fid_module_check_name("module", name, err);
    if (named != FID_OK) {
        return named;
    }
    search at = begin_search(folder, list);
    fid_file_path now, other;
    while (next_folder(&at, &now)) {
        if (!has_module(now.at, name, out)) {
            continue;
        }
        // Both forms of one entry of the list are one place.
        if (at.is_nested && next_folder(&at, &now) && has_module(now.at, name, &other)) {
            fid_code code =
                fid_fail(err, FID_NAME_TAKEN,
                         "there are two modules '%s' in one folder of FID_PATH: %.160s and %.160s; take one "
                         "of them away",
                         name, out->at, other.at);
            fid_error_about(err, name);
            return code;
        }
        return FID_OK;
    }
    char file[FID_MODULE_NAME_SIZE + 32];
    snprintf(file, sizeof file, "modules/%.*s/module.lua", FID_MODULE_NAME_SIZE, name);
    if (fid_loader_find_embedded(file) != NULL) {
        snprintf(out->at, sizeof out->at, "fid:modules/%s", name);
        return FID_OK;
    }
    return refuse_unknown(folder, list, name, err);
}
