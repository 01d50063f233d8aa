#include "check/findings.h"

static void a_sound_structure_has_no_findings(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    assert_silent(rig);
    fid_rig_free(rig);
}

// S201

/// Adds an aim of `bone` at `source`, written at `origin`.
static void add_aim(fid_rig *rig, fid_bone_id bone, fid_bone_id source, int32_t origin) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = bone;
    def.origin = origin;
    def.as.aim.source = rig_source(source);
    rig_constrain(rig, &def);
}

static void a_cycle_is_named_whole(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    int32_t origin = find_origin(rig);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", a, (fid_vec3){0, 0, 1}, nowhere);
    add_aim(rig, a, b, origin);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S201", FID_ERROR, "a_control",
                        "a cycle: a_control needs b_control for 'a/control:aim' (module.lua:7), b_control needs "
                        "a_control as its parent");
    assert_places(&report.findings.at[0]);
    assert_int_equal(report.poses_tried, 0);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void bones_that_aim_at_each_other_are_a_cycle_and_a_row_of_bones_is_none(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", rig_none, (fid_vec3){0, 0, 1}, nowhere);
    fid_bone_id c = rig_control(rig, "c", rig_none, (fid_vec3){0, 0, 2}, nowhere);
    add_aim(rig, a, b, -1);
    add_aim(rig, b, c, -1);
    assert_silent(rig);
    add_aim(rig, c, a, -1);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S201", FID_ERROR, "a_control",
                        "a cycle: a_control needs b_control for 'a/control:aim', b_control needs c_control for "
                        "'b/control:aim', c_control needs a_control for 'c/control:aim'");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

// C305

static void a_space_that_closes_a_loop_is_named(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_bone_id b = rig_control(rig, "b", rig_none, (fid_vec3){0, 0, 1}, nowhere);
    fid_bone_id c = rig_control(rig, "c", b, (fid_vec3){0, 0, 1}, nowhere);
    fid_space among[2] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true},
                          {.name = "a", .source = rig_source(a), .at_rest = true}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = b;
    def.as.spaces.among = (fid_space_list){among, 2};
    fid_constraint_id spaces = rig_constrain(rig, &def);
    def.bone = a;
    def.as.spaces.among.count = 1;
    fid_constraint_id other = rig_constrain(rig, &def);
    fid_check_options options = find_options("C305,S201");
    assert_silent(rig);
    (void)spaces;
    const fid_space more = {.name = "tip", .source = {FID_SOURCE_POINT, {c, 0.5f}, {rig_none, 0}, 0}, .at_rest = true};
    fid_error err = {0};
    rig_ok(fid_rig_add_spaces(rig, other, &(fid_space_list){&more, 1}, find_origin(rig), &err));
    fid_report report = find_all(rig, options);
    assert_only_finding(&report, "C305", FID_ERROR, "a_control",
                        "a cycle: a_control needs c_control for the space 'tip' of 'a/control:spaces' "
                        "(module.lua:7), c_control needs b_control as its parent, b_control needs a_control for the "
                        "space 'a' of 'b/control:spaces'");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_follow_that_may_be_weighed_out_closes_a_loop_in_a_setting(void **state) {
    (void)state;
    fid_error err = {0};
    for (int weighed = 0; weighed < 2; weighed++) {
        fid_rig *rig = rig_make(1);
        fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
        fid_bone_id b = rig_control(rig, "b", rig_none, (fid_vec3){0, 0, 1}, nowhere);
        fid_slider_def slider = fid_slider_default();
        fid_slider_id id;
        slider.on = rig_control(rig, "c", rig_none, nowhere, nowhere);
        slider.name = "k";
        rig_ok(fid_rig_add_slider(rig, &slider, &id, &err));
        fid_share share = {rig_source(b), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
        fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
        def.bone = a;
        def.as.follow.sources = (fid_sources){&share, 1};
        if (weighed) {
            def.weight.channel = (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
        }
        rig_constrain(rig, &def);
        add_aim(rig, b, a, -1);
        fid_report report = find_all(rig, find_options("C305,S201"));
        assert_int_equal(report.findings.count, 1);
        assert_string_equal(report.findings.at[0].code, weighed ? "C305" : "S201");
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

static void drives_that_wait_for_each_other_are_a_cycle(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id a = rig_control(rig, "a", rig_none, nowhere, nowhere);
    fid_drive_id id;
    fid_drive_def drive = fid_drive_default();
    drive.to = (fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_X, a.handle};
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_Y, a.handle});
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    assert_silent(rig);
    drive.to.axis = FID_TRANSLATION_Y;
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_BONE, FID_TRANSLATION_X, a.handle});
    rig_ok(fid_rig_add_drive(rig, &drive, &id, &err));
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S201", FID_ERROR, "a_control.translation.x",
                        "a cycle: a_control.translation.x needs a_control.translation.y for a drive, "
                        "a_control.translation.y needs a_control.translation.x for a drive");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

