#include "check/findings.h"

static fid_bone *goal_of(fid_rig *rig) { return &rig->bones.at[0]; }

/// A leg whose goal is called `name`.
static fid_rig *make_named(const char *name) {
    fid_rig *rig = find_leg(40, 0);
    goal_of(rig)->name = name;
    goal_of(rig)->def.origin = rig->origins.count - 1;
    return rig;
}

/// The goal under that name has this one finding.
static void assert_refused(const char *name, const char *message) {
    fid_rig *rig = make_named(name);
    fid_report report = find_all(rig, find_options("N101"));
    assert_only_finding(&report, "N101", FID_ERROR, name, message);
    assert_string_equal(report.findings.at[0].hint, fid_rule_find("N101")->mend);
    assert_false(report.findings.at[0].has_value);
    assert_null(report.findings.at[0].pose);
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void names_that_the_naming_renders_are_fine(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    assert_string_equal(goal_of(rig)->name, "goal_control");
    fid_report report = find_all(rig, find_options("N101"));
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void names_of_another_naming_are_fine_in_a_rig_of_that_naming(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = NULL;
    fid_naming naming = {.template_text = "{role}_{part}_{index}_{side}",
                         .index = "%03d",
                         .sides = {"L", "R", "M"},
                         .roles = {"D", "H", "C"}};
    rig_ok(fid_rig_new("test", 1, &naming, &rig, &err));
    fid_bone_def def = fid_bone_default();
    def.part = "claw";
    def.side = FID_LEFT;
    def.role = FID_DEFORM;
    def.index[0] = 1;
    def.index[1] = 4;
    def.length = 0.1f;
    fid_bone_id id;
    rig_ok(fid_rig_add_bone(rig, &def, &id, &err));
    assert_string_equal(rig->bones.at[0].name, "D_claw_004_L");
    fid_report report = find_all(rig, find_options("N101"));
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    // The name of the default naming is none of this one.
    rig->bones.at[0].name = "claw_04_left_deform";
    report = find_all(rig, find_options("N101"));
    assert_only_finding(
        &report, "N101", FID_ERROR, "claw_04_left_deform",
        "the name 'claw_04_left_deform' is not what the naming renders for 'claw/4/left/deform' ('D_claw_004_L')");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void names_that_are_not_rendered_are_found(void **state) {
    (void)state;
    assert_refused("goal_other",
                   "the name 'goal_other' is not what the naming renders for 'goal/control' ('goal_control')");
    assert_refused("goal_controls",
                   "the name 'goal_controls' is not what the naming renders for 'goal/control' ('goal_control')");
    assert_refused("", "the name '' is not what the naming renders for 'goal/control' ('goal_control')");
}

static void names_with_characters_that_loaders_refuse_are_found(void **state) {
    (void)state;
    static const char *const names[] = {"goal control", "goal.control", "goal/control", "goal:control", "Goal\xc3\xa4"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char message[160];
        snprintf(message, sizeof message,
                 "the name '%s' has other characters than letters, digits, '_' and '-', or more than 64 bytes",
                 names[i]);
        assert_refused(names[i], message);
    }
}

static void names_over_64_bytes_are_found(void **state) {
    (void)state;
    char name[66] = "", message[200];
    memset(name, 'a', 65);
    snprintf(message, sizeof message,
             "the name '%s' has other characters than letters, digits, '_' and '-', or more than 64 bytes", name);
    assert_refused(name, message);
    // At 64 bytes the length is fine; this name is still not the one that is rendered.
    name[64] = '\0';
    snprintf(message, sizeof message,
             "the name '%s' is not what the naming renders for 'goal/control' ('goal_control')", name);
    assert_refused(name, message);
}

static void fields_that_cannot_be_rendered_are_found(void **state) {
    (void)state;
    fid_rig *rig = make_named("goal_control");
    goal_of(rig)->def.part = "Goal Part";
    fid_report report = find_all(rig, find_options("N101"));
    assert_only_finding(&report, "N101", FID_ERROR, "goal_control",
                        "the name 'goal_control' is not what the naming renders for 'goal/control' ('')");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void names_that_several_bones_have_are_found_once_for_each_further_bone(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    const fid_bone first = rig->bones.at[1];
    for (int32_t i = 2; i < 4; i++) {
        // The same fields render the same name.
        rig->bones.at[i].name = first.name;
        rig->bones.at[i].def.index[1] = first.def.index[1];
    }
    find_bone_at(rig, fid_rig_bone_at(rig, 2), rig->origins.count - 1);
    fid_report report = find_all(rig, find_options("N101"));
    assert_int_equal(report.findings.count, 2);
    assert_finding(&report, 0, "N101", FID_ERROR, "leg_01_deform",
                   "two bones are called 'leg_01_deform': 'leg/1/deform' and 'leg/2/deform'");
    assert_places(&report.findings.at[0]);
    assert_finding(&report, 1, "N101", FID_ERROR, "leg_01_deform",
                   "two bones are called 'leg_01_deform': 'leg/2/deform' and 'leg/3/deform'");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_that_the_naming_renders_are_fine),
        cmocka_unit_test(names_of_another_naming_are_fine_in_a_rig_of_that_naming),
        cmocka_unit_test(names_that_are_not_rendered_are_found),
        cmocka_unit_test(names_with_characters_that_loaders_refuse_are_found),
        cmocka_unit_test(names_over_64_bytes_are_found),
        cmocka_unit_test(fields_that_cannot_be_rendered_are_found),
        cmocka_unit_test(names_that_several_bones_have_are_found_once_for_each_further_bone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
