#include "app/command.h"
#include "app/formats.h"
#include "app/progress.h"
#include "base/file.h"
#include "format/tests_write.h"
#include "script/module_search.h"
#include "script/module_tests.h"

#include <string.h>

static const fid_option own[] = {
    {"only", 0, "PATTERN", "only cases whose name matches: * stands for any text, ? for one character"},
    {"format", 0, "text|json|junit[:FILE]", "how results are written, and where; may be given several times"},
    {NULL, 0, NULL, NULL},
};

static const char *const words[] = {"text", "json", "junit", NULL};
enum { FORMAT_TEXT, FORMAT_JSON };

/// A run of the tests of some modules.
typedef struct testing {
    FID_ARRAY(fid_module_tests_place) places;
    fid_recipe_options options;
    const char *only; ///< or NULL
    bool quiet;
    fid_formats formats;
    fid_loaded loaded; ///< for what is read
    fid_test_results results;
    fid_report warnings; ///< of all files, each once
    int status;          ///< the worst so far
} testing;

static void note_status(testing *now, int status) { now->status = status > now->status ? status : now->status; }

// What is to be tested

static fid_code add_place(testing *now, const char *folder, const char *name, bool is_root, fid_error *err) {
    fid_module_tests_place place = {.is_root = is_root};
    if (snprintf(place.folder.at, sizeof place.folder.at, "%s", folder) >= (int)sizeof place.folder.at ||
        snprintf(place.name, sizeof place.name, "%s", name) >= (int)sizeof place.name) {
        return fid_fail(err, FID_LIMIT, "the path '%.100s' is longer than %d bytes", folder, FID_PATH_SIZE - 1);
    }
    return fid_array_push(&now->places, place) ? FID_OK : fid_no_memory(err);
}

/// The folder of a module, or the file of its tests.
static fid_code add_path(testing *now, const char *path, fid_error *err) {
    const char *slash = strrchr(path, '/'), *name = "test.lua";
    fid_file_path folder;
    if (snprintf(folder.at, sizeof folder.at, "%s", path) >= (int)sizeof folder.at) {
        return fid_fail(err, FID_LIMIT, "the path '%.100s' is longer than %d bytes", path, FID_PATH_SIZE - 1);
    }
    if (fid_text_ends_with(path, ".lua")) {
        name = slash ? slash + 1 : path;
        snprintf(folder.at, sizeof folder.at, "%.*s", slash ? (int)(slash - path) : 1, slash ? path : ".");
        if (slash == path) {
            snprintf(folder.at, sizeof folder.at, "/");
        }
    }
    fid_path_normalize(&folder);
    if (!fid_path_is_present(path)) {
        return fid_fail(err, FID_IO, "there is no '%.200s'; name a module, its folder or its test.lua", path);
    }
    return add_place(now, folder.at, name, true, err);
}

static fid_code need_tests(const testing *now, const char *word, fid_error *err) {
    const fid_module_tests_place *place = &now->places.at[now->places.count - 1];
    return fid_module_tests_are_there(place)
               ? FID_OK
               : fid_fail(err, FID_IO, "'%.200s' has no %.100s in %.200s", word, place->name, place->folder.at);
}

static fid_code add_word(testing *now, const char *word, fid_error *err) {
    bool is_path =
        strchr(word, '/') || fid_text_ends_with(word, ".lua") || strcmp(word, ".") == 0 || strcmp(word, "..") == 0;
    fid_file_path folder;
    fid_code code;
    if (is_path) {
        code = add_path(now, word, err);
    } else {
        code = fid_module_find(".", now->options.module_path, word, &folder, err);
        code = code ? code : add_place(now, folder.at, "test.lua", false, err);
    }
    return code ? code : need_tests(now, word, err);
}

/// All that can be found and have tests.
static fid_code add_all(testing *now, fid_error *err) {
    fid_module_places found = {0};
    fid_code code = fid_module_list(".", now->options.module_path, &found, err);
    for (int32_t i = 0; i < found.list.count && !code; i++) {
        code = found.list.at[i].hidden_by ? FID_OK : add_place(now, found.list.at[i].folder, "test.lua", false, err);
        if (!code && !found.list.at[i].hidden_by &&
            !fid_module_tests_are_there(&now->places.at[now->places.count - 1])) {
            now->places.count--;
        }
    }
    fid_module_places_clear(&found);
    return code;
}

// Running them

/// Warnings of a run come once, however many cases bring them.
static void take_warnings(testing *now, const fid_report *report) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        const fid_finding *finding = &report->findings.at[i];
        bool is_new = finding->severity != FID_ERROR;
        for (int32_t k = 0; k < now->warnings.findings.count && is_new; k++) {
            is_new = strcmp(now->warnings.findings.at[k].message, finding->message) != 0;
        }
        if (is_new) {
            fid_report_add(&now->warnings, finding);
        }
    }
}

static const fid_finding *find_error(const fid_report *report) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        if (report->findings.at[i].severity == FID_ERROR) {
            return &report->findings.at[i];
        }
    }
    return NULL;
}

static fid_code run_case(testing *now, const fid_module_tests_place *place, int32_t index, const char *name,
                         fid_error *err) {
    fid_report report = {0};
    fid_code failed = fid_module_tests_run(place, &now->options, index, &report), code = FID_OK;
    const fid_finding *flaw = failed ? find_error(&report) : NULL;
    take_warnings(now, &report);
    if (failed && !flaw) {
        code = fid_no_memory(err);
    } else {
        note_status(now, failed ? FID_EXIT_FINDINGS : FID_EXIT_FINE);
        code = fid_test_results_add_case(&now->results, name, flaw, err);
    }
    fid_report_clear(&report);
    return code;
}

