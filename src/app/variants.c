#include "app/variants.h"

#include "app/apart.h"
#include "app/build.h"
#include "app/print.h"
#include "app/progress.h"
#include "base/clock.h"
#include "base/file.h"
#include "base/folder.h"
#include "base/number.h"
#include "check/check.h"
#include "format/variant_results.h"

#include <dirent.h>
#include <sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// What a process hands back.
typedef struct outcome {
    fid_variant_result result;
    bool is_kept; ///< the check of before stands
    int status;   ///< for the exit
} outcome;

/// What came of one variant.
typedef struct job {
    bool is_over;
    int status;
    outcome outcome;
} job;

typedef struct batch {
    const char *file, *table, *folder;
    const fid_arguments *arguments;
    fid_variants variants;
    fid_variant_results before;
    job *jobs;
    int32_t first, step; ///< this run builds the rows first, first + step, ...
    int32_t count;       ///< of them
    int64_t at_once, poses;
    int32_t over;   ///< variants
    double written; ///< when the results were, last
    fid_progress bar;
    char results_path[1200];
} batch;

static int32_t row_of(const batch *all, int32_t i) { return all->first + i * all->step; }

static const fid_variant *variant_of(const batch *all, int32_t i) { return &all->variants.list.at[row_of(all, i)]; }

static void write_path(const batch *all, const char *name, const char *end, char out[1200]) {
    snprintf(out, 1200, "%s/%s%s", all->folder, name, end);
}

/// "3/12": the third of twelve parts of the table.
static fid_code read_part(const char *text, batch *all, fid_error *err) {
    const char *slash = strchr(text, '/');
    double part = 0, parts = 0;
    if (!slash || !fid_number_read(text, (size_t)(slash - text), &part) ||
        !fid_number_read(slash + 1, strlen(slash + 1), &parts) || part != (double)(int32_t)part ||
        parts != (double)(int32_t)parts || part < 1 || parts < part || parts > 100000) {
        return fid_fail(err, FID_INVALID, "--part takes PART/PARTS, as in 3/12, not '%.64s'", text);
    }
    all->first = (int32_t)part - 1;
    all->step = (int32_t)parts;
    return FID_OK;
}

static fid_code read_wishes(batch *all, fid_error *err) {
    const fid_arguments *arguments = all->arguments;
    const char *part = fid_arguments_last(arguments, "part");
    all->folder = fid_arguments_last(arguments, "out-dir");
    all->at_once = fid_apart_processors();
    all->poses = fid_check_default().poses;
    all->step = 1;
    if (!all->folder || !all->folder[0] || strlen(all->folder) > 1000) {
        return fid_fail(err, FID_INVALID, "--variants needs --out-dir, the folder where the skeletons go");
    }
    if (fid_arguments_last(arguments, "output")) {
        return fid_fail(err, FID_INVALID, "--variants writes into --out-dir; leave --output out");
    }
    if (fid_arguments_last(arguments, "watch")) {
        return fid_fail(err, FID_INVALID, "--watch builds one skeleton; leave --variants out");
    }
    fid_code code = fid_arguments_whole(arguments, "jobs", 1, FID_APART_MOST, &all->at_once, err);
    code = code ? code : fid_arguments_whole(arguments, "poses", 0, 1000000, &all->poses, err);
    code = code || !part ? code : read_part(part, all, err);
    if (part) {
        char name[64];
        snprintf(name, sizeof name, "results-%d-of-%d", (int)all->first + 1, (int)all->step);
        write_path(all, name, ".csv", all->results_path);
    } else {
        write_path(all, "results", ".csv", all->results_path);
    }
    return code;
}

static int read_table(batch *all) {
    fid_text text = {0};
    fid_report report = {0};
    fid_error err = {0};
    fid_code code = fid_file_read(all->table, FID_FILE_MOST, &text, &err);
    if (code) {
        fid_print_error(all->table, &err);
    } else {
        code = fid_variants_read(text.at ? text.at : "", (size_t)text.count, all->table, &all->variants, &report);
        fid_print_report(&report, all->table, NULL);
    }
    fid_report_clear(&report);
    fid_text_clear(&text);
    return fid_exit_status(code);
}