// S202

static void bones_of_no_length_are_found(void **state) {
    (void)state;
    // 1e-4 of a height of 2 m.
    static const struct {
        float length;
        bool found;
        const char *message;
    } cases[] = {{0, true, "bone 'goal_control' is 0 m long: base and tip lie on each other"},
                 {0.00019f, true, "bone 'goal_control' is 0.00019 m long: base and tip lie on each other"},
                 {-0.5f, true, "bone 'goal_control' is -0.5 m long: base and tip lie on each other"},
                 {0.00021f, false, NULL}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = find_leg(40, 0);
        rig->bones.at[0].def.length = cases[i].length;
        rig->bones.at[0].def.origin = rig->origins.count - 1;
        if (cases[i].found) {
            fid_report report = find_all(rig, find_options(NULL));
            assert_only_finding(&report, "S202", FID_ERROR, "goal_control", cases[i].message);
            assert_value(&report.findings.at[0], (double)cases[i].length, 2e-4);
            assert_string_equal(report.findings.at[0].hint, fid_rule_find("S202")->mend);
            assert_places(&report.findings.at[0]);
            fid_report_clear(&report);
        } else {
            assert_silent(rig);
        }
        fid_rig_free(rig);
    }
    fid_rig *rig = find_leg(40, 0);
    rig->bones.at[0].def.length = NAN;
    fid_report report = find_all(rig, find_options("S202"));
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].subject, "goal_control");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void a_bone_that_is_only_too_short_for_its_rig_is_told_so(void **state) {
    (void)state;
    fid_rig *rig = find_leg(40, 0);
    rig->thresholds.s202_length = 0.05f;
    rig->bones.at[0].def.length = 0.09f;
    fid_report report = find_all(rig, find_options("S202"));
    assert_only_finding(&report, "S202", FID_ERROR, "goal_control",
                        "bone 'goal_control' is 0.09 m long, shorter than the 0.1 m that the rig allows");
    assert_text_contains(report.findings.at[0].hint, "S202_length");
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void the_least_length_grows_with_the_height(void **state) {
    (void)state;
    static const struct {
        float height;
        int32_t findings;
    } cases[] = {{0.5f, 0}, {999, 0}, {1001, 1}, {1e4f, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        // A control of 0.1 m.
        fid_rig *rig = rig_make(cases[i].height);
        rig_control(rig, "a", rig_none, nowhere, nowhere);
        fid_report report = find_all(rig, find_options("S202"));
        assert_int_equal(report.findings.count, cases[i].findings);
        fid_report_clear(&report);
        fid_rig_free(rig);
    }
}

static void a_source_on_the_base_of_its_bone_gives_no_direction(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    int32_t origin = find_origin(rig);
    fid_bone_id near = rig_control(rig, "near", rig_none, (fid_vec3){0, 0, 0.00009f}, nowhere);
    fid_bone_id eye = rig_control(rig, "eye", rig_none, nowhere, nowhere);
    add_aim(rig, eye, near, origin);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(
        &report, "S202", FID_ERROR, "eye_control",
        "the source of 'eye/control:aim' rests on the base of bone 'eye_control': there is no direction to it");
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
    rig = rig_make(1);
    near = rig_control(rig, "near", rig_none, (fid_vec3){0, 0, 0.00011f}, nowhere);
    eye = rig_control(rig, "eye", rig_none, nowhere, nowhere);
    add_aim(rig, eye, near, -1);
    assert_silent(rig);
    fid_rig_free(rig);
}

static void a_pole_on_the_line_of_its_chain_gives_no_direction(void **state) {
    (void)state;
    for (int i = 0; i < 2; i++) {
        fid_rig *rig = find_leg(40, 0);
        fid_bone_id pole = rig_control(rig, "pole", rig_none, (fid_vec3){0, 1, i == 0 ? 0 : 1}, nowhere);
        rig->constraints.at[0].def.as.ik.pole = rig_source(pole);
        if (i == 0) {
            fid_report report = find_all(rig, find_options(NULL));
            assert_only_finding(
                &report, "S202", FID_ERROR, "leg",
                "the pole of chain 'leg' rests on the line from its base to its end: it shows no direction");
            assert_places(&report.findings.at[0]);
            fid_report_clear(&report);
        } else {
            assert_silent(rig);
        }
        fid_rig_free(rig);
    }
}

// S204

static void straight_chains_are_errors(void **state) {
    (void)state;
    fid_rig *rig = find_leg(2.9, 0);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S204", FID_ERROR, "leg",
                        "chain 'leg' bends by 2.9 degrees at rest; ik cannot tell which way it bends");
    assert_value(&report.findings.at[0], 2.9, 3.0);
    assert_places(&report.findings.at[0]);
    assert_int_equal(report.poses_tried, 0);
    fid_report_clear(&report);
    // An axis says which way; without softening there is nothing to warn of.
    rig->constraints.at[0].def.as.ik.bend_axis = (fid_maybe_vector){true, {1, 0, 0}};
    rig->constraints.at[0].def.as.ik.soft.value = 0;
    assert_silent(rig);
    fid_rig_free(rig);
}

static void chains_without_room_for_their_softening_are_warnings(void **state) {
    (void)state;
    // Two equal bones that bend by d rest at cos(d/2) of their length, so that 1 - cos(d/2) is the room: 0.0004 at 3.1
    // degrees, 0.0038 at 10, 0.0196 at 22.7, 0.0202 at 23.1 (calculated).
    static const struct {
        double degrees;
        const char *message;
    } cases[] = {
        {3.1, "'leg:ik' rests at 100.0 % of its longest reach: its softening of 2 % has room for 0.0366 % only"},
        {10, "'leg:ik' rests at 99.6 % of its longest reach: its softening of 2 % has room for 0.381 % only"},
        {22.7, "'leg:ik' rests at 98.0 % of its longest reach: its softening of 2 % has room for 1.96 % only"},
        {23.1, NULL}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = find_leg(cases[i].degrees, 0);
        if (cases[i].message) {
            fid_report report = find_all(rig, find_options(NULL));
            assert_only_finding(&report, "S204", FID_WARNING, "leg:ik", cases[i].message);
            assert_value(&report.findings.at[0], 1 - cos(cases[i].degrees / 2 * acos(-1.0) / 180), 0.02);
            // Nothing is said of bend_axis, which would make no room.
            assert_text_contains(report.findings.at[0].hint, "Bend the guides further");
            assert_text_contains(report.findings.at[0].hint, "or lower soft");
            assert_null(strstr(report.findings.at[0].hint, "bend_axis"));
            assert_places(&report.findings.at[0]);
            // A warning does not keep the rig from being compiled.
            assert_int_equal(report.poses_tried, 20);
            fid_report_clear(&report);
        } else {
            assert_silent(rig);
        }
        fid_rig_free(rig);
    }
}

/// Adds a slider of 0 to `most` that rests at `rest` to the goal.
static fid_channel add_slider(fid_rig *rig, float rest, float most) {
    fid_error err = {0};
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = fid_rig_bone_at(rig, 0);
    def.name = "soft";
    def.rest = rest;
    def.max = most;
    rig_ok(fid_rig_add_slider(rig, &def, &id, &err));
    return (fid_channel){FID_CHANNEL_SLIDER, 0, id.handle};
}

static void a_softening_from_a_slider_is_tried_where_it_is_largest(void **state) {
    (void)state;
    // At 40 degrees the room is 1 - cos(20 degrees) = 0.0603 (calculated).
    static const struct {
        float most;
        bool found;
    } cases[] = {{0.06f, false}, {0.061f, true}, {0.5f, true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = find_leg(40, 0);
        rig->constraints.at[0].def.as.ik.soft.channel = add_slider(rig, 0.01f, cases[i].most);
        if (cases[i].found) {
            fid_report report = find_all(rig, find_options(NULL));
            assert_int_equal(report.findings.count, 1);
            assert_string_equal(report.findings.at[0].code, "S204");
            assert_int_equal(report.findings.at[0].severity, FID_WARNING);
            assert_value(&report.findings.at[0], 1 - cos(acos(-1.0) / 9), cases[i].most);
            fid_report_clear(&report);
        } else {
            assert_silent(rig);
        }
        fid_rig_free(rig);
    }
}

// S205

/// A ring of `count` segments of 1 m, each turned by `degrees` from the one before, with an ik to its end.
static fid_rig *make_ring(int32_t count, double degrees) {
    enum { MOST = 16 };
    fid_rig *rig = rig_make(2);
    fid_vec3 points[MOST + 1] = {{0, 0, 0}};
    assert_true(count <= MOST);
    for (int32_t i = 1; i <= count; i++) {
        double angle = fid_radians(degrees * (i - 1));
        points[i] = fid_vec3_add(points[i - 1], (fid_vec3){0, (float)fid_sin(angle), (float)fid_cos(angle)});
    }
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.origin = find_origin(rig);
    def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, points[count], nowhere));
    def.chain = rig_chain(rig, "ring", rig_none, points, count + 1, true, FID_FAN);
    rig_constrain(rig, &def);
    return rig;
}

