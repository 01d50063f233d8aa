#include "script/run.h"

/// The contract of modules: declarations, units, needs, and names of before.

static const char head[] = "local rig = fid.rig { name = 'test', height = 1 }\n";

/// Runs `text` after a rig was made: its first line is line 3.
static void run_with(script_run *run, const char *text) {
    fid_text whole = {0};
    fid_text_add(&whole, head);
    fid_text_add(&whole, text);
    fid_text_add(&whole, "\nreturn rig\n");
    run_recipe(run, whole.at);
    fid_text_clear(&whole);
}

static void refuses_at(const char *text, const char *part, const char *file, int line) {
    script_run run;
    run_with(&run, text);
    run_failed_at(&run, part, 3, file, line);
    run_clear(&run);
}
#define refuses(text, part) refuses_at((text), (part), __FILE__, __LINE__)

/// Writes a module of that name; `more` are further keys of fid.module{}, `build` the body of its build.
static void put_module(const char *name, const char *version, const char *more, const char *build) {
    char path[64];
    fid_text text = {0};
    snprintf(path, sizeof path, "modules/%s/module.lua", name);
    fid_text_addf(&text,
                  "local fid = require 'fid'\n"
                  "return fid.module { name = '%s', version = '%s', summary = 's', %s\n"
                  "  build = function(rig, p) %s end }\n",
                  name, version, more, build);
    run_put(path, text.at);
    fid_text_clear(&text);
}

