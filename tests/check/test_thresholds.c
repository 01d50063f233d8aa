#include "check/findings.h"
#include "support/assert.h"

/// Every threshold is read by its rule: a fault that the rule finds is none once the threshold lies beyond it, and a
/// rig that is sound has one once the threshold lies before what it has.

static const fid_vec3 above = {0, 1, 0};

static int32_t count_found(const fid_rig *rig, const char *code, fid_severity *severity) {
    fid_report report = find_all(rig, find_options(code));
    int32_t count = report.findings.count;
    *severity = count > 0 ? report.findings.at[0].severity : FID_NOTE;
    fid_report_clear(&report);
    return count;
}

static void set(fid_rig *rig, const char *key, float value) {
    fid_thresholds thresholds = rig->thresholds;
    fid_error err = {0};
    const fid_field *field = fid_schema_find(&fid_thresholds_schema, key);
    assert_non_null(field);
    *(float *)((char *)&thresholds + field->offset) = value;
    rig_ok(fid_rig_set_thresholds(rig, &thresholds, &err));
}

static fid_bone_id deform(fid_rig *rig, const char *part, fid_side side, fid_bone_id parent, fid_vec3 at,
                          float length) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.side = (int32_t)side;
    def.parent = parent;
    def.rest.t = at;
    def.length = length;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

static fid_rig *stray(void) {
    fid_rig *rig = rig_make(2);
    deform(rig, "arm", FID_LEFT, rig_none, (fid_vec3){-0.1f, 0, 0}, 1);
    return rig;
}

static fid_rig *stub(void) {
    fid_rig *rig = rig_make(2);
    deform(rig, "nose", FID_CENTER, rig_none, nowhere, 0.01f);
    return rig;
}

/// Aims 3 degrees past its only child.
static fid_rig *past(void) {
    fid_rig *rig = rig_make(2);
    double angle = fid_radians(3);
    fid_bone_id one = deform(rig, "one", FID_CENTER, rig_none, nowhere, 1);
    deform(rig, "two", FID_CENTER, one, (fid_vec3){0, (float)fid_sin(angle), (float)fid_cos(angle)}, 1);
    return rig;
}

/// Its last segment leaves the plane of the largest bend by 1 degree.
static fid_rig *bent(void) {
    fid_rig *rig = rig_make(2);
    float side = (float)fid_sin(fid_radians(1)), on = (float)fid_cos(fid_radians(1));
    const fid_vec3 points[] = {{0, 0, 0}, {0, 0, 1}, {0, 0.8f, 1.6f}, {side, 0.8f + 0.6f * on, 1.6f + 0.8f * on}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = rig_chain(rig, "limb", rig_none, points, 4, true, FID_FAN);
    def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, points[3], nowhere));
    rig_constrain(rig, &def);
    return rig;
}

static fid_rig *uneven(void) {
    fid_rig *rig = rig_make(2);
    deform(rig, "arm", FID_LEFT, rig_none, (fid_vec3){0.2f, 1, 0}, 1);
    deform(rig, "arm", FID_RIGHT, rig_none, (fid_vec3){-0.2f, 1.01f, 0}, 1);
    return rig;
}

static fid_rig *turned(void) {
    fid_rig *rig = rig_make(2);
    deform(rig, "arm", FID_LEFT, rig_none, (fid_vec3){0.2f, 1, 0}, 1);
    deform(rig, "arm", FID_RIGHT, rig_none, (fid_vec3){-0.2f, 1, 0}, 1);
    rig->bones.at[1].rest.q = fid_quat_about(above, fid_radians(1));
    return rig;
}

/// A slider that rests at 1 drives what must rest elsewhere.
static fid_rig *driven(fid_axis axis, float gain, fid_combine combine) {
    fid_rig *rig = rig_make(2);
    fid_error err = {0};
    fid_bone_id hand = rig_control(rig, "hand", rig_none, nowhere, nowhere);
    fid_slider_def slider = fid_slider_default();
    fid_slider_id id;
    slider.on = hand;
    slider.name = "grip";
    slider.max = slider.rest = 1;
    rig_ok(fid_rig_add_slider(rig, &slider, &id, &err));
    fid_drive_def drive = fid_drive_default();
    fid_drive_id out;
    drive.to = (fid_channel){FID_CHANNEL_BONE, axis, hand.handle};
    drive.from = FID_FACTORS_OF((fid_channel){FID_CHANNEL_SLIDER, 0, id.handle});
    drive.gain.value = gain;
    drive.combine = (int32_t)combine;
    rig_ok(fid_rig_add_drive(rig, &drive, &out, &err));
    return rig;
}