/// The table is no place for a result, and --param not for what the table says.
static fid_code check_table(const batch *all, fid_error *err) {
    char path[1200];
    if (fid_file_is_same_place(all->results_path, all->table)) {
        return fid_fail(err, FID_INVALID, "the results would go onto the table '%.200s'; choose another --out-dir",
                        all->table);
    }
    for (int32_t i = 0; i < all->variants.list.count; i++) {
        const fid_variant *variant = &all->variants.list.at[i];
        write_path(all, variant->name, ".json", path);
        if (fid_file_is_same_place(path, all->table)) {
            return fid_fail(err, FID_INVALID, "variant '%s' would go onto the table '%.200s'; choose another --out-dir",
                            variant->name, all->table);
        }
        for (int32_t j = 0; j < variant->value_count; j++) {
            const char *parameter = variant->values[j].parameter;
            size_t length = strlen(parameter);
            for (int32_t k = 0; k < all->arguments->given.count; k++) {
                const fid_given *given = &all->arguments->given.at[k];
                if (strcmp(given->option->name, "param") == 0 && strncmp(given->value, parameter, length) == 0 &&
                    given->value[length] == '=') {
                    return fid_fail(err, FID_INVALID, "--param %.64s is in the table, too, for variant '%s'", parameter,
                                    variant->name);
                }
            }
        }
    }
    return FID_OK;
}

/// Gathers the tables of earlier runs: of the whole and of its parts.
static fid_code read_results(batch *all, fid_error *err) {
    fid_code code = FID_OK;
    DIR *folder = opendir(all->folder);
    for (const struct dirent *entry = folder ? readdir(folder) : NULL; entry && !code; entry = readdir(folder)) {
        size_t length = strlen(entry->d_name);
        if (strncmp(entry->d_name, "results", 7) == 0 && length > 11 - 1 &&
            strcmp(entry->d_name + length - 4, ".csv") == 0 && length < 64) {
            char path[1200];
            fid_text text = {0};
            fid_error unread = {0};
            write_path(all, entry->d_name, "", path);
            // One that cannot be read saves no work, that is all.
            if (fid_file_read(path, FID_FILE_MOST, &text, &unread) == FID_OK) {
                code = fid_variant_results_read(text.at ? text.at : "", (size_t)text.count, &all->before, err);
            }
            fid_text_clear(&text);
        }
    }
    if (folder) {
        closedir(folder);
    }
    return code;
}

// In the process of one variant

/// The arguments of the command with the values of the variant as parameters.
static fid_code add_params(const fid_arguments *arguments, const fid_variant *variant, fid_arena *arena,
                           fid_arguments *out, fid_error *err) {
    for (int32_t i = 0; i < arguments->given.count; i++) {
        if (!fid_array_push(&out->given, arguments->given.at[i])) {
            return fid_no_memory(err);
        }
    }
    for (int32_t i = 0; i < variant->value_count; i++) {
        size_t size = strlen(variant->values[i].parameter) + strlen(variant->values[i].text) + 2;
        char *text = fid_arena_get(arena, size);
        if (text) {
            snprintf(text, size, "%s=%s", variant->values[i].parameter, variant->values[i].text);
        }
        fid_given given = {fid_param_options, text};
        if (!text || !fid_array_push(&out->given, given)) {
            return fid_no_memory(err);
        }
    }
    return FID_OK;
}

static int check(const batch *all, const fid_rig *rig, fid_variant_result *result) {
    fid_check_options options = fid_check_default();
    fid_report report = {0};
    fid_error err = {0};
    options.poses = (int32_t)all->poses;
    fid_code code = fid_check_rig(rig, &options, &report, &err);
    if (code) {
        fid_print_error(all->file, &err);
    }
    result->errors = report.count[FID_ERROR];
    result->warnings = report.count[FID_WARNING];
    result->notes = report.count[FID_NOTE];
    result->poses = (int32_t)all->poses;
    fid_report_clear(&report);
    return fid_exit_status(code);
}

/// Writes the skeleton, unless the very same is there.
static int put_skeleton(const char *path, const fid_text *skeleton) {
    fid_text there = {0};
    fid_error err = {0};
    bool is_there = fid_file_read(path, FID_FILE_MOST, &there, &err) == FID_OK && there.count == skeleton->count &&
                    memcmp(there.at, skeleton->at, (size_t)there.count) == 0;
    fid_text_clear(&there);
    return is_there ? FID_EXIT_FINE : fid_print_output(path, skeleton);
}

