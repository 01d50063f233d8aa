#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <dirent.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/file.h"
#include "script/session.h"
#include "support/memory_fail.h"

static char folder[] = "session-XXXXXX";

static int enter(void **state) {
    (void)state;
    return mkdtemp(folder) != NULL ? chdir(folder) : -1;
}

static int leave(void **state) {
    (void)state;
    char command[sizeof folder + 16];
    snprintf(command, sizeof command, "rm -rf ./%s", folder);
    return chdir("..") == 0 ? system(command) : -1;
}

static const fid_recipe_options options = {.print = NULL};

static fid_session *begin(void) {
    fid_session *session = NULL;
    fid_report report = {0};
    assert_int_equal(fid_session_open(NULL, &options, NULL, &session, &report), FID_OK);
    fid_report_clear(&report);
    return session;
}

static fid_code run(fid_session *session, const char *form, fid_session_wish *wish) {
    fid_report report = {0};
    fid_code code = fid_session_run(session, form, wish, &report);
    fid_report_clear(&report);
    return code;
}

static void run_ok(fid_session *session, const char *form) {
    fid_session_wish wish;
    assert_int_equal(run(session, form, &wish), FID_OK);
}

static void forms_that_only_look_are_known(void **state) {
    (void)state;
    static const char *const looks[] = {"1 + 1",
                                        "rig",
                                        "rig.name",
                                        "#rig:bones{}",
                                        "rig:find 'a_control'.base",
                                        "tree()",
                                        "print(fid.vec(1, 2, 3) * 2)",
                                        "local a = 1 if a == 1 then print(a) end",
                                        "('x'):rep(3)",
                                        "return { table.concat({ 'a', 'b' }), math.max(1, 2) }",
                                        "-- nothing but a comment"};
    static const char *const changes[] = {"x = 1",
                                          "t.x = 1",
                                          "a, b = 1, 2",
                                          "function f() end",
                                          "f()",
                                          "g = rig:find('a_control')",
                                          "rig:control { part = 'b', at = {0, 0, 0} }",
                                          "table.insert(t, 1)",
                                          "set('a_control.translation.y', 1)",
                                          "(function() y = 1 end)()",
                                          "t.call()",
                                          "pcall(f)",
                                          "for i = 1, 2 do t[i] = i end"};
    fid_session *session = begin();
    run_ok(session, "rig = fid.rig { name = 'a', height = 1 }");
    run_ok(session, "rig:control { part = 'a', at = {0, 0, 0} }");
    run_ok(session, "t = { call = function() end }");
    fid_session_wish wish;
    for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++) {
        assert_int_equal(run(session, looks[i], &wish), FID_OK);
        if (!wish.is_look) {
            fail_msg("'%s' only looks", looks[i]);
        }
    }
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        assert_int_equal(run(session, changes[i], &wish), FID_OK);
        if (wish.is_look) {
            fail_msg("'%s' changes something", changes[i]);
        }
    }
    // A name that stands for something else now is not trusted, nor a call that changed the rig all the same.
    run_ok(session, "tree = function() z = 1 end");
    assert_int_equal(run(session, "tree()", &wish), FID_OK);
    assert_false(wish.is_look);
    run_ok(session, "t.find = function() rig:bone { part = 'c', at = {0, 0, 0}, to = {0, 0, 1} } end");
    assert_int_equal(run(session, "t:find()", &wish), FID_OK);
    assert_false(wish.is_look);
    fid_session_close(session);
}

/// Makes a rig, changes it and writes files: by all that a session calls.
static const char busy[] =
    "do local r = fid.rig { name = 'busy', height = 1 } "
    "local c = r:chain { part = 'leg', points = { {0, 0, 1}, {0, 0.1, 0.5}, {0, 0, 0} }, with_end = true } "
    "local goal = r:control { part = 'foot', at = {0, 0, 0} } "
    "r:ik { chain = c, goal = goal } rig = r set('foot_control.translation.y', 0.1) get('foot_control.translation.y') "
    "why('leg_01_helper') export('busy.json') picture('busy.svg') rig:bone { part = 'more', at = {0, 0, 0}, to = {0, "
    "0, "
    "1} } diff() end";

/// Lets one allocation of the form fail in a copy of the process, as a session runs forms (app/worker.h). Returns how
/// many there were, or -1 where none failed.
static long run_failing(fid_session *session, long fail_at, bool onward) {
    int told[2];
    assert_int_equal(pipe(told), 0);
    fflush(NULL);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        fid_session_wish wish;
        memory_fail fail;
        if (freopen("/dev/null", "w", stderr) == NULL) {
            _exit(9);
        }
        memory_fail_begin(&fail, fail_at);
        fail.onward = onward;
        fid_code code = run(session, busy, &wish);
        memory_fail_end();
        // Lua frees what it can and asks again: one failure alone may do no harm.
        bool is_right = fail.asked < fail_at ? code == FID_OK : code != FID_OK || !onward;
        ssize_t written = write(told[1], &fail.asked, sizeof fail.asked);
        _exit(written == (ssize_t)sizeof fail.asked && is_right ? 0 : 9);
    }
    close(told[1]);
    long asked = 0;
    bool is_told = read(told[0], &asked, sizeof asked) == (ssize_t)sizeof asked;
    close(told[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFEXITED(status) || (WEXITSTATUS(status) != 0 && WEXITSTATUS(status) != 2)) {
        fail_msg("allocation %ld fails: the process ends with %d", fail_at, status);
    }
    return is_told && asked < fail_at ? -1 : asked;
}

static int count_temporaries(void) {
    int count = 0;
    DIR *list = opendir(".");
    assert_non_null(list);
    for (const struct dirent *entry = readdir(list); entry != NULL; entry = readdir(list)) {
        count += entry->d_name[0] == '.' && strlen(entry->d_name) > 2;
    }
    closedir(list);
    return count;
}

static fid_text exported(fid_session *session) {
    fid_text out = {0};
    fid_error err = {0};
    run_ok(session, "export('state.json')");
    assert_int_equal(fid_file_read("state.json", 1 << 24, &out, &err), FID_OK);
    return out;
}

static void an_allocation_that_fails_anywhere_in_a_form_leaves_the_state_before_it(void **state) {
    (void)state;
    fid_session *session = begin();
    run_ok(session, "rig = fid.rig { name = 'kept', height = 1 }");
    run_ok(session, "rig:control { part = 'a', at = {0, 0, 0} }");
    fid_text before = exported(session);
    int tried = 0;
    for (int way = 0; way < 2; way++) {
        // Every one of the first, then fewer and fewer: there are thousands.
        for (long at = 1; run_failing(session, at, way == 1) >= 0; at += 1 + at / 40) {
            tried++;
        }
    }
    assert_true(tried > 200);
    fid_text after = exported(session);
    assert_string_equal(after.at, before.at);
    assert_int_equal(count_temporaries(), 0);
    fid_text_clear(&before);
    fid_text_clear(&after);
    fid_session_close(session);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forms_that_only_look_are_known),
        cmocka_unit_test(an_allocation_that_fails_anywhere_in_a_form_leaves_the_state_before_it),
    };
    return cmocka_run_group_tests(tests, enter, leave);
}
