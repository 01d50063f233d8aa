#include "format/schema_write.h"

#include "format/skeleton.h"
#include "support/memory_fail.h"

/// Both are made from the descriptors and kept in docs/ for readers. On a difference the new text is left in the folder
/// in which the test runs.

static void the_schema_in_docs_is_the_one_of_the_descriptors(void **state) {
    (void)state;
    fid_error err = {0};
    fid_text made = {0}, kept = skeleton_file("docs/skeleton.schema.json");
    fid_schema_document(&made);
    assert_false(made.failed);
    rig_ok(fid_file_write("skeleton.schema.json", made.at, (size_t)made.count, &err));
    assert_string_equal(kept.at, made.at);
    fid_text_clear(&made);
    fid_text_clear(&kept);
}

static void the_page_for_importers_ends_with_the_tables_of_the_descriptors(void **state) {
    (void)state;
    fid_error err = {0};
    fid_text made = {0}, page = skeleton_file("docs/skeleton-format.md");
    fid_schema_tables(&made);
    assert_false(made.failed);
    rig_ok(fid_file_write("tables.md", made.at, (size_t)made.count, &err));
    assert_true(page.count > made.count);
    assert_string_equal(page.at + page.count - made.count, made.at);
    fid_text_clear(&made);
    fid_text_clear(&page);
}

static bool write_both(void *user) {
    (void)user;
    fid_text out = {0};
    fid_schema_document(&out);
    fid_schema_tables(&out);
    bool done = !out.failed;
    fid_text_clear(&out);
    return done;
}

static void a_failed_allocation_shows_in_the_text(void **state) {
    (void)state;
    memory_fail_every(write_both, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_schema_in_docs_is_the_one_of_the_descriptors),
        cmocka_unit_test(the_page_for_importers_ends_with_the_tables_of_the_descriptors),
        cmocka_unit_test(a_failed_allocation_shows_in_the_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
