#include "check/findings.h"
#include "format/pose_write.h"
#include "support/memory_fail.h"

static void a_sound_rig_has_no_findings(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    fid_report report = find_all(rig, fid_check_default());
    assert_int_equal(report.findings.count, 0);
    assert_int_equal(report.poses_tried, 500);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_rig_without_bones_has_no_findings(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_report report = find_all(rig, fid_check_default());
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void unless_told_500_poses_of_seed_1_and_all_rules_are_tried(void **state) {
    (void)state;
    fid_check_options options = fid_check_default();
    assert_int_equal(options.poses, 500);
    assert_true(options.seed == 1);
    assert_null(options.only);
    assert_null(options.except);
    assert_true(options.write_pose == NULL);
}

static void every_rule_says_why_and_what_to_do(void **state) {
    (void)state;
    assert_true(fid_rule_count > 0);
    for (int32_t i = 0; i < fid_rule_count; i++) {
        const fid_rule *rule = &fid_rules[i];
        assert_ptr_equal(fid_rule_find(rule->code), rule);
        assert_true(rule->title[0] && rule->why[0] && rule->mend[0] && rule->basis[0]);
    }
    assert_null(fid_rule_find("X999"));
    assert_null(fid_rule_find(""));
    assert_null(fid_rule_find("S20"));
    assert_null(fid_rule_find("s204"));
}

/// A rig with a fault for each of N101, S202, S204 (a warning), S209 and P413.
static fid_rig *make_faulty(void) {
    fid_rig *rig = find_leg(10, 0.01f);
    fid_bone_id stray = rig_control(rig, "stray", rig_none, nowhere, nowhere);
    fid_bone *bone = &rig->bones.at[fid_rig_bone_index(rig, stray)];
    bone->name = "lost";
    bone->def.length = 0;
    bone->def.rest.t.x = NAN;
    bone->rest.t.x = NAN;
    return rig;
}

/// The codes of the findings, each once, in order.
static void list_codes(const fid_report *report, char *out, size_t size) {
    out[0] = '\0';
    for (int32_t i = 0; i < report->findings.count; i++) {
        if (strstr(out, report->findings.at[i].code) == NULL) {
            size_t used = strlen(out);
            snprintf(out + used, size - used, "%s%s", used > 0 ? "," : "", report->findings.at[i].code);
        }
    }
}

static void only_and_except_choose_rules(void **state) {
    (void)state;
    static const struct {
        const char *only, *except, *codes;
    } cases[] = {{"S204", NULL, "S204"},
                 {"P413,N101", NULL, "N101,P413"},
                 {"S202,S202", NULL, "S202"},
                 {"S201,S205", NULL, ""},
                 {"N101,S202,S204,S209,P413", NULL, "N101,S202,S204,S209,P413"},
                 {"N101,S202,S204,S209,P413", "S204", "N101,S202,S209,P413"},
                 {"P413,S209,S204,S202,N101", "P413,S209,N101", "S202,S204"},
                 {"N101,S202,S209", "S202", "N101,S209"}};
    fid_rig *rig = make_faulty();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_check_options options = find_options(cases[i].only);
        options.except = cases[i].except;
        fid_report report = find_all(rig, options);
        char codes[64];
        list_codes(&report, codes, sizeof codes);
        assert_string_equal(codes, cases[i].codes);
        assert_int_equal(report.poses_tried, strstr(codes, "P413") != NULL ? 1 : 0);
        fid_report_clear(&report);
    }
    fid_rig_free(rig);
}

static void codes_that_are_no_rules_are_refused(void **state) {
    (void)state;
    static const struct {
        const char *codes, *message;
    } cases[] = {{"S240", "there is no rule 'S240'; did you mean 'S204'?"},
                 {"S204,N110", "there is no rule 'N110'; did you mean 'N101'?"},
                 {"P431,S204", "there is no rule 'P431'; did you mean 'P411'?"},
                 {"S20", "there is no rule 'S20'; did you mean 'S201'?"},
                 {"nothing", "there is no rule 'nothing'"},
                 {"", "there is no rule ''"},
                 {",", "there is no rule ''"},
                 {"S204,", "there is no rule ''"},
                 {",S204", "there is no rule ''"},
                 {"S204, S209", "there is no rule ' S209'; did you mean 'S209'?"},
                 {"ABCDEFGHIJKLMNOPQRSTUVWXYZABCDEFGHIJKL", "there is no rule 'ABCDEFGHIJKLMNOPQRSTUVWXYZABCDEF'"}};
    fid_rig *rig = make_faulty();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (int j = 0; j < 2; j++) {
            fid_check_options options = find_options(j == 0 ? cases[i].codes : "N101");
            options.except = j == 0 ? NULL : cases[i].codes;
            fid_report report = {0};
            fid_error err = {0};
            assert_int_equal(fid_check_rig(rig, &options, &report, &err), FID_UNKNOWN);
            assert_int_equal(err.code, FID_UNKNOWN);
            assert_string_equal(err.message, cases[i].message);
            assert_int_equal(report.findings.count, 0);
            fid_report_clear(&report);
        }
    }
    fid_rig_free(rig);
}

