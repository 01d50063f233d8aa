#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "check/check.h"
#include "check/page.h"
#include "support/memory_fail.h"

/// The path of the page in the source tree; false where $FID_SOURCE is not set.
static bool find_page(fid_text *path) {
    const char *source = getenv("FID_SOURCE");
    if (source == NULL || source[0] == '\0') {
        print_error("FID_SOURCE is not set to the top of the source tree\n");
        return false;
    }
    fid_text_addf(path, "%s/docs/rules.md", source);
    return !path->failed;
}

static void the_page_says_what_the_rules_say(void **state) {
    (void)state;
    fid_text path = {0}, page = {0}, kept = {0};
    fid_error err = {0};
    assert_true(find_page(&path));
    fid_rules_page(&page);
    assert_false(page.failed);
    if (getenv("FID_UPDATE") != NULL) {
        assert_int_equal(fid_file_write(path.at, page.at, (size_t)page.count, &err), FID_OK);
    }
    assert_int_equal(fid_file_read(path.at, 1 << 20, &kept, &err), FID_OK);
    if (strcmp(kept.at, page.at) != 0) {
        print_error("docs/rules.md does not say what the rules say; FID_UPDATE=1 writes it anew\n");
    }
    assert_string_equal(kept.at, page.at);
    fid_text_clear(&kept);
    fid_text_clear(&page);
    fid_text_clear(&path);
}

static void every_rule_has_its_part_of_the_page(void **state) {
    (void)state;
    fid_text page = {0};
    fid_rules_page(&page);
    const char *at = page.at;
    for (int32_t i = 0; i < fid_rule_count; i++) {
        char heading[32];
        snprintf(heading, sizeof heading, "\n## %s\n", fid_rules[i].code);
        // In the order of the table, so that each is looked for behind the one before.
        at = strstr(at, heading);
        assert_non_null(at);
        const char *end = strstr(at + 1, "\n## ");
        const char *texts[] = {fid_rules[i].title, fid_rules[i].why, fid_rules[i].mend, fid_rules[i].basis};
        for (int j = 0; j < 4; j++) {
            const char *found = strstr(at, texts[j]);
            assert_non_null(found);
            assert_true(end == NULL || found < end);
        }
    }
    assert_null(strstr(at + 1, "\n## "));
    fid_text_clear(&page);
}

static bool make_page(void *user) {
    (void)user;
    fid_text page = {0};
    fid_rules_page(&page);
    bool done = !page.failed;
    fid_text_clear(&page);
    return done;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    memory_fail_every(make_page, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_says_what_the_rules_say),
        cmocka_unit_test(every_rule_has_its_part_of_the_page),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
