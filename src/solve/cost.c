#include "solve/cost.h"

#include "base/clock.h"
#include "solve/solve.h"

#include <stdlib.h>
#include <string.h>

enum { ROUNDS = 9, MOST_CONTROLS = 200 };

/// Seconds that a round may take, unless it is of one solve only.
static const double most_seconds = 0.05;

static int compare(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *seconds) {
    qsort(seconds, ROUNDS, sizeof *seconds, compare);
    return seconds[ROUNDS / 2];
}

/// How often what takes `each` seconds is done in a round: at most `most` times, and once at least.
static int32_t count_again(double each, double seconds, int32_t most) {
    double fits = seconds / fmax(each, 1e-9);
    return fits < 1 ? 1 : fits < (double)most ? (int32_t)fits : most;
}

/// One solve, every control posed; `noted`: through the notes of what changed. `each`: about what one takes.
static double time_whole(fid_pose *const *poses, int32_t count, double each, bool noted) {
    double seconds[ROUNDS];
    int32_t again = count_again(each, most_seconds, 2000 + count);
    for (int32_t i = 0; i < ROUNDS; i++) {
        double start = fid_clock_seconds();
        for (int32_t j = 0; j < again; j++) {
            fid_pose *pose = poses[j % count];
            if (noted) {
                memset(pose->stale, 0xff, ((size_t)pose->program->step_count + 63) / 64 * sizeof *pose->stale);
                fid_solve_changed(pose->program, pose);
            } else {
                fid_solve(pose->program, pose);
            }
        }
        seconds[i] = (fid_clock_seconds() - start) / again;
    }
    return median(seconds);
}

static double time_many(fid_pose *const *poses, int32_t count, double each, int32_t threads) {
    double seconds[ROUNDS];
    int32_t again = count_again(each * count, most_seconds, 1 + 1000 / count);
    for (int32_t i = 0; i < ROUNDS; i++) {
        double start = fid_clock_seconds();
        for (int32_t j = 0; j < again; j++) {
            fid_solve_many(poses[0]->program, poses, count, threads);
        }
        seconds[i] = (fid_clock_seconds() - start) / again;
    }
    return median(seconds);
}

static void time_kinds(fid_pose *const *poses, fid_cost *out) {
    enum { MOST_POSES = 25, MOST_SOLVES = 500 };
    const fid_program *program = poses[0]->program;
    int32_t some = out->poses < MOST_POSES ? out->poses : MOST_POSES;
    int32_t again = count_again(out->whole, most_seconds, MOST_SOLVES);
    for (int32_t kind = 0; fid_op_names[kind]; kind++) {
        double seconds[ROUNDS];
        int32_t count = 0;
        for (int32_t i = 0; i < ROUNDS; i++) {
            double start = fid_clock_seconds();
            for (int32_t j = 0; j < again; j++) {
                count = fid_solve_kind(program, poses[j % some], kind);
            }
            seconds[i] = (fid_clock_seconds() - start) / again;
        }
        if (count > 0) {
            out->kinds[out->kind_count++] = (fid_cost_kind){fid_op_names[kind], count, median(seconds)};
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
                fid_stale_mark(pose->stale, program->dependents[j]);
            }
        }
    }
    fid_solve_changed(program, pose);
    return count;
}

/// The first channel of a control that may be posed, or -1.
static int32_t find_channel(const fid_rig *rig, const fid_program *program, int32_t bone) {
    for (int32_t i = 0; i < FID_AXIS_COUNT && rig->bones.at[bone].def.role == FID_CONTROL; i++) {
        if (program->animatable[bone * FID_AXIS_COUNT + i]) {
            return bone * FID_AXIS_COUNT + i;
        }
    }
    return -1;
}

/// Moves a channel of a solved pose between its values in two other poses; the seconds of one move.
static double time_moves(fid_pose *pose, int32_t channel, fid_pose *const between[2], double each) {
    double seconds[ROUNDS];
    // Moves cost least of all, and there are many controls.
    int32_t again = 2 * count_again(2 * each, most_seconds / 25, 25);
    for (int32_t i = 0; i < ROUNDS; i++) {
        double start = fid_clock_seconds();
        for (int32_t j = 0; j < again; j++) {
            // What another pose has taken is taken here.
            fid_code code = fid_pose_set(pose, channel, between[j % 2]->value[channel], NULL, NULL);
            (void)code;
            fid_solve_changed(pose->program, pose);
        }
        seconds[i] = (fid_clock_seconds() - start) / again;
    }
    return median(seconds);
}

/// Moves one control after the other.
static void time_controls(const fid_rig *rig, fid_pose *pose, fid_pose *const between[2], fid_cost *out) {
    const fid_program *program = pose->program;
    double sum = 0, touched = 0;
    out->dearest = -1;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        out->controls += find_channel(rig, program, i) >= 0;
    }
    int32_t apart = 1 + (out->controls - 1) / MOST_CONTROLS, number = 0;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        int32_t channel = find_channel(rig, program, i);
        if (channel < 0 || number++ % apart != 0) {
            continue;
        }
        double here = time_moves(pose, channel, between, out->whole);
        fid_code code = fid_pose_set(pose, channel, between[0]->value[channel], NULL, NULL);
        (void)code;
        touched += count_touched(pose);
        sum += here;
        out->tried++;
        if (out->dearest < 0 || here > out->dearest_seconds) {
            out->dearest = i;
            out->dearest_seconds = here;
        }
    }
    if (out->tried > 0) {
        out->changed = sum / out->tried;
        out->steps = touched / out->tried / program->step_count;
    }
}

fid_code fid_cost_measure(const fid_rig *rig, const fid_program *program, fid_cost *out, fid_error *err) {
    // Two more than are asked for, that single controls move between.
    int32_t count = out->poses + 2;
    fid_pose **poses = fid_memory_get_zero((size_t)count, sizeof *poses);
    fid_code code = poses ? FID_OK : fid_no_memory(err);
    double each = 0;
    for (int32_t i = 0; i < count && !code; i++) {
        code = fid_pose_new(program, &poses[i], err);
        if (!code) {
            fid_pose_randomly(poses[i], 1, i, false);
            double start = fid_clock_seconds();
            fid_solve(program, poses[i]);
            each = i == 0 ? fid_clock_seconds() - start : fmin(each, fid_clock_seconds() - start);
        }
    }
    if (!code) {
        out->whole = time_whole(poses, out->poses, each, false);
        out->noted = time_whole(poses, out->poses, each, true);
        out->alone = time_many(poses, out->poses, each, 1);
        out->together = time_many(poses, out->poses, each, out->threads);
        time_kinds(poses, out);
        time_controls(rig, poses[0], poses + out->poses, out);
    }
    for (int32_t i = 0; i < count && poses; i++) {
        fid_pose_free(poses[i]);
    }
    fid_memory_free(poses);
    return code;
}