static void no_rule_left_to_try_is_an_error_and_no_clean_report(void **state) {
    (void)state;
    static const struct {
        const char *only, *except;
    } cases[] = {{"S202", "S202"}, {"N101,S202", "S202,N101,S204"}, {"S201", "S201"}};
    fid_rig *rig = make_faulty();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_check_options options = find_options(cases[i].only);
        options.except = cases[i].except;
        fid_report report = {0};
        fid_error err = {0};
        assert_int_equal(fid_check_rig(rig, &options, &report, &err), FID_INVALID);
        assert_non_null(strstr(err.message, "no rule is left to try"));
        assert_int_equal(report.findings.count, 0);
        fid_report_clear(&report);
    }
    fid_rig_free(rig);
}

static void without_only_every_rule_that_is_not_excepted_is_tried(void **state) {
    (void)state;
    static const char *const planted[] = {"N101", "S202", "S204", "S209", "P413"};
    fid_rig *rig = make_faulty();
    for (int i = -1; i < 5; i++) {
        fid_check_options options = fid_check_default();
        options.except = i < 0 ? NULL : planted[i];
        fid_report report = find_all(rig, options);
        char codes[256];
        list_codes(&report, codes, sizeof codes);
        for (int j = 0; j < 5; j++) {
            assert_true((strstr(codes, planted[j]) != NULL) == (i != j));
        }
        fid_report_clear(&report);
    }
    fid_rig_free(rig);
}

/// A rig with a cycle, a wrong name and a bone of no length.
static fid_rig *make_cycle(void) {
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", a, (fid_vec3){0, 0, 1}, nowhere);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = a;
    def.as.aim.source = rig_source(b);
    rig_constrain(rig, &def);
    rig->bones.at[1].name = "lost";
    rig->bones.at[1].def.length = 0;
    return rig;
}

static void a_rig_that_does_not_compile_is_tried_as_far_as_it_goes(void **state) {
    (void)state;
    fid_rig *rig = make_cycle();
    fid_report report = find_all(rig, find_options(NULL));
    char codes[64];
    list_codes(&report, codes, sizeof codes);
    assert_string_equal(codes, "S201,N101,S202");
    assert_int_equal(report.poses_tried, 0);
    assert_int_equal(report.count[FID_ERROR], 3);
    fid_report_clear(&report);
    // What stops the compilation is told whatever is asked for.
    fid_check_options options = find_options("S209,P413");
    options.except = "S201";
    report = find_all(rig, options);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].code, "S201");
    assert_int_equal(report.poses_tried, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void findings_are_added_to_those_that_the_report_has(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0.01f);
    fid_report report = {0};
    fid_error err = {0};
    fid_check_options options = find_options(NULL);
    const fid_finding before = {.code = "S201", .severity = FID_ERROR, .subject = "another rig", .message = "kept"};
    fid_report_add(&report, &before);
    // An error of another rig does not keep this one from being compiled and tried.
    rig_ok(fid_check_rig(rig, &options, &report, &err));
    assert_int_equal(report.findings.count, 2);
    assert_string_equal(report.findings.at[0].subject, "another rig");
    assert_string_equal(report.findings.at[1].code, "S209");
    assert_int_equal(report.poses_tried, 20);
    rig_ok(fid_check_rig(rig, &options, &report, &err));
    assert_int_equal(report.findings.count, 3);
    assert_int_equal(report.poses_tried, 20);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static bool check_everything(void *user) {
    fid_report report = {0};
    fid_error err = {0};
    fid_check_options options = fid_check_default();
    options.poses = 2;
    options.write_pose = fid_pose_write;
    fid_code code = fid_check_rig(user, &options, &report, &err);
    bool done = code == FID_OK, told = done || (code == FID_NO_MEMORY && err.code == FID_NO_MEMORY);
    fid_report_clear(&report);
    // Another error than the lack of memory counts as success, which memory_fail_every refuses.
    return done || !told;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    fid_rig *sound = find_leg(40, 0), *faulty = make_faulty(), *cycle = make_cycle(), *driven = rig_make(1);
    fid_error err = {0};
    fid_bone_id a = rig_control(driven, "a", rig_none, nowhere, nowhere);
    fid_drive_id id;
    fid_drive_def drive = fid_drive_default();
    drive.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_X, a.handle};
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_SCALE_X, a.handle});
    rig_ok(fid_rig_add_drive(driven, &drive, &id, &err));
    fid_rig *const rigs[] = {sound, faulty, cycle, driven};
    for (size_t i = 0; i < sizeof rigs / sizeof rigs[0]; i++) {
        memory_fail_every(check_everything, rigs[i]);
        fid_rig_free(rigs[i]);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_rig_has_no_findings),
        cmocka_unit_test(a_rig_without_bones_has_no_findings),
        cmocka_unit_test(unless_told_500_poses_of_seed_1_and_all_rules_are_tried),
        cmocka_unit_test(every_rule_says_why_and_what_to_do),
        cmocka_unit_test(only_and_except_choose_rules),
        cmocka_unit_test(no_rule_left_to_try_is_an_error_and_no_clean_report),
        cmocka_unit_test(without_only_every_rule_that_is_not_excepted_is_tried),
        cmocka_unit_test(codes_that_are_no_rules_are_refused),
        cmocka_unit_test(a_rig_that_does_not_compile_is_tried_as_far_as_it_goes),
        cmocka_unit_test(findings_are_added_to_those_that_the_report_has),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
