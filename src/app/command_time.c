#include "app/command.h"
#include "app/cost.h"
#include "app/formats.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/json_write.h"

static const fid_option own[] = {
    {"poses", 0, "N", "poses to solve; 100 unless told"},
    {"threads", 0, "T", "threads for many poses; 2 unless told"},
    {"format", 0, "text|json[:FILE]", "how it is written, and where; text on standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static double kinds_sum(const fid_cost *of) {
    double sum = 0;
    for (int32_t i = 0; i < of->kind_count; i++) {
        sum += of->kinds[i].seconds;
    }
    return sum;
}

static void add_row(const char *what, double seconds, const char *then, fid_text *out) {
    char line[80];
    snprintf(line, sizeof line, "%-24.40s %9.2f us", what, 1e6 * seconds);
    fid_text_add(out, line);
    fid_text_addf(out, "%s%s\n", then[0] ? "  " : "", then);
}

static void add_text(const fid_rig *rig, const fid_cost *of, fid_text *out) {
    char then[160], what[40];
    fid_text_addf(out, "%s: ", rig->name);
    fid_text_add_count(out, rig->bones.count, "bone");
    fid_text_add(out, ", ");
    fid_text_add_count(out, of->controls, "control");
    fid_text_add(out, " that may be posed\n\n");
    snprintf(then, sizeof then, "%.1f ns a bone, every control posed", 1e9 * of->whole / fmax(1, rig->bones.count));
    add_row("a whole solve", of->whole, then, out);
    if (of->controls > 0) {
        snprintf(then, sizeof then, "on average %.1f %% of a whole solve, where %.1f %% of its steps depend on it",
                 100 * of->changed / of->whole, 100 * of->steps);
        add_row("one control moved", of->changed, then, out);
        snprintf(then, sizeof then, "%.64s", rig->bones.at[of->dearest].name);
        add_row("the dearest of them", of->dearest_seconds, then, out);
        if (of->tried < of->controls) {
            fid_text_addf(out, "(%d of the controls, evenly spread)\n", (int)of->tried);
        }
    }
    snprintf(then, sizeof then, "a whole solve by what was set: %.2f of the time", of->noted / of->whole);
    add_row("everything set", of->noted, then, out);
    snprintf(what, sizeof what, "%d poses, 1 thread", (int)of->poses);
    add_row(what, of->alone, "", out);
    snprintf(what, sizeof what, "%d poses, %d threads", (int)of->poses, (int)of->threads);
    snprintf(then, sizeof then, "%.2f times as fast", of->alone / of->together);
    add_row(what, of->together, then, out);
    fid_text_add(out, "\n");
    for (int32_t i = 0; i < of->kind_count; i++) {
        const fid_cost_kind *kind = &of->kinds[i];
        snprintf(what, sizeof what, "%s, %d", kind->name, (int)kind->count);
        snprintf(then, sizeof then, "%.1f %%", 100 * kind->seconds / of->whole);
        add_row(what, kind->seconds, then, out);
    }
    double rest = fmax(0, of->whole - kinds_sum(of));
    snprintf(then, sizeof then, "%.1f %%: parents, poses, drives", 100 * rest / of->whole);
    add_row("the rest", rest, then, out);
}

static void write_number(fid_json_writer *writer, const char *key, double value) {
    fid_json_key(writer, key);
    fid_json_double(writer, value);
}

static void add_json(const fid_rig *rig, const fid_cost *of, fid_text *out) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_text_member(&writer, "format", "fid-time");
    fid_json_integer_member(&writer, "version", 1);
    fid_json_text_member(&writer, "name", rig->name);
    fid_json_integer_member(&writer, "bones", rig->bones.count);
    fid_json_integer_member(&writer, "controls", of->controls);
    fid_json_integer_member(&writer, "controls_tried", of->tried);
    fid_json_integer_member(&writer, "poses", of->poses);
    fid_json_integer_member(&writer, "threads", of->threads);
    write_number(&writer, "whole_us", 1e6 * of->whole);
    write_number(&writer, "everything_set_us", 1e6 * of->noted);
    write_number(&writer, "one_control_us", 1e6 * of->changed);
    write_number(&writer, "one_control_part_of_steps", of->steps);
    fid_json_text_member(&writer, "dearest_control", of->dearest < 0 ? NULL : rig->bones.at[of->dearest].name);
    write_number(&writer, "dearest_control_us", 1e6 * of->dearest_seconds);
    write_number(&writer, "threads_gain", of->alone / of->together);
    fid_json_key(&writer, "kinds");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < of->kind_count; i++) {
        fid_json_line(&writer, 1);
        fid_json_begin_object(&writer);
        fid_json_text_member(&writer, "kind", of->kinds[i].name);
        fid_json_integer_member(&writer, "count", of->kinds[i].count);
        write_number(&writer, "us", 1e6 * of->kinds[i].seconds);
        fid_json_end_object(&writer);
    }
    fid_json_end_list(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
}

static const char *const words[] = {"text", "json", NULL};
enum { FORMAT_TEXT, FORMAT_JSON };

static fid_code read_wishes(const fid_arguments *arguments, fid_cost *out, fid_formats *formats, fid_error *err) {
    int64_t poses = 100, threads = 2;
    fid_code code = fid_arguments_whole(arguments, "poses", 1, 100000, &poses, err);
    code = code ? code : fid_arguments_whole(arguments, "threads", 1, 64, &threads, err);
    code = code ? code : fid_formats_read(arguments, words, "json:costs.json", 1, formats, err);
    out->poses = (int32_t)poses;
    out->threads = (int32_t)threads;
    return code;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    fid_cost of = {0};
    fid_formats formats;
    fid_error err = {0};
    if (read_wishes(arguments, &of, &formats, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? fid_formats_check(&formats, &loaded) : status;
    status = status == FID_EXIT_FINE ? fid_posed_load(file, &loaded, arguments, &posed) : status;
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_code code = fid_cost_measure(loaded.rig, posed.program, &of, &err);
        if (!code) {
            (formats.at[0].kind == FORMAT_JSON ? add_json : add_text)(loaded.rig, &of, &text);
            code = text.failed ? fid_no_memory(&err) : FID_OK;
        }
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(file, &err);
        } else {
            status = fid_print_output(formats.at[0].file, &text);
        }
        fid_text_clear(&text);
    }
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_time = {
    "time",
    "FILE [--poses N] [--threads T] [--format text|json[:FILE]]",
    "tells what a solve costs, by kind of constraint",
    "    fid time hobrundle.json\n"
    "    fid time recipes/hobrundle.lua --poses 1000 --threads 4 --format json\n",
    tables,
    1,
    1,
    run,
};
