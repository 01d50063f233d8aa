#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "format/json_write.h"
#include "solve/solve.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

static const fid_option own[] = {
    {"poses", 0, "N", "poses to solve; 100 unless told"},
    {"threads", 0, "T", "threads for many poses; 2 unless told"},
    {"format", 0, "text|json", "how it is written; text unless told"},
    {NULL, 0, NULL, NULL},
};

enum { ROUNDS = 9, MOST_KINDS = 32 };

/// What one kind of constraint costs.
typedef struct kind_cost {
    const char *name;
    int32_t count;
    double seconds; ///< of one solve
} kind_cost;

typedef struct costs {
    int32_t poses, threads;
    double whole;   ///< seconds of one solve, every control posed
    double noted;   ///< the same by noting that everything changed
    double changed; ///< mean over the controls of the seconds after one of them moved
    double steps;   ///< mean part of the steps that such a move touches
    int32_t controls;
    int32_t slowest; ///< bone of the control that costs most, or -1
    double slowest_seconds;
    double alone, together; ///< seconds of all poses on one thread and on `threads`
    kind_cost kinds[MOST_KINDS];
    int32_t kind_count;
} costs;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int compare(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *seconds) {
    qsort(seconds, ROUNDS, sizeof *seconds, compare);
    return seconds[ROUNDS / 2];
}

/// Numbers of a fixed sequence (xorshift64*, S. Vigna 2016), from 0 to 1: the same poses on every run.
static double random_unit(uint64_t *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ull) >> 11) / 9007199254740992.0;
}

/// Poses a channel moderately: a tenth of the height, 20 degrees, a fifth of the scale, or within its range.
static void move(fid_pose *pose, int32_t channel, uint64_t *state) {
    const fid_program *program = pose->program;
    int32_t group = channel < program->bone_count * FID_AXIS_COUNT ? channel % FID_AXIS_COUNT / 3 : 3;
    double reach[] = {0.1 * (double)program->height, 20, 0.2, 0}, middle[] = {0, 0, 1, 0};
    double low = middle[group] - reach[group], high = middle[group] + reach[group];
    if (group == 3) {
        low = fmax(-1e3, (double)program->channel_min[channel]);
        high = fmin(1e3, (double)program->channel_max[channel]);
    }
    float value = (float)(low + (high - low) * random_unit(state));
    // What leaves a range is clamped; nothing of this is refused.
    fid_code code = fid_pose_set(pose, channel, value, NULL, NULL);
    (void)code;
}

static void move_all(fid_pose *pose, uint64_t *state) {
    for (int32_t i = 0; i < pose->program->channel_count; i++) {
        if (pose->program->animatable[i]) {
            move(pose, i, state);
        }
    }
}

/// One solve, every control posed; `noted`: through the notes of what changed. Medians over rounds that go through all
/// poses.
static double time_whole(fid_pose *const *poses, int32_t count, bool noted) {
    double seconds[ROUNDS];
    int32_t again = 1 + 2000 / count;
    for (int32_t i = 0; i < ROUNDS; i++) {
        double start = now();
        for (int32_t j = 0; j < again * count; j++) {
            fid_pose *pose = poses[j % count];
            if (noted) {
                memset(pose->stale, 0xff, ((size_t)pose->program->step_count + 63) / 64 * sizeof *pose->stale);
                fid_solve_changed(pose->program, pose);
            } else {
                fid_solve(pose->program, pose);
            }
        }
        seconds[i] = (now() - start) / (again * count);
    }
    return median(seconds);
}

static double time_many(fid_pose *const *poses, int32_t count, int32_t threads) {
    double seconds[ROUNDS];
    int32_t again = 1 + 1000 / count;
    for (int32_t i = 0; i < ROUNDS; i++) {
        double start = now();
        for (int32_t j = 0; j < again; j++) {
            fid_solve_many(poses[0]->program, poses, count, threads);
        }
        seconds[i] = (now() - start) / again;
    }
    return median(seconds);
}