static fid_rig *shifted(void) { return driven(FID_TRANSLATION_X, 0.01f, FID_ADD); }
static fid_rig *twisted(void) { return driven(FID_ROTATION_X, 0.5f, FID_ADD); }
static fid_rig *scaled(void) { return driven(FID_SCALE_X, 1.01f, FID_MULTIPLY); }

/// What follows its parent in own space by a tenth goes a tenth too far.
static fid_rig *twice(void) {
    fid_rig *rig = rig_make(2);
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere);
    fid_share share = {rig_source(body), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = rig_control(rig, "hand", body, above, nowhere);
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.space = FID_SPACE_OWN;
    def.as.follow.gain.value = 0.1f;
    rig_constrain(rig, &def);
    return rig;
}

/// What follows the body on the left only, by a part of its way or turn.
static fid_rig *lopsided(uint32_t channels) {
    fid_rig *rig = rig_make(2);
    fid_bone_id body = rig_control(rig, "body", rig_none, nowhere, nowhere);
    fid_share share = {rig_source(body), {1, {FID_CHANNEL_NONE, 0, {0, 0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = deform(rig, "arm", FID_LEFT, rig_none, (fid_vec3){0.2f, 1, 0}, 1);
    deform(rig, "arm", FID_RIGHT, rig_none, (fid_vec3){-0.2f, 1, 0}, 1);
    def.as.follow.sources = (fid_sources){&share, 1};
    def.as.follow.channels = channels;
    rig_constrain(rig, &def);
    return rig;
}

static fid_rig *shifted_alone(void) { return lopsided(FID_MASK_TRANSLATION); }
static fid_rig *turned_alone(void) { return lopsided(FID_MASK_ROTATION); }

static fid_rig *swollen_alone(void) { return lopsided(FID_MASK_SCALE); }

/// A bone that rides on the rig or in a frame of it, with these channels, of which one axis is held at rest.
static fid_rig *seated(uint32_t channels, fid_axis held, fid_frame frame) {
    fid_rig *rig = rig_make(2);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = rig_control(rig, "hand", rig_none, nowhere, nowhere);
    fid_bone_def *bone = &rig->bones.at[0].def;
    fid_axis_range *ranges[] = {&bone->translation_range, &bone->rotation_range, &bone->scale_range};
    bone->channels = channels;
    ranges[held / 3]->lo[held % 3] = ranges[held / 3]->hi[held % 3] = fid_axis_rest(held);
    const fid_space among[] = {
        {.name = "here", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true},
        {.name = "there", .source = {.kind = FID_SOURCE_RIG}, .has_frame = true, .frame = frame}};
    def.as.spaces.among = (fid_space_list){among, 2};
    rig_constrain(rig, &def);
    return rig;
}

static fid_rig *jumping(void) {
    return seated(FID_MASK_TRANSLATION, FID_TRANSLATION_X, (fid_frame){{0.1f, 0, 0}, FID_QUAT_IDENTITY, {1, 1, 1}});
}

static fid_rig *jerking(void) {
    fid_quat turn = fid_quat_from_euler((fid_vec3){0.5f, 0, 0}, FID_ORDER_XYZ);
    return seated(1u << FID_ROTATION_X, FID_ROTATION_X, (fid_frame){nowhere, turn, {1, 1, 1}});
}

/// Of the two that it may ride on, one is a little larger.
static fid_rig *swelling(void) {
    fid_rig *rig = rig_make(2);
    fid_bone_id large = rig_control(rig, "large", rig_none, nowhere, nowhere);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = rig_control(rig, "hand", rig_none, nowhere, nowhere);
    rig->bones.at[0].def.channels = rig->bones.at[1].def.channels = 1u << FID_SCALE_X;
    rig->bones.at[0].def.scale_range.lo[0] = rig->bones.at[0].def.scale_range.hi[0] = 1.01f;
    rig->bones.at[1].def.scale_range.lo[0] = rig->bones.at[1].def.scale_range.hi[0] = 1;
    rig->bones.at[1].def.takes = FID_MASK_ALL;
    const fid_space among[] = {{.name = "here", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true},
                               {.name = "there", .source = rig_source(large), .at_rest = true}};
    def.as.spaces.among = (fid_space_list){among, 2};
    rig_constrain(rig, &def);
    return rig;
}

static const struct {
    const char *key;
    fid_rig *(*make)(void);
    float within, beyond; ///< of what the rig has
} faults[] = {
    {"N102_distance", stray, 0.049f, 0.051f},     {"S202_length", stub, 0.0051f, 0.0049f},
    {"S203_warning", past, 2.9f, 3.1f},           {"S205_warning", bent, 0.7f, 1.1f},
    {"S207_distance", uneven, 0.0049f, 0.0051f},  {"S207_angle", turned, 0.9f, 1.1f},
    {"S209_distance", shifted, 0.0049f, 0.0051f}, {"S209_angle", twisted, 0.49f, 0.51f},
    {"S209_scale", scaled, 0.0099f, 0.0101f},     {"C301_ratio", twice, 0.099f, 0.101f},
    {"P410_distance", shifted_alone, 0.01f, 1},   {"P410_angle", turned_alone, 5, 100},
    {"P410_scale", swollen_alone, 0.01f, 0.2f},   {"P411_distance", jumping, 0.0499f, 0.0501f},
    {"P411_angle", jerking, 0.499f, 0.501f},      {"P411_scale", swelling, 0.0095f, 0.0105f},
};

static void every_threshold_decides_its_rule(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        char code[5] = "";
        memcpy(code, faults[i].key, 4);
        fid_severity severity;
        fid_rig *rig = faults[i].make();
        set(rig, faults[i].key, faults[i].within);
        if (count_found(rig, code, &severity) != 1) {
            fail_msg("%s does not find at %g", faults[i].key, (double)faults[i].within);
        }
        set(rig, faults[i].key, faults[i].beyond);
        if (count_found(rig, code, &severity) != 0) {
            fail_msg("%s finds at %g", faults[i].key, (double)faults[i].beyond);
        }
        fid_rig_free(rig);
    }
}

static void an_error_begins_where_the_rig_says(void **state) {
    (void)state;
    static const struct {
        const char *key;
        fid_rig *(*make)(void);
        float within;
    } cases[] = {{"S203_error", past, 2.9f}, {"S205_error", bent, 0.7f}};
    for (int i = 0; i < 2; i++) {
        char code[5] = "";
        memcpy(code, cases[i].key, 4);
        fid_severity severity;
        fid_rig *rig = cases[i].make();
        assert_int_equal(count_found(rig, code, &severity), 1);
        assert_int_equal(severity, FID_WARNING);
        set(rig, cases[i].key, cases[i].within);
        assert_int_equal(count_found(rig, code, &severity), 1);
        assert_int_equal(severity, FID_ERROR);
        fid_rig_free(rig);
    }
}

static void none_is_left_untried(void **state) {
    (void)state;
    assert_int_equal(fid_thresholds_schema.count, sizeof faults / sizeof *faults + 2);
    int32_t named = 0;
    for (int32_t i = 0; i < fid_rule_count; i++) {
        for (const fid_field *at = fid_thresholds_of(fid_rules[i].code, NULL); at;
             at = fid_thresholds_of(fid_rules[i].code, at)) {
            named++;
        }
    }
    assert_int_equal(named, fid_thresholds_schema.count);
}

static void what_makes_no_sense_is_refused_and_changes_nothing(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = rig_make(1);
    const fid_thresholds usual = fid_thresholds_default();
    fid_thresholds wrong = usual;
    wrong.s203_warning = 6;
    assert_int_equal(fid_rig_set_thresholds(rig, &wrong, &err), FID_RANGE);
    assert_string_equal(err.message,
                        "'S203_warning' is 6, but must be at most 'S203_error', which is 5: raise that, too");
    wrong = usual;
    wrong.s205_error = 0.4f;
    assert_int_equal(fid_rig_set_thresholds(rig, &wrong, &err), FID_RANGE);
    wrong = usual;
    wrong.s202_length = 1e-5f;
    assert_int_equal(fid_rig_set_thresholds(rig, &wrong, &err), FID_RANGE);
    wrong = usual;
    wrong.c301_ratio = NAN;
    assert_int_equal(fid_rig_set_thresholds(rig, &wrong, &err), FID_RANGE);
    assert_text_contains(err.message, "'C301_ratio' is not finite");
    assert_memory_equal(&rig->thresholds, &usual, sizeof usual);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_threshold_decides_its_rule),
        cmocka_unit_test(an_error_begins_where_the_rig_says),
        cmocka_unit_test(none_is_left_untried),
        cmocka_unit_test(what_makes_no_sense_is_refused_and_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
