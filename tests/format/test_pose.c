#include "format/skeleton.h"

#include "format/pose_read.h"
#include "format/pose_write.h"
#include "support/memory_fail.h"

/// A placement, a hand with two sliders, a forearm that only turns about x, and a follow.
typedef struct bench {
    fid_rig *rig;
    solved of;
} bench;

static bench *make_bench(void) {
    static bench b;
    fid_error err = {0};
    fid_constraint_def follow = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    b.rig = rig_make(1.6f);
    rig_ok(skeleton_origin(b.rig, NULL, 1, -1));
    (void)skeleton_placement(b.rig);
    fid_bone_id hand = rig_control(b.rig, "hand", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    fid_bone_def def = fid_bone_default();
    def.part = "forearm";
    def.role = FID_CONTROL;
    def.side = FID_CENTER;
    def.length = 0.3f;
    def.channels = 1u << FID_ROTATION_X;
    def.rotation_range.lo[0] = -30.0f;
    def.rotation_range.hi[0] = 140.0f;
    rig_ok(fid_rig_add_bone(b.rig, &def, &follow.bone, &err));
    const fid_share share = {rig_source(hand), {1.0f, {.kind = FID_CHANNEL_NONE}}};
    follow.as.follow.sources = (fid_sources){&share, 1};
    (void)rig_constrain(b.rig, &follow);
    (void)skeleton_slider(b.rig, hand, "reach", false);
    (void)skeleton_slider(b.rig, hand, "mode", true);
    b.of = rig_compile(b.rig);
    return &b;
}

static void end_bench(bench *b) { rig_end(b->rig, &b->of); }

static fid_code read_values(bench *b, const char *values, fid_report *report) {
    fid_text text = {0};
    *report = (fid_report){0};
    fid_text_addf(&text, "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {%s}}", values);
    fid_code code = fid_pose_read(text.at, (size_t)text.count, "p.json", b->rig, b->of.pose, report);
    fid_text_clear(&text);
    return code;
}

static float value_of(const bench *b, const char *name) {
    fid_error err = {0};
    fid_channel channel;
    rig_ok(fid_rig_find_channel(b->rig, name, &channel, &err));
    return b->of.pose->value[fid_program_channel(b->of.program, channel)];
}

static void values_arrive_in_their_channels(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    assert_int_equal(
        read_values(b,
                    "\"hand_control\": {\"translation\": [1, 2, 3], \"rotation\": [10, 20, 30], "
                    "\"scale\": [1, 1.5, 2], \"reach\": 7, \"mode\": 1}, \"root/control\": {\"scale\": 2}, "
                    "\"forearm/control:follow\": {\"weight\": 0.5}",
                    &report),
        FID_OK);
    assert_int_equal(report.findings.count, 0);
    assert_near(value_of(b, "hand_control.translation.z"), 3.0, 0.0);
    assert_near(value_of(b, "hand_control.rotation.y"), 20.0, 0.0);
    assert_near(value_of(b, "hand_control.scale.y"), 1.5, 0.0);
    assert_near(value_of(b, "hand_control.reach"), 7.0, 0.0);
    assert_near(value_of(b, "hand_control.mode"), 1.0, 0.0);
    assert_near(value_of(b, "root_control.scale"), 2.0, 0.0);
    assert_near(value_of(b, "forearm/control:follow.weight"), 0.5, 0.0);
    fid_report_clear(&report);
    end_bench(b);
}

static void one_number_scales_all_axes_and_a_choice_has_a_name(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    assert_int_equal(read_values(b, "\"hand_control\": {\"scale\": 0.5, \"mode\": \"on \\\"full\\\"\"}", &report),
                     FID_OK);
    assert_near(value_of(b, "hand_control.scale.x"), 0.5, 0.0);
    assert_near(value_of(b, "hand_control.scale.z"), 0.5, 0.0);
    assert_near(value_of(b, "hand_control.mode"), 1.0, 0.0);
    fid_report_clear(&report);
    end_bench(b);
}

static void a_quaternion_is_a_rotation(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    // A quarter turn about y: half the square root of 2.
    assert_int_equal(read_values(b, "\"hand_control\": {\"quaternion\": [0, -0.70710677, 0, -0.70710677]}", &report),
                     FID_OK);
    fid_vec3 angles = fid_pose_angles(b->of.pose, 1);
    assert_near(angles.y, 90.0, 1e-3);
    fid_report_clear(&report);
    end_bench(b);
}

static void a_pose_begins_at_rest(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    assert_int_equal(read_values(b, "\"hand_control\": {\"reach\": 3}", &report), FID_OK);
    assert_int_equal(read_values(b, "", &report), FID_OK);
    assert_near(value_of(b, "hand_control.reach"), 0.0, 0.0);
    fid_report_clear(&report);
    end_bench(b);
}

static void what_is_out_of_range_is_clamped_with_a_note(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    assert_int_equal(
        read_values(b, "\"forearm_control\": {\"rotation\": [200, 0, 0]}, \"hand_control\": {\"reach\": -1}", &report),
        FID_OK);
    assert_near(value_of(b, "forearm_control.rotation.x"), 140.0, 0.0);
    assert_near(value_of(b, "hand_control.reach"), 0.0, 0.0);
    assert_int_equal(report.count[FID_NOTE], 2);
    assert_int_equal(report.findings.count, 2);
    assert_string_equal(report.findings.at[0].subject, "/values/forearm_control/rotation/0");
    assert_string_equal(report.findings.at[1].subject, "/values/hand_control/reach");
    fid_report_clear(&report);
    end_bench(b);
}

static void a_locked_channel_may_have_its_rest_value(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_report report;
    assert_int_equal(
        read_values(b, "\"forearm_control\": {\"translation\": [0, 0, 0], \"rotation\": [5, 0, 0], \"scale\": 1}",
                    &report),
        FID_OK);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    end_bench(b);
}

typedef struct fault {
    const char *values;
    fid_code code;
    const char *subject;
    const char *message;
} fault;

static void faults_are_named_and_leave_the_pose_at_rest(void **state) {
    (void)state;
    static const fault faults[] = {
        {"\"hand\": {}", FID_UNKNOWN, "/values/hand", "did you mean 'hand_control'?"},
        {"\"forearm/control:ik\": {\"weight\": 1}", FID_UNKNOWN, "/values/forearm~1control:ik", "no constraint"},
        {"\"forearm/control:follow\": {}", FID_INVALID, "/values/forearm~1control:follow", "'weight' is missing"},
        {"\"forearm/control:follow\": {\"weigth\": 1}", FID_UNKNOWN, "/values/forearm~1control:follow/weigth",
         "did you mean 'weight'?"},
        {"\"hand_control\": {}, \"hand/control\": {}", FID_NAME_TAKEN, "/values/hand~1control", "twice"},
        {"\"hand_control\": {\"reach\": 1, \"reach\": 1}", FID_NAME_TAKEN, "/values/hand_control/reach", "twice"},
        {"\"hand_control\": {\"scale\": 1, \"scale\": 1}", FID_NAME_TAKEN, "/values/hand_control/scale", "twice"},
        {"\"hand_control\": {\"rotation\": [0, 0, 0], \"quaternion\": [0, 0, 0, 1]}", FID_INVALID,
         "/values/hand_control/quaternion", "exclude each other"},
        {"\"hand_control\": {\"quaternion\": [0, 0, 0, 0]}", FID_RANGE, "/values/hand_control/quaternion", "length"},
        {"\"hand_control\": {\"rech\": 1}", FID_UNKNOWN, "/values/hand_control/rech", "did you mean 'reach'?"},
        {"\"hand_control\": {\"translation.x\": 1}", FID_UNKNOWN, "/values/hand_control/translation.x",
         "stand together"},
        {"\"hand_control\": {\"mode\": \"of\"}", FID_UNKNOWN, "/values/hand_control/mode", "did you mean 'off'?"},
        {"\"hand_control\": {\"mode\": true}", FID_INVALID, "/values/hand_control/mode", "must be a number"},
        {"\"hand_control\": {\"translation\": 1}", FID_INVALID, "/values/hand_control/translation", "must be a list"},
        {"\"hand_control\": {\"translation\": [0, 1e30, 0]}", FID_RANGE, "/values/hand_control/translation/1", ""},
        {"\"hand_control\": {\"scale\": 0}", FID_RANGE, "/values/hand_control/scale", ""},
        {"\"hand_control\": 1", FID_INVALID, "/values/hand_control", "must be an object"},
        {"\"root_control\": {\"scale\": [1, 1, 1]}", FID_INVALID, "/values/root_control/scale", "must be a number"},
        {"\"forearm_control\": {\"rotation\": [0, 5, 0]}", FID_LOCKED, "/values/forearm_control/rotation/1", ""},
        {"\"forearm_control\": {\"quaternion\": [1, 0, 0, 1]}", FID_LOCKED, "/values/forearm_control/quaternion", ""},
    };
    bench *b = make_bench();
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        fid_report report;
        fid_text values = {0};
        fid_text_addf(&values, "\"root_control\": {\"translation\": [0, 0, 9]}%s%s",
                      strncmp(faults[i].values, "\"root", 5) == 0 ? "" : ", ", faults[i].values);
        bool is_root = strncmp(faults[i].values, "\"root", 5) == 0;
        fid_code code = read_values(b, is_root ? faults[i].values : values.at, &report);
        if (code != faults[i].code || report.findings.count != 1 ||
            strcmp(report.findings.at[0].subject, faults[i].subject) != 0 ||
            strstr(report.findings.at[0].message, faults[i].message) == NULL) {
            print_error("%s: code %d, %s: %s\n", faults[i].values, (int)code,
                        report.findings.count > 0 ? report.findings.at[0].subject : "no finding",
                        report.findings.count > 0 ? report.findings.at[0].message : "");
            fail();
        }
        assert_int_equal(report.count[FID_ERROR], 1);
        assert_near(value_of(b, "root_control.translation.z"), 0.0, 0.0);
        fid_report_clear(&report);
        fid_text_clear(&values);
    }
    end_bench(b);
}

