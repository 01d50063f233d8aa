#include "base/inputs.h"
#include "scratch.h"
#include "support/memory_fail.h"

#include <string.h>

static void nothing_was_read_at_first(void **state) {
    (void)state;
    scratch_put("a", "1", 1);
    fid_inputs inputs = {0};
    assert_false(fid_inputs_has(&inputs, "a"));
    fid_inputs_clear(&inputs);
}

static void a_file_is_known_by_any_of_its_names(void **state) {
    (void)state;
    fid_error err;
    fid_inputs inputs = {0};
    assert_int_equal(mkdir("folder", 0777), 0);
    scratch_put("folder/a", "1", 1);
    scratch_put("b", "1", 1);
    scratch_put("c", "1", 1);
    assert_int_equal(symlink("folder/a", "soft"), 0);
    assert_int_equal(link("folder/a", "hard"), 0);
    assert_int_equal(fid_inputs_add(&inputs, "folder", "a", &err), FID_OK);
    assert_int_equal(fid_inputs_add(&inputs, NULL, "b", &err), FID_OK);
    const char *const known[] = {"folder/a", "./folder//a", "folder/../folder/a", "soft", "hard", "b", "./b"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        assert_true(fid_inputs_has(&inputs, known[i]));
    }
    const char *const unknown[] = {"c", "a", "folder", "none", ""};
    for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++) {
        assert_false(fid_inputs_has(&inputs, unknown[i]));
    }
    fid_inputs_clear(&inputs);
    assert_false(fid_inputs_has(&inputs, "b"));
}

static void a_file_read_again_takes_no_more_room(void **state) {
    (void)state;
    fid_error err;
    fid_inputs inputs = {0};
    for (int i = 0; i < 100; i++) {
        assert_int_equal(fid_inputs_add(&inputs, i % 2 ? "folder" : NULL, "a", &err), FID_OK);
    }
    assert_int_equal(inputs.paths.count, 2);
    fid_inputs_clear(&inputs);
}

static bool add_two(void *user) {
    (void)user;
    fid_error err;
    fid_inputs inputs = {0};
    bool done =
        fid_inputs_add(&inputs, "folder", "a", &err) == FID_OK && fid_inputs_add(&inputs, NULL, "b", &err) == FID_OK;
    fid_inputs_clear(&inputs);
    return done;
}

static void without_memory_nothing_is_taken_for_noted(void **state) {
    (void)state;
    memory_fail_every(add_two, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_was_read_at_first),
        cmocka_unit_test(a_file_is_known_by_any_of_its_names),
        cmocka_unit_test(a_file_read_again_takes_no_more_room),
        cmocka_unit_test(without_memory_nothing_is_taken_for_noted),
    };
    return cmocka_run_group_tests(tests, scratch_enter, scratch_leave);
}
