#include "app/command.h"
#include "app/formats.h"
#include "format/difference.h"
#include "format/skeleton_write.h"

#include <string.h>

static const fid_option own[] = {
    {"tolerance", 0, "T", "numbers that differ by at most so much are the same; 0 unless told"},
    {"format", 0, "text|json[:FILE]", "how it is written, and where; text on standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static const char *const words[] = {"text", "json", NULL};
enum { FORMAT_TEXT, FORMAT_JSON };

/// Loads one of the two and gives its skeleton. --param is for recipes: of a skeleton file it is left out.
static int load(const char *file, const fid_arguments *arguments, fid_loaded *loaded, fid_text *out) {
    fid_arguments own_ones = *arguments;
    fid_error err = {0};
    bool is_skeleton = fid_text_ends_with(file, ".json");
    memset(&own_ones.given, 0, sizeof own_ones.given);
    for (int32_t i = 0; i < arguments->given.count; i++) {
        bool is_param = strcmp(arguments->given.at[i].option->name, "param") == 0;
        if (!(is_param && is_skeleton) && !fid_array_push(&own_ones.given, arguments->given.at[i])) {
            fid_array_clear(&own_ones.given);
            *loaded = (fid_loaded){.rig = NULL};
            fid_code code = fid_no_memory(&err);
            fid_print_error(file, &err);
            return fid_exit_status(code);
        }
    }
    int status = fid_load(file, &own_ones, loaded);
    fid_array_clear(&own_ones.given);
    fid_code code = status == FID_EXIT_FINE ? fid_skeleton_write(loaded->rig, out, &err) : FID_OK;
    if (code) {
        fid_print_error(file, &err);
        status = fid_exit_status(code);
    }
    return status;
}

static int compare(const fid_text skeletons[2], double tolerance, const fid_format *format) {
    fid_difference difference = {0};
    fid_error err = {0};
    fid_text text = {0};
    int status = FID_EXIT_FINE;
    fid_code code = fid_difference_find(skeletons[0].at, skeletons[1].at, tolerance, &difference, &err);
    if (!code) {
        (format->kind == FORMAT_JSON ? fid_difference_add_json : fid_difference_add_text)(&difference, &text);
        code = text.failed ? fid_no_memory(&err) : FID_OK;
    }
    if (code) {
        fid_print_error(NULL, &err);
        status = fid_exit_status(code);
    } else {
        status = fid_print_output(format->file, &text);
        status = status == FID_EXIT_FINE && difference.changes.count > 0 ? FID_EXIT_FINDINGS : status;
    }
    fid_text_clear(&text);
    fid_difference_clear(&difference);
    return status;
}

static int run(const fid_arguments *arguments) {
    double tolerance = 0;
    fid_formats formats;
    fid_error err = {0};
    fid_code code = fid_arguments_number(arguments, "tolerance", 0, 1e6, &tolerance, &err);
    code = code ? code : fid_formats_read(arguments, words, "json:changes.json", 1, &formats, &err);
    bool are_skeletons =
        fid_text_ends_with(arguments->words.at[0], ".json") && fid_text_ends_with(arguments->words.at[1], ".json");
    if (!code && are_skeletons && fid_arguments_last(arguments, "param")) {
        code = fid_fail(&err, FID_INVALID, "--param is for recipes; both files are skeletons");
    }
    if (code) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded[2] = {{.rig = NULL}, {.rig = NULL}};
    fid_text skeletons[2] = {{0}, {0}};
    int status = FID_EXIT_FINE;
    for (int i = 0; i < 2 && status == FID_EXIT_FINE; i++) {
        status = load(arguments->words.at[i], arguments, &loaded[i], &skeletons[i]);
        status = status == FID_EXIT_FINE ? fid_formats_check(&formats, &loaded[i]) : status;
    }
    if (status == FID_EXIT_FINE) {
        status = compare(skeletons, tolerance, &formats.at[0]);
    }
    for (int i = 0; i < 2; i++) {
        fid_text_clear(&skeletons[i]);
        fid_loaded_clear(&loaded[i]);
    }
    return status;
}

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_diff = {
    "diff",
    "A B [--tolerance T] [--format text|json[:FILE]]",
    "tells what is different in two rigs, by address, and what breaks animation",
    "    fid diff hobrundle-1.json recipes/hobrundle.lua\n"
    "    fid diff old.json new.json --tolerance 1e-5 --format json\n",
    tables,
    2,
    2,
    run,
};
