#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/rig.h"

static const fid_vec3 nowhere = {0, 0, 0};

/// Two controls, a at the origin and b 2 m above it, and a third whose translation along x shows what a drive gives.
typedef struct measured {
    fid_rig *rig;
    fid_bone_id a, b, shown;
    solved of;
} measured;

static measured begin(void) {
    measured out = {.rig = rig_make(1)};
    out.a = rig_control(out.rig, "a", rig_none, nowhere, nowhere);
    out.b = rig_control(out.rig, "b", rig_none, (fid_vec3){0, 2, 0}, nowhere);
    out.shown = rig_control(out.rig, "shown", rig_none, nowhere, nowhere);
    return out;
}

static void drive(measured *m, fid_axis axis, fid_factors from, fid_curve curve, float gain) {
    fid_error err = {0};
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    def.to = (fid_channel){FID_CHANNEL_BONE, axis, m->shown.handle};
    def.from = from;
    def.curve = curve;
    def.gain.value = gain;
    rig_ok(fid_rig_add_drive(m->rig, &def, &id, &err));
}

static const fid_curve straight = {.interpolation = FID_LINEAR};

static void measure(measured *m, fid_factor factor) {
    drive(m, FID_TRANSLATION_X, (fid_factors){&factor, 1}, straight, 1);
    m->of = rig_compile(m->rig);
}

static double shown(const measured *m) {
    fid_solve(m->of.program, m->of.pose);
    return (double)rig_frame(&m->of, m->shown).t.x;
}

static fid_channel channel(fid_bone_id bone, fid_axis axis) {
    return (fid_channel){FID_CHANNEL_BONE, axis, bone.handle};
}

static void a_distance_is_measured_in_metres_between_points(void **state) {
    (void)state;
    measured m = begin();
    measure(&m, (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = rig_source(m.b)});
    assert_near(shown(&m), 2, 0);
    // A box of 2, 3 and 6 has a diagonal of 7.
    rig_move(&m.of, m.b, (fid_vec3){2, 1, 6}, nowhere);
    assert_near(shown(&m), 7, 1e-6);
    rig_move(&m.of, m.a, (fid_vec3){2, 3, 6}, nowhere);
    assert_near(shown(&m), 0, 0);
    rig_end(m.rig, &m.of);
}

static void a_distance_has_points_along_bones_and_between_them(void **state) {
    (void)state;
    measured m = begin();
    fid_source middle = {.kind = FID_SOURCE_BETWEEN, .a = {m.a, 0}, .b = {m.b, 0}, .f = 0.25f};
    measure(&m, (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = middle, .b = {.kind = FID_SOURCE_RIG}});
    // A quarter of the way from a at (4, 0, 0) to b at (0, 2, 0): (3, 0.5, 0), sqrt(9.25) away from the origin.
    rig_move(&m.of, m.a, (fid_vec3){4, 0, 0}, nowhere);
    assert_near(shown(&m), sqrt(9.25), 1e-6);
    rig_end(m.rig, &m.of);

    m = begin();
    fid_source tip = {.kind = FID_SOURCE_POINT, .a = {m.a, 1}};
    measure(&m, (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = tip, .b = rig_source(m.a)});
    double length = (double)m.of.program->length[m.a.handle.slot];
    assert_near(shown(&m), length, 1e-6);
    // The point goes with the scale of its bone.
    rig_scale(&m.of, m.a, (fid_vec3){1, 1, 2.5f});
    assert_near(shown(&m), 2.5 * length, 1e-6);
    rig_end(m.rig, &m.of);
}

