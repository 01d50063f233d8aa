#include "app/command.h"
#include "app/formats.h"
#include "app/progress.h"
#include "check/check.h"
#include "format/findings_write.h"
#include "format/pose_write.h"
#include "format/svg_write.h"
#include "solve/solve.h"

#include <string.h>

static const fid_option own[] = {
    {"only", 0, "CODES", "rules to try, separated by commas; all unless told"},
    {"except", 0, "CODES", "rules to leave out"},
    {"poses", 0, "N", "random poses to try; 500 unless told"},
    {"seed", 0, "N", "which random poses: the same number gives the same ones; 1 unless told"},
    {"format", 0, "text|json[:FILE]", "how findings are written, and where; may be given several times"},
    {"picture", 0, "FILE.svg", "draws the rig at rest with the bones marked that findings are about, too"},
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

/// What --format takes.
static const char *const words[] = {"text", "json", NULL};
enum { FORMAT_JSON = 1 };

/// With the picture as many as are written at once.
enum { MOST_FORMATS = FID_OUTPUTS_MOST - 1 };

/// What is asked for.
typedef struct wishes {
    fid_check_options options;
    fid_severity fail_on;
    fid_formats formats;
    const char *picture; ///< or NULL
} wishes;

/// The formats, and a picture that goes to another place.
static fid_code read_formats(const fid_arguments *arguments, wishes *out, fid_error *err) {
    fid_code code = fid_formats_read(arguments, words, "json:findings.json", MOST_FORMATS, &out->formats, err);
    if (code) {
        return code;
    }
    out->picture = fid_arguments_last(arguments, "picture");
    if (out->picture && !out->picture[0]) {
        return fid_fail(err, FID_INVALID, "--picture needs a file");
    }
    for (int32_t i = 0; i < out->formats.count && out->picture; i++) {
        if (fid_load_is_same_output(out->formats.at[i].file, out->picture)) {
            return fid_fail(err, FID_INVALID, "--format %.64s and --picture %.64s would go to the same place",
                            out->formats.at[i].text, out->picture);
        }
    }
    return FID_OK;
}

static fid_code add_report(const fid_report *report, const char *file, const fid_loaded *loaded, const fid_format *as,
                           bool quiet, fid_text *out, fid_error *err) {
    if (as->kind == FORMAT_JSON) {
        return fid_findings_write(report, out, err);
    }
    fid_print_findings(report, file, loaded->has_folder ? loaded->folder : NULL, fid_format_has_color(as), out);
    if (!quiet) {
        fid_print_add_plain(file, out);
        fid_text_add(out, ": ");
        fid_text_add_count(out, report->count[FID_ERROR], "error");
        fid_text_add(out, ", ");
        fid_text_add_count(out, report->count[FID_WARNING], "warning");
        fid_text_add(out, ", ");
        fid_text_add_count(out, report->count[FID_NOTE], "note");
        fid_text_add(out, "; ");
        fid_text_add_count(out, report->poses_tried, "pose");
        fid_text_add(out, " tried\n");
    }
    return out->failed ? fid_no_memory(err) : FID_OK;
}

/// Marks the bones that a finding is about: by its subject a bone, or what a constraint, chain or channel acts on.
static void mark(const fid_rig *rig, const fid_finding *finding, const char **marks) {
    size_t length = strcspn(finding->subject, ".:");
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        const char *names[] = {bone->name, bone->address};
        for (int j = 0; j < 2; j++) {
            bool is_whole = strcmp(names[j], finding->subject) == 0;
            bool is_owner = strlen(names[j]) == length && strncmp(names[j], finding->subject, length) == 0;
            marks[i] = is_whole || is_owner ? finding->code : marks[i];
        }
    }
    for (int32_t i = 0; i < rig->chains.count; i++) {
        const fid_chain *chain = &rig->chains.at[i];
        if (strlen(chain->address) == length && strncmp(chain->address, finding->subject, length) == 0) {
            marks[chain->bones[0].handle.slot] = finding->code;
        }
    }
}

static fid_code draw_findings(const fid_rig *rig, const fid_report *report, fid_text *out, fid_error *err) {
    fid_report ignored = {0};
    fid_program *program = NULL;
    fid_pose *pose = NULL;
    const char **marks = fid_memory_get_zero((size_t)rig->bones.count + 1, sizeof *marks);
    fid_code code = marks ? fid_program_compile(rig, &ignored, &program, err) : fid_no_memory(err);
    fid_report_clear(&ignored);
    if (code == FID_UNSOUND) {
        code = fid_fail(err, FID_UNSOUND, "--picture needs a rig that can be solved: mend its errors first");
    }
    code = code ? code : fid_pose_new(program, &pose, err);
    if (!code) {
        fid_solve(program, pose);
        for (int32_t i = 0; i < report->findings.count; i++) {
            if (report->findings.at[i].subject) {
                mark(rig, &report->findings.at[i], marks);
            }
        }
        fid_svg_wishes picture = {.views = (1u << FID_VIEW_COUNT) - 1, .marks = marks};
        code = fid_svg_write(rig, pose, &picture, out, err);
    }
    fid_pose_free(pose);
    fid_program_free(program);
    fid_memory_free(marks);
    return code;
}

