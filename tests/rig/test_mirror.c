#include <math.h>

#include "math/curve.h"
#include "math/random.h"
#include "rig/build.h"
#include "rig/mirror.h"

static void counterparts_have_the_address_of_the_other_side(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id left, right, middle, alone;
    fid_bone_def def = build_bone_def("shin", build_none);
    def.id = "leg1";
    def.side = FID_LEFT;
    build_ok(fid_rig_add_bone(rig, &def, &left, &err));
    def.side = FID_RIGHT;
    build_ok(fid_rig_add_bone(rig, &def, &right, &err));
    def.side = FID_CENTER;
    build_ok(fid_rig_add_bone(rig, &def, &middle, &err));
    def.id = "leg2";
    def.side = FID_RIGHT;
    build_ok(fid_rig_add_bone(rig, &def, &alone, &err));
    assert_int_equal(fid_rig_bone_index(rig, fid_mirror_bone(rig, left)), 1);
    assert_int_equal(fid_rig_bone_index(rig, fid_mirror_bone(rig, right)), 0);
    assert_int_equal(fid_rig_bone_index(rig, fid_mirror_bone(rig, middle)), 2);
    assert_int_equal(fid_rig_bone_index(rig, fid_mirror_bone(rig, alone)), 3);
    assert_true(fid_handle_is_null(fid_mirror_bone(rig, build_none).handle));
    fid_rig_free(rig);
}

static void signs_follow_the_reflection(void **state) {
    (void)state;
    // translation (-x, y, z), rotation vector (x, -y, -z), scale unchanged
    static const float signs[] = {-1, 1, 1, 1, -1, -1, 1, 1, 1};
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        assert_near(fid_mirror_sign((fid_channel){.kind = FID_CHANNEL_BONE, .axis = (fid_axis)i}), signs[i], 0);
    }
    assert_near(fid_mirror_sign((fid_channel){.kind = FID_CHANNEL_SLIDER}), 1, 0);
    assert_near(fid_mirror_sign((fid_channel){.kind = FID_CHANNEL_WEIGHT}), 1, 0);
}

/// What a drive makes of the value `was` of its channel.
static double drive_value(const fid_drive_def *def, double from, double gain, double was) {
    double y = def->curve.interpolation == FID_POWER
                   ? (double)def->curve.sign * copysign(pow(fabs(from), (double)def->curve.power), from)
               : def->curve.count == 0
                   ? from
                   : (double)fid_curve_at(def->curve.count, def->curve.x, def->curve.y, NULL, (float)from);
    y *= gain;
    return def->combine == FID_ADD ? was + y : def->combine == FID_MULTIPLY ? was * y : y;
}

static void a_mirrored_drive_gives_the_mirrored_value(void **state) {
    (void)state;
    random_source source = random_begin(4711);
    static const float x[] = {-2.0f, -0.5f, 1.0f, 4.0f}, y[] = {3.0f, -1.0f, 0.5f, 2.0f};
    int compared = 0;
    for (int i = 0; i < 9 * 9 * 3 * 3 * 3 * 2; i++) {
        fid_drive_def def = fid_drive_default();
        def.to = (fid_channel){FID_CHANNEL_BONE, (fid_axis)(i % 9), {0, 1}};
        fid_factor factors[] = {
            {.kind = FID_FACTOR_CHANNEL, .channel = {FID_CHANNEL_BONE, (fid_axis)(i / 9 % 9), {1, 1}}},
            {.kind = FID_FACTOR_TWIST, .a = {.kind = FID_SOURCE_BONE, .a = {{{1, 1}}, 0}}},
            {.kind = FID_FACTOR_DISTANCE},
            {.kind = FID_FACTOR_ANGLE}};
        bool twists = i / 2187 == 1; // times a twist, a distance and an angle, of which the twist changes sign
        def.from = (fid_factors){factors, twists ? 4 : 1};
        def.combine = i / 81 % 3;
        if (i / 243 % 3 == 2) {
            def.curve = (fid_curve){.interpolation = FID_POWER, .power = 1.5f, .sign = 1};
        } else if (i / 243 % 3 == 1) {
            def.curve = (fid_curve){.interpolation = FID_LINEAR, .x = x, .y = y, .count = 4};
        }
        int gain_kind = i / 729 % 3; // a number, a slider, a channel that changes sign
        def.gain.value = 1.75f;
        if (gain_kind > 0) {
            def.gain.channel = (fid_channel){gain_kind == 1 ? FID_CHANNEL_SLIDER : FID_CHANNEL_BONE,
                                             gain_kind == 1 ? (fid_axis)0 : FID_ROTATION_Y,
                                             {2, 1}};
        }
        fid_error err = {0};
        fid_arena arena = {0};
        fid_drive_def mirrored = def;
        build_ok(fid_mirror_drive(&mirrored, &arena, &err));
        double to = fid_mirror_sign(def.to), of = fid_mirror_sign(factors[0].channel) * (twists ? -1 : 1),
               by = fid_mirror_sign(def.gain.channel);
        for (int k = 0; k < 8; k++) {
            double from = random_between(&source, -5, 5), gain = random_between(&source, -3, 3);
            double was = random_between(&source, -3, 3);
            double value = drive_value(&def, from, gain_kind > 0 ? gain : 1.75, was);
            double other =
                drive_value(&mirrored, of * from, gain_kind > 0 ? by * gain : (double)mirrored.gain.value, to * was);
            assert_near(other, to * value, 1e-5);
            compared++;
        }
        fid_drive_def twice = mirrored;
        build_ok(fid_mirror_drive(&twice, &arena, &err));
        assert_near(twice.gain.value, def.gain.value, 0);
        assert_int_equal(twice.curve.count, def.curve.count);
        assert_int_equal(twice.curve.interpolation, def.curve.interpolation);
        assert_near(twice.curve.sign, def.curve.sign, 0);
        for (int32_t k = 0; k < def.curve.count; k++) {
            assert_near(twice.curve.x[k], def.curve.x[k], 0);
            assert_near(twice.curve.y[k], def.curve.y[k], 0);
        }
        fid_arena_clear(&arena);
    }
    assert_int_equal(compared, 9 * 9 * 3 * 3 * 3 * 2 * 8);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counterparts_have_the_address_of_the_other_side),
        cmocka_unit_test(signs_follow_the_reflection),
        cmocka_unit_test(a_mirrored_drive_gives_the_mirrored_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
