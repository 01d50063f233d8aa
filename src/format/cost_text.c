#include "format/cost_text.h"

#include "format/json_write.h"

#include <math.h>
#include <stdio.h>

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

void fid_cost_add_text(const fid_rig *rig, const fid_cost *of, fid_text *out) {
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

void fid_cost_add_json(const fid_rig *rig, const fid_cost *of, fid_text *out) {
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