static int build_variant(const batch *all, const fid_variant *variant, outcome *out) {
    fid_arguments arguments = {0};
    fid_arena arena = {0};
    fid_error err = {0};
    fid_loaded loaded = {0};
    fid_text skeleton = {0};
    fid_variant_result *result = &out->result;
    char path[1200];
    write_path(all, variant->name, ".json", path);
    fid_code code = add_params(all->arguments, variant, &arena, &arguments, &err);
    if (code) {
        fid_print_error(NULL, &err);
    }
    int status = fid_exit_status(code);
    status = status ? status : fid_build(all->file, &arguments, path, &loaded, &skeleton);
    status = status ? status : put_skeleton(path, &skeleton);
    if (!status) {
        SHA256Data((const uint8_t *)skeleton.at, (size_t)skeleton.count, result->sha256);
        const fid_variant_result *before =
            fid_variant_results_find(&all->before, variant->name, result->sha256, (int32_t)all->poses);
        out->is_kept = before != NULL;
        if (before) {
            *result = *before;
        } else {
            result->bones = loaded.rig->bones.count;
            for (int32_t i = 0; i < loaded.rig->bones.count; i++) {
                result->deform_bones += loaded.rig->bones.at[i].def.role == FID_DEFORM ? 1 : 0;
            }
            status = check(all, loaded.rig, result);
        }
    }
    fid_text_clear(&skeleton);
    fid_loaded_clear(&loaded);
    fid_arguments_clear(&arguments);
    fid_arena_clear(&arena);
    return status;
}

static void run_alone(void *user, int32_t i, fid_text *to) {
    const batch *all = user;
    double begun = fid_clock_seconds();
    outcome out = {.is_kept = false};
    out.status = build_variant(all, variant_of(all, i), &out);
    out.result.built = out.status == FID_EXIT_FINE;
    if (!out.is_kept) {
        out.result.seconds = fid_clock_seconds() - begun;
    }
    fid_text_add_bytes(to, (const char *)&out, sizeof out);
}

// In the process that waits for them

/// The first error among the messages, without control characters.
static void find_message(const char *messages, fid_variant_result *result) {
    for (const char *at = messages; at && *at; at += strcspn(at, "\n"), at += *at == '\n' ? 1 : 0) {
        char line[2048];
        snprintf(line, sizeof line, "%.*s",
                 (int)(strcspn(at, "\n") < sizeof line ? strcspn(at, "\n") : sizeof line - 1), at);
        if (strstr(line, ": error: ")) {
            fid_text plain = {0};
            fid_print_add_plain(line, &plain);
            snprintf(result->message, sizeof result->message, "%s", plain.at ? plain.at : "");
            // A character of several bytes may have been cut.
            for (size_t end = strlen(result->message); end > 0 && !fid_text_is_utf8(result->message, end); end--) {
                result->message[end - 1] = '\0';
            }
            fid_text_clear(&plain);
            return;
        }
    }
}

static int write_results(const batch *all, bool quiet) {
    fid_text text = {0};
    fid_variant_result *rows = fid_memory_get_zero((size_t)all->count + 1, sizeof *rows);
    int32_t count = 0;
    for (int32_t i = 0; i < all->count && rows; i++) {
        if (all->jobs[i].is_over) {
            rows[count++] = all->jobs[i].outcome.result;
        }
    }
    fid_error err = {0};
    if (rows) {
        fid_variant_results_write(rows, count, &text);
    }
    fid_code code = !rows || text.failed ? fid_no_memory(&err)
                                         : fid_file_write(all->results_path, text.at, (size_t)text.count, &err);
    if (code && !quiet) {
        fid_print_error(all->results_path, &err);
    }
    fid_memory_free(rows);
    fid_text_clear(&text);
    return fid_exit_status(code);
}

