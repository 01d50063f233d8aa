#include "script/run.h"
#include "support/memory_fail.h"
#include "support/rig.h"

static void recipe_gives_its_rig(void **state) {
    (void)state;
    script_run run;
    run_recipe(&run, "print('building', 1)\n"
                     "local rig = fid.rig { name = 'test', height = 2 }\n"
                     "rig:control { part = 'root', at = { 0, 0, 0 } }\n"
                     "return rig");
    run_ok(&run);
    assert_string_equal(run.rig->name, "test");
    assert_int_equal(run.rig->bones.count, 1);
    assert_near(run.rig->height, 2, 0);
    assert_string_equal(run.printed.at, "building\t1\n");
    run_clear(&run);
}

static void recipe_that_gives_no_rig_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *text, *message;
    } cases[] = {
        {"", "the recipe returns nothing; it must return a rig or fid.recipe{}"},
        {"return 3", "returns a number"},
        {"return {}", "returns a table"},
        {"return fid.recipe", "returns a function"},
        {"return fid.recipe { build = function() return 'rig' end }", "the recipe's build returns a text"},
        {"return fid.recipe { params = {} }", "needs 'build', a function"},
        {"return fid.recipe { biuld = print }", "did you mean 'build'"},
        {"return fid.recipe { build = print, params = 3 }", "'params' must be a table"},
        {"return fid.module { name = 'm', version = '1.0.0', summary = 's', build = print }", "returns a table"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        script_run run;
        run_recipe(&run, cases[i].text);
        run_failed(&run, cases[i].message, 0);
        assert_string_equal(run.report.findings.at[0].places[0].file, "recipe.lua");
        run_clear(&run);
    }
}

static const char varied[] =
    "local fid = require 'fid'\n"
    "return fid.recipe {\n"
    "  params = {\n"
    "    height = { type = 'number', default = 1, min = 0.5, max = 4, unit = 'm', doc = 'height' },\n"
    "    legs = { type = 'integer', default = 2, min = 1, doc = 'legs' },\n"
    "    name = { type = 'string', default = 'test', doc = 'name' },\n"
    "    kind = { type = 'choice', choices = { 'young', 'old' }, default = 'old', doc = 'kind' },\n"
    "    at = { type = 'point', default = { 0, 1, 0 }, doc = 'place' },\n"
    "    tail = { type = 'boolean', default = false, doc = 'tail' },\n"
    "    way = { type = 'points', optional = true, doc = 'way' },\n"
    "    bone = { type = 'bone', optional = true, doc = 'bone' },\n"
    "  },\n"
    "  build = function(p)\n"
    "    print(p.height, p.legs, p.name, p.kind, p.at, p.tail, p.way and #p.way)\n"
    "    return fid.rig { name = p.name, height = p.height }\n"
    "  end,\n"
    "}\n";

static void parameters_are_read_by_their_type(void **state) {
    (void)state;
    static const fid_param params[] = {{"height", "2.5"},
                                       {"legs", "3"},
                                       {"name", "tall"},
                                       {"kind", "young"},
                                       {"at", "[1, 2, 3]"},
                                       {"tail", "true"},
                                       {"way", "[[0, 0, 0], [1, 0, 0]]"}};
    script_run run;
    run_put("varied.lua", varied);
    run_file(&run, "varied.lua", NULL, 0);
    run_ok(&run);
    assert_string_equal(run.printed.at, "1\t2\ttest\told\t(0, 1, 0)\tfalse\tnil\n");
    run_clear(&run);
    run_file(&run, "varied.lua", params, (int32_t)(sizeof params / sizeof params[0]));
    run_ok(&run);
    assert_string_equal(run.printed.at, "2.5\t3\ttall\tyoung\t(1, 2, 3)\ttrue\t2\n");
    assert_string_equal(run.rig->name, "tall");
    run_clear(&run);
}

