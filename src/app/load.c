#include "app/load.h"

#include "app/print.h"
#include "base/file.h"
#include "base/number.h"
#include "format/skeleton_read.h"
#include "script/recipe.h"

#include <stdlib.h>
#include <string.h>

const fid_option fid_param_options[] = {
    {"param", 'p', "NAME=VALUE", "a parameter of the recipe; may be given several times"},
    {NULL, 0, NULL, NULL},
};

const fid_option fid_script_options[] = {
    {"locked", 0, NULL, "refuses modules that are not as in the fid.lock of their project"},
    {"max-memory", 0, "SIZE", "bytes that scripts may hold, with K, M or G; 512M unless told"},
    {"max-seconds", 0, "N", "seconds that a script may take; 60 unless told"},
    {"max-instructions", 0, "N", "steps that a script may take; 2e9 unless told"},
    {NULL, 0, NULL, NULL},
};

const fid_option fid_common_options[] = {
    {"quiet", 'q', NULL, "errors and data only"},
    {"help", 'h', NULL, "this help"},
    {NULL, 0, NULL, NULL},
};

static void print_line(void *user, const char *line) {
    (void)user;
    fid_print_line(stderr, line);
}

static fid_code read_size(const char *text, size_t *out, fid_error *err) {
    size_t length = strlen(text);
    double factor = 1, value = 0;
    if (length > 1) {
        char last = text[length - 1];
        factor = last == 'K' || last == 'k'   ? 1024.0
                 : last == 'M' || last == 'm' ? 1048576.0
                 : last == 'G' || last == 'g' ? 1073741824.0
                                              : 1;
    }
    if (!fid_number_read(text, length - (factor > 1 ? 1 : 0), &value) || !(value > 0) || value * factor > 1e15) {
        return fid_fail(err, FID_INVALID, "--max-memory takes a size such as 512M, not '%.64s'", text);
    }
    *out = (size_t)(value * factor);
    return FID_OK;
}

static fid_code read_limits(const fid_arguments *arguments, fid_limits *out, fid_error *err) {
    const char *memory = fid_arguments_last(arguments, "max-memory");
    double instructions = 0;
    fid_code code = memory ? read_size(memory, &out->max_memory, err) : FID_OK;
    code = code ? code : fid_arguments_number(arguments, "max-seconds", 0.001, 1e6, &out->max_seconds, err);
    code = code ? code : fid_arguments_number(arguments, "max-instructions", 1000, 1e18, &instructions, err);
    out->max_instructions = (int64_t)instructions;
    return code;
}

/// The parameters NAME=VALUE; their names are cut out into `names`, which keeps them.
static fid_code read_params(const fid_arguments *arguments, fid_arena *names, fid_param *params, int32_t *count,
                            fid_error *err) {
    for (int32_t i = 0; i < arguments->given.count; i++) {
        const fid_given *given = &arguments->given.at[i];
        if (strcmp(given->option->name, "param") != 0) {
            continue;
        }
        const char *equals = strchr(given->value, '=');
        if (!equals || equals == given->value) {
            return fid_fail(err, FID_INVALID, "--param takes NAME=VALUE, not '%.64s'", given->value);
        }
        char *name = fid_arena_copy(names, given->value, (size_t)(equals - given->value));
        if (!name) {
            return fid_no_memory(err);
        }
        params[(*count)++] = (fid_param){name, equals + 1};
    }
    return FID_OK;
}

fid_code fid_load_options(const fid_arguments *arguments, fid_arena *names, fid_param *params, fid_recipe_options *out,
                          fid_error *err) {
    *out = (fid_recipe_options){.module_path = getenv("FID_PATH"), .print = print_line, .params = params};
    out->locked = fid_arguments_last(arguments, "locked") != NULL;
    fid_code code = read_limits(arguments, &out->limits, err);
    return code ? code : read_params(arguments, names, params, &out->param_count, err);
}