static void an_angle_is_that_between_two_axes(void **state) {
    (void)state;
    measured m = begin();
    measure(&m, (fid_factor){.kind = FID_FACTOR_ANGLE,
                             .a = rig_source(m.a),
                             .b = rig_source(m.b),
                             .axis_a = FID_AIM_PLUS_Z,
                             .axis_b = FID_AIM_PLUS_X});
    assert_near(shown(&m), 90, 1e-5);
    // A turn about y by t carries +x to (cos t, 0, -sin t): it stands 90 + t degrees off +z, for as long as that is at
    // most 180.
    static const double turns[] = {-90, -89.99, -60, 0.01, 45, 89.99, 90, 120, 270};
    for (int i = 0; i < 9; i++) {
        rig_move(&m.of, m.b, nowhere, (fid_vec3){0, (float)turns[i], 0});
        double angle = 90 + turns[i];
        assert_near(shown(&m), angle > 180 ? 360 - angle : angle, 2e-5);
    }
    // Both turned alike: nothing between them changes.
    rig_move(&m.of, m.b, nowhere, (fid_vec3){10, 20, 30});
    rig_move(&m.of, m.a, nowhere, (fid_vec3){10, 20, 30});
    assert_near(shown(&m), 90, 2e-5);
    rig_end(m.rig, &m.of);
}

static void a_twist_is_what_is_left_of_a_turn_without_its_swing(void **state) {
    (void)state;
    measured m = begin();
    measure(&m, (fid_factor){.kind = FID_FACTOR_TWIST, .a = rig_source(m.a)});
    static const float turns[] = {0, 1, -45, 170, -170, 179.9f, -179.9f};
    for (int i = 0; i < 7; i++) {
        // A swing about x, then the twist about the aim axis: x is the first angle of the order xyz, z the last.
        rig_move(&m.of, m.a, nowhere, (fid_vec3){60, 0, turns[i]});
        assert_near(shown(&m), (double)turns[i], 2e-4);
    }
    // It is read within half a turn.
    rig_move(&m.of, m.a, nowhere, (fid_vec3){0, 0, 190});
    assert_near(shown(&m), -170, 2e-4);
    rig_end(m.rig, &m.of);
}

static void a_list_is_a_product(void **state) {
    (void)state;
    measured m = begin();
    const fid_factor factors[] = {{.kind = FID_FACTOR_CHANNEL, .channel = channel(m.b, FID_TRANSLATION_Z)},
                                  {.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = rig_source(m.b)},
                                  {.kind = FID_FACTOR_TWIST, .a = rig_source(m.a)}};
    drive(&m, FID_TRANSLATION_X, (fid_factors){factors, 3}, straight, 0.1f);
    m.of = rig_compile(m.rig);
    assert_near(shown(&m), 0, 0);
    // b at (0, 4, 3): 3, times 5 away, times 20 degrees, times 0.1.
    rig_move(&m.of, m.b, (fid_vec3){0, 2, 3}, nowhere);
    rig_move(&m.of, m.a, nowhere, (fid_vec3){0, 0, 20});
    assert_near(shown(&m), 30, 1e-5);
    rig_end(m.rig, &m.of);
}

static void a_power_keeps_the_sign_of_what_it_reads(void **state) {
    (void)state;
    static const struct {
        float power, sign, x;
        double y;
    } cases[] = {{2, 1, 3, 9},
                 {2, 1, -3, -9},
                 {2, -1, 3, -9},
                 {0.5f, 1, 16, 4},
                 {0.5f, 1, -16, -4},
                 {3, 1, -2, -8},
                 {1, 1, 0.7f, (double)0.7f},
                 {1, -1, 0.5f, -0.5},
                 {2, 1, 0, 0},
                 {1.5f, -1, -4, 8}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        measured m = begin();
        fid_curve power = {.interpolation = FID_POWER, .power = cases[i].power, .sign = cases[i].sign};
        drive(&m, FID_TRANSLATION_X, FID_FACTORS_OF(channel(m.a, FID_TRANSLATION_Y)), power, 1);
        m.of = rig_compile(m.rig);
        rig_move(&m.of, m.a, (fid_vec3){0, cases[i].x, 0}, nowhere);
        assert_near(shown(&m), cases[i].y, 1e-6);
        rig_end(m.rig, &m.of);
    }
}

