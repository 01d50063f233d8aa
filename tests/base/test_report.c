#include "base/report.h"
#include "support/memory_fail.h"

#include <stdio.h>
#include <string.h>

static void severities_have_names(void **state) {
    (void)state;
    assert_string_equal(fid_severity_name(FID_NOTE), "note");
    assert_string_equal(fid_severity_name(FID_WARNING), "warning");
    assert_string_equal(fid_severity_name(FID_ERROR), "error");
}

static void findings_are_copied_whole(void **state) {
    (void)state;
    char code[] = "S204";
    char subject[] = "leg";
    char message[] = "it is straight";
    char hint[] = "bend it";
    char pose[] = "{}";
    char file[] = "module.lua";
    char instance[] = "leg1 (left)";
    fid_place places[] = {{file, 48, instance, NULL}, {"recipe.lua", 7, NULL, NULL}};
    fid_finding finding = {code, FID_ERROR, subject, message, hint, true, 1.5f, 3.0f, places, 2, pose};
    fid_report report = {0};
    fid_report_add(&report, &finding);
    // What was given may go.
    char *given[] = {code, subject, message, hint, pose, file, instance};
    for (size_t i = 0; i < sizeof given / sizeof given[0]; i++) {
        memset(given[i], '#', strlen(given[i]));
    }
    memset(places, 0, sizeof places);
    assert_false(report.failed);
    assert_int_equal(report.findings.count, 1);
    const fid_finding *kept = &report.findings.at[0];
    assert_string_equal(kept->code, "S204");
    assert_int_equal(kept->severity, FID_ERROR);
    assert_string_equal(kept->subject, "leg");
    assert_string_equal(kept->message, "it is straight");
    assert_string_equal(kept->hint, "bend it");
    assert_string_equal(kept->pose, "{}");
    assert_true(kept->has_value);
    assert_near((double)kept->value, 1.5, 0.0);
    assert_near((double)kept->threshold, 3.0, 0.0);
    assert_int_equal(kept->place_count, 2);
    assert_string_equal(kept->places[0].file, "module.lua");
    assert_int_equal(kept->places[0].line, 48);
    assert_string_equal(kept->places[0].instance, "leg1 (left)");
    assert_null(kept->places[0].module);
    assert_string_equal(kept->places[1].file, "recipe.lua");
    assert_int_equal(kept->places[1].line, 7);
    fid_report_clear(&report);
    assert_int_equal(report.findings.count, 0);
}

static void findings_keep_their_order_and_are_counted(void **state) {
    (void)state;
    fid_report report = {0};
    for (int i = 0; i < 60; i++) {
        char message[16];
        snprintf(message, sizeof message, "%d", i);
        const fid_severity severities[] = {FID_NOTE, FID_WARNING, FID_WARNING, FID_ERROR, FID_ERROR, FID_ERROR};
        fid_finding finding = {.code = "S1", .severity = severities[i % 6], .subject = "", .message = message};
        fid_report_add(&report, &finding);
    }
    assert_int_equal(report.count[FID_NOTE], 10);
    assert_int_equal(report.count[FID_WARNING], 20);
    assert_int_equal(report.count[FID_ERROR], 30);
    for (int i = 0; i < 60; i++) {
        char message[16];
        snprintf(message, sizeof message, "%d", i);
        assert_string_equal(report.findings.at[i].message, message);
    }
    fid_report_clear(&report);
}

static void absent_texts_become_empty_or_stay_absent(void **state) {
    (void)state;
    fid_report report = {0};
    fid_finding finding = {.severity = FID_NOTE, .place_count = 3};
    fid_report_add(&report, &finding);
    assert_int_equal(report.findings.count, 1);
    const fid_finding *kept = &report.findings.at[0];
    assert_string_equal(kept->code, "");
    assert_string_equal(kept->subject, "");
    assert_string_equal(kept->message, "");
    assert_null(kept->hint);
    assert_null(kept->pose);
    assert_null(kept->places);
    assert_int_equal(kept->place_count, 0);
    fid_report_clear(&report);
}

enum { PLACE_COUNT = 300 };

static bool add_some(void *user) {
    const char *text = user;
    fid_report report = {0};
    fid_place places[PLACE_COUNT];
    for (int i = 0; i < PLACE_COUNT; i++) {
        places[i] = (fid_place){text, 1, text, text};
    }
    fid_finding finding = {"S1", FID_ERROR, text, text, text, false, 0.0f, 0.0f, places, PLACE_COUNT, text};
    for (int i = 0; i < 10; i++) {
        fid_report_add(&report, &finding);
    }
    bool done = !report.failed;
    bool counted = report.count[FID_ERROR] == report.findings.count && (done == (report.findings.count == 10));
    fid_report_clear(&report);
    return counted ? done : !done;
}

static void a_failed_allocation_is_remembered(void **state) {
    (void)state;
    // The length decides which of the copies needs a block of its own.
    static char text[5001];
    for (size_t length = 0; length < sizeof text; length = length * 3 + 1) {
        memset(text, 'x', length);
        memory_fail_every(add_some, text);
    }
}

static void a_list_of_no_places_is_none(void **state) {
    (void)state;
    fid_place place = {"recipe.lua", 1, NULL, NULL};
    fid_report report = {0};
    fid_finding finding = {.code = "S1", .severity = FID_NOTE, .places = &place, .place_count = 0};
    fid_report_add(&report, &finding);
    assert_int_equal(report.findings.count, 1);
    assert_null(report.findings.at[0].places);
    fid_report_clear(&report);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(severities_have_names),
        cmocka_unit_test(findings_are_copied_whole),
        cmocka_unit_test(findings_keep_their_order_and_are_counted),
        cmocka_unit_test(absent_texts_become_empty_or_stay_absent),
        cmocka_unit_test(a_failed_allocation_is_remembered),
        cmocka_unit_test(a_list_of_no_places_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