static void other_documents_are_refused(void **state) {
    (void)state;
    static const char *const texts[] = {
        "{\"format\": \"fid-skeleton\", \"version\": 1, \"values\": {}}",
        "{\"format\": \"fid-pose\", \"version\": 1.5, \"values\": {}}",
        "{\"format\": \"fid-pose\", \"version\": 1}",
        "{\"format\": \"fid-pose\", \"version\": 1, \"values\": []}",
        "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {}, \"name\": 1}",
        "",
    };
    bench *b = make_bench();
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        fid_report report = {0};
        assert_int_not_equal(fid_pose_read(texts[i], strlen(texts[i]), "p", b->rig, b->of.pose, &report), FID_OK);
        assert_int_equal(report.count[FID_ERROR], 1);
        fid_report_clear(&report);
    }
    end_bench(b);
}

static const char whole_pose[] =
    "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {\n"
    "  \"root_control\": {\"translation\": [0, 0, 0.1], \"scale\": 2},\n"
    "  \"hand_control\": {\"quaternion\": [0, 0, 0.6, 0.8], \"scale\": [1, 2, 1], \"reach\": 0.3, \"mode\": 1},\n"
    "  \"forearm_control\": {\"rotation\": [12.5, 0, 0]},\n"
    "  \"forearm/control:follow\": {\"weight\": 0.25}}}\n";

