#include "script/run.h"

#include "script/help_calls.h"
#include "script/help_examples.h"
#include "script/session.h"

#include <stdlib.h>

/// The examples of help run as they stand.

static int faults;

static void run_lines(fid_session *session, const char *name, char *text) {
    fid_text form = {0};
    for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n")) {
        fid_text_addf(&form, "%s%s", form.count > 0 ? "\n" : "", line);
        if (!fid_session_is_whole(session, form.at)) {
            continue;
        }
        fid_session_wish wish;
        fid_report report = {0};
        if (fid_session_run(session, form.at, &wish, &report) != FID_OK || report.findings.count > 0) {
            print_error("the example of %s: %s\n  %s\n", name, form.at,
                        report.findings.count > 0 ? report.findings.at[0].message : "");
            faults++;
        }
        fid_report_clear(&report);
        form.count = 0;
    }
    assert_int_equal(form.count, 0);
    fid_text_clear(&form);
}

static void each_runs_line_by_line_in_a_session(void **state) {
    (void)state;
    run_put("guides.json", "{\"neck\": [[0, 1, 0], [0, 2, 0]]}");
    for (int32_t i = 0; fid_help_example_name(i); i++) {
        fid_text text = {0};
        fid_report report = {0};
        fid_session *session = NULL;
        const fid_recipe_options options = {0};
        fid_help_add_example(fid_help_example_name(i), "", &text);
        assert_int_equal(fid_session_open(NULL, &options, NULL, &session, &report), FID_OK);
        run_lines(session, fid_help_example_name(i), text.at);
        fid_session_close(session);
        fid_text_clear(&text);
    }
    assert_int_equal(faults, 0);
}

static void every_call_has_one_that_makes_it_and_every_object_one(void **state) {
    (void)state;
    for (int i = 0; i < fid_help_entry_count; i++) {
        const fid_help_entry *entry = &fid_help_entries[i];
        // "rig:bone" as it is written in front of its brackets, for any chain or constraint of the example.
        bool is_object = entry->shown[0] >= 'A' && entry->shown[0] <= 'Z';
        const char *call = is_object                               ? ""
                           : strncmp(entry->shown, "fid.", 4) == 0 ? entry->shown
                                                                   : strchr(entry->shown, ':');
        char made[64];
        snprintf(made, sizeof made, "%.*s", (int)strcspn(call, "({"), call);
        fid_text text = {0};
        fid_help_add_example(entry->name, "", &text);
        if (!text.at || !strstr(text.at, made)) {
            print_error("%s has no example that makes the call\n", entry->shown);
            fail();
        }
        fid_text_clear(&text);
    }
}

static void each_belongs_to_a_call(void **state) {
    (void)state;
    for (int32_t i = 0; fid_help_example_name(i); i++) {
        bool found = false;
        for (int j = 0; j < fid_help_entry_count; j++) {
            found |= strcmp(fid_help_entries[j].name, fid_help_example_name(i)) == 0;
        }
        assert_true(found);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_runs_line_by_line_in_a_session),
        cmocka_unit_test(every_call_has_one_that_makes_it_and_every_object_one),
        cmocka_unit_test(each_belongs_to_a_call),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
