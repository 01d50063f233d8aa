#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "check/check.h"
#include "math/scalar.h"
#include "support/memory_fail.h"
#include "support/rig.h"

static const fid_vec3 nowhere = {0, 0, 0};

/// A leg of two equal bones bent by `degrees`, its goal `off` metres beside the chain's end.
static fid_rig *make_leg(double degrees, float off) {
    fid_rig *rig = rig_make(2);
    float half = (float)fid_radians(degrees / 2);
    const fid_vec3 points[] = {{0, 2, 0},
                               {0, 2 - (float)fid_cos((double)half), (float)fid_sin((double)half)},
                               {0, 2 - 2 * (float)fid_cos((double)half), 0}};
    fid_vec3 place = points[2];
    place.x += off;
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, place, nowhere));
    def.chain = rig_chain(rig, "leg", rig_none, points, 3, true, FID_FAN);
    rig_constrain(rig, &def);
    return rig;
}

static fid_check_options quick(void) {
    fid_check_options options = fid_check_default();
    options.poses = 20;
    return options;
}

static fid_report check(const fid_rig *rig, fid_check_options options) {
    fid_report report = {0};
    fid_error err = {0};
    rig_ok(fid_check_rig(rig, &options, &report, &err));
    return report;
}

/// Exactly one finding, of this rule and severity, about this subject.
static void assert_finding(const fid_report *report, const char *code, fid_severity severity, const char *subject,
                           const char *part) {
    for (int32_t i = 0; i < report->findings.count && report->findings.count != 1; i++) {
        print_error("%s %s\n", report->findings.at[i].code, report->findings.at[i].message);
    }
    assert_int_equal(report->findings.count, 1);
    const fid_finding *finding = &report->findings.at[0];
    assert_string_equal(finding->code, code);
    assert_int_equal(finding->severity, severity);
    assert_string_equal(finding->subject, subject);
    assert_text_contains(finding->message, part);
    assert_non_null(finding->hint);
}

