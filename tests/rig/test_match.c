#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "rig/build.h"

/// A leg with a pole, and a slider of two choices.
typedef struct limb {
    fid_rig *rig;
    fid_bone_id goal, pole, knee;
    fid_constraint_id ik;
    fid_channel slider;
} limb;

static limb limb_make(void) {
    fid_error err = {0};
    limb out = {.rig = build_rig()};
    const char *words[] = {"ik", "fk"};
    out.goal = build_bone(out.rig, "goal", build_none);
    out.pole = build_bone(out.rig, "pole", build_none);
    fid_slider_def slider = fid_slider_default();
    fid_slider_id id;
    slider.on = out.goal;
    slider.name = "lead";
    slider.choices = (fid_words){words, 2};
    build_ok(fid_rig_add_slider(out.rig, &slider, &id, &err));
    out.slider = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = id.handle};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = build_chain(out.rig, "leg", true);
    def.as.ik.goal = build_source(out.goal);
    def.as.ik.pole = build_source(out.pole);
    out.ik = build_constraint(out.rig, &def);
    out.knee = fid_rig_chain(out.rig, def.chain, NULL)->bones[1];
    return out;
}

static void a_match_is_kept_with_its_steps(void **state) {
    (void)state;
    limb of = limb_make();
    fid_error err;
    fid_match_step steps[] = {{.bone = of.goal, .like = of.knee},
                              {.bone = of.knee, .neutral = true},
                              {.bone = of.pole, .plane_of = of.ik, .like = of.knee}};
    fid_match_def def = fid_match_default();
    def.slider = of.slider;
    def.set = (fid_match_steps){steps, 3};
    def.value = 1;
    fid_rig_mark mark = fid_rig_get_mark(of.rig);
    build_ok(fid_rig_add_match(of.rig, &def, &err));
    steps[0].bone = of.pole; // the rig has its own
    assert_int_equal(of.rig->matches.count, 1);
    assert_int_equal(of.rig->matches.at[0].set.count, 3);
    assert_memory_equal(&of.rig->matches.at[0].set.at[0].bone, &of.goal, sizeof of.goal);
    fid_rig_rollback(of.rig, &mark);
    assert_int_equal(of.rig->matches.count, 0);
    fid_rig_free(of.rig);
}

static void steps_are_checked(void **state) {
    (void)state;
    limb of = limb_make();
    fid_error err;
    fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    limit.bone = of.knee;
    limit.as.limit.swing = 5;
    fid_constraint_id other = build_constraint(of.rig, &limit);
    const fid_bone_id gone = {{77, 1}};
    const struct {
        fid_match_step step;
        fid_code code;
        const char *part;
    } cases[] = {
        {{.bone = of.goal}, FID_INVALID, "one of 'like', 'neutral' and 'plane_of'"},
        {{.bone = of.goal, .like = of.knee, .neutral = true}, FID_INVALID, "one of 'like'"},
        {{.bone = of.pole, .plane_of = of.ik, .neutral = true}, FID_INVALID, "one of 'like'"},
        {{.bone = of.goal, .plane_of = of.ik}, FID_INVALID, "is not the pole of"},
        {{.bone = of.pole, .plane_of = other}, FID_INVALID, "is no ik"},
        {{.bone = of.pole, .plane_of = {{77, 1}}}, FID_STALE, "constraint is gone"},
        {{.bone = gone, .neutral = true}, FID_STALE, "bone is gone"},
        {{.bone = of.goal, .like = gone}, FID_STALE, "bone is gone"},
        {{.neutral = true}, FID_INVALID, "'set': an entry poses a bone, or with 'plane_of' the swivel of an ik"},
        {{.like = of.knee}, FID_INVALID, "an entry poses a bone"},
        {{.plane_of = of.ik}, FID_INVALID, "takes its swivel from no channel"},
        {{.plane_of = other}, FID_INVALID, "is no ik"},
        {{.plane_of = of.ik, .neutral = true}, FID_INVALID, "an entry poses a bone"},
    };
    fid_match_def def = fid_match_default();
    def.slider = of.slider;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        def.set = (fid_match_steps){&cases[i].step, 1};
        build_refused(fid_rig_add_match(of.rig, &def, &err), cases[i].code, cases[i].part);
    }
    const fid_match_step twice[] = {{.bone = of.goal, .neutral = true}, {.bone = of.goal, .like = of.knee}};
    def.set = (fid_match_steps){twice, 2};
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "'goal_deform' twice");
    fid_constraint_def *ik = &of.rig->constraints.at[fid_rig_constraint_index(of.rig, of.ik)].def;
    ik->as.ik.pole.kind = FID_SOURCE_NONE;
    ik->as.ik.swivel.channel = of.slider;
    const fid_match_step swivels[] = {{.plane_of = of.ik}, {.plane_of = of.ik, .like = of.knee}};
    def.set = (fid_match_steps){swivels, 2};
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "'set' has one swivel twice");
    def.set.count = 0;
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "'set'");
    assert_int_equal(of.rig->matches.count, 0);
    fid_rig_free(of.rig);
}

static void a_slider_has_one_match_at_a_value(void **state) {
    (void)state;
    limb of = limb_make();
    fid_error err;
    const fid_match_step step = {.bone = of.goal, .neutral = true};
    fid_match_def def = fid_match_default();
    def.set = (fid_match_steps){&step, 1};
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "'slider'");
    def.slider = build_channel(of.goal, FID_ROTATION_X);
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "must be a slider");
    def.slider = of.slider;
    def.value = 2;
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_RANGE, "beyond the range of slider 'lead', 0 to 1");
    def.value = 0;
    def.origin = 12;
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_INVALID, "origin");
    def.origin = build_origin(of.rig, "limb.lua", 12);
    build_ok(fid_rig_add_match(of.rig, &def, &err));
    build_refused(fid_rig_add_match(of.rig, &def, &err), FID_NAME_TAKEN, "limb.lua:12");
    def.value = 1;
    build_ok(fid_rig_add_match(of.rig, &def, &err));
    fid_rig_free(of.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_match_is_kept_with_its_steps),
        cmocka_unit_test(steps_are_checked),
        cmocka_unit_test(a_slider_has_one_match_at_a_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