static int load_recipe(const char *file, const fid_arguments *arguments, fid_loaded *out) {
    fid_error err = {0};
    fid_arena names = {0};
    fid_recipe_options options;
    fid_param *params = fid_memory_get_zero((size_t)arguments->given.count + 1, sizeof *params);
    fid_code code = params ? fid_load_options(arguments, &names, params, &options, &err) : fid_no_memory(&err);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        fid_report report = {0};
        options.inputs = &out->inputs;
        code = fid_recipe_build(file, &options, &out->rig, &report);
        // A rig that was built has warnings at most.
        if (code || !fid_arguments_last(arguments, "quiet")) {
            fid_print_report(&report, file, NULL);
        }
        fid_report_clear(&report);
    }
    fid_memory_free(params);
    fid_arena_clear(&names);
    fid_text folder = {0};
    fid_path_add_folder(&folder, file);
    out->has_folder = !folder.failed && folder.at && (size_t)folder.count < sizeof out->folder;
    if (out->has_folder) {
        memcpy(out->folder, folder.at, (size_t)folder.count + 1);
    }
    fid_text_clear(&folder);
    return fid_exit_status(code);
}

static int load_skeleton(const char *file, const fid_arguments *arguments, fid_loaded *out) {
    fid_error err = {0};
    if (fid_arguments_last(arguments, "param")) {
        fid_fail(&err, FID_INVALID, "--param is for recipes; '%.200s' is a skeleton file", file);
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_text text = {0};
    fid_report report = {0};
    fid_code code = fid_file_read(file, FID_FILE_MOST, &text, &err);
    if (code) {
        fid_print_error(file, &err);
    } else {
        code = fid_skeleton_read(text.at ? text.at : "", (size_t)text.count, file, &out->rig, &report);
        if (code || !fid_arguments_last(arguments, "quiet")) {
            fid_print_report(&report, file, NULL);
        }
    }
    fid_report_clear(&report);
    fid_text_clear(&text);
    return fid_exit_status(code);
}

int fid_load(const char *file, const fid_arguments *arguments, fid_loaded *out) {
    *out = (fid_loaded){.rig = NULL};
    fid_error err = {0};
    const char *pose = fid_arguments_last(arguments, "pose");
    fid_code code = fid_inputs_add(&out->inputs, NULL, file, &err);
    code = code || !pose ? code : fid_inputs_add(&out->inputs, NULL, pose, &err);
    if (!code && fid_text_ends_with(file, ".lua")) {
        return load_recipe(file, arguments, out);
    }
    if (!code && fid_text_ends_with(file, ".json")) {
        return load_skeleton(file, arguments, out);
    }
    if (!code) {
        code = fid_fail(&err, FID_INVALID, "'%.200s' is neither a recipe (.lua) nor a skeleton file (.json)", file);
    }
    fid_print_error(NULL, &err);
    return fid_exit_status(code);
}

void fid_loaded_clear(fid_loaded *loaded) {
    fid_rig_free(loaded->rig);
    loaded->rig = NULL;
    fid_inputs_clear(&loaded->inputs);
}

bool fid_load_is_same_output(const char *a, const char *b) {
    const char *one = a ? a : "-", *other = b ? b : "-";
    return strcmp(one, other) == 0 ||
           (strcmp(one, "-") != 0 && strcmp(other, "-") != 0 && fid_file_is_same_place(one, other));
}

int fid_load_check_output(const char *path, const fid_loaded *loaded) {
    bool is_input = path && strcmp(path, "-") != 0 && fid_inputs_has(&loaded->inputs, path);
    if (is_input) {
        fid_error err = {0};
        fid_fail(&err, FID_INVALID, "'%.200s' is an input of this command and is not written over; choose another file",
                 path);
        fid_print_error(NULL, &err);
    }
    return is_input ? FID_EXIT_UNUSABLE : FID_EXIT_FINE;
}