static void a_sound_rig_has_no_findings(void **state) {
    (void)state;
    fid_rig *rig = make_leg(40, 0);
    fid_report report = check(rig, fid_check_default());
    assert_int_equal(report.findings.count, 0);
    assert_int_equal(report.poses_tried, 500);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void names_that_the_naming_does_not_render_are_found(void **state) {
    (void)state;
    static const struct {
        const char *name, *part;
    } faults[] = {{"goal_other", "not what the naming renders"},
                  {"goal control", "other characters"},
                  {"leg_01_control", "two bones are called"},
                  {"a_name_that_goes_on_and_on_and_on_and_on_and_on_and_on_and_on_and_on", "more than 64 bytes"}};
    for (int i = 0; i < 4; i++) {
        fid_rig *rig = make_leg(40, 0);
        const char *sound = rig->bones.at[0].name;
        fid_bone_def kept = rig->bones.at[0].def;
        rig->bones.at[0].name = faults[i].name;
        if (i == 2) {
            // Two bones of the same fields: both are rendered rightly.
            rig->bones.at[0].def.part = "leg";
            rig->bones.at[0].def.index[0] = rig->bones.at[0].def.index[1] = 1;
        }
        fid_check_options options = quick();
        options.only = "N101";
        fid_report report = check(rig, options);
        assert_finding(&report, "N101", FID_ERROR, i == 2 ? "leg_01_control" : faults[i].name, faults[i].part);
        fid_report_clear(&report);
        rig->bones.at[0].name = sound;
        rig->bones.at[0].def = kept;
        fid_rig_free(rig);
    }
}

static void cycles_are_found_whatever_is_asked_for(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", a, (fid_vec3){0, 0, 1}, nowhere);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = a;
    def.as.aim.source = rig_source(b);
    rig_constrain(rig, &def);
    fid_check_options options = quick();
    options.only = "N101";
    fid_report report = check(rig, options);
    assert_finding(&report, "S201", FID_ERROR, "a_control", "a_control needs b_control");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void bones_of_no_length_are_found(void **state) {
    (void)state;
    fid_rig *rig = make_leg(40, 0);
    rig->bones.at[0].def.length = 0.00019f;
    fid_report report = check(rig, quick());
    assert_finding(&report, "S202", FID_ERROR, "goal_control", "base and tip lie on each other");
    assert_true(report.findings.at[0].has_value);
    assert_near((double)report.findings.at[0].value, 0.00019, 1e-9);
    assert_near((double)report.findings.at[0].threshold, 0.0002, 1e-9);
    fid_report_clear(&report);
    rig->bones.at[0].def.length = 0.00021f;
    report = check(rig, quick());
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void straight_chains_are_errors_and_nearly_straight_ones_warnings(void **state) {
    (void)state;
    // Two equal bones leave room for 2 % of softening from 23 degrees on: 1 - cos(11.5 deg) = 0.0201 (calculated).
    static const struct {
        double degrees;
        int32_t findings;
        fid_severity severity;
    } cases[] = {{2.9, 1, FID_ERROR}, {3.1, 1, FID_WARNING}, {22.7, 1, FID_WARNING}, {23.1, 0, FID_NOTE}};
    for (int i = 0; i < 4; i++) {
        fid_rig *rig = make_leg(cases[i].degrees, 0);
        fid_report report = check(rig, quick());
        assert_int_equal(report.findings.count, cases[i].findings);
        if (cases[i].findings > 0) {
            assert_finding(&report, "S204", cases[i].severity, i == 0 ? "leg" : "leg:ik",
                           i == 0 ? "bends by 2.9 degrees" : "softening of 2 %");
        }
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

static void chains_that_cannot_fold_are_found(void **state) {
    (void)state;
    // Seven equal segments bent by 51.5 degrees each have passed the closed heptagon (51.43 degrees): folding on opens
    // them again.
    fid_rig *rig = rig_make(2);
    fid_vec3 points[8] = {{0, 0, 0}};
    for (int i = 1; i < 8; i++) {
        double angle = fid_radians(54.0 * (i - 1));
        points[i] = fid_vec3_add(points[i - 1], (fid_vec3){0, (float)fid_sin(angle), (float)fid_cos(angle)});
    }
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, points[7], nowhere));
    def.chain = rig_chain(rig, "ring", rig_none, points, 8, true, FID_FAN);
    rig_constrain(rig, &def);
    fid_report report = check(rig, quick());
    assert_finding(&report, "S205", FID_ERROR, "ring", "cannot fold further");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_goal_beside_the_end_is_no_rest(void **state) {
    (void)state;
    fid_rig *rig = make_leg(40, 0.01f);
    fid_report report = check(rig, quick());
    assert_finding(&report, "S209", FID_ERROR, "leg_01_control", "its goal does not rest on the end of the chain");
    fid_report_clear(&report);
    fid_rig_free(rig);
    // An offset of none turns the follower away from its rest.
    rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, (fid_vec3){0, 1, 0});
    fid_share share = {rig_source(a), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = rig_control(rig, "b", rig_none, nowhere, nowhere);
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.offset = FID_OFFSET_NONE;
    rig_constrain(rig, &def);
    report = check(rig, quick());
    assert_finding(&report, "S209", FID_ERROR, "b_control", "turns bone 'b_control' by 1 degrees");
    assert_near((double)report.findings.at[0].threshold, 0.01, 1e-6);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static fid_code write_pose(const fid_rig *rig, const fid_pose *pose, fid_text *out, fid_error *err) {
    (void)rig;
    (void)pose;
    (void)err;
    fid_text_add(out, "{\"format\": \"fid-pose\"}");
    return FID_OK;
}

static void a_bone_that_is_not_finite_is_found_with_its_pose(void **state) {
    (void)state;
    fid_rig *rig = make_leg(40, 0);
    rig->bones.at[0].def.rest.t.x = NAN;
    rig->bones.at[0].rest.t.x = NAN;
    fid_check_options options = quick();
    options.only = "P413";
    options.write_pose = write_pose;
    fid_report report = check(rig, options);
    assert_finding(&report, "P413", FID_ERROR, "goal_control", "is not finite in random pose 0");
    assert_string_equal(report.findings.at[0].pose, "{\"format\": \"fid-pose\"}");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void only_and_except_choose_rules_and_unknown_codes_are_refused(void **state) {
    (void)state;
    fid_rig *rig = make_leg(10, 0.01f);
    fid_check_options options = quick();
    options.only = "S204,N101";
    fid_report report = check(rig, options);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].code, "S204");
    fid_report_clear(&report);
    options = quick();
    options.except = "S204,S209,P413";
    report = check(rig, options);
    assert_int_equal(report.findings.count, 0);
    assert_int_equal(report.poses_tried, 0);
    fid_report_clear(&report);
    fid_error err = {0};
    options.except = "S202,S99";
    assert_int_equal(fid_check_rig(rig, &options, &report, &err), FID_UNKNOWN);
    assert_text_contains(err.message, "no rule 'S99'");
    options = quick();
    options.only = "";
    assert_int_equal(fid_check_rig(rig, &options, &report, &err), FID_UNKNOWN);
    fid_rig_free(rig);
}

static void every_rule_says_why_and_what_to_do(void **state) {
    (void)state;
    for (int32_t i = 0; i < fid_rule_count; i++) {
        const fid_rule *rule = &fid_rules[i];
        assert_ptr_equal(fid_rule_find(rule->code), rule);
        assert_true(rule->title[0] && rule->why[0] && rule->mend[0] && rule->basis[0]);
    }
    assert_null(fid_rule_find("X999"));
}

static bool check_everything(void *user) {
    fid_report report = {0};
    fid_error err = {0};
    fid_check_options options = fid_check_default();
    options.poses = 2;
    bool done = fid_check_rig(user, &options, &report, &err) == FID_OK;
    fid_report_clear(&report);
    return done;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    fid_rig *rig = make_leg(10, 0.01f);
    memory_fail_every(check_everything, rig);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_rig_has_no_findings),
        cmocka_unit_test(names_that_the_naming_does_not_render_are_found),
        cmocka_unit_test(cycles_are_found_whatever_is_asked_for),
        cmocka_unit_test(bones_of_no_length_are_found),
        cmocka_unit_test(straight_chains_are_errors_and_nearly_straight_ones_warnings),
        cmocka_unit_test(chains_that_cannot_fold_are_found),
        cmocka_unit_test(a_goal_beside_the_end_is_no_rest),
        cmocka_unit_test(a_bone_that_is_not_finite_is_found_with_its_pose),
        cmocka_unit_test(only_and_except_choose_rules_and_unknown_codes_are_refused),
        cmocka_unit_test(every_rule_says_why_and_what_to_do),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