static void time_kinds(fid_pose *const *poses, costs *out) {
    const fid_program *program = poses[0]->program;
    for (int32_t kind = 0; fid_op_names[kind]; kind++) {
        double seconds[ROUNDS];
        int32_t count = 0;
        for (int32_t i = 0; i < ROUNDS; i++) {
            enum { AGAIN = 20, MOST_POSES = 25 };
            int32_t some = out->poses < MOST_POSES ? out->poses : MOST_POSES;
            double start = now();
            for (int32_t j = 0; j < AGAIN * some; j++) {
                count = fid_solve_kind(program, poses[j % some], kind);
            }
            seconds[i] = (now() - start) / (AGAIN * some);
        }
        if (count > 0) {
            out->kinds[out->kind_count++] = (kind_cost){fid_op_names[kind], count, median(seconds)};
        }
    }
    fid_solve(program, poses[0]);
}

/// How many steps a pose would solve again now.
static int32_t count_touched(fid_pose *pose) {
    const fid_program *program = pose->program;
    int32_t count = 0;
    // Marks spread along the table of dependents; the pose is solved afterwards.
    for (int32_t i = 0; i < program->step_count; i++) {
        if (pose->stale[i / 64] >> i % 64 & 1u) {
            count++;
            for (int32_t j = program->dependent_first[i]; j < program->dependent_first[i + 1]; j++) {
                pose->stale[program->dependents[j] / 64] |= (uint64_t)1 << program->dependents[j] % 64;
            }
        }
    }
    fid_solve_changed(program, pose);
    return count;
}

/// Moves one control after the other.
static void time_controls(const fid_rig *rig, fid_pose *pose, costs *out) {
    uint64_t state = 1;
    double sum = 0, touched = 0;
    out->slowest = -1;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        int32_t channel = i * FID_AXIS_COUNT;
        while (channel < (i + 1) * FID_AXIS_COUNT && !pose->program->animatable[channel]) {
            channel++;
        }
        if (rig->bones.at[i].def.role != FID_CONTROL || channel == (i + 1) * FID_AXIS_COUNT) {
            continue;
        }
        double seconds[ROUNDS];
        for (int32_t j = 0; j < ROUNDS; j++) {
            enum { AGAIN = 50 };
            double start = now();
            for (int32_t k = 0; k < AGAIN; k++) {
                move(pose, channel, &state);
                fid_solve_changed(pose->program, pose);
            }
            seconds[j] = (now() - start) / AGAIN;
        }
        move(pose, channel, &state);
        touched += count_touched(pose);
        double here = median(seconds);
        sum += here;
        out->controls++;
        if (out->slowest < 0 || here > out->slowest_seconds) {
            out->slowest = i;
            out->slowest_seconds = here;
        }
    }
    if (out->controls > 0) {
        out->changed = sum / out->controls;
        out->steps = touched / out->controls / pose->program->step_count;
    }
}

static fid_code measure(const fid_rig *rig, const fid_program *program, costs *out, fid_error *err) {
    fid_pose **poses = fid_memory_get_zero((size_t)out->poses, sizeof *poses);
    fid_code code = poses ? FID_OK : fid_no_memory(err);
    uint64_t state = 88172645463325252ull;
    for (int32_t i = 0; i < out->poses && !code; i++) {
        code = fid_pose_new(program, &poses[i], err);
        if (!code) {
            move_all(poses[i], &state);
            fid_solve(program, poses[i]);
        }
    }
    if (!code) {
        out->whole = time_whole(poses, out->poses, false);
        out->noted = time_whole(poses, out->poses, true);
        out->alone = time_many(poses, out->poses, 1);
        out->together = time_many(poses, out->poses, out->threads);
        time_kinds(poses, out);
        time_controls(rig, poses[0], out);
    }
    for (int32_t i = 0; i < out->poses && poses; i++) {
        fid_pose_free(poses[i]);
    }
    fid_memory_free(poses);
    return code;
}