static void wrong_parameters_are_refused(void **state) {
    (void)state;
    static const struct {
        fid_param param;
        const char *message;
    } cases[] = {
        {{"hieght", "1"}, "the recipe has no parameter 'hieght'; did you mean 'height'"},
        {{"height", "9"}, "'height' is 9; it must be a number from 0.5 to 4 in m"},
        {{"height", "tall"}, ""},
        {{"height", "\"2\""}, "'height' must be a number from 0.5 to 4 in m, not a text"},
        {{"height", ""}, ""},
        {{"legs", "1.5"}, "a whole number of 1 or more"},
        {{"kind", "oldd"}, "did you mean 'old'"},
        {{"tail", "1"}, "true or false"},
        {{"at", "[1, 2]"}, "'at'"},
        {{"way", "[[1, 2, 3], 4]"}, "'way' [2]"},
        {{"bone", "\"root\""}, "'bone' must be a bone, not a text"},
    };
    run_put("varied.lua", varied);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        script_run run;
        run_file(&run, "varied.lua", &cases[i].param, 1);
        run_failed(&run, cases[i].message, 0);
        run_clear(&run);
    }
    static const fid_param twice[] = {{"legs", "1"}, {"legs", "2"}};
    script_run run;
    run_file(&run, "varied.lua", twice, 2);
    run_failed(&run, "given twice", 0);
    run_clear(&run);
    run_put("plain.lua", "return require('fid').rig { name = 'test', height = 1 }\n");
    run_file(&run, "plain.lua", twice, 1);
    run_failed(&run, "takes no parameters", 0);
    run_clear(&run);
}

static void missing_recipe_is_an_error_of_reading(void **state) {
    (void)state;
    script_run run;
    run_file(&run, "nowhere.lua", NULL, 0);
    assert_int_equal(run.code, FID_IO);
    run_failed(&run, "nowhere.lua", 0);
    run_clear(&run);
}

static void modules_are_found_along_the_path(void **state) {
    (void)state;
    run_put("far/modules/dot/module.lua",
            "local fid = require 'fid'\n"
            "return fid.module { name = 'dot', version = '1.0.0', summary = 's',\n"
            "  build = function(rig) rig:control { part = 'dot', at = { 0, 0, 0 } } end }\n");
    run_put("recipe.lua", "local rig = require('fid').rig { name = 'test', height = 1 }\n"
                          "rig:use('dot', { id = 'a' })\nreturn rig\n");
    script_run run;
    run_file(&run, "recipe.lua", NULL, 0);
    run_failed(&run, "dot", 2);
    run_clear(&run);
    memset(&run, 0, sizeof run);
    fid_recipe_options options = {.module_path = "nothing:far"};
    run.code = fid_recipe_build("recipe.lua", &options, &run.rig, &run.report);
    run_ok(&run);
    assert_int_equal(run.rig->bones.count, 1);
    run_clear(&run);
}

static void limits_reach_the_scripts(void **state) {
    (void)state;
    fid_recipe_options options = {.limits = {.max_instructions = 100000}};
    fid_rig *rig;
    fid_report report = {0};
    run_put("recipe.lua", "pcall(function() while true do end end)\n"
                          "return require('fid').rig { name = 'test', height = 1 }\n");
    assert_int_equal(fid_recipe_build("recipe.lua", &options, &rig, &report), FID_LIMIT);
    assert_null(rig);
    assert_int_equal(report.findings.count, 1);
    fid_report_clear(&report);
    options.limits.max_instructions = 1;
    assert_int_equal(fid_recipe_build("recipe.lua", &options, &rig, &report), FID_RANGE);
    assert_null(rig);
    assert_int_equal(report.findings.count, 1);
    fid_report_clear(&report);
}

/// The path of a file of the source tree.
static void find_source(const char *path, char out[1024]) {
    const char *top = getenv("FID_SOURCE");
    assert_non_null(top);
    assert_true(snprintf(out, 1024, "%s/%s", top, path) < 1024);
}