static void a_pose_is_written_as_it_was_read(void **state) {
    (void)state;
    bench *b = make_bench();
    fid_error err = {0};
    fid_report report = {0};
    fid_text out = {0};
    assert_int_equal(fid_pose_read(whole_pose, strlen(whole_pose), "p", b->rig, b->of.pose, &report), FID_OK);
    rig_ok(fid_pose_write(b->rig, b->of.pose, &out, &err));
    assert_string_equal(out.at, whole_pose);
    fid_text_clear(&out);
    fid_pose_reset(b->of.pose);
    rig_ok(fid_pose_write(b->rig, b->of.pose, &out, &err));
    assert_string_equal(out.at, "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {}}\n");
    fid_text_clear(&out);
    fid_report_clear(&report);
    end_bench(b);
}

static void a_pose_cut_or_flipped_gives_one_error_at_most(void **state) {
    (void)state;
    bench *b = make_bench();
    char text[sizeof whole_pose];
    size_t count = sizeof whole_pose - 1;
    for (size_t at = 0; at < count; at++) {
        for (int bit = 0; bit < 8; bit++) {
            fid_report report = {0};
            memcpy(text, whole_pose, sizeof whole_pose);
            text[at] = (char)(text[at] ^ (1 << bit));
            fid_code code = fid_pose_read(text, count, "p", b->rig, b->of.pose, &report);
            assert_int_equal(report.count[FID_ERROR], code == FID_OK ? 0 : 1);
            fid_report_clear(&report);
        }
        fid_report report = {0};
        fid_code code = fid_pose_read(whole_pose, at, "p", b->rig, b->of.pose, &report);
        assert_int_equal(report.count[FID_ERROR], at == count - 1 ? 0 : 1);
        assert_int_equal(code == FID_OK, at == count - 1);
        fid_report_clear(&report);
    }
    end_bench(b);
}

static bool read_and_write(void *user) {
    bench *b = user;
    fid_report report = {0};
    fid_text out = {0};
    fid_code code = fid_pose_read(whole_pose, strlen(whole_pose), "p", b->rig, b->of.pose, &report);
    code = code == FID_OK ? fid_pose_write(b->rig, b->of.pose, &out, NULL) : code;
    fid_text_clear(&out);
    fid_report_clear(&report);
    return code == FID_OK;
}

static void every_allocation_may_fail(void **state) {
    (void)state;
    bench *b = make_bench();
    memory_fail_every(read_and_write, b);
    end_bench(b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_arrive_in_their_channels),
        cmocka_unit_test(one_number_scales_all_axes_and_a_choice_has_a_name),
        cmocka_unit_test(a_quaternion_is_a_rotation),
        cmocka_unit_test(a_pose_begins_at_rest),
        cmocka_unit_test(what_is_out_of_range_is_clamped_with_a_note),
        cmocka_unit_test(a_locked_channel_may_have_its_rest_value),
        cmocka_unit_test(faults_are_named_and_leave_the_pose_at_rest),
        cmocka_unit_test(other_documents_are_refused),
        cmocka_unit_test(a_pose_is_written_as_it_was_read),
        cmocka_unit_test(a_pose_cut_or_flipped_gives_one_error_at_most),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
