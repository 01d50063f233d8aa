#ifndef FID_TESTS_SCRIPT_RUN_H
#define FID_TESTS_SCRIPT_RUN_H

#include "script/recipe.h"
#include "support/assert.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/// Recipes run from a text: what they print, the rig, the findings.
typedef struct script_run {
    fid_code code;
    fid_rig *rig;
    fid_report report;
    fid_text printed; ///< every line with its end
} script_run;

static char run_folder[] = "recipes-XXXXXX";

/// Makes an empty folder beneath the current one and enters it. For cmocka's group setup.
static inline int run_enter(void **state) {
    (void)state;
    return mkdtemp(run_folder) != NULL ? chdir(run_folder) : -1;
}

static inline int run_leave(void **state) {
    (void)state;
    char command[sizeof run_folder + 16];
    snprintf(command, sizeof command, "rm -rf ./%s", run_folder);
    return chdir("..") == 0 ? system(command) : -1;
}

/// Writes a file, with the folders in which it stands.
static inline void run_put(const char *path, const char *text) {
    char folder[256];
    for (const char *at = strchr(path, '/'); at != NULL; at = strchr(at + 1, '/')) {
        snprintf(folder, sizeof folder, "%.*s", (int)(at - path), path);
        mkdir(folder, 0777);
    }
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fputs(text, file) < 0, 0);
    assert_int_equal(fclose(file), 0);
}

static inline void run_print(void *user, const char *line) {
    fid_text_add(user, line);
    fid_text_add(user, "\n");
}

static inline void run_file(script_run *run, const char *path, const fid_param *params, int32_t count) {
    memset(run, 0, sizeof *run);
    fid_recipe_options options = {
        .params = params, .param_count = count, .print = run_print, .print_user = &run->printed};
    run->code = fid_recipe_build(path, &options, &run->rig, &run->report);
}

/// Runs a recipe: `text` after a line that makes `fid` known, so that its first line is line 2.
static inline void run_recipe(script_run *run, const char *text) {
    fid_text whole = {0};
    fid_text_add(&whole, "local fid = require \"fid\"\n");
    fid_text_add(&whole, text);
    run_put("recipe.lua", whole.at);
    fid_text_clear(&whole);
    run_file(run, "recipe.lua", NULL, 0);
}

static inline void run_clear(script_run *run) {
    fid_rig_free(run->rig);
    fid_report_clear(&run->report);
    fid_text_clear(&run->printed);
}

/// Fails where the run did not give a rig.
static inline void run_ok_at(const script_run *run, const char *file, int line) {
    if (run->code != FID_OK || run->rig == NULL || run->report.findings.count != 0) {
        for (int32_t i = 0; i < run->report.findings.count; i++) {
            const fid_finding *finding = &run->report.findings.at[i];
            print_error("%s:%d: %s\n", finding->place_count > 0 ? finding->places[0].file : "?",
                        finding->place_count > 0 ? (int)finding->places[0].line : 0, finding->message);
        }
        _fail(file, line);
    }
}
#define run_ok(run) run_ok_at((run), __FILE__, __LINE__)

/// Fails unless the run ended with one error whose message contains `part`, at line `at` of recipe.lua (0: anywhere).
static inline void run_failed_at(const script_run *run, const char *part, int32_t at, const char *file, int line) {
    if (run->code == FID_OK || run->rig != NULL || run->report.findings.count != 1) {
        print_error("no error where \"%s\" was expected\n", part);
        _fail(file, line);
    }
    const fid_finding *finding = &run->report.findings.at[0];
    assert_text_contains_at(finding->message, part, file, line);
    const fid_place *last = finding->place_count > 0 ? &finding->places[finding->place_count - 1] : NULL;
    if (at > 0 && (last == NULL || strcmp(last->file, "recipe.lua") != 0 || last->line != at)) {
        print_error("\"%s\" stands at %s:%d, not at recipe.lua:%d\n", finding->message, last != NULL ? last->file : "?",
                    last != NULL ? (int)last->line : 0, (int)at);
        _fail(file, line);
    }
}
#define run_failed(run, part, at) run_failed_at((run), (part), (at), __FILE__, __LINE__)

/// Runs a text after which an empty rig is returned, and compares what it printed.
static inline void run_prints_at(const char *text, const char *printed, const char *file, int line) {
    script_run run;
    fid_text whole = {0};
    fid_text_add(&whole, text);
    fid_text_add(&whole, "\nreturn fid.rig { name = \"test\", height = 1 }\n");
    run_recipe(&run, whole.at);
    fid_text_clear(&whole);
    run_ok_at(&run, file, line);
    if (strcmp(run.printed.at != NULL ? run.printed.at : "", printed) != 0) {
        print_error("printed:\n%sexpected:\n%s", run.printed.at != NULL ? run.printed.at : "", printed);
        _fail(file, line);
    }
    run_clear(&run);
}
#define run_prints(text, printed) run_prints_at((text), (printed), __FILE__, __LINE__)

/// Runs a text that must fail in its first line.
static inline void run_refuses_at(const char *text, const char *part, const char *file, int line) {
    script_run run;
    run_recipe(&run, text);
    run_failed_at(&run, part, 2, file, line);
    run_clear(&run);
}
#define run_refuses(text, part) run_refuses_at((text), (part), __FILE__, __LINE__)

#endif
