#include "check/findings.h"

#include "check/rules.h"
#include "format/pose_write.h"

// S209

/// Adds a follow of `source` to `bone` that takes its place as it is, written at find_origin.
static void add_follow(fid_rig *rig, fid_bone_id bone, fid_bone_id source, fid_offset offset, fid_apply apply) {
    fid_share share = {rig_source(source), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = bone;
    def.origin = find_origin(rig);
    def.apply = (int32_t)apply;
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.offset = (int32_t)offset;
    rig_constrain(rig, &def);
}

/// A rig of height 1 in which 'b' follows 'a', which lies at `at`, turned by `degrees`, and 'b' on nothing.
static fid_rig *make_follower(fid_vec3 at, fid_vec3 degrees, fid_offset offset) {
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, at, degrees);
    add_follow(rig, rig_control(rig, "b", rig_none, nowhere, nowhere), a, offset, FID_BEFORE);
    return rig;
}

static void a_bone_that_is_moved_at_rest_is_found(void **state) {
    (void)state;
    fid_rig *rig = make_follower((fid_vec3){0.25f, 0, 0}, nowhere, FID_OFFSET_NONE);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "b_control",
                        "'b/control:follow' moves bone 'b_control' by 0.25 m at rest");
    assert_value(&report.findings.at[0], 0.25, 1e-5);
    assert_string_equal(report.findings.at[0].hint, fid_rule_find("S209")->mend);
    assert_null(report.findings.at[0].pose);
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
    rig = make_follower((fid_vec3){0.25f, 0, 0}, nowhere, FID_OFFSET_REST);
    assert_silent(rig);
    fid_rig_free(rig);
}