static void hobrundle_compiles_without_a_finding_and_rests(void **state) {
    (void)state;
    char path[1024];
    script_run run;
    find_source("recipes/hobrundle.lua", path);
    run_file(&run, path, NULL, 0);
    run_ok(&run);
    fid_report report = {0};
    fid_program *program = NULL;
    fid_error err;
    assert_int_equal(fid_program_compile(run.rig, &report, &program, &err), FID_OK);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    fid_program_free(program);
    solved of = rig_compile(run.rig);
    int32_t sides[3] = {0};
    for (int32_t i = 0; i < run.rig->bones.count; i++) {
        const fid_bone *bone = &run.rig->bones.at[i];
        assert_frame_near(of.pose->frames[i], bone->rest, 1e-5 * (double)run.rig->height, 0.01);
        sides[bone->def.side]++;
    }
    assert_true(sides[FID_LEFT] > 0);
    assert_int_equal(sides[FID_LEFT], sides[FID_RIGHT]);
    fid_pose_free(of.pose);
    fid_program_free(of.program);
    run_clear(&run);
}

static void same_recipe_gives_the_same_rig(void **state) {
    (void)state;
    char path[1024];
    script_run a, b;
    find_source("recipes/hobrundle.lua", path);
    run_file(&a, path, NULL, 0);
    run_file(&b, path, NULL, 0);
    run_ok(&a);
    run_ok(&b);
    assert_int_equal(a.rig->bones.count, b.rig->bones.count);
    for (int32_t i = 0; i < a.rig->bones.count; i++) {
        assert_string_equal(a.rig->bones.at[i].name, b.rig->bones.at[i].name);
        assert_memory_equal(&a.rig->bones.at[i].rest, &b.rig->bones.at[i].rest, sizeof(fid_frame));
    }
    run_clear(&a);
    run_clear(&b);
}

static void lack_of_memory_leaves_nothing_behind(void **state) {
    (void)state;
    run_put("memory.lua", "local fid = require 'fid'\n"
                          "local data = fid.data('memory.json')\n"
                          "local rig = fid.rig { name = 'test', height = 1 }\n"
                          "local leg = rig:use('stretch_leg', { id = 'leg', side = 'left', guides = data })\n"
                          "rig:mirror(leg)\n"
                          "return rig\n");
    run_put("memory.json", "[[0.2, 1, 0], [0.2, 0.5, 0.3], [0.2, 0, 0]]");
    fid_recipe_options options = {0};
    memory_fail memory;
    long all = 0;
    // Every so many allocations one fails, alone or with all that follow. Lua tries again after it has collected, so
    // that one alone need not be felt.
    for (long at = 0; at == 0 || at < all; at += 1 + all / 150) {
        for (int onward = 0; onward <= 1; onward++) {
            fid_rig *rig;
            fid_report report = {0};
            memory_fail_begin(&memory, at);
            memory.onward = onward != 0;
            fid_code code = fid_recipe_build("memory.lua", &options, &rig, &report);
            fid_rig_free(rig);
            fid_report_clear(&report);
            memory_fail_end();
            if (at == 0) {
                all = memory.asked;
                assert_int_equal(code, FID_OK);
            }
            if (memory.live != 0 || (code != FID_OK && code != FID_NO_MEMORY) ||
                (code == FID_OK && onward != 0 && at != 0) || (code == FID_OK) != (rig != NULL)) {
                print_error("allocation %ld%s: code %d, %ld blocks left\n", at, onward ? " and onward" : "", (int)code,
                            memory.live);
                fail();
            }
        }
    }
    assert_true(all > 1000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(recipe_gives_its_rig),
        cmocka_unit_test(recipe_that_gives_no_rig_is_refused),
        cmocka_unit_test(parameters_are_read_by_their_type),
        cmocka_unit_test(wrong_parameters_are_refused),
        cmocka_unit_test(missing_recipe_is_an_error_of_reading),
        cmocka_unit_test(modules_are_found_along_the_path),
        cmocka_unit_test(limits_reach_the_scripts),
        cmocka_unit_test(hobrundle_compiles_without_a_finding_and_rests),
        cmocka_unit_test(same_recipe_gives_the_same_rig),
        cmocka_unit_test(lack_of_memory_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