static void finish(void *user, int32_t i, const fid_apart_end *end) {
    batch *all = user;
    job *now = &all->jobs[i];
    fid_variant_result *result = &now->outcome.result;
    now->is_over = true;
    if (end->is_whole && end->bytes.count == (int32_t)sizeof now->outcome) {
        memcpy(&now->outcome, end->bytes.at, sizeof now->outcome);
        now->status = now->outcome.status;
    } else {
        result->seconds = end->seconds;
        now->status = end->signal ? FID_EXIT_UNUSABLE : end->status;
    }
    snprintf(result->name, sizeof result->name, "%s", variant_of(all, i)->name);
    if (!result->built) {
        now->status = now->status == FID_EXIT_FINE ? FID_EXIT_UNUSABLE : now->status;
        result->sha256[0] = '\0';
        find_message(end->messages.at, result);
        if (!result->message[0]) {
            snprintf(result->message, sizeof result->message, "ended by signal %d", end->signal);
        }
    }
    // Written now and then, so that a run that is stopped has lost little.
    if (fid_clock_seconds() > all->written + 0.5) {
        (void)write_results(all, true);
        all->written = fid_clock_seconds();
    }
    fid_progress_show(&all->bar, ++all->over, all->count);
}

/// "posts.csv:3: variant 'tall':"
static void print_place(const batch *all, const fid_variant *variant) {
    fid_text line = {0};
    fid_print_add_plain(all->table, &line);
    if (variant->line > 0) {
        fid_text_addf(&line, ":%d", (int)variant->line);
    }
    fid_text_addf(&line, ": variant '%s':", variant->name);
    if (!line.failed) {
        fid_print_line(stderr, line.at);
    }
    fid_text_clear(&line);
}

/// Prints what a variant had to say, below its name.
static void print_messages(void *user, int32_t i, const fid_apart_end *end) {
    batch *all = user;
    if (end->messages.count > 0) {
        fid_progress_hide(&all->bar);
        print_place(all, variant_of(all, i));
        fwrite(end->messages.at, 1, (size_t)end->messages.count, stderr);
    }
}

static int run_all(batch *all, bool quiet) {
    fid_error err = {0};
    fid_apart parts = {all->count, (int32_t)all->at_once, all, run_alone, finish, print_messages};
    all->written = fid_clock_seconds();
    all->bar = fid_progress_begin("variants", quiet);
    fid_code code = fid_apart_run(&parts, &err);
    fid_progress_hide(&all->bar);
    if (code) {
        fid_print_error(NULL, &err);
    }
    int status = fid_exit_status(code);
    int written_status = write_results(all, false);
    status = written_status > status ? written_status : status;
    for (int32_t i = 0; i < all->count; i++) {
        status = all->jobs[i].status > status ? all->jobs[i].status : status;
    }
    return status;
}

static void print_summary(const batch *all) {
    int32_t built = 0, kept = 0, failed = 0;
    for (int32_t i = 0; i < all->count; i++) {
        const job *now = &all->jobs[i];
        built += now->is_over && now->outcome.result.built ? 1 : 0;
        kept += now->is_over && now->outcome.is_kept ? 1 : 0;
        failed += now->is_over && !now->outcome.result.built ? 1 : 0;
    }
    fid_text line = {0};
    fid_text_add_count(&line, built, "variant");
    fid_text_addf(&line, " built (%d as before), %d failed; see %s", (int)kept, (int)failed, all->results_path);
    if (!line.failed) {
        fid_print_line(stderr, line.at);
    }
    fid_text_clear(&line);
}

int fid_variants_run(const char *file, const fid_arguments *arguments) {
    batch all = {.file = file, .arguments = arguments, .table = fid_arguments_last(arguments, "variants")};
    bool quiet = fid_arguments_last(arguments, "quiet") != NULL;
    fid_error err = {0};
    fid_code code = read_wishes(&all, &err);
    int status = code ? FID_EXIT_UNUSABLE : read_table(&all);
    if (!status) {
        int32_t rows = all.variants.list.count;
        all.count = rows > all.first ? (rows - all.first + all.step - 1) / all.step : 0;
        all.jobs = fid_memory_get_zero((size_t)all.count + 1, sizeof *all.jobs);
        code = all.jobs ? check_table(&all, &err) : fid_no_memory(&err);
        code = code ? code : fid_folder_make(all.folder, &err);
        code = code ? code : read_results(&all, &err);
    }
    if (code) {
        fid_print_error(NULL, &err);
        status = fid_exit_status(code);
    } else if (!status) {
        status = run_all(&all, quiet);
        if (!quiet) {
            print_summary(&all);
        }
    }
    fid_memory_free(all.jobs);
    fid_array_clear(&all.before);
    fid_variants_clear(&all.variants);
    return status;
}