/// Writes the report in every format asked for, or in none.
static int write_reports(const fid_report *report, const char *file, const fid_loaded *loaded, const wishes *of,
                         bool quiet) {
    fid_output outputs[FID_OUTPUTS_MOST] = {{0}};
    fid_error err = {0};
    fid_code code = FID_OK;
    for (int32_t i = 0; i < of->formats.count && !code; i++) {
        outputs[i].path = of->formats.at[i].file;
        code = add_report(report, file, loaded, &of->formats.at[i], quiet, &outputs[i].bytes, &err);
    }
    int32_t count = of->formats.count;
    fid_error lost = {0};
    fid_code drawn = FID_OK;
    if (of->picture && !code) {
        outputs[count].path = of->picture;
        drawn = draw_findings(loaded->rig, report, &outputs[count].bytes, &lost);
        count += drawn == FID_OK ? 1 : 0;
    }
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(file, &err);
    } else {
        status = fid_print_outputs(outputs, count);
    }
    if (drawn) {
        fid_print_error(NULL, &lost);
        // What stops the drawing is a finding, which decides the status; unless the rule was left out.
        bool is_told = drawn == FID_UNSOUND && report->count[FID_ERROR] > 0;
        status = status == FID_EXIT_FINE && !is_told ? fid_exit_status(drawn) : status;
    }
    for (int32_t i = 0; i <= of->formats.count; i++) {
        fid_text_clear(&outputs[i].bytes);
    }
    return status;
}

/// No --format goes onto an input.
static int check_outputs(const fid_loaded *loaded, const wishes *of) {
    int status = fid_formats_check(&of->formats, loaded);
    return status == FID_EXIT_FINE ? fid_load_check_output(of->picture, loaded) : status;
}

static fid_code read_wishes(const fid_arguments *arguments, wishes *out, fid_error *err) {
    fid_check_options *options = &out->options;
    int64_t poses = options->poses, seed = (int64_t)options->seed;
    fid_code code = fid_arguments_whole(arguments, "poses", 0, 1000000, &poses, err);
    code = code ? code : fid_arguments_whole(arguments, "seed", 0, UINT32_MAX, &seed, err);
    code = code ? code : read_formats(arguments, out, err);
    const char *text = fid_arguments_last(arguments, "fail-on");
    code = code ? code : text ? read_severity(text, &out->fail_on, err) : FID_OK;
    options->poses = (int32_t)poses;
    options->seed = (uint64_t)seed;
    options->only = fid_arguments_last(arguments, "only");
    options->except = fid_arguments_last(arguments, "except");
    options->write_pose = fid_pose_write;
    return code;
}

static void show_progress(void *user, int32_t done, int32_t total) { fid_progress_show(user, done, total); }

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    wishes of = {.options = fid_check_default(), .fail_on = FID_ERROR};
    fid_error err = {0};
    if (read_wishes(arguments, &of, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_report report = {0};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? check_outputs(&loaded, &of) : status;
    if (status == FID_EXIT_FINE) {
        fid_progress bar = fid_progress_begin("poses", fid_arguments_last(arguments, "quiet") != NULL);
        of.options.progress = show_progress;
        of.options.progress_user = &bar;
        fid_code code = fid_check_rig(loaded.rig, &of.options, &report, &err);
        fid_progress_hide(&bar);
        if (code) {
            fid_print_error(NULL, &err);
            status = fid_exit_status(code);
        } else {
            status = write_reports(&report, file, &loaded, &of, fid_arguments_last(arguments, "quiet") != NULL);
        }
    }
    for (int severity = (int)of.fail_on; severity <= FID_ERROR && status == FID_EXIT_FINE; severity++) {
        status = report.count[severity] > 0 ? FID_EXIT_FINDINGS : status;
    }
    fid_report_clear(&report);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_check = {
    "check",
    "FILE [--only CODES] [--format text|json[:FILE]]... [--picture FILE.svg] [--fail-on warning]",
    "tries all rules on a recipe or skeleton file",
    "    fid check recipes/hobrundle.lua\n"
    "    fid check hobrundle.json --format json:findings.json --fail-on warning\n",
    tables,
    1,
    1,
    run,
};
