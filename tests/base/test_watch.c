#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/watch.h"
#include "scratch.h"

static int asked;
static int most_asked;

/// Gives up after some time, so that a test that waits in vain ends.
static bool is_tired(void) { return asked++ > most_asked; }

/// Whether a change is noticed.
static bool is_noticed(fid_watch *watch) {
    asked = 0;
    most_asked = 4;
    return fid_watch_wait(watch, 0.02, is_tired);
}

static void put(const char *path, const char *text) { scratch_put(path, text, strlen(text)); }

static fid_watch *begin(void) {
    fid_watch *watch = NULL;
    fid_error err = {0};
    assert_int_equal(fid_watch_new(&watch, &err), FID_OK);
    return watch;
}

static void a_file_that_is_written_replaced_or_removed_counts(void **state) {
    (void)state;
    fid_error err = {0};
    fid_watch *watch = begin();
    put("one.lua", "1");
    put("other.lua", "1");
    assert_int_equal(fid_watch_file(watch, "one.lua", &err), FID_OK);
    assert_int_equal(fid_watch_file(watch, "./one.lua", &err), FID_OK);
    assert_false(is_noticed(watch));
    put("one.lua", "2");
    assert_true(is_noticed(watch));
    assert_false(is_noticed(watch));
    put("new", "3");
    assert_int_equal(rename("new", "one.lua"), 0);
    assert_true(is_noticed(watch));
    assert_int_equal(unlink("one.lua"), 0);
    assert_true(is_noticed(watch));
    put("other.lua", "2");
    assert_false(is_noticed(watch));
    put("one.lua", "4");
    assert_true(is_noticed(watch));
    fid_watch_free(watch);
}

static void what_a_link_leads_to_counts(void **state) {
    (void)state;
    fid_error err = {0};
    fid_watch *watch = begin();
    assert_int_equal(mkdir("far", 0777), 0);
    put("far/real.lua", "1");
    assert_int_equal(symlink("far/real.lua", "link.lua"), 0);
    assert_int_equal(fid_watch_file(watch, "link.lua", &err), FID_OK);
    put("far/real.lua", "2");
    assert_true(is_noticed(watch));
    fid_watch_free(watch);
}

static void files_of_a_folder_count_by_their_endings_but_for_what_is_left_out(void **state) {
    (void)state;
    static const char *const endings[] = {".lua", ".json", NULL};
    fid_error err = {0};
    fid_watch *watch = begin();
    assert_int_equal(mkdir("folder", 0777), 0);
    put("folder/mine.json", "1");
    assert_int_equal(fid_watch_folder(watch, "folder", endings, &err), FID_OK);
    assert_int_equal(fid_watch_leave_out(watch, "folder/mine.json", &err), FID_OK);
    assert_int_equal(fid_watch_folder(watch, "nowhere", endings, &err), FID_OK);
    put("folder/mine.json", "2");
    put("folder/notes.txt", "1");
    put("folder/.hidden.lua", "1");
    assert_false(is_noticed(watch));
    put("folder/new.lua", "1");
    assert_true(is_noticed(watch));
    assert_int_equal(mkdir("folder/deep", 0777), 0);
    assert_true(is_noticed(watch));
    put("folder/deep/module.lua", "1");
    assert_true(is_noticed(watch));
    fid_watch_free(watch);
}

static void a_folder_that_went_and_came_again_is_watched_once_it_is_told_again(void **state) {
    (void)state;
    fid_error err = {0};
    fid_watch *watch = begin();
    assert_int_equal(mkdir("gone", 0777), 0);
    put("gone/a.lua", "1");
    assert_int_equal(fid_watch_file(watch, "gone/a.lua", &err), FID_OK);
    assert_int_equal(unlink("gone/a.lua"), 0);
    assert_int_equal(rmdir("gone"), 0);
    assert_true(is_noticed(watch));
    assert_int_equal(fid_watch_file(watch, "gone/a.lua", &err), FID_OK);
    assert_int_equal(mkdir("gone", 0777), 0);
    assert_int_equal(fid_watch_file(watch, "gone/a.lua", &err), FID_OK);
    put("gone/a.lua", "2");
    assert_true(is_noticed(watch));
    fid_watch_free(watch);
    fid_watch_free(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_that_is_written_replaced_or_removed_counts),
        cmocka_unit_test(what_a_link_leads_to_counts),
        cmocka_unit_test(files_of_a_folder_count_by_their_endings_but_for_what_is_left_out),
        cmocka_unit_test(a_folder_that_went_and_came_again_is_watched_once_it_is_told_again),
    };
    return cmocka_run_group_tests(tests, scratch_enter, scratch_leave);
}
