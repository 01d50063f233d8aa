#include "script/run.h"

#include "script/bundle.h"
#include "support/memory_fail.h"

/// The files of a module, what they are by their content, and which paths there may be.

static void paths_are_those_that_every_file_system_takes(void **state) {
    (void)state;
    static const char *const good[] = {"module.lua", "a/b/c/d/e/f/g/h", "Read me (2).txt", "x+y=z@1,5.json",
                                       "..a",        "a..b/c"};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_null(fid_bundle_path_flaw(good[i]));
    }
    static const char *const bad[][2] = {
        {"/a", "absolute"},
        {"", "empty part"},
        {"a/", "empty part"},
        {"a//b", "empty part"},
        {"./a", "empty part"},
        {"a/./b", "empty part"},
        {"..", "'..'"},
        {"../a", "'..'"},
        {"a/..", "'..'"},
        {"a/../../b", "'..'"},
        {"a\\b", "backslash"},
        {"a:b", "not every file"},
        {"a\tb", "not every"},
        {"a*", "not every file"},
        {"a?", "not every file"},
        {"\"a\"", "not every file"},
        {"\xc3\xa4", "not every"},
        {"a.", "point or space"},
        {"a /b", "point or space"},
        {"a/b/c/d/e/f/g/h/i", "8 folders"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const char *flaw = fid_bundle_path_flaw(bad[i][0]);
        assert_non_null(flaw);
        assert_text_contains(flaw, bad[i][1]);
    }
    char path[202];
    memset(path, 'x', sizeof path);
    path[200] = '\0';
    assert_null(fid_bundle_path_flaw(path));
    path[200] = 'x';
    path[201] = '\0';
    assert_text_contains(fid_bundle_path_flaw(path), "longer than 200 bytes");
}

static fid_code add(fid_bundle *bundle, const char *path, const char *text, fid_error *err) {
    fid_text bytes = {0};
    fid_text_add(&bytes, text);
    return fid_bundle_add(bundle, path, &bytes, err);
}

static void order_of_adding_does_not_matter(void **state) {
    (void)state;
    fid_bundle one = {0}, other = {0};
    fid_error err;
    assert_int_equal(add(&one, "b", "2", &err), FID_OK);
    assert_int_equal(add(&one, "a/c", "1", &err), FID_OK);
    assert_int_equal(add(&other, "a/c", "1", &err), FID_OK);
    assert_int_equal(add(&other, "b", "2", &err), FID_OK);
    assert_int_equal(fid_bundle_seal(&one, &err), FID_OK);
    assert_int_equal(fid_bundle_seal(&other, &err), FID_OK);
    assert_string_equal(one.sha256, other.sha256);
    // FIPS 180-4 by way of the program sha256sum: of "1", of "2", and of the list of both.
    assert_string_equal(one.files.at[0].sha256, "6b86b273ff34fce19d6b804eff5a3f5747ada4eaa22f1d49c01e52ddb7875b4b");
    FILE *program = popen("printf '%s  a/c\\n%s  b\\n' $(printf 1 | sha256sum | cut -c1-64) "
                          "$(printf 2 | sha256sum | cut -c1-64) | sha256sum",
                          "r");
    char digest[FID_DIGEST_SIZE] = "";
    assert_non_null(program);
    assert_int_equal(fscanf(program, "%64s", digest), 1);
    pclose(program);
    assert_string_equal(one.sha256, digest);
    fid_bundle_clear(&one);
    fid_bundle_clear(&other);
}

static void paths_that_clash_are_refused(void **state) {
    (void)state;
    static const char *const cases[][3] = {
        {"a", "a", "are the same"},
        {"a", "A", "upper and lower case"},
        {"a/x", "A/y", "upper and lower case"},
        {"a", "a/b", "a file and a folder"},
        {"A", "a/b", "a file and a folder"},
        {"x/B/c", "x/b", "a file and a folder"},
        {"a", "ab", NULL},
        {"a/b", "ab", NULL},
        {"Ab", "ac", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_bundle bundle = {0};
        fid_error err;
        assert_int_equal(add(&bundle, cases[i][0], "", &err), FID_OK);
        assert_int_equal(add(&bundle, cases[i][1], "", &err), FID_OK);
        fid_code code = fid_bundle_seal(&bundle, &err);
        assert_int_equal(code, cases[i][2] != NULL ? FID_NAME_TAKEN : FID_OK);
        if (cases[i][2] != NULL) {
            assert_text_contains(err.message, cases[i][2]);
        }
        fid_bundle_clear(&bundle);
    }
}

static void differences_are_told_by_file(void **state) {
    (void)state;
    fid_bundle before = {0}, after = {0};
    fid_error err;
    fid_lock_module module;
    fid_text text = {0};
    static const char *const old[] = {"a", "b", "d", "e", "f", "g", "h", "i"};
    for (size_t i = 0; i < sizeof old / sizeof old[0]; i++) {
        assert_int_equal(add(&before, old[i], "1", &err), FID_OK);
    }
    assert_int_equal(fid_bundle_seal(&before, &err), FID_OK);
    assert_int_equal(fid_bundle_describe(&before, "mast", "1.0.0", &module, &err), FID_OK);
    fid_bundle_compare(&before, &module, &text);
    assert_int_equal(text.count, 0);
    assert_int_equal(add(&after, "a", "1", &err), FID_OK);
    assert_int_equal(add(&after, "b", "2", &err), FID_OK);
    assert_int_equal(add(&after, "c", "1", &err), FID_OK);
    assert_int_equal(fid_bundle_seal(&after, &err), FID_OK);
    fid_bundle_compare(&after, &module, &text);
    assert_string_equal(text.at, "b changed, c added, d missing, e missing, f missing, g missing and 2 more");
    fid_text_clear(&text);
    fid_bundle_clear(&before);
    fid_bundle_clear(&after);
}

static bool read_folder(void *user) {
    (void)user;
    fid_bundle bundle = {0};
    fid_lock_module module;
    bool done = fid_bundle_read("mast", true, &bundle, NULL) == FID_OK &&
                fid_bundle_describe(&bundle, "mast", "1.0.0", &module, NULL) == FID_OK;
    fid_bundle_clear(&bundle);
    return done;
}

static void lack_of_memory_leaves_nothing(void **state) {
    (void)state;
    run_put("mast/module.lua", "return 1\n");
    run_put("mast/parts/top.lua", "return 2\n");
    run_put("mast/.hidden", "");
    assert_true(read_folder(NULL));
    memory_fail_every(read_folder, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(paths_are_those_that_every_file_system_takes),
        cmocka_unit_test(order_of_adding_does_not_matter),
        cmocka_unit_test(paths_that_clash_are_refused),
        cmocka_unit_test(differences_are_told_by_file),
        cmocka_unit_test(lack_of_memory_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