static void products_and_powers_of_the_largest_values_stay_finite(void **state) {
    (void)state;
    measured m = begin();
    fid_factor factors[64];
    for (int i = 0; i < 64; i++) {
        factors[i] = (fid_factor){.kind = FID_FACTOR_CHANNEL, .channel = channel(m.a, FID_TRANSLATION_Y)};
    }
    factors[63].channel = channel(m.b, FID_TRANSLATION_Y);
    fid_curve power = {.interpolation = FID_POWER, .power = 100, .sign = -1};
    drive(&m, FID_TRANSLATION_X, (fid_factors){factors, 64}, power, 3e38f);
    m.of = rig_compile(m.rig);
    rig_move(&m.of, m.a, (fid_vec3){0, 1e4f, 0}, nowhere);
    rig_move(&m.of, m.b, (fid_vec3){0, -1e4f, 0}, nowhere);
    assert_near(shown(&m), 1e7, 0); // the most that a driven channel is given
    rig_move(&m.of, m.b, nowhere, nowhere);
    assert_near(shown(&m), 0, 0);
    rig_end(m.rig, &m.of);
}

/// Turns 0 to 179 degrees of the source about z must come out as `gain` times that, without a jump.
static void assert_turns_by(measured *m, fid_bone_id source, fid_bone_id bone, double gain) {
    for (int degrees = -179; degrees < 180; degrees++) {
        rig_move(&m->of, source, nowhere, (fid_vec3){0, 0, (float)degrees});
        fid_solve(m->of.program, m->of.pose);
        fid_vec3 x = fid_quat_rotate(rig_frame(&m->of, bone).q, (fid_vec3){1, 0, 0});
        double angle = fid_radians(gain * degrees);
        assert_vec3_near(x, ((fid_vec3){(float)cos(angle), (float)sin(angle), 0}), 1e-5);
    }
}

static void a_gain_of_3_turns_on_beyond_half_a_turn(void **state) {
    (void)state;
    // By a drive.
    measured m = begin();
    fid_factor twist = {.kind = FID_FACTOR_TWIST, .a = rig_source(m.a)};
    drive(&m, FID_ROTATION_Z, (fid_factors){&twist, 1}, straight, 3);
    m.of = rig_compile(m.rig);
    assert_turns_by(&m, m.a, m.shown, 3);
    rig_end(m.rig, &m.of);
    // By a twist.
    m = begin();
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_TWIST);
    def.bone = m.shown;
    def.as.twist.source = m.a;
    def.as.twist.gain.value = -2.5f;
    rig_constrain(m.rig, &def);
    m.of = rig_compile(m.rig);
    assert_turns_by(&m, m.a, m.shown, -2.5);
    rig_end(m.rig, &m.of);
    // By following in own space.
    m = begin();
    fid_share share = {rig_source(m.a), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = m.shown;
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.space = FID_SPACE_OWN;
    def.as.follow.gain.value = 3;
    rig_constrain(m.rig, &def);
    m.of = rig_compile(m.rig);
    assert_turns_by(&m, m.a, m.shown, 3);
    rig_end(m.rig, &m.of);
}

static void the_placement_does_not_change_a_measure(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id root;
    fid_bone_def place = fid_bone_default();
    place.part = "root";
    place.side = FID_CENTER;
    place.role = FID_CONTROL;
    place.length = 1;
    place.placement = true;
    place.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
    rig_ok(fid_rig_add_bone(rig, &place, &root, &err));
    measured m = {.rig = rig};
    m.a = rig_control(rig, "a", root, (fid_vec3){1, 0, 0}, nowhere);
    m.b = rig_control(rig, "b", root, (fid_vec3){1, 2, 0}, nowhere);
    m.shown = rig_control(rig, "shown", root, nowhere, nowhere);
    const fid_factor here = {.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = rig_source(m.b)};
    const fid_factor world = {.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = {.kind = FID_SOURCE_WORLD}};
    drive(&m, FID_TRANSLATION_X, (fid_factors){&here, 1}, straight, 1);
    drive(&m, FID_TRANSLATION_Y, (fid_factors){&world, 1}, straight, 1);
    m.of = rig_compile(rig);
    assert_near(shown(&m), 2, 0);
    rig_move(&m.of, root, (fid_vec3){4, 0, 0}, nowhere);
    rig_set(&m.of, root, FID_SCALE_X, 2);
    assert_near(shown(&m), 2, 0);
    // a stands at 4 + 2 * 1 in the world: 6 metres there, 3 in the space of a rig twice as large.
    assert_near((double)rig_frame(&m.of, m.shown).t.y, 3, 1e-6);
    rig_end(rig, &m.of);
}

