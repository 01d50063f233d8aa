#include "script/run_text.h"

#define ARM(at)                                                                                                \
    "local goal = rig:control{part = 'goal', at = " at "}\n"                                                   \
    "local arm = rig:chain{part = 'arm', points = {{0, 0, 0}, {0, 0.6, 0.9}, {0, 0, 1.8}}, with_end = true}\n" \
    "rig:ik{chain = arm, goal = goal}\n"

static void sound_rig_has_no_errors(void **state) {
    (void)state;
    assert_runs(ARM("{0, 0, 1.8}") "local list = rig:check{poses = 5, severity = 'error'}\n"
                                   "assert(#list == 0, list[1] and list[1].message)\n"
                                   "assert(#rig:check{only = {'S209'}} == 0 and #rig:check() >= 0)");
}

static void fault_is_found_and_laid_where_it_was_made(void **state) {
    (void)state;
    // The goal of an ik has to rest on the end of its chain, or rest does not stay rest (rule S209).
    assert_runs(ARM("{0, 0.3, 1.6}") "local list = rig:check{only = {'S209'}}\n"
                                     "assert(#list >= 1)\n"
                                     "for _, finding in ipairs(list) do assert(finding.code == 'S209') end\n"
                                     "local first = list[1]\n"
                                     "assert(#first.message > 10 and #first.subject > 0)\n"
                                     "assert(first.origins[1].file == 'test.lua' and first.origins[1].line > 1)\n"
                                     "assert(first.severity == 'error' or first.severity == 'warning')");
}

static void check_takes_codes_of_rules_only(void **state) {
    (void)state;
    assert_refused("rig:check{only = {'S999'}}", "S999");
    assert_refused("rig:check{only = 'S209'}", "'only' is a text; it takes a list of texts");
    assert_refused("rig:check{severity = 'eror'}", "did you mean \"error\"?");
    assert_refused("rig:check{pose = 3}", "did you mean 'poses'?");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sound_rig_has_no_errors),
        cmocka_unit_test(fault_is_found_and_laid_where_it_was_made),
        cmocka_unit_test(check_takes_codes_of_rules_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
