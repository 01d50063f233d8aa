#include "format/json_write.h"

#include "support/memory_fail.h"

static void write_some(fid_text *out) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_key(&writer, "a\"b");
    fid_json_begin_list(&writer);
    fid_json_null(&writer);
    fid_json_boolean(&writer, true);
    fid_json_integer(&writer, -7);
    fid_json_text(&writer, NULL);
    fid_json_text(&writer, "x\n");
    fid_json_end_list(&writer);
    fid_json_line(&writer, 2);
    fid_json_key(&writer, "c");
    fid_json_begin_object(&writer);
    fid_json_end_object(&writer);
    fid_json_key(&writer, "d");
    fid_json_raw(&writer, "{\"e\": 1}");
    fid_json_end_object(&writer);
}

static void commas_spaces_and_lines_come_by_themselves(void **state) {
    (void)state;
    fid_text out = {0};
    write_some(&out);
    assert_string_equal(out.at, "{\"a\\\"b\": [null, true, -7, null, \"x\\n\"],\n  \"c\": {}, \"d\": {\"e\": 1}}");
    fid_text_clear(&out);
}

static void the_first_element_may_begin_a_line(void **state) {
    (void)state;
    fid_text out = {0};
    fid_json_writer writer = fid_json_writer_new(&out);
    fid_json_begin_list(&writer);
    fid_json_line(&writer, 1);
    fid_json_integer(&writer, 1);
    fid_json_line(&writer, 1);
    fid_json_integer(&writer, 2);
    fid_json_end_list(&writer);
    assert_string_equal(out.at, "[\n 1,\n 2]");
    fid_text_clear(&out);
}

static void numbers_are_never_minus_zero_or_nan(void **state) {
    (void)state;
    fid_text out = {0};
    const float floats[] = {-0.0f, NAN, INFINITY, 0.1f, 1.0f, 16777216.0f};
    fid_json_writer writer = fid_json_writer_new(&out);
    fid_json_begin_list(&writer);
    fid_json_numbers(&writer, floats, 6);
    fid_json_double(&writer, -0.0);
    fid_json_double(&writer, (double)NAN);
    fid_json_double(&writer, 1.0 / 3.0);
    fid_json_double(&writer, 0.1);
    fid_json_end_list(&writer);
    assert_string_equal(out.at, "[[0, 0, 0, 0.1, 1, 16777216], 0, 0, 0.333333333, 0.1]");
    fid_text_clear(&out);
}

static bool write_and_clear(void *user) {
    (void)user;
    fid_text out = {0};
    write_some(&out);
    bool done = !out.failed;
    fid_text_clear(&out);
    return done;
}

static void a_failed_allocation_shows_in_the_text(void **state) {
    (void)state;
    memory_fail_every(write_and_clear, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commas_spaces_and_lines_come_by_themselves),
        cmocka_unit_test(the_first_element_may_begin_a_line),
        cmocka_unit_test(numbers_are_never_minus_zero_or_nan),
        cmocka_unit_test(a_failed_allocation_shows_in_the_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