static void a_measure_is_solved_after_its_bones_and_before_what_it_drives(void **state) {
    (void)state;
    // The driven bone is the first of the rig, what is measured hangs from its brother, which follows another.
    fid_rig *rig = rig_make(1);
    measured m = {.rig = rig};
    m.shown = rig_control(rig, "shown", rig_none, nowhere, nowhere);
    fid_bone_id brother = rig_control(rig, "brother", rig_none, nowhere, nowhere);
    m.a = rig_control(rig, "a", brother, (fid_vec3){0, 0, 1}, nowhere);
    m.b = rig_control(rig, "b", rig_none, nowhere, nowhere);
    fid_share share = {rig_source(m.b), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = brother;
    def.as.follow.sources = (fid_sources){&share, 1};
    rig_constrain(rig, &def);
    measure(&m, (fid_factor){.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = {.kind = FID_SOURCE_RIG}});
    rig_move(&m.of, m.b, (fid_vec3){0, 0, 4}, nowhere);
    assert_near(shown(&m), 5, 1e-6);
    // And again when only what changed is solved.
    rig_move(&m.of, m.b, (fid_vec3){0, 0, 9}, nowhere);
    fid_solve_changed(m.of.program, m.of.pose);
    assert_near((double)rig_frame(&m.of, m.shown).t.x, 10, 1e-6);
    rig_end(rig, &m.of);
}

static void one_channel_drives_any_number_of_sliders(void **state) {
    (void)state;
    // More of them than anything else in the rig: what is counted for the order of evaluation has room for all.
    enum { SLIDERS = 200 };
    fid_rig *rig = rig_make(1);
    fid_error err = {0};
    fid_bone_id on = rig_control(rig, "on", rig_none, nowhere, nowhere);
    fid_channel last = {FID_CHANNEL_NONE, 0, {0, 0}};
    for (int i = 0; i < SLIDERS; i++) {
        char name[16];
        snprintf(name, sizeof name, "s%d", i);
        fid_slider_id slider;
        fid_slider_def def = fid_slider_default();
        def.on = on;
        def.name = name;
        def.min = -100;
        def.max = 100;
        rig_ok(fid_rig_add_slider(rig, &def, &slider, &err));
        fid_drive_id id;
        fid_drive_def by = fid_drive_default();
        by.to = (fid_channel){FID_CHANNEL_SLIDER, 0, slider.handle};
        by.from = FID_FACTORS_OF(channel(on, FID_TRANSLATION_X));
        by.gain.value = 0.1f * (float)i;
        rig_ok(fid_rig_add_drive(rig, &by, &id, &err));
        last = by.to;
    }
    solved of = rig_compile(rig);
    rig_move(&of, on, (fid_vec3){3, 0, 0}, nowhere);
    fid_solve_changed(of.program, of.pose);
    assert_near((double)of.pose->effective[fid_program_channel(of.program, last)], 0.1 * 199 * 3, 1e-4);
    rig_end(rig, &of);
}

static void a_cycle_through_a_measure_is_named_with_the_line_of_the_drive(void **state) {
    (void)state;
    fid_error err = {0};
    measured m = begin();
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    def.to = channel(m.a, FID_TRANSLATION_X);
    const fid_origin origins[] = {{.file = "arm.lua", .line = 8, .used_at = -1},
                                  {.file = "arm.lua", .line = 9, .used_at = -1}};
    def.from = FID_FACTORS_OF(channel(m.b, FID_TRANSLATION_X));
    rig_ok(fid_rig_add_origin(m.rig, &origins[0], &def.origin, &err));
    rig_ok(fid_rig_add_drive(m.rig, &def, &id, &err));
    const fid_factor factor = {.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a), .b = rig_source(m.b)};
    def.from = (fid_factors){&factor, 1};
    rig_ok(fid_rig_add_origin(m.rig, &origins[1], &def.origin, &err));
    rig_ok(fid_rig_add_drive(m.rig, &def, &id, &err));
    fid_report report = {0};
    fid_program *program;
    assert_int_equal(fid_program_compile(m.rig, &report, &program, &err), FID_UNSOUND);
    assert_int_equal(report.findings.count, 1);
    assert_non_null(
        strstr(report.findings.at[0].message, "a_control.translation.x needs a_control for a drive (arm.lua:9)"));
    assert_non_null(strstr(report.findings.at[0].message, "a_control needs a_control.translation.x"));
    fid_report_clear(&report);
    fid_rig_free(m.rig);
}

