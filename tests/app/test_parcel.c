#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/parcel.h"

static fid_text pack(void) {
    const fid_place places[] = {{"a.lua", 3, "leg1", "leg 1.0.0"}, {"b.lua", 0, NULL, NULL}};
    const fid_finding finding = {.code = "S204",
                                 .severity = FID_WARNING,
                                 .subject = "bone",
                                 .message = "it bends",
                                 .places = places,
                                 .place_count = 2};
    fid_report report = {0};
    fid_text out = {0};
    fid_report_add(&report, &finding);
    fid_parcel_add_number(&out, -7);
    fid_parcel_add_text(&out, "words");
    fid_parcel_add_text(&out, NULL);
    fid_parcel_add_report(&out, &report);
    fid_parcel_add_text(&out, "");
    fid_report_clear(&report);
    assert_false(out.failed);
    return out;
}

static void what_is_packed_comes_out_in_the_same_order(void **state) {
    (void)state;
    fid_text bytes = pack();
    fid_parcel parcel = {bytes.at, (size_t)bytes.count, false};
    fid_report report = {0};
    assert_int_equal(fid_parcel_read_number(&parcel), -7);
    assert_string_equal(fid_parcel_read_text(&parcel), "words");
    assert_null(fid_parcel_read_text(&parcel));
    fid_parcel_read_report(&parcel, &report);
    assert_string_equal(fid_parcel_read_text(&parcel), "");
    assert_false(parcel.is_broken);
    assert_int_equal(parcel.left, 0);
    assert_int_equal(report.findings.count, 1);
    const fid_finding *finding = report.findings.at;
    assert_int_equal(finding->severity, FID_WARNING);
    assert_string_equal(finding->code, "S204");
    assert_string_equal(finding->message, "it bends");
    assert_null(finding->hint);
    assert_int_equal(finding->place_count, 2);
    assert_string_equal(finding->places[0].instance, "leg1");
    assert_int_equal(finding->places[0].line, 3);
    assert_string_equal(finding->places[1].file, "b.lua");
    assert_null(finding->places[1].module);
    fid_report_clear(&report);
    fid_text_clear(&bytes);
}

static void a_parcel_that_is_cut_short_is_broken_wherever_it_was_cut(void **state) {
    (void)state;
    fid_text bytes = pack();
    for (size_t length = 0; length < (size_t)bytes.count; length++) {
        // A copy of that length, so that a read behind its end is seen.
        char *cut = malloc(length + 1);
        assert_non_null(cut);
        memcpy(cut, bytes.at, length);
        cut = realloc(cut, length > 0 ? length : 1);
        fid_parcel parcel = {cut, length, false};
        fid_report report = {0};
        (void)fid_parcel_read_number(&parcel);
        (void)fid_parcel_read_text(&parcel);
        (void)fid_parcel_read_text(&parcel);
        fid_parcel_read_report(&parcel, &report);
        (void)fid_parcel_read_text(&parcel);
        assert_true(parcel.is_broken);
        fid_report_clear(&report);
        free(cut);
    }
    fid_text_clear(&bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_packed_comes_out_in_the_same_order),
        cmocka_unit_test(a_parcel_that_is_cut_short_is_broken_wherever_it_was_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
