#include "base/text.h"
#include "support/assert.h"

static void a_failure_fills_the_error_and_returns_its_code(void **state) {
    (void)state;
    fid_error err = {.subject = "old"};
    assert_int_equal(fid_fail(&err, FID_RANGE, "%s is %d, at most %d", "bend", 7, 5), FID_RANGE);
    assert_int_equal(err.code, FID_RANGE);
    assert_string_equal(err.message, "bend is 7, at most 5");
    assert_string_equal(err.subject, "");
}

static void nobody_need_ask_for_the_error(void **state) {
    (void)state;
    assert_int_equal(fid_fail(NULL, FID_UNKNOWN, "no such bone"), FID_UNKNOWN);
    assert_int_equal(fid_no_memory(NULL), FID_NO_MEMORY);
    fid_error_about(NULL, "shin");
}

static void the_first_subject_stays(void **state) {
    (void)state;
    fid_error err;
    assert_int_equal(fid_no_memory(&err), FID_NO_MEMORY);
    fid_error_about(&err, "shin");
    fid_error_about(&err, "thigh");
    assert_string_equal(err.subject, "shin");
    assert_int_equal(err.code, FID_NO_MEMORY);
    assert_string_equal(err.message, "out of memory");
}

static void a_message_may_wrap_itself(void **state) {
    (void)state;
    fid_error err;
    fid_fail(&err, FID_SYNTAX, "inner");
    fid_error_about(&err, "pose.json");
    fid_fail(&err, FID_SYNTAX, "%s: %s, again %s", err.subject, err.message, err.message);
    assert_string_equal(err.message, "pose.json: inner, again inner");
}

static void control_characters_become_question_marks(void **state) {
    (void)state;
    fid_error err;
    // U+0085 and U+009F are control characters of two bytes; U+00A0 is none.
    fid_fail(&err, FID_SYNTAX, "%s", "a\nb\tc\x1b[1m\x7f|\xc2\x85|\xc2\x9f|\xc2\xa0");
    assert_string_equal(err.message, "a?b?c?[1m?|?|?|\xc2\xa0");
}

static void invalid_bytes_become_question_marks(void **state) {
    (void)state;
    fid_error err;
    fid_fail(&err, FID_SYNTAX, "%s", "a\xff\xc3|\xc3\xa9|\xed\xa0\x80|\xe2\x82");
    assert_string_equal(err.message, "a??|\xc3\xa9|???|??");
}

static void long_messages_are_cut_between_characters(void **state) {
    (void)state;
    // Characters of 1 to 4 bytes, the cut at each of their bytes in turn.
    const char *characters[] = {"x", "\xc3\xa9", "\xe2\x82\xac", "\xf0\x9f\xa6\xb4"};
    for (int width = 1; width <= 4; width++) {
        for (int shift = 0; shift < 4; shift++) {
            char text[2 * FID_ERROR_MESSAGE_SIZE];
            int at = 0;
            while (at < shift) {
                text[at++] = '-';
            }
            while (at + width < (int)sizeof text) {
                memcpy(text + at, characters[width - 1], (size_t)width);
                at += width;
            }
            text[at] = '\0';
            fid_error err;
            fid_fail(&err, FID_LIMIT, "%s", text);
            fid_error_about(&err, text);
            size_t length = strlen(err.message);
            assert_true(length < FID_ERROR_MESSAGE_SIZE);
            assert_true(length + (size_t)width >= FID_ERROR_MESSAGE_SIZE);
            assert_memory_equal(err.message, text, length);
            assert_true(fid_text_is_utf8(err.message, length));
            length = strlen(err.subject);
            assert_true(length < FID_ERROR_SUBJECT_SIZE);
            assert_true(length + (size_t)width >= FID_ERROR_SUBJECT_SIZE);
            assert_memory_equal(err.subject, text, length);
            assert_true(fid_text_is_utf8(err.subject, length));
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_failure_fills_the_error_and_returns_its_code),
        cmocka_unit_test(nobody_need_ask_for_the_error),
        cmocka_unit_test(the_first_subject_stays),
        cmocka_unit_test(a_message_may_wrap_itself),
        cmocka_unit_test(control_characters_become_question_marks),
        cmocka_unit_test(invalid_bytes_become_question_marks),
        cmocka_unit_test(long_messages_are_cut_between_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