static void measures_that_make_no_sense_are_refused(void **state) {
    (void)state;
    measured m = begin();
    fid_error err = {0};
    fid_drive_id id;
    fid_source between = {.kind = FID_SOURCE_BETWEEN, .a = {m.a, 0}, .b = {m.b, 0}, .f = 0.5f};
    const struct {
        fid_factor factor;
        const char *message;
    } cases[] = {
        {{.kind = FID_FACTOR_DISTANCE, .a = rig_source(m.a)}, "'from' is missing"},
        {{.kind = FID_FACTOR_ANGLE, .a = rig_source(m.a), .b = between}, "axes of bones"},
        {{.kind = FID_FACTOR_ANGLE, .a = rig_source(m.a), .b = rig_source(m.b), .axis_b = 6}, "none of its choices"},
        {{.kind = FID_FACTOR_TWIST, .a = between}, "that of a bone"},
        {{.kind = (fid_factor_kind)9}, "no such measure"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_drive_def def = fid_drive_default();
        def.to = channel(m.shown, FID_TRANSLATION_X);
        def.from = (fid_factors){&cases[i].factor, 1};
        assert_int_not_equal(fid_rig_add_drive(m.rig, &def, &id, &err), FID_OK);
        assert_non_null(strstr(err.message, cases[i].message));
        assert_int_equal(m.rig->drives.count, 0);
    }
    static const float powers[][2] = {{0, 1}, {-1, 1}, {101, 1}, {2, 0}, {2, 0.5f}, {NAN, 1}};
    for (int i = 0; i < 6; i++) {
        fid_drive_def def = fid_drive_default();
        def.to = channel(m.shown, FID_TRANSLATION_X);
        def.from = FID_FACTORS_OF(channel(m.a, FID_TRANSLATION_X));
        def.curve = (fid_curve){.interpolation = FID_POWER, .power = powers[i][0], .sign = powers[i][1]};
        assert_int_equal(fid_rig_add_drive(m.rig, &def, &id, &err), FID_RANGE);
    }
    fid_rig_free(m.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_distance_is_measured_in_metres_between_points),
        cmocka_unit_test(a_distance_has_points_along_bones_and_between_them),
        cmocka_unit_test(an_angle_is_that_between_two_axes),
        cmocka_unit_test(a_twist_is_what_is_left_of_a_turn_without_its_swing),
        cmocka_unit_test(a_list_is_a_product),
        cmocka_unit_test(a_power_keeps_the_sign_of_what_it_reads),
        cmocka_unit_test(products_and_powers_of_the_largest_values_stay_finite),
        cmocka_unit_test(a_gain_of_3_turns_on_beyond_half_a_turn),
        cmocka_unit_test(the_placement_does_not_change_a_measure),
        cmocka_unit_test(a_measure_is_solved_after_its_bones_and_before_what_it_drives),
        cmocka_unit_test(one_channel_drives_any_number_of_sliders),
        cmocka_unit_test(a_cycle_through_a_measure_is_named_with_the_line_of_the_drive),
        cmocka_unit_test(measures_that_make_no_sense_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
