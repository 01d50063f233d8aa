#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "check/check.h"
#include "format/findings_write.h"
#include "format/pose_write.h"

#include <string.h>

static const fid_option own[] = {
    {"only", 0, "CODES", "rules to try, separated by commas; all unless told"},
    {"except", 0, "CODES", "rules to leave out"},
    {"poses", 0, "N", "random poses to try; 500 unless told"},
    {"seed", 0, "N", "which random poses: the same number gives the same ones; 1 unless told"},
    {"format", 0, "text|json[:FILE]", "how findings are written, and where; may be given several times"},
    {"fail-on", 0, "error|warning|note", "the mildest finding that gives exit status 1; error unless told"},
    {NULL, 0, NULL, NULL},
};

static fid_code read_severity(const char *text, fid_severity *out, fid_error *err) {
    static const char *const words[] = {"note", "warning", "error"};
    for (int i = 0; i < 3; i++) {
        if (strcmp(text, words[i]) == 0) {
            *out = (fid_severity)i;
            return FID_OK;
        }
    }
    const char *near = fid_text_nearest(text, words, 3);
    return fid_fail(err, FID_INVALID, "--fail-on takes error, warning or note, not '%.32s'%s%s%s", text,
                    near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

/// One --format: its kind and its file (NULL: standard output).
typedef struct output {
    bool json;
    const char *file;
} output;

static fid_code read_format(const char *text, output *out, fid_error *err) {
    static const char *const words[] = {"text", "json"};
    size_t length = strcspn(text, ":");
    for (int i = 0; i < 2; i++) {
        if (strlen(words[i]) == length && strncmp(text, words[i], length) == 0) {
            *out = (output){i == 1, text[length] == ':' ? text + length + 1 : NULL};
            return FID_OK;
        }
    }
    const char *near = fid_text_nearest(text, words, 2);
    return fid_fail(err, FID_INVALID,
                    "--format takes text or json, and a file as in json:findings.json, not '%.64s'%s%s%s", text,
                    near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

static int write_report(const fid_report *report, const char *file, const fid_loaded *loaded, output to, bool quiet) {
    fid_text text = {0};
    fid_error err = {0};
    fid_code code = FID_OK;
    if (to.json) {
        code = fid_findings_write(report, &text, &err);
    } else {
        bool color = (!to.file || strcmp(to.file, "-") == 0) && fid_print_has_color(stdout);
        fid_print_findings(report, file, loaded->has_folder ? loaded->folder : NULL, color, &text);
        if (!quiet) {
            fid_print_add_plain(file, &text);
            fid_text_addf(&text, ": %d errors, %d warnings, %d notes; %d poses tried\n", (int)report->count[FID_ERROR],
                          (int)report->count[FID_WARNING], (int)report->count[FID_NOTE], (int)report->poses_tried);
        }
        code = text.failed ? fid_no_memory(&err) : FID_OK;
    }
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(file, &err);
    } else {
        status = fid_print_output(to.file, &text);
    }
    fid_text_clear(&text);
    return status;
}

/// Writes the report in every format asked for; text on standard output where none is.
static int write_reports(const fid_report *report, const char *file, const fid_loaded *loaded,
                         const fid_arguments *arguments) {
    bool quiet = fid_arguments_last(arguments, "quiet") != NULL;
    int status = FID_EXIT_FINE;
    for (int32_t i = 0; i < arguments->given.count && status == FID_EXIT_FINE; i++) {
        output to;
        fid_error err;
        if (strcmp(arguments->given.at[i].option->name, "format") == 0 &&
            !read_format(arguments->given.at[i].value, &to, &err)) {
            status = write_report(report, file, loaded, to, quiet);
        }
    }
    return fid_arguments_last(arguments, "format") ? status
                                                   : write_report(report, file, loaded, (output){false, NULL}, quiet);
}

/// Every --format is one that there is, and no two go to the same place.
static fid_code check_formats(const fid_arguments *arguments, fid_error *err) {
    for (int32_t i = 0; i < arguments->given.count; i++) {
        output to, other;
        if (strcmp(arguments->given.at[i].option->name, "format") != 0) {
            continue;
        }
        fid_code code = read_format(arguments->given.at[i].value, &to, err);
        for (int32_t j = 0; j < i && !code; j++) {
            if (strcmp(arguments->given.at[j].option->name, "format") == 0 &&
                !read_format(arguments->given.at[j].value, &other, err) &&
                fid_load_is_same_output(to.file, other.file)) {
                code = fid_fail(err, FID_INVALID, "--format %.64s and --format %.64s would go to the same place",
                                arguments->given.at[j].value, arguments->given.at[i].value);
            }
        }
        if (code) {
            return code;
        }
    }
    return FID_OK;
}

/// No --format goes onto an input.
static int check_outputs(const fid_loaded *loaded, const fid_arguments *arguments) {
    int status = FID_EXIT_FINE;
    for (int32_t i = 0; i < arguments->given.count && status == FID_EXIT_FINE; i++) {
        output to;
        fid_error err;
        if (strcmp(arguments->given.at[i].option->name, "format") == 0 &&
            !read_format(arguments->given.at[i].value, &to, &err)) {
            status = fid_load_check_output(to.file, loaded);
        }
    }
    return status;
}

static fid_code read_options(const fid_arguments *arguments, fid_check_options *options, fid_severity *fail_on,
                             fid_error *err) {
    int64_t poses = options->poses, seed = (int64_t)options->seed;
    fid_code code = fid_arguments_whole(arguments, "poses", 1000000, &poses, err);
    code = code ? code : fid_arguments_whole(arguments, "seed", UINT32_MAX, &seed, err);
    code = code ? code : check_formats(arguments, err);
    const char *text = fid_arguments_last(arguments, "fail-on");
    code = code ? code : text ? read_severity(text, fail_on, err) : FID_OK;
    options->poses = (int32_t)poses;
    options->seed = (uint64_t)seed;
    options->only = fid_arguments_last(arguments, "only");
    options->except = fid_arguments_last(arguments, "except");
    options->write_pose = fid_pose_write;
    return code;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    fid_check_options options = fid_check_default();
    fid_severity fail_on = FID_ERROR;
    fid_error err = {0};
    if (read_options(arguments, &options, &fail_on, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_report report = {0};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? check_outputs(&loaded, arguments) : status;
    if (status == FID_EXIT_FINE) {
        fid_code code = fid_check_rig(loaded.rig, &options, &report, &err);
        if (code) {
            fid_print_error(NULL, &err);
            status = fid_exit_status(code);
        } else {
            status = write_reports(&report, file, &loaded, arguments);
        }
    }
    for (int severity = (int)fail_on; severity <= FID_ERROR && status == FID_EXIT_FINE; severity++) {
        status = report.count[severity] > 0 ? FID_EXIT_FINDINGS : status;
    }
    fid_report_clear(&report);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_check = {
    "check",
    "FILE [--only CODES] [--format text|json[:FILE]]... [--fail-on warning]",
    "tries all rules on a recipe or skeleton file",
    "    fid check recipes/hobrundle.lua\n"
    "    fid check hobrundle.json --format json:findings.json --fail-on warning\n",
    tables,
    1,
    1,
    run,
};
