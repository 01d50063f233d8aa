#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <dirent.h>

#include "math/scalar.h"
#include "script/recipe.h"
#include "solve/keep.h"
#include "solve/trace.h"
#include "support/rig.h"
#include "support/sweep.h"

/// What holds of every creature: each recipe in recipes/ is found by itself.

enum { MOST_RECIPES = 100, SWITCH_POSES = 100 };

typedef struct creature {
    char name[64];
    fid_rig *rig;
    solved of;
} creature;

static int compare_names(const void *a, const void *b) { return strcmp(a, b); }

/// The names of all recipes in order; how many there are.
static int find_recipes(char (*names)[64]) {
    const char *source = getenv("FID_SOURCE");
    char folder[1024];
    assert_non_null(source);
    snprintf(folder, sizeof folder, "%s/recipes", source);
    DIR *open = opendir(folder);
    assert_non_null(open);
    int count = 0;
    for (const struct dirent *entry = readdir(open); entry != NULL; entry = readdir(open)) {
        size_t length = strlen(entry->d_name);
        if (length > 4 && strcmp(entry->d_name + length - 4, ".lua") == 0) {
            assert_true(count < MOST_RECIPES && length < sizeof names[0]);
            memcpy(names[count++], entry->d_name, length + 1);
        }
    }
    closedir(open);
    qsort(names, (size_t)count, sizeof names[0], compare_names);
    assert_true(count > 0);
    return count;
}

static fid_rig *build(const char *name) {
    fid_text path = {0};
    fid_text_addf(&path, "%s/recipes/%s", getenv("FID_SOURCE"), name);
    fid_recipe_options options = {.print = NULL};
    fid_report report = {0};
    fid_rig *rig = NULL;
    fid_code code = fid_recipe_build(path.at, &options, &rig, &report);
    for (int32_t i = 0; i < report.findings.count; i++) {
        print_error("%s: %s\n", name, report.findings.at[i].message);
    }
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_text_clear(&path);
    assert_int_equal(code, FID_OK);
    return rig;
}

static void with_every_creature(void (*test)(creature *at)) {
    char names[MOST_RECIPES][64];
    int count = find_recipes(names);
    for (int i = 0; i < count; i++) {
        creature at = {.rig = build(names[i])};
        memcpy(at.name, names[i], sizeof at.name);
        at.of = rig_compile(at.rig);
        test(&at);
        rig_end(at.rig, &at.of);
    }
}

static void sweep_creature(creature *at) { assert_sweep(at->rig, sweep_count(1000)); }

static void no_pose_of_a_creature_is_not_finite_or_comes_out_otherwise_in_another_order_or_thread(void **state) {
    (void)state;
    with_every_creature(sweep_creature);
}

typedef struct last_step {
    fid_frame frame;
    int32_t steps, ops;
} last_step;

static void take_step(void *user, const fid_trace_step *step) {
    last_step *last = user;
    last->frame = step->frame;
    last->steps++;
    last->ops += step->op != NULL;
}

static void trace_creature(creature *at) {
    const fid_program *program = at->of.program;
    fid_pose *pose = at->of.pose;
    for (int32_t number = 0; number < 50; number++) {
        sweep_set(program, pose, (uint64_t)number);
        fid_solve(program, pose);
        uint64_t hash = sweep_hash(program, pose);
        for (int32_t i = 0; i < program->bone_count; i++) {
            const fid_program_bone *bone = &program->bones[i];
            last_step last = {.steps = 0};
            fid_solve_trace(program, pose, i, take_step, &last);
            if (memcmp(&last.frame, &pose->frames[i], sizeof last.frame) != 0) {
                fail_msg("%s: pose %d: the steps of '%s' lead elsewhere", at->name, (int)number,
                         at->rig->bones.at[i].name);
            }
            assert_int_equal(last.ops, i == program->placement ? 0 : bone->before + bone->layers + bone->after);
        }
        for (int32_t i = 0; i < program->driven_count; i++) {
            float after[32];
            int32_t channel = program->driven[i].channel;
            int32_t count = fid_solve_trace_drives(program, pose, channel, after, 32);
            assert_int_equal(count, program->driven[i].count);
            float value = fid_clamp(after[count - 1], program->channel_min[channel], program->channel_max[channel]);
            bool scales = channel < program->bone_count * FID_AXIS_COUNT && channel % FID_AXIS_COUNT >= FID_SCALE_X;
            assert_true(pose->effective[channel] == (scales ? fid_clamp(value, 1e-3f, 1e3f) : value));
        }
        // What stands in the pose is as it was, and what is solved from there, too.
        assert_true(sweep_hash(program, pose) == hash);
        fid_solve(program, pose);
        assert_true(sweep_hash(program, pose) == hash);
    }
}

static void the_steps_of_every_bone_lead_to_the_bits_of_the_solve(void **state) {
    (void)state;
    with_every_creature(trace_creature);
}