static double kinds_sum(const costs *of) {
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

static void add_text(const fid_rig *rig, const costs *of, fid_text *out) {
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
        snprintf(then, sizeof then, "%.64s", rig->bones.at[of->slowest].name);
        add_row("the dearest of them", of->slowest_seconds, then, out);
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
        const kind_cost *kind = &of->kinds[i];
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

static void write_count(fid_json_writer *writer, const char *key, int32_t value) {
    fid_json_key(writer, key);
    fid_json_integer(writer, value);
}

static void add_json(const fid_rig *rig, const costs *of, fid_text *out) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_key(&writer, "format");
    fid_json_text(&writer, "fid-time");
    write_count(&writer, "version", 1);
    fid_json_key(&writer, "name");
    fid_json_text(&writer, rig->name);
    write_count(&writer, "bones", rig->bones.count);
    write_count(&writer, "controls", of->controls);
    write_count(&writer, "poses", of->poses);
    write_count(&writer, "threads", of->threads);
    write_number(&writer, "whole_us", 1e6 * of->whole);
    write_number(&writer, "everything_set_us", 1e6 * of->noted);
    write_number(&writer, "one_control_us", 1e6 * of->changed);
    write_number(&writer, "one_control_part_of_steps", of->steps);
    fid_json_key(&writer, "dearest_control");
    fid_json_text(&writer, of->slowest < 0 ? NULL : rig->bones.at[of->slowest].name);
    write_number(&writer, "dearest_control_us", 1e6 * of->slowest_seconds);
    write_number(&writer, "threads_gain", of->alone / of->together);
    fid_json_key(&writer, "kinds");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < of->kind_count; i++) {
        fid_json_line(&writer, 1);
        fid_json_begin_object(&writer);
        fid_json_key(&writer, "kind");
        fid_json_text(&writer, of->kinds[i].name);
        write_count(&writer, "count", of->kinds[i].count);
        write_number(&writer, "us", 1e6 * of->kinds[i].seconds);
        fid_json_end_object(&writer);
    }
    fid_json_end_list(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
}

static fid_code read_wishes(const fid_arguments *arguments, costs *out, bool *json, fid_error *err) {
    int64_t poses = 100, threads = 2;
    fid_code code = fid_arguments_whole(arguments, "poses", 100000, &poses, err);
    code = code ? code : fid_arguments_whole(arguments, "threads", 64, &threads, err);
    if (!code && (poses < 1 || threads < 1)) {
        code = fid_fail(err, FID_INVALID, "--%s takes a number from 1", poses < 1 ? "poses" : "threads");
    }
    const char *format = fid_arguments_last(arguments, "format");
    *json = format && strcmp(format, "json") == 0;
    if (!code && format && !*json && strcmp(format, "text") != 0) {
        code = fid_fail(err, FID_INVALID, "--format takes text or json, not '%.64s'", format);
    }
    out->poses = (int32_t)poses;
    out->threads = (int32_t)threads;
    return code;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    costs of = {0};
    bool json = false;
    fid_error err = {0};
    if (read_wishes(arguments, &of, &json, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? fid_load_pose(file, &loaded, arguments, &posed) : status;
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_code code = measure(loaded.rig, posed.program, &of, &err);
        if (!code) {
            (json ? add_json : add_text)(loaded.rig, &of, &text);
            code = text.failed ? fid_no_memory(&err) : FID_OK;
        }
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(file, &err);
        } else {
            status = fid_print_output(NULL, &text);
        }
        fid_text_clear(&text);
    }
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_time = {
    "time",
    "FILE [--poses N] [--threads T] [--format text|json]",
    "tells what a solve costs, by kind of constraint",
    "    fid time hobrundle.json\n"
    "    fid time recipes/hobrundle.lua --poses 1000 --threads 4 --format json\n",
    tables,
    1,
    1,
    run,
};