static void declarations_that_make_no_sense_are_refused(void **state) {
    (void)state;
    static const struct {
        const char *declaration, *message;
    } cases[] = {
        {"type = 'number', min = 2, max = 1", "has a min of 2, above its max of 1"},
        {"type = 'number', unit = 'cm'", "lengths are in m and angles in deg: write unit = \"m\""},
        {"type = 'number', unit = 'rad'", "write unit = \"deg\""},
        {"type = 'number', unit = 5", "needs a text as its unit"},
        {"type = 'number', flat = 2", "'x', a number has no key 'flat'"},
        {"type = 'boolean', min = 2", "'x', a boolean has no key 'min'"},
        {"type = 'choice', choices = { 'a', 'a' }", "has the choice 'a' twice"},
        {"type = 'choice', choices = { 1 }", "a list of texts"},
        {"type = 'choice', choices = { 'near', 'far' }, default = 'fur'", "did you mean 'far'"},
        {"type = 'number', optional = 1", "true or false as its optional"},
        {"type = 'list', of = { type = 'list', of = 'numbr' }",
         "'x' [i] [i] has no known type; did you mean 'number'?"},
        {"type = 'list', of = { type = 'number', min = 0 }, default = { 1, -1 }", "'x' [2] is -1"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char more[256];
        snprintf(more, sizeof more, "params = { x = { doc = 'd', %s } },", cases[i].declaration);
        put_module("odd", "1.0.0", more, "");
        refuses("rig:use('odd', { id = 'a' })", cases[i].message);
    }
}

static void lists_of_lists_are_read_to_their_depth(void **state) {
    (void)state;
    put_module("grid", "1.0.0",
               "params = { rows = { type = 'list', min = 1, doc = 'd', of = { type = 'list', of = { type = 'integer', "
               "max = 9 } } } },",
               "print(#p.rows, p.rows[2][1])");
    script_run run;
    run_with(&run, "rig:use('grid', { id = 'a', rows = { { 1, 2 }, { 3 } } })");
    run_ok(&run);
    assert_string_equal(run.printed.at, "2\t3\n");
    run_clear(&run);
    refuses("rig:use('grid', { id = 'a', rows = { { 1 }, { 2, 10 } } })",
            "'rows' [2] [2] is 10; it must be a number of at most 9");
    refuses("rig:use('grid', { id = 'a', rows = { { 1 }, 2 } })", "'rows' [2] must be a list, not a number");
    refuses("rig:use('grid', { id = 'a', rows = {} })", "has 0 elements");
}

/// Runs a recipe with parameters of its own; `params` are its declarations.
static void run_params(script_run *run, const char *params, const char *body, const fid_param *given, int32_t count) {
    fid_text text = {0};
    fid_text_addf(&text,
                  "local fid = require 'fid'\n"
                  "return fid.recipe { params = { %s }, build = function(p) %s\n"
                  "  return fid.rig { name = 'test', height = 1 } end }\n",
                  params, body);
    run_put("recipe.lua", text.at);
    fid_text_clear(&text);
    run_file(run, "recipe.lua", given, count);
}

static void numbers_in_text_may_have_a_unit_that_converts_exactly(void **state) {
    (void)state;
    static const char params[] = "size = { type = 'number', unit = 'm', doc = 'd', max = 10 }, "
                                 "turn = { type = 'range', unit = 'deg', doc = 'd', default = { 0, 1 } }, "
                                 "count = { type = 'integer', doc = 'd', default = 1 }";
    static const struct {
        const char *text, *shown;
    } good[] = {{"0.03", "0.03"},  {"3cm", "0.03"},   {" 3 cm ", "0.03"},
                {"30 mm", "0.03"}, {"3e1mm", "0.03"}, {"-2m", "-2.0"}};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        script_run run;
        const fid_param given[] = {{"size", good[i].text}};
        char body[128];
        // The same double as the number itself, not only near it.
        snprintf(body, sizeof body, "assert(p.size == %s, p.size)", good[i].shown);
        run_params(&run, params, body, given, 1);
        run_ok(&run);
        run_clear(&run);
    }
    static const struct {
        const char *name, *text, *message;
    } bad[] = {
        {"size", "90deg", "'size' is in m, and '90deg' is in deg; write the number in m, cm or mm"},
        {"size", "3 in", "'3 in' is in in; write the number in m, cm or mm"},
        {"size", "50 m", "is 50; it must be a number of at most 10 in m"},
        {"size", "cm", "must be a number"},
        {"size", "3 cm 2", "must be a number"},
        {"turn", "[\"1rad\", \"2deg\"]", "'turn' [1] is in deg, and '1rad' is in rad; write the number in deg"},
        {"count", "3m", "'count' is in no unit, and '3m' is in m; write the number alone"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        script_run run;
        const fid_param given[] = {{"size", "1"}, {bad[i].name, bad[i].text}};
        bool is_size = strcmp(bad[i].name, "size") == 0;
        run_params(&run, params, "", is_size ? given + 1 : given, is_size ? 1 : 2);
        run_failed(&run, bad[i].message, 0);
        run_clear(&run);
    }
    // In a recipe a number is a number.
    put_module("post", "1.0.0", "params = { size = { type = 'number', unit = 'm', doc = 'd' } },", "");
    refuses("rig:use('post', { id = 'a', size = '3 cm' })", "must be a number in m, not a text");
}

static void needs_that_do_not_fit_name_both_modules(void **state) {
    (void)state;
    put_module("post", "1.2.3", "", "");
    put_module("fence", "2.0.0", "needs = { 'post ^2.0' },", "rig:use('post', { id = 'p' })");
    refuses("rig:use('fence', { id = 'a' })",
            "fence 2.0.0 needs 'post ^2.0', and modules/post/module.lua is version 1.2.3");
    put_module("fence", "2.0.0", "needs = { 'pots ^1.0' },", "");
    refuses("rig:use('fence', { id = 'a' })", "fence 2.0.0 needs 'pots ^1.0': there is no module 'pots' (did you mean "
                                              "'post'?)");
    put_module("yard", "0.1.0", "needs = { 'fence ^2' },", "");
    put_module("fence", "2.0.0", "needs = { 'post 1.2.2' },", "");
    refuses("rig:use('yard', { id = 'a' })", "fence 2.0.0 needs 'post 1.2.2', and");
    // What was refused is refused again.
    refuses("pcall(rig.use, rig, 'yard', { id = 'a' }); rig:use('yard', { id = 'a' })", "needs 'post 1.2.2'");
    put_module("post", "1.2.3", "needs = { 'fence ^2' },", "");
    put_module("fence", "2.0.0", "needs = { 'post ^1.2' },", "");
    script_run run;
    run_with(&run, "rig:use('yard', { id = 'a' })");
    run_ok(&run);
    run_clear(&run);
}

static void module_uses_only_what_it_needs(void **state) {
    (void)state;
    put_module("post", "1.2.3", "", "");
    put_module("fence", "2.0.0", "", "rig:use('post', { id = 'p' })");
    script_run run;
    run_with(&run, "rig:use('fence', { id = 'a' })");
    run_failed(&run, "fence 2.0.0 uses 'post', which its 'needs' do not name", 3);
    assert_text_contains(run.report.findings.at[0].hint, "needs = {\"post\"}");
    assert_string_equal(run.report.findings.at[0].places[0].file, "modules/fence/module.lua");
    run_clear(&run);
    put_module("fence", "2.0.0", "needs = { 'post' },", "rig:use('post', { id = 'p' })");
    run_with(&run, "rig:use('fence', { id = 'a' }) rig:use('post', { id = 'b' })");
    run_ok(&run);
    run_clear(&run);
}

static void names_of_before_are_checked_where_they_are_declared(void **state) {
    (void)state;
    static const struct {
        const char *moved, *message;
    } cases[] = {
        {"parms = {}", "did you mean 'params'"},
        {"params = { old = 'sise' }", "'old' leads to 'sise', which is no parameter; did you mean 'size'?"},
        {"params = { size = 'size' }", "has moved itself"},
        {"params = { wide = 'size' }", "'wide' is still a parameter"},
        {"params = { a = 'b', b = 'size' }", "'a' leads to 'b', which has moved itself; name the newest"},
        {"params = 3", "must be a table of new names by old ones"},
        {"results = { hand = 'foot' }", "as in \"controls.foot\""},
        {"results = { ['control.hand'] = 'controls.foot' }", "'control.hand' is not a group and a name"},
        {"parts = { old_hand = 'foot' }", "'old_hand' is not the part of a bone"},
        {"sliders = { ['a.b'] = 'tilt' }", "'a.b' is not the name of a slider"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char more[256];
        snprintf(more, sizeof more,
                 "params = { size = { type = 'number', default = 1, doc = 'd' }, wide = { type = 'boolean', optional = "
                 "true, doc = 'd' } }, moved = { %s },",
                 cases[i].moved);
        put_module("odd", "1.0.0", more, "");
        refuses("rig:use('odd', { id = 'a' })", cases[i].message);
    }
}

static void parameter_is_read_by_its_name_of_before_with_a_warning(void **state) {
    (void)state;
    put_module(
        "post", "2.0.0",
        "params = { size = { type = 'number', doc = 'd' } }, moved = { params = { height = 'size', tall = 'size' "
        "} },",
        "print(p.size) rig:control { part = 'pole', at = { 0, p.size, 0 } }");
    script_run run;
    run_with(&run, "local a = rig:use('post', { id = 'a', side = 'left', height = 3 })\n"
                   "rig:mirror(a, { tall = 4 })\n"
                   "for i = 1, 2 do rig:use('post', { id = 'b' .. i, size = 5 }) end");
    assert_int_equal(run.code, FID_OK);
    assert_string_equal(run.printed.at, "3\n4\n5\n5\n");
    assert_int_equal(run.report.findings.count, 2);
    const fid_finding *first = &run.report.findings.at[0];
    assert_int_equal(first->severity, FID_WARNING);
    assert_string_equal(first->message, "a of post 2.0.0: the parameter 'height' is called 'size' now");
    assert_string_equal(first->hint, "write 'size' instead");
    assert_string_equal(first->places[0].file, "recipe.lua");
    assert_int_equal(first->places[0].line, 3);
    assert_int_equal(run.report.findings.at[1].places[0].line, 4);
    run_clear(&run);
    refuses("rig:use('post', { id = 'a', height = 3, size = 4 })", "'height' is the old name of 'size', and both are");
    run_with(&run, "rig:use('post', { id = 'a', height = 'x' })");
    assert_int_equal(run.report.count[FID_WARNING], 1);
    assert_int_equal(run.report.count[FID_ERROR], 1);
    assert_text_contains(run.report.findings.at[1].message, "'size' must be a number");
    run_clear(&run);
}

static void what_is_handed_out_is_found_by_its_name_of_before(void **state) {
    (void)state;
    put_module("post", "2.0.0",
               "moved = { results = { ['mounts.top'] = 'mounts.tip', ['controls.hand'] = 'mounts.tip' } },",
               "return { mounts = { tip = rig:control { part = 'pole', at = { 0, 0, 0 } } } }");
    script_run run;
    run_with(&run, "local a = rig:use('post', { id = 'a' })\n"
                   "for i = 1, 3 do assert(a.mounts.top.name == 'a_pole_control') end\n"
                   "assert(a.controls.hand.name == 'a_pole_control')\n"
                   "for name in pairs(a.mounts) do print(name) end");
    assert_int_equal(run.code, FID_OK);
    assert_string_equal(run.printed.at, "tip\n");
    assert_int_equal(run.report.findings.count, 2);
    assert_string_equal(run.report.findings.at[0].message, "a of post 2.0.0: 'mounts.top' is 'mounts.tip' now");
    assert_string_equal(run.report.findings.at[0].hint, "write '.mounts.tip' instead");
    run_clear(&run);
    refuses("local a = rig:use('post', { id = 'a' }); print(a.mounts.pot)", "has no 'pot'");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(declarations_that_make_no_sense_are_refused),
        cmocka_unit_test(lists_of_lists_are_read_to_their_depth),
        cmocka_unit_test(numbers_in_text_may_have_a_unit_that_converts_exactly),
        cmocka_unit_test(needs_that_do_not_fit_name_both_modules),
        cmocka_unit_test(module_uses_only_what_it_needs),
        cmocka_unit_test(names_of_before_are_checked_where_they_are_declared),
        cmocka_unit_test(parameter_is_read_by_its_name_of_before_with_a_warning),
        cmocka_unit_test(what_is_handed_out_is_found_by_its_name_of_before),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