/// The deform bone that is farthest from where it was, in heights or, as a part of what P411 allows, in degrees: 1 is
/// the most that is allowed.
static double find_jump(const creature *at, const fid_frame *before, int32_t *bone) {
    double worst = 0;
    for (int32_t i = 0; i < at->rig->bones.count; i++) {
        fid_frame now = at->of.pose->frames[i];
        double distance = (double)fid_vec3_distance(now.t, before[i].t) / (1e-4 * (double)at->rig->height);
        double turn = fid_degrees(fid_frame_axis_error(now.q, before[i].q)) / 0.05;
        double jump = fmax(distance, turn);
        if (at->rig->bones.at[i].def.role == FID_DEFORM && !(jump <= worst)) {
            worst = jump;
            *bone = i;
        }
    }
    return worst;
}

/// Makes a random pose with the slider at `from`; false where that is not to be had.
static bool begin(const creature *at, int32_t slider, float from, int32_t number) {
    fid_pose_randomly(at->of.pose, 20261125, number, false);
    return fid_pose_set(at->of.pose, slider, from, NULL, NULL) == FID_OK;
}

static void do_switch(const creature *at, int32_t slider, float value, fid_frame *before) {
    fid_error err = {0};
    rig_ok(fid_pose_switch(at->of.program, at->of.pose, slider, value, before, NULL, NULL, &err));
}

/// A switch from one value to another, in many poses. A match is made in poses that came over by that of the value
/// before, since not every pose of the one side can be had on the other. Tells whether the slider alone, without what
/// makes up for it, would have moved anything.
static bool try_switch(const creature *at, int32_t slider, float from, float to, fid_frame *before) {
    const fid_program *program = at->of.program;
    bool matched = fid_pose_find_match(program, slider, to) && fid_pose_find_match(program, slider, from);
    bool telling = false;
    for (int32_t number = 0; number < SWITCH_POSES; number++) {
        int32_t bone = -1;
        fid_error err = {0};
        assert_true(begin(at, slider, matched ? to : from, number));
        if (matched) {
            do_switch(at, slider, from, before);
        }
        do_switch(at, slider, to, before);
        double jump = find_jump(at, before, &bone);
        if (!(jump <= 1)) {
            const fid_slider_def *def = &at->rig->sliders.at[slider - program->bone_count * FID_AXIS_COUNT].def;
            fail_msg("%s: pose %d: '%s' from %g to %g: bone '%s' jumps by %.3g times what is allowed", at->name,
                     (int)number, def->name, (double)from, (double)to, at->rig->bones.at[bone].name, jump);
        }
        assert_true(begin(at, slider, from, number));
        fid_solve(program, at->of.pose);
        memcpy(before, at->of.pose->frames, (size_t)program->bone_count * sizeof *before);
        rig_ok(fid_pose_set(at->of.pose, slider, to, NULL, &err));
        fid_solve(program, at->of.pose);
        telling |= find_jump(at, before, &bone) > 100;
    }
    return telling;
}

/// The values that a slider switches between: its choices, the ends of a share, the values with a match.
static int32_t list_values(const creature *at, int32_t slider, float *values, int32_t most) {
    const fid_program *program = at->of.program;
    const fid_slider_def *def = &at->rig->sliders.at[slider - program->bone_count * FID_AXIS_COUNT].def;
    int32_t count = 0;
    if (fid_pose_rides(program, slider)) {
        int32_t choices = def->choices.count;
        for (int32_t i = 0; i < (choices > 0 ? choices : 2) && count < most; i++) {
            values[count++] = choices > 0 ? (float)i : i > 0 ? def->max : def->min;
        }
        return count;
    }
    for (int32_t i = 0; i < program->match_count && count < most; i++) {
        if (program->matches[i].slider == slider) {
            values[count++] = program->matches[i].value;
        }
    }
    return count;
}

static int32_t switches; ///< that were tried

static void switch_creature(creature *at) {
    enum { MOST_VALUES = 64 };
    float values[MOST_VALUES];
    fid_frame *before = malloc((size_t)at->rig->bones.count * sizeof *before);
    assert_non_null(before);
    for (int32_t i = 0; i < at->of.program->slider_count; i++) {
        int32_t slider = at->of.program->bone_count * FID_AXIS_COUNT + i;
        bool free = at->of.program->animatable[slider] && !fid_program_is_driven(at->of.program, slider);
        int32_t count = free ? list_values(at, slider, values, MOST_VALUES) : 0;
        bool telling = count < 2;
        for (int32_t from = 0; from < count; from++) {
            for (int32_t to = 0; to < count; to++) {
                if (from != to) {
                    telling |= try_switch(at, slider, values[from], values[to], before);
                    switches++;
                }
            }
        }
        if (!telling) {
            fail_msg("%s: slider '%s' switches nothing that is seen", at->name, at->rig->sliders.at[i].def.name);
        }
    }
    free(before);
}

static void no_switch_of_a_creature_lets_what_is_seen_jump(void **state) {
    (void)state;
    switches = 0;
    with_every_creature(switch_creature);
    // The legs of the demonstration alone ride on three spaces each.
    assert_true(switches >= 12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_pose_of_a_creature_is_not_finite_or_comes_out_otherwise_in_another_order_or_thread),
        cmocka_unit_test(the_steps_of_every_bone_lead_to_the_bits_of_the_solve),
        cmocka_unit_test(no_switch_of_a_creature_lets_what_is_seen_jump),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