static void chains_that_cannot_fold_are_found(void **state) {
    (void)state;
    // Seven equal segments close to a heptagon at 360/7 = 51.43 degrees: at 54 they have passed it and folding on opens
    // them again, at 40 they fold.
    fid_rig *rig = make_ring(7, 54);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S205", FID_ERROR, "ring",
                        "chain 'ring' cannot fold further than it is at rest: its end comes no nearer to its "
                        "base");
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
    rig = make_ring(7, 40);
    assert_silent(rig);
    fid_rig_free(rig);
}

static void chains_that_end_on_their_base_are_found(void **state) {
    (void)state;
    fid_rig *rig = make_ring(7, 360.0 / 7);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S202", FID_ERROR, "ring",
                        "chain 'ring' ends on its own base at rest: ik has no direction to start from");
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void chains_with_too_many_segments_are_found(void **state) {
    (void)state;
    enum { COUNT = 257 };
    fid_rig *rig = find_leg(40, 0);
    fid_vec3 points[COUNT + 1];
    for (int32_t i = 0; i <= COUNT; i++) {
        points[i] = (fid_vec3){0, (float)(i % 2), (float)i};
    }
    rig->constraints.at[0].def.chain = rig_chain(rig, "coil", rig_none, points, COUNT + 1, true, FID_FAN);
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S205", FID_ERROR, "coil", "chain 'coil' has 257 segments; ik takes 256");
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static void bend_limits_that_do_not_contain_rest_are_found(void **state) {
    (void)state;
    static const float apart[1][2] = {{50, 90}}, around[1][2] = {{0, 90}};
    fid_rig *rig = find_leg(40, 0);
    rig->constraints.at[0].def.as.ik.bend_limits = (fid_bounds){apart, 1};
    fid_report report = find_all(rig, find_options(NULL));
    assert_only_finding(&report, "S205", FID_ERROR, "leg",
                        "joint 1 of chain 'leg' rests at 40.0 degrees, outside its bend_limits");
    assert_places(&report.findings.at[0]);
    fid_report_clear(&report);
    rig->constraints.at[0].def.as.ik.bend_limits = (fid_bounds){around, 1};
    assert_silent(rig);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_structure_has_no_findings),
        cmocka_unit_test(a_cycle_is_named_whole),
        cmocka_unit_test(bones_that_aim_at_each_other_are_a_cycle_and_a_row_of_bones_is_none),
        cmocka_unit_test(a_space_that_closes_a_loop_is_named),
        cmocka_unit_test(a_follow_that_may_be_weighed_out_closes_a_loop_in_a_setting),
        cmocka_unit_test(drives_that_wait_for_each_other_are_a_cycle),
        cmocka_unit_test(bones_of_no_length_are_found),
        cmocka_unit_test(a_bone_that_is_only_too_short_for_its_rig_is_told_so),
        cmocka_unit_test(the_least_length_grows_with_the_height),
        cmocka_unit_test(a_source_on_the_base_of_its_bone_gives_no_direction),
        cmocka_unit_test(a_pole_on_the_line_of_its_chain_gives_no_direction),
        cmocka_unit_test(straight_chains_are_errors),
        cmocka_unit_test(chains_without_room_for_their_softening_are_warnings),
        cmocka_unit_test(a_softening_from_a_slider_is_tried_where_it_is_largest),
        cmocka_unit_test(chains_that_cannot_fold_are_found),
        cmocka_unit_test(chains_that_end_on_their_base_are_found),
        cmocka_unit_test(chains_with_too_many_segments_are_found),
        cmocka_unit_test(bend_limits_that_do_not_contain_rest_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
