#include "base/scratch.h"

#include "base/folder.h"
#include "support/assert.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/// Folders come and go whole, and nothing outside of them is touched.

static void put(const char *path) { scratch_put(path, "", 0); }

static bool is_there(const char *path) {
    struct stat status;
    return lstat(path, &status) == 0;
}

static void a_folder_is_made_once(void **state) {
    (void)state;
    fid_error err;
    assert_int_equal(fid_folder_make("one", &err), FID_OK);
    assert_int_equal(fid_folder_make("one", &err), FID_OK);
    assert_true(fid_folder_is_there("one"));
    put("file");
    assert_false(fid_folder_is_there("file"));
    assert_int_equal(fid_folder_make("file", &err), FID_IO);
    assert_text_contains(err.message, "something else is in its place");
    assert_int_equal(fid_folder_make("no/such", &err), FID_IO);
    assert_text_contains(err.message, "the folder above it does not exist");
}

static void new_folders_have_names_of_their_own(void **state) {
    (void)state;
    char first[64], second[64], small[4];
    fid_error err;
    assert_int_equal(fid_folder_make_new(".", "new", first, sizeof first, &err), FID_OK);
    assert_int_equal(fid_folder_make_new(".", "new", second, sizeof second, &err), FID_OK);
    assert_string_not_equal(first, second);
    assert_true(fid_folder_is_there(first) && fid_folder_is_there(second));
    assert_int_equal(fid_folder_make_new(".", "new", small, sizeof small, &err), FID_LIMIT);
    assert_int_equal(fid_folder_make_new("no/such", "new", first, sizeof first, &err), FID_IO);
}

static void all_in_a_folder_goes_with_it_but_not_what_links_lead_to(void **state) {
    (void)state;
    fid_error err;
    assert_int_equal(fid_folder_make("kept", &err), FID_OK);
    put("kept/file");
    assert_int_equal(fid_folder_make("gone", &err), FID_OK);
    assert_int_equal(fid_folder_make("gone/deep", &err), FID_OK);
    assert_int_equal(fid_folder_make("gone/deep/er", &err), FID_OK);
    put("gone/deep/er/file");
    put("gone/.hidden");
    assert_int_equal(symlink("../kept", "gone/link"), 0);
    assert_int_equal(symlink("../../kept", "gone/deep/link"), 0);
    fid_folder_remove("gone");
    assert_false(is_there("gone"));
    assert_true(is_there("kept/file"));
    assert_int_equal(symlink("kept", "way"), 0);
    fid_folder_remove("way");
    assert_true(is_there("kept/file"));
    fid_folder_remove("nothing");
}

static void folders_change_places(void **state) {
    (void)state;
    fid_error err;
    assert_int_equal(fid_folder_make("from", &err), FID_OK);
    put("from/new");
    assert_int_equal(fid_folder_move("from", "to", false, &err), FID_OK);
    assert_true(is_there("to/new") && !is_there("from"));
    assert_int_equal(fid_folder_make("from", &err), FID_OK);
    put("from/newer");
    assert_int_equal(fid_folder_move("from", "to", true, &err), FID_OK);
    assert_true(is_there("to/newer") && is_there("from/new"));
    assert_int_equal(fid_folder_move("nothing", "to", true, &err), FID_IO);
    assert_int_equal(fid_folder_move("nothing", "other", false, &err), FID_IO);
    assert_true(is_there("to/newer"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_folder_is_made_once),
        cmocka_unit_test(new_folders_have_names_of_their_own),
        cmocka_unit_test(all_in_a_folder_goes_with_it_but_not_what_links_lead_to),
        cmocka_unit_test(folders_change_places),
    };
    return cmocka_run_group_tests(tests, scratch_enter, scratch_leave);
}
