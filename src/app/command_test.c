#include "app/apart.h"
#include "app/command.h"
#include "app/formats.h"
#include "app/parcel.h"
#include "app/progress.h"
#include "base/file.h"
#include "format/tests_write.h"
#include "script/module_search.h"
#include "script/module_tests.h"

#include <string.h>

static const fid_option own[] = {
    {"only", 0, "PATTERN", "only cases whose name matches: * stands for any text, ? for one character"},
    {"format", 0, "text|json|junit[:FILE]", "how results are written, and where; may be given several times"},
    {"jobs", 'j', "N", "cases run at once; one for each processor unless told"},
    {NULL, 0, NULL, NULL},
};

static const char *const words[] = {"text", "json", "junit", NULL};
enum { FORMAT_TEXT, FORMAT_JSON };

/// What the file of a place says, or why it says nothing.
typedef struct suite {
    fid_module_tests tests;
    fid_report report;
    fid_code failed;
} suite;

/// A case, and what came of it.
typedef struct job {
    int32_t suite, index;
    fid_report report;
    fid_code failed;
} job;

/// A run of the tests of some modules.
typedef struct testing {
    FID_ARRAY(fid_module_tests_place) places;
    suite *suites; ///< by place
    FID_ARRAY(job) jobs;
    int64_t at_once;
    fid_progress bar;
    int32_t over; ///< parts of the work, for the bar
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

// Each file, and then each case, is run in a process of its own: what breaks a limit that ends the process, or crashes,
// fails alone.

static void show_path(const fid_module_tests_place *place, fid_file_path *out) {
    if (!fid_path_join(out, place->folder.at, place->name)) {
        *out = place->folder;
    }
}

static void read_file(void *user, int32_t index, fid_text *out) {
    const testing *now = user;
    fid_module_tests tests = {0};
    fid_report report = {0};
    fid_inputs inputs = {0};
    fid_recipe_options options = now->options;
    options.inputs = &inputs;
    fid_code code = fid_module_tests_read(&now->places.at[index], &options, &tests, &report);
    fid_parcel_add_run(out, code, &report);
    fid_parcel_add_text(out, tests.module);
    fid_parcel_add_number(out, tests.cases.count);
    for (int32_t i = 0; i < tests.cases.count; i++) {
        fid_parcel_add_text(out, tests.cases.at[i]);
    }
    fid_parcel_add_number(out, inputs.paths.count);
    for (int32_t i = 0; i < inputs.paths.count; i++) {
        fid_parcel_add_text(out, inputs.paths.at[i]);
    }
    fid_inputs_clear(&inputs);
    fid_report_clear(&report);
    fid_module_tests_clear(&tests);
}

static void take_file(void *user, int32_t index, const fid_apart_end *end) {
    testing *now = user;
    suite *of = &now->suites[index];
    fid_parcel parcel;
    fid_file_path shown;
    show_path(&now->places.at[index], &shown);
    of->failed = fid_parcel_read_run(end, shown.at, &parcel, &of->report);
    if (!end->is_whole) {
        return;
    }
    const char *module = fid_parcel_read_text(&parcel);
    of->tests.module = module ? fid_arena_copy(&of->tests.arena, module, strlen(module)) : NULL;
    bool is_kept = !module || of->tests.module;
    for (int32_t count = fid_parcel_read_number(&parcel); count > 0 && is_kept && !parcel.is_broken; count--) {
        const char *name = fid_parcel_read_text(&parcel);
        const char *copy = name ? fid_arena_copy(&of->tests.arena, name, strlen(name)) : NULL;
        is_kept = copy && fid_array_push(&of->tests.cases, copy);
    }
    for (int32_t count = fid_parcel_read_number(&parcel); count > 0 && is_kept && !parcel.is_broken; count--) {
        const char *path = fid_parcel_read_text(&parcel);
        fid_error err;
        is_kept = path && fid_inputs_add(&now->loaded.inputs, NULL, path, &err) == FID_OK;
    }
    of->report.failed |= !is_kept || parcel.is_broken;
}

static void run_case(void *user, int32_t index, fid_text *out) {
    const testing *now = user;
    const job *of = &now->jobs.at[index];
    fid_report report = {0};
    fid_recipe_options options = now->options;
    options.inputs = NULL;
    fid_code code = fid_module_tests_run(&now->places.at[of->suite], &options, of->index, &report);
    fid_parcel_add_run(out, code, &report);
    fid_report_clear(&report);
}

static void take_case(void *user, int32_t index, const fid_apart_end *end) {
    testing *now = user;
    job *of = &now->jobs.at[index];
    fid_parcel parcel;
    fid_file_path shown;
    fid_progress_hide(&now->bar);
    show_path(&now->places.at[of->suite], &shown);
    of->failed = fid_parcel_read_run(end, shown.at, &parcel, &of->report);
}

static void show_progress(void *user, int32_t index, const fid_apart_end *end) {
    testing *now = user;
    (void)index;
    (void)end;
    fid_progress_show(&now->bar, ++now->over, now->jobs.count);
}

static fid_code list_cases(testing *now, fid_error *err) {
    for (int32_t i = 0; i < now->places.count; i++) {
        const fid_module_tests *tests = &now->suites[i].tests;
        for (int32_t k = 0; k < tests->cases.count && !now->suites[i].failed; k++) {
            job next = {.suite = i, .index = k};
            bool is_wanted = !now->only || fid_text_matches(tests->cases.at[k], now->only);
            if (is_wanted && !fid_array_push(&now->jobs, next)) {
                return fid_no_memory(err);
            }
        }
    }
    return FID_OK;
}

/// What failed, or NULL; without memory there may be no error although it did.
static fid_code find_flaw(fid_code failed, const fid_report *report, const fid_finding **out, fid_error *err) {
    *out = failed ? find_error(report) : NULL;
    return report->failed || (failed && !*out) ? fid_no_memory(err) : FID_OK;
}

/// Puts the results in the order of the files and cases.
static fid_code gather(testing *now, fid_error *err) {
    fid_code code = FID_OK;
    int32_t next = 0;
    for (int32_t i = 0; i < now->places.count && !code; i++) {
        const suite *of = &now->suites[i];
        const fid_finding *flaw;
        fid_file_path shown;
        show_path(&now->places.at[i], &shown);
        take_warnings(now, &of->report);
        code = find_flaw(of->failed, &of->report, &flaw, err);
        code = code ? code : fid_test_results_add_suite(&now->results, of->tests.module, shown.at, flaw, err);
        if (flaw && !code) {
            fid_print_report(&of->report, shown.at, NULL);
            note_status(now, fid_exit_status(of->failed));
        }
        for (; next < now->jobs.count && now->jobs.at[next].suite == i && !code; next++) {
            const job *one = &now->jobs.at[next];
            take_warnings(now, &one->report);
            code = find_flaw(one->failed, &one->report, &flaw, err);
            note_status(now, flaw ? FID_EXIT_FINDINGS : FID_EXIT_FINE);
            code = code ? code : fid_test_results_add_case(&now->results, of->tests.cases.at[one->index], flaw, err);
        }
    }
    return code;
}

static fid_code run_all(testing *now, fid_error *err) {
    fid_apart files = {now->places.count, (int32_t)now->at_once, now, read_file, NULL, take_file};
    now->suites = fid_memory_get_zero((size_t)now->places.count + 1, sizeof *now->suites);
    fid_code code = now->suites ? fid_apart_run(&files, err) : fid_no_memory(err);
    code = code ? code : list_cases(now, err);
    now->bar = fid_progress_begin("cases", now->quiet);
    if (!code) {
        fid_apart cases = {now->jobs.count, (int32_t)now->at_once, now, run_case, show_progress, take_case};
        code = fid_apart_run(&cases, err);
    }
    fid_progress_hide(&now->bar);
    code = code ? code : gather(now, err);
    if (!code && now->only && now->results.cases.count == 0 && now->results.unusable == 0) {
        code = fid_fail(err, FID_UNKNOWN, "no case has a name that matches '%.100s'", now->only);
    }
    return code;
}

static void clear(testing *now) {
    for (int32_t i = 0; i < now->places.count && now->suites; i++) {
        fid_report_clear(&now->suites[i].report);
        fid_module_tests_clear(&now->suites[i].tests);
    }
    for (int32_t i = 0; i < now->jobs.count; i++) {
        fid_report_clear(&now->jobs.at[i].report);
    }
    fid_memory_free(now->suites);
    fid_array_clear(&now->jobs);
    fid_array_clear(&now->places);
    fid_test_results_clear(&now->results);
    fid_report_clear(&now->warnings);
    fid_loaded_clear(&now->loaded);
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
    out->at_once = fid_apart_processors();
    code = code ? code : fid_arguments_whole(arguments, "jobs", 1, FID_APART_MOST, &out->at_once, err);
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
    clear(&now);
    fid_arena_clear(&names);
    return now.status;
}

static const fid_option *const tables[] = {own, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_test = {
    "test",
    "[NAME|FOLDER|FILE...] [--only PATTERN] [--jobs N] [--format text|json|junit[:FILE]]...",
    "runs the tests that modules carry",
    "    fid test                          of all modules that can be found\n"
    "    fid test stretch_leg tail --only '*full reach*'\n"
    "    fid test modules/tail --format text --format junit:tests.xml\n",
    tables,
    0,
    INT32_MAX,
    run,
};