static fid_code run_place(testing *now, const fid_module_tests_place *place, fid_error *err) {
    fid_module_tests tests = {0};
    fid_report report = {0};
    fid_file_path file;
    fid_code failed = fid_module_tests_read(place, &now->options, &tests, &report);
    const fid_finding *flaw = failed ? find_error(&report) : NULL;
    const char *shown = fid_path_join(&file, place->folder.at, place->name) ? file.at : place->folder.at;
    take_warnings(now, &report);
    fid_code code = failed && !flaw ? fid_no_memory(err)
                                    : fid_test_results_add_suite(&now->results, tests.module, shown, flaw, err);
    if (failed && !code) {
        fid_print_report(&report, shown, NULL);
        note_status(now, fid_exit_status(failed));
    }
    for (int32_t i = 0; i < tests.cases.count && !failed && !code; i++) {
        if (!now->only || fid_text_matches(tests.cases.at[i], now->only)) {
            code = run_case(now, place, i, tests.cases.at[i], err);
        }
    }
    fid_report_clear(&report);
    fid_module_tests_clear(&tests);
    return code;
}

static fid_code run_all(testing *now, fid_error *err) {
    fid_progress bar = fid_progress_begin("modules", now->quiet);
    fid_code code = FID_OK;
    for (int32_t i = 0; i < now->places.count && !code; i++) {
        fid_progress_hide(&bar);
        code = run_place(now, &now->places.at[i], err);
        fid_progress_show(&bar, i + 1, now->places.count);
    }
    fid_progress_hide(&bar);
    if (!code && now->only && now->results.cases.count == 0 && now->results.unusable == 0) {
        code = fid_fail(err, FID_UNKNOWN, "no case has a name that matches '%.100s'", now->only);
    }
    return code;
}

// What is said about it

static fid_code add_text(const testing *now, const fid_format *as, fid_text *out, fid_error *err) {
    const fid_test_results *results = &now->results;
    fid_report report = {0};
    fid_code code = fid_test_results_list(results, &report, err);
    if (!code) {
        fid_print_findings(&report, "", NULL, fid_format_has_color(as), out);
    }
    fid_report_clear(&report);
    if (!code && !now->quiet) {
        fid_text_add_count(out, results->suites.count, "module");
        fid_text_add(out, ", ");
        fid_text_add_count(out, results->cases.count, "case");
        fid_text_addf(out, ": %d passed, %d failed", (int)(results->cases.count - results->failed),
                      (int)results->failed);
        if (results->unusable > 0) {
            fid_text_addf(out, "; the tests of %d cannot be run", (int)results->unusable);
        }
        fid_text_add(out, "\n");
    }
    return !code && out->failed ? fid_no_memory(err) : code;
}

static int write_results(const testing *now) {
    fid_output outputs[FID_OUTPUTS_MOST] = {{0}};
    fid_error err = {0};
    fid_code code = FID_OK;
    for (int32_t i = 0; i < now->formats.count && !code; i++) {
        const fid_format *as = &now->formats.at[i];
        fid_text *out = &outputs[i].bytes;
        outputs[i].path = as->file;
        code = as->kind == FORMAT_TEXT   ? add_text(now, as, out, &err)
               : as->kind == FORMAT_JSON ? fid_test_results_write_json(&now->results, out, &err)
                                         : fid_test_results_write_junit(&now->results, out, &err);
    }
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_print_outputs(outputs, now->formats.count);
    }
    for (int32_t i = 0; i < now->formats.count; i++) {
        fid_text_clear(&outputs[i].bytes);
    }
    return status;
}

static fid_code read_wishes(const fid_arguments *arguments, fid_arena *names, fid_param *none, testing *out,
                            fid_error *err) {
    out->only = fid_arguments_last(arguments, "only");
    out->quiet = fid_arguments_last(arguments, "quiet") != NULL;
    fid_code code = fid_load_options(arguments, names, none, &out->options, err);
    out->options.inputs = &out->loaded.inputs;
    code = code ? code : fid_formats_read(arguments, words, "junit:tests.xml", FID_OUTPUTS_MOST, &out->formats, err);
    for (int32_t i = 0; i < arguments->words.count && !code; i++) {
        code = add_word(out, arguments->words.at[i], err);
    }
    return code || arguments->words.count > 0 ? code : add_all(out, err);
}

static int run(const fid_arguments *arguments) {
    testing now = {.status = FID_EXIT_FINE};
    fid_arena names = {0};
    fid_param none;
    fid_error err = {0};
    fid_code code = read_wishes(arguments, &names, &none, &now, &err);
    code = code ? code : run_all(&now, &err);
    if (code) {
        fid_print_error(NULL, &err);
        now.status = fid_exit_status(code);
    } else {
        if (!now.quiet) {
            fid_print_report(&now.warnings, "", NULL);
        }
        int status = fid_formats_check(&now.formats, &now.loaded);
        note_status(&now, status ? status : write_results(&now));
    }
    fid_array_clear(&now.places);
    fid_test_results_clear(&now.results);
    fid_report_clear(&now.warnings);
    fid_loaded_clear(&now.loaded);
    fid_arena_clear(&names);
    return now.status;
}

static const fid_option *const tables[] = {own, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_test = {
    "test",
    "[NAME|FOLDER|FILE...] [--only PATTERN] [--format text|json|junit[:FILE]]...",
    "runs the tests that modules carry",
    "    fid test                          of all modules that can be found\n"
    "    fid test stretch_leg tail --only '*full reach*'\n"
    "    fid test modules/tail --format text --format junit:tests.xml\n",
    tables,
    0,
    INT32_MAX,
    run,
};