static void a_bone_that_is_turned_at_rest_is_found(void **state) {
    (void)state;
    fid_rig *rig = make_follower(nowhere, (fid_vec3){0, 1, 0}, FID_OFFSET_NONE);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "b_control",
                        "'b/control:follow' turns bone 'b_control' by 1 degrees at rest");
    assert_value(&report.findings.at[0], 1, 0.01);
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void what_is_within_the_tolerances_rests(void **state) {
    (void)state;
    // 1e-5 of the height of 1 m, and 0.01 degrees.
    static const struct {
        fid_vec3 at, degrees;
        bool found;
    } cases[] = {{{0.9e-5f, 0, 0}, {0, 0, 0}, false},
                 {{1.1e-5f, 0, 0}, {0, 0, 0}, true},
                 {{0, 0, 0}, {0, 0.009f, 0}, false},
                 {{0, 0, 0}, {0, 0.011f, 0}, true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = make_follower(cases[i].at, cases[i].degrees, FID_OFFSET_NONE);
        fid_report report = find_all(rig, find_options(NULL));
        assert_int_equal(report.findings.count, cases[i].found ? 1 : 0);
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

static void a_goal_beside_the_end_of_its_chain_is_found_once(void **state) {
    (void)state;
    // 1 cm beside an end that is 2 cos(20 degrees) = 1.8794 m away turns the chain by atan(0.01 / 1.8794) = 0.305
    // degrees; that it is 27 um farther away bends the first bone by 0.002 degrees less (calculated).
    fid_rig *rig = find_leg(40, 0.01f);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "leg_01_deform",
                        "'leg:ik' turns bone 'leg_01_deform' by 0.305 degrees at rest: its goal does not rest "
                        "on the end of the chain");
    assert_true(report.findings.at[0].has_value);
    assert_near((double)report.findings.at[0].value, atan(0.01 / (2 * cos(acos(-1.0) / 9))) * 180 / acos(-1.0), 0.002);
    assert_near((double)report.findings.at[0].threshold, 0.01, 1e-6);
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void what_is_only_carried_along_is_not_found(void **state) {
    (void)state;
    // 'c' hangs from the moved 'b' and has a sound constraint of its own.
    fid_rig *rig = make_follower((fid_vec3){0.25f, 0, 0}, (fid_vec3){0, 30, 0}, FID_OFFSET_NONE);
    fid_bone_id c = rig_control(rig, "c", fid_rig_bone_at(rig, 1), (fid_vec3){0, 0, 0.5f}, nowhere);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.bone = c;
    def.as.limit.swing = 45;
    rig_constrain(rig, &def);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "b_control",
                        "'b/control:follow' moves bone 'b_control' by 0.25 m at rest");
    fid_report_clear(&report);
    // A fault of its own is one finding more.
    fid_bone_id d = rig_control(rig, "d", rig_none, (fid_vec3){0, 0, 1}, nowhere);
    add_follow(rig, c, d, FID_OFFSET_NONE, FID_AFTER);
    report = find_all(rig, find_options(NULL));
    assert_int_equal(report.findings.count, 2);
    assert_finding(&report, 0, "S209", FID_ERROR, "b_control",
                   "'b/control:follow' moves bone 'b_control' by 0.25 m at rest");
    assert_finding(&report, 1, "S209", FID_ERROR, "c_control",
                   "'c/control:follow' moves bone 'c_control' by 0.5 m at rest");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static fid_channel add_slider(fid_rig *rig, fid_bone_id on, float rest) {
    fid_error err = {0};
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = on;
    def.name = "amount";
    def.rest = rest;
    rig_ok(fid_rig_add_slider(rig, &def, &id, &err));
    return (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
}

/// Adds a pose layer that moves `a` and `b` by 0.2 m along Y where its channel is 1, written at find_origin.
static void add_layer(fid_rig *rig, fid_bone_id a, fid_bone_id b, fid_channel by) {
    fid_error err = {0};
    fid_layer_id id;
    fid_frame moved = FID_FRAME_IDENTITY;
    moved.t.y = 0.2f;
    const fid_layer_entry entries[] = {{a, moved}, {b, moved}};
    const fid_layer_pose pose = {1, entries, 2};
    fid_layer_def def = fid_layer_default();
    def.name = "retract";
    def.by = by;
    def.poses = (fid_pose_table){&pose, 1};
    def.origin = find_origin(rig);
    rig_ok(fid_rig_add_layer(rig, &def, &id, &err));
}

static void a_pose_layer_that_acts_at_rest_is_found_once(void **state) {
    (void)state;
    static const float rests[] = {0.5f, 0};
    for (int i = 0; i < 2; i++) {
        fid_rig *rig = rig_make(1);
        fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
        fid_bone_id b = rig_control(rig, "b", rig_none, nowhere, nowhere);
        add_layer(rig, a, b, add_slider(rig, a, rests[i]));
        if (rests[i] > 0) {
            fid_report report = find_all(rig, find_options(NULL));
            assert_only_finding(&report, "S209", FID_ERROR, "a_control",
                                "the pose layer 'retract' moves bone 'a_control' by 0.1 m at rest: its channel does "
                                "not rest at 0");
            assert_value(&report.findings.at[0], 0.1, 1e-5);
            assert_places(&report.findings.at[0]);
            fid_report_clear(&report);
        } else {
            assert_silent(rig);
        }
        fid_rig_free(rig);
    }
}

static void a_constraint_that_acts_after_a_pose_layer_is_found(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, (fid_vec3){0.25f, 0, 0}, nowhere);
    fid_bone_id b = rig_control(rig, "b", rig_none, nowhere, nowhere);
    add_layer(rig, a, b, add_slider(rig, a, 0));
    add_follow(rig, b, a, FID_OFFSET_NONE, FID_AFTER);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "b_control",
                        "'b/control:follow' moves bone 'b_control' by 0.25 m at rest");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

/// A rig in which a slider that rests at 1 drives a channel of 'a' to `response`.
static fid_rig *make_driven(fid_axis axis, float response) {
    fid_error err = {0};
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    rig_control(rig, "b", a, (fid_vec3){0, 0, 0.5f}, nowhere);
    const float x[] = {0, 1}, y[] = {0, response};
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    def.to = (fid_channel){FID_CHANNEL_BONE, axis, a.handle};
    def.from = FID_FACTORS_OF(add_slider(rig, a, 1));
    def.curve = (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = y, .count = 2};
    def.origin = find_origin(rig);
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    return rig;
}

static void a_placement_that_is_driven_at_rest_is_found(void **state) {
    (void)state;
    static const struct {
        fid_axis axis;
        float response;
        const char *text; ///< or NULL: silent
    } cases[] = {
        {FID_SCALE_X, 5, "the drive of 'a_control.scale' changes the scale of bone 'a_control' by 400 % at rest"},
        {FID_SCALE_X, 1, NULL},
        {FID_TRANSLATION_Y, 0.2f, "the drive of 'a_control.translation.y' moves bone 'a_control' by 0.2 m at rest"},
        {FID_TRANSLATION_Y, 0, NULL},
        {FID_ROTATION_X, 3, "the drive of 'a_control.rotation.x' turns bone 'a_control' by 3 degrees at rest"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        fid_rig *rig = make_driven(cases[i].axis, cases[i].response);
        fid_bone *a = &rig->bones.at[0];
        // It rests off the origin, about which nothing turns or grows.
        a->rest.t = a->def.rest.t = (fid_vec3){0.3f, 0.1f, 0};
        a->def.placement = true;
        rig->placement = fid_rig_bone_at(rig, 0);
        a->def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
        if (cases[i].text) {
            fid_report report = find_all(rig, find_options("S209"));
            assert_only_finding(&report, "S209", FID_ERROR, "a_control", cases[i].text);
            assert_places(&report.findings.at[0]);
            fid_report_clear(&report);
        } else {
            fid_report report = find_all(rig, find_options("S209"));
            assert_int_equal(report.findings.count, 0);
            fid_report_clear(&report);
        }
        fid_rig_free(rig);
    }
}

static void a_measure_that_does_not_rest_where_its_channel_does_is_found(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", rig_none, (fid_vec3){0, 0, 0.5f}, nowhere);
    fid_factor factor = {.kind = FID_FACTOR_DISTANCE, .a = rig_source(a), .b = rig_source(b)};
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    def.to = add_slider(rig, a, 0.5f);
    def.from = (fid_factors){&factor, 1};
    def.origin = find_origin(rig);
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    assert_silent(rig);
    // The slider rests at 0.5, as the distance does; twice the distance does not.
    def.gain.value = 2;
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    fid_report report = find_all(rig, find_options(NULL));
    assert_int_equal(report.findings.count, 2); // both drive it, to the same value
    assert_string_equal(report.findings.at[1].code, "S209");
    assert_non_null(strstr(report.findings.at[1].message, "gives 1 at rest, where that slider rests at 0.5"));
    assert_int_equal(report.findings.at[1].places[0].line, 7);
    fid_report_clear(&report);
    fid_rig_free(rig);
    // A bone is moved by what it is driven by.
    rig = rig_make(1);
    a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    b = rig_control(rig, "b", rig_none, (fid_vec3){0, 0, 0.5f}, nowhere);
    fid_bone_id c = rig_control(rig, "c", rig_none, nowhere, nowhere);
    factor = (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = rig_source(a), .b = rig_source(b)};
    def = fid_drive_default();
    def.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_Y, c.handle};
    def.from = (fid_factors){&factor, 1};
    def.origin = find_origin(rig);
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S209", FID_ERROR, "c_control",
                        "the drive of 'c_control.translation.y' moves bone 'c_control' by 0.5 m at rest");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_drive_that_acts_at_rest_is_found(void **state) {
    (void)state;
    static const struct {
        fid_axis axis;
        float response, rest;
        double value, threshold;
        const char *message;
    } cases[] = {
        {FID_TRANSLATION_Y, 0.3f, 0, 0.3, 1e-5,
         "the drive of 'a_control.translation.y' moves bone 'a_control' by 0.3 m at rest"},
        {FID_ROTATION_X, 30, 0, 30, 0.01,
         "the drive of 'a_control.rotation.x' turns bone 'a_control' by 30 degrees at rest"},
        {FID_SCALE_Z, 1.5f, 1, 0.5, 1e-5,
         "the drive of 'a_control.scale.z' changes the scale of bone 'a_control' by 50 % at rest"},
        {FID_SCALE_X, 0.75f, 1, 0.25, 1e-5,
         "the drive of 'a_control.scale.x' changes the scale of bone 'a_control' by 25 % at rest"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = make_driven(cases[i].axis, cases[i].response);
        fid_report report = find_all(rig, find_options(NULL));
        assert_only_finding(&report, "S209", FID_ERROR, "a_control", cases[i].message);
        assert_value(&report.findings.at[0], cases[i].value, cases[i].threshold);
        assert_places(&report.findings.at[0]);
        fid_report_clear(&report);
        fid_rig_free(rig);
        rig = make_driven(cases[i].axis, cases[i].rest);
        assert_silent(rig);
        fid_rig_free(rig);
    }
}

// P413

/// A leg whose goal rests at no number.
static fid_rig *make_broken(void) {
    fid_rig *rig = find_leg(40, 0);
    rig->bones.at[0].def.rest.t.x = NAN;
    rig->bones.at[0].rest.t.x = NAN;
    rig->bones.at[0].def.origin = rig->origins.count - 1;
    return rig;
}

static void a_bone_that_is_not_finite_is_found_with_its_pose(void **state) {
    (void)state;
    fid_rig *rig = make_broken();
    fid_check_options options = find_options("P413");
    options.write_pose = fid_pose_write;
    fid_report report = find_all(rig, options);
    assert_only_finding(&report, "P413", FID_ERROR, "goal_control",
                        "bone 'goal_control' is not finite in random pose 0");
    assert_string_equal(report.findings.at[0].hint, fid_rule_find("P413")->mend);
    assert_false(report.findings.at[0].has_value);
    assert_places(&report.findings.at[0]);
    assert_text_contains(report.findings.at[0].pose, "\"goal_control\"");
    // The first pose that shows it is enough.
    assert_int_equal(report.poses_tried, 1);
    fid_report_clear(&report);
    options.write_pose = NULL;
    report = find_all(rig, options);
    assert_int_equal(report.findings.count, 1);
    assert_null(report.findings.at[0].pose);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void the_same_seed_tries_the_same_poses_and_another_seed_others(void **state) {
    (void)state;
    fid_rig *rig = make_broken();
    fid_check_options options = find_options(NULL);
    options.write_pose = fid_pose_write;
    fid_report first = find_all(rig, options), again = find_all(rig, options);
    options.seed = 2;
    fid_report other = find_all(rig, options);
    assert_true(first.findings.count > 0);
    assert_int_equal(again.findings.count, first.findings.count);
    for (int32_t i = 0; i < first.findings.count; i++) {
        const fid_finding *a = &first.findings.at[i], *b = &again.findings.at[i];
        assert_string_equal(a->code, b->code);
        assert_string_equal(a->subject, b->subject);
        assert_string_equal(a->message, b->message);
        assert_true(a->pose == NULL ? b->pose == NULL : strcmp(a->pose, b->pose) == 0);
    }
    const fid_finding *last = &first.findings.at[first.findings.count - 1];
    const fid_finding *differs = &other.findings.at[other.findings.count - 1];
    assert_string_equal(last->code, "P413");
    assert_string_equal(differs->code, "P413");
    assert_string_not_equal(last->pose, differs->pose);
    fid_report_clear(&first);
    fid_report_clear(&again);
    fid_report_clear(&other);
    fid_rig_free(rig);
}

static void a_bone_that_depends_on_earlier_poses_is_found(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", a, (fid_vec3){0, 0, 1}, nowhere);
    find_bone_at(rig, b, find_origin(rig));
    fid_error err = {0};
    fid_report report = {0};
    fid_program *program = NULL;
    rig_ok(fid_program_compile(rig, &report, &program, &err));
    fid_check_options options = find_options(NULL);
    options.write_pose = fid_pose_write;
    fid_check check = {rig, program, &options, &report, false};
    fid_check_finite(&check);
    assert_false(check.failed);
    assert_int_equal(report.findings.count, 0);
    assert_int_equal(report.poses_tried, 20);
    // A wrong order: the child takes the frame that its parent had in the pose before.
    fid_step *steps = (fid_step *)program->steps;
    assert_int_equal(program->step_count, 2);
    steps[0] = 1;
    steps[1] = 0;
    fid_check_finite(&check);
    assert_only_finding(&report, "P413", FID_ERROR, "b_control",
                        "bone 'b_control' depends on earlier poses in random pose 0");
    assert_places(&report.findings.at[0]);
    assert_text_contains(report.findings.at[0].pose, "\"a_control\"");
    fid_report_clear(&report);
    fid_program_free(program);
    fid_rig_free(rig);
}

static void as_many_poses_are_tried_as_are_asked_for(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    static const int32_t counts[] = {0, 1, 7};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        fid_check_options options = find_options(NULL);
        options.poses = counts[i];
        fid_report report = find_all(rig, options);
        assert_int_equal(report.poses_tried, counts[i]);
        assert_int_equal(report.findings.count, 0);
        fid_report_clear(&report);
    }
    fid_rig_free(rig);
    // Without poses there is none that shows a fault.
    rig = make_broken();
    fid_check_options options = find_options("P413");
    options.poses = 0;
    fid_report report = find_all(rig, options);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bone_that_is_moved_at_rest_is_found),
        cmocka_unit_test(a_bone_that_is_turned_at_rest_is_found),
        cmocka_unit_test(what_is_within_the_tolerances_rests),
        cmocka_unit_test(a_goal_beside_the_end_of_its_chain_is_found_once),
        cmocka_unit_test(what_is_only_carried_along_is_not_found),
        cmocka_unit_test(a_pose_layer_that_acts_at_rest_is_found_once),
        cmocka_unit_test(a_constraint_that_acts_after_a_pose_layer_is_found),
        cmocka_unit_test(a_drive_that_acts_at_rest_is_found),
        cmocka_unit_test(a_placement_that_is_driven_at_rest_is_found),
        cmocka_unit_test(a_measure_that_does_not_rest_where_its_channel_does_is_found),
        cmocka_unit_test(a_bone_that_is_not_finite_is_found_with_its_pose),
        cmocka_unit_test(the_same_seed_tries_the_same_poses_and_another_seed_others),
        cmocka_unit_test(a_bone_that_depends_on_earlier_poses_is_found),
        cmocka_unit_test(as_many_poses_are_tried_as_are_asked_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
