#include "format/lock.h"
#include "support/assert.h"
#include "support/memory_fail.h"

#include <string.h>

/// The lock of a project's modules: what is written reads back, and nothing else is read.

#define A "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
#define B "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"

static const char whole[] = "{\"format\": \"fid-lock\", \"version\": 1, \"modules\": [\n"
                            " {\"name\": \"mast\", \"version\": \"1.2.0\", \"sha256\": \"" A "\", \"files\": [\n"
                            "  {\"path\": \"README.md\", \"sha256\": \"" B "\"},\n"
                            "  {\"path\": \"module.lua\", \"sha256\": \"" A "\"}]},\n"
                            " {\"name\": \"sail\", \"version\": \"0.1.0\", \"sha256\": \"" B "\", \"files\": []}]}\n";

static fid_code put_both(fid_lock *lock, fid_error *err) {
    static const fid_lock_file files[] = {{"README.md", B}, {"module.lua", A}};
    static const fid_lock_module mast = {"mast", "1.2.0", A, files, 2}, sail = {"sail", "0.1.0", B, NULL, 0};
    fid_code code = fid_lock_put(lock, &sail, err);
    return code == FID_OK ? fid_lock_put(lock, &mast, err) : code;
}

static void modules_stand_by_name_and_the_last_word_counts(void **state) {
    (void)state;
    fid_lock lock = {0};
    fid_error err;
    fid_text text = {0};
    static const fid_lock_module old = {"mast", "1.0.0", B, NULL, 0};
    assert_int_equal(fid_lock_put(&lock, &old, &err), FID_OK);
    assert_int_equal(put_both(&lock, &err), FID_OK);
    assert_int_equal(lock.modules.count, 2);
    assert_int_equal(fid_lock_write(&lock, &text, &err), FID_OK);
    assert_string_equal(text.at, whole);
    assert_string_equal(fid_lock_find(&lock, "mast")->version, "1.2.0");
    assert_null(fid_lock_find(&lock, "mas"));
    assert_null(fid_lock_find(&lock, "zenith"));
    fid_text_clear(&text);
    fid_lock_clear(&lock);
}

static void what_was_written_reads_back(void **state) {
    (void)state;
    fid_lock lock = {0};
    fid_error err;
    fid_report report = {0};
    fid_text text = {0};
    assert_int_equal(fid_lock_read(whole, strlen(whole), "fid.lock", &lock, &report), FID_OK);
    assert_int_equal(fid_lock_write(&lock, &text, &err), FID_OK);
    assert_string_equal(text.at, whole);
    fid_text_clear(&text);
    fid_report_clear(&report);
    fid_lock_clear(&lock);
}

static void every_cut_gives_one_error(void **state) {
    (void)state;
    // The last byte is the end of a line, which may be missing.
    for (size_t count = 0; count < strlen(whole) - 1; count++) {
        fid_lock lock = {0};
        fid_report report = {0};
        char *cut = fid_memory_get(count + 1); // nothing behind it, so that reading too far is noticed
        assert_non_null(cut);
        memcpy(cut, whole, count);
        assert_int_not_equal(fid_lock_read(cut, count, "fid.lock", &lock, &report), FID_OK);
        assert_int_equal(report.findings.count, 1);
        fid_memory_free(cut);
        fid_report_clear(&report);
        fid_lock_clear(&lock);
    }
}

static void what_is_out_of_order_or_no_digest_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *from, *to, *subject, *message;
    } cases[] = {
        {"\"mast\"", "\"sail\"", "/modules/1/name", "'sail' stands here twice"},
        {"\"mast\"", "\"tail\"", "/modules/1/name", "'sail' stands after 'tail'"},
        {"README", "readme", "/modules/0/files/1/path", "'module.lua' stands after 'readme.md'"},
        {"README.md", "module.lua", "/modules/0/files/1/path", "'module.lua' stands here twice"},
        {"\"sha256\": \"aa", "\"sha256\": \"AA", "/modules/0/sha256", "64 hexadecimal digits"},
        {"\"path\": \"README.md\"", "\"path\": 3", "/modules/0/files/0/path", "text"},
        {"\"version\": 1,", "\"version\": 2,", "/version", "1"},
        {", \"files\": []", "", "/modules/1", "'files' is missing"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_lock lock = {0};
        fid_report report = {0};
        fid_text text = {0};
        const char *at = strstr(whole, cases[i].from);
        assert_non_null(at);
        fid_text_add_bytes(&text, whole, (size_t)(at - whole));
        fid_text_add(&text, cases[i].to);
        fid_text_add(&text, at + strlen(cases[i].from));
        assert_int_not_equal(fid_lock_read(text.at, (size_t)text.count, "fid.lock", &lock, &report), FID_OK);
        assert_int_equal(report.findings.count, 1);
        assert_string_equal(report.findings.at[0].subject, cases[i].subject);
        assert_text_contains(report.findings.at[0].message, cases[i].message);
        fid_text_clear(&text);
        fid_report_clear(&report);
        fid_lock_clear(&lock);
    }
}

static bool read_and_write(void *user) {
    (void)user;
    fid_lock lock = {0}, made = {0};
    fid_report report = {0};
    fid_text text = {0};
    bool done = fid_lock_read(whole, strlen(whole), "fid.lock", &lock, &report) == FID_OK &&
                fid_lock_write(&lock, &text, NULL) == FID_OK && put_both(&made, NULL) == FID_OK;
    fid_text_clear(&text);
    fid_report_clear(&report);
    fid_lock_clear(&lock);
    fid_lock_clear(&made);
    return done;
}

static void lack_of_memory_leaves_nothing(void **state) {
    (void)state;
    memory_fail_every(read_and_write, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(modules_stand_by_name_and_the_last_word_counts),
        cmocka_unit_test(what_was_written_reads_back),
        cmocka_unit_test(every_cut_gives_one_error),
        cmocka_unit_test(what_is_out_of_order_or_no_digest_is_refused),
        cmocka_unit_test(lack_of_memory_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
