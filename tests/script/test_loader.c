#include "support/assert.h"
#include "support/memory_fail.h"

#include "script/embedded.h"
#include "script/host.h"
#include "script/loader.h"
#include "script/path.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// These files take the place of the program's own, so that what is embedded is known here.
#define EMBEDDED(path, text) \
    { path, (const unsigned char *)text, sizeof text - 1 }
const struct fid_embedded fid_embedded_files[] = {
    EMBEDDED("lua/broken.lua", "local x = nil\nreturn x.y\n"),
    EMBEDDED("lua/double.lua", "return function(a) return core.twice(a) end\n"),
    EMBEDDED("lua/points.lua", "local known = pcall(function() return count end)\ncount = (known and count or 0) + "
                               "1\nlocal double = require 'double'\n"
                               "return { count = count, four = double(2), core = core }\n"),
    EMBEDDED("modules/feeler/module.lua", "return { name = 'feeler', part = require 'parts.tip' }\n"),
    EMBEDDED("modules/feeler/parts/tip.lua", "return { tip = pcall(require, 'parts.nothing') }\n"),
    EMBEDDED("modules/wing/module.lua", "return { name = 'wing of the program' }\n"),
    {NULL, NULL, 0},
};
const size_t fid_embedded_count = 6;

static void write_bytes(const char *path, const char *bytes, size_t count) {
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, count, file), count);
    assert_int_equal(fclose(file), 0);
}

static void write_file(const char *path, const char *text) { write_bytes(path, text, strlen(text)); }

/// A tree of files below the working folder: a recipe in `marsh/rigs`, modules at three heights.
static int make_tree(void **state) {
    (void)state;
    static const char *const folders[] = {"marsh",
                                          "marsh/modules",
                                          "marsh/modules/leg",
                                          "marsh/modules/wing",
                                          "marsh/rigs",
                                          "marsh/rigs/modules",
                                          "marsh/rigs/modules/leg",
                                          "marsh/rigs/modules/tail",
                                          "marsh/rigs/modules/tail/parts",
                                          "marsh/rigs/shared",
                                          "marsh/rigs/shared/folder.lua",
                                          "marsh/more",
                                          "marsh/more/gill",
                                          "marsh/more/modules",
                                          "marsh/more/modules/eye"};
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        mkdir(folders[i], 0777);
    }
    write_file("marsh/secret.lua", "return 'secret'\n");
    write_file("marsh/modules/leg/module.lua", "return { name = 'far leg' }\n");
    write_file("marsh/modules/wing/module.lua", "return { name = 'wing' }\n");
    write_file("marsh/rigs/modules/leg/module.lua", "local known = pcall(function() return runs end)\nruns = (known "
                                                    "and runs or 0) + 1\nreturn { name = 'near leg', runs = runs }\n");
    write_file("marsh/rigs/modules/tail/module.lua",
               "seen = 'tail'\nreturn { name = 'tail', bend = require 'parts.bend' }\n");
    write_file("marsh/rigs/modules/tail/parts/bend.lua",
               "return { seen = pcall(function() return seen end), up = pcall(require, 'shared.sizes') }\n");
    write_file("marsh/rigs/shared/sizes.lua", "size = 3\nreturn { size = size }\n");
    write_file("marsh/rigs/shared/nothing.lua", "local a = 1\n");
    write_file("marsh/rigs/shared/a.lua", "return require 'shared.b'\n");
    write_file("marsh/rigs/shared/b.lua", "return require 'shared.a'\n");
    write_file("marsh/rigs/shared/fails.lua", "\nerror('not now')\n");
    write_file("marsh/rigs/shared/syntax.lua", "local a\n= = 3\n");
    write_file("marsh/more/gill/module.lua", "return { name = 'gill' }\n");
    write_file("marsh/more/modules/eye/module.lua", "return { name = 'eye' }\n");
    unlink("marsh/rigs/shared/link.lua");
    assert_int_equal(symlink("../../secret.lua", "marsh/rigs/shared/link.lua"), 0);
    return 0;
}

/// find(name): what a binding does with the name of a module.
static int find(lua_State *L) {
    fid_loader_find_module(L, luaL_checkstring(L, 1));
    lua_pushstring(L, fid_loader_module_source(L, luaL_checkstring(L, 1)));
    return 2;
}

static int own(lua_State *L) {
    fid_loader_run_own(L, luaL_checkstring(L, 1));
    return 1;
}

static int twice(lua_State *L) {
    lua_pushnumber(L, 2.0 * luaL_checknumber(L, 1));
    return 1;
}

/// Runs the recipe, which finds these functions in `require "fid"`.
static int run_recipe(lua_State *L) {
    fid_loader_push_core(L);
    lua_pushcfunction(L, twice);
    lua_setfield(L, -2, "twice");
    lua_createtable(L, 0, 2);
    lua_pushcfunction(L, find);
    lua_setfield(L, -2, "find");
    lua_pushcfunction(L, own);
    lua_setfield(L, -2, "own");
    fid_loader_set_fid(L);
    fid_loader_run_recipe(L);
    return 0;
}

static fid_code run_bytes(const char *path, const char *bytes, size_t count, const char *folders, fid_report *report) {
    fid_host *host = NULL;
    write_bytes(path, bytes, count);
    assert_int_equal(fid_host_open(NULL, path, &host, NULL), FID_OK);
    assert_int_equal(fid_loader_set_path(host, folders, NULL), FID_OK);
    fid_code code = fid_host_run(host, run_recipe, NULL, report);
    assert_int_equal(lua_gettop(fid_host_state(host)), 0);
    fid_host_close(host);
    return code;
}

static void assert_runs(const char *text) {
    fid_report report = {0};
    fid_code code = run_bytes("marsh/rigs/recipe.lua", text, strlen(text), "", &report);
    if (code != FID_OK) {
        print_error("%s:%d: %s\n", report.findings.at[0].places[0].file, (int)report.findings.at[0].places[0].line,
                    report.findings.at[0].message);
    }
    assert_int_equal(code, FID_OK);
    fid_report_clear(&report);
}

static void assert_fails(const char *text, fid_code code, const char *part, const char *file, int line) {
    fid_report report = {0};
    assert_int_equal(run_bytes("marsh/rigs/recipe.lua", text, strlen(text), NULL, &report), code);
    assert_text_contains(report.findings.at[0].message, part);
    assert_true(report.findings.at[0].place_count >= 1);
    assert_string_equal(report.findings.at[0].places[0].file, file);
    assert_int_equal(report.findings.at[0].places[0].line, line);
    fid_report_clear(&report);
}

static void a_recipe_requires_files_below_its_folder_once(void **state) {
    (void)state;
    assert_runs("local a, b = require 'shared.sizes', require 'shared.sizes'\n"
                "assert(a == b and a.size == 3 and not pcall(function() return size end))\n"
                "assert(require 'shared.nothing' == true)");
}

static void nothing_outside_of_the_folder_is_read(void **state) {
    (void)state;
    assert_fails("require 'shared.link'", FID_IO, "cannot read the file", "marsh/rigs/recipe.lua", 1);
    assert_fails("require '..secret'", FID_INVALID, "require takes", "marsh/rigs/recipe.lua", 1);
    assert_fails("\nrequire 'secret'", FID_UNKNOWN, "there is no file 'marsh/rigs/secret.lua'", "marsh/rigs/recipe.lua",
                 2);
    assert_fails("require 'shared.folder'", FID_IO, "it is a folder, not a file", "marsh/rigs/recipe.lua", 1);
}

static void a_circle_of_files_is_an_error(void **state) {
    (void)state;
    assert_fails("require 'shared.a'", FID_INVALID, "'marsh/rigs/shared/a.lua' requires itself",
                 "marsh/rigs/shared/b.lua", 1);
}

static void a_file_that_fails_can_be_tried_again(void **state) {
    (void)state;
    assert_fails("assert(not pcall(require, 'shared.fails'))\nrequire 'shared.fails'", FID_INVALID, "not now",
                 "marsh/rigs/shared/fails.lua", 2);
}

static void a_syntax_error_names_its_file_then_who_asked(void **state) {
    (void)state;
    fid_report report = {0};
    const char *text = "\nrequire 'shared.syntax'";
    assert_int_equal(run_bytes("marsh/rigs/recipe.lua", text, strlen(text), NULL, &report), FID_SYNTAX);
    const fid_finding *finding = &report.findings.at[0];
    assert_string_equal(finding->message, "unexpected symbol near '='");
    assert_int_equal(finding->place_count, 2);
    assert_string_equal(finding->places[0].file, "marsh/rigs/shared/syntax.lua");
    assert_int_equal(finding->places[0].line, 2);
    assert_string_equal(finding->places[1].file, "marsh/rigs/recipe.lua");
    assert_int_equal(finding->places[1].line, 2);
    fid_report_clear(&report);
}

static void modules_are_found_from_the_nearest_folder_on(void **state) {
    (void)state;
    assert_runs("local find = require 'fid'.find\n"
                "local leg, path = find 'leg'\n"
                "assert(leg.name == 'near leg' and path == 'marsh/rigs/modules/leg/module.lua')\n"
                "assert(find 'leg' == leg and leg.runs == 1)\n"
                "local wing, path = find 'wing'\n"
                "assert(wing.name == 'wing' and path == 'marsh/modules/wing/module.lua')");
}

static void a_module_sees_its_own_folder_and_globals_alone(void **state) {
    (void)state;
    assert_runs("seen = 'recipe'\n"
                "local tail = require 'fid'.find 'tail'\n"
                "assert(tail.bend.seen == false and tail.bend.up == false and seen == 'recipe')");
}

static void embedded_modules_come_last(void **state) {
    (void)state;
    assert_runs("local feeler, path = require 'fid'.find 'feeler'\n"
                "assert(feeler.name == 'feeler' and feeler.part.tip == false)\n"
                "assert(path == 'fid:modules/feeler/module.lua')");
}

static void more_folders_are_searched_in_order(void **state) {
    (void)state;
    fid_report report = {0};
    const char *text = "local find = require 'fid'.find\n"
                       "local gill, from = find 'gill'\n"
                       "assert(gill.name == 'gill' and from == 'marsh/more/gill/module.lua')\n"
                       "local eye, from = find 'eye'\n"
                       "assert(eye.name == 'eye' and from == 'marsh/more/modules/eye/module.lua')";
    assert_int_equal(run_bytes("marsh/rigs/recipe.lua", text, strlen(text), "::marsh/nothing:marsh/./more/:", &report),
                     FID_OK);
    fid_report_clear(&report);
}

static void an_unknown_module_gets_the_nearest_name(void **state) {
    (void)state;
    assert_fails("\nrequire 'fid'.find 'feler'", FID_UNKNOWN,
                 "there is no module 'feler' (did you mean 'feeler'?); looked in modules/ of the folder 'marsh/rigs'",
                 "marsh/rigs/recipe.lua", 2);
    assert_fails("require 'fid'.find 'tial'", FID_UNKNOWN, "(did you mean 'tail'?)", "marsh/rigs/recipe.lua", 1);
    assert_fails("require 'fid'.find 'zzzzzzzzzz'", FID_UNKNOWN, "there is no module 'zzzzzzzzzz'; looked",
                 "marsh/rigs/recipe.lua", 1);
}

static void names_that_are_no_names_of_modules_are_refused(void **state) {
    (void)state;
    assert_runs("local find = require 'fid'.find\n"
                "for _, name in ipairs { '', '.', '..', '../leg', '/leg', 'Leg', '1leg', 'leg ', 'leg/module', "
                "('l'):rep(65) } do\n"
                "    local ok, problem = pcall(find, name)\n"
                "    assert(not ok and problem.kind == 'invalid', name)\n"
                "end");
}

static void only_utf8_text_is_read(void **state) {
    (void)state;
    static const struct {
        const char *bytes;
        size_t count;
        const char *part;
    } cases[] = {
        {"\033Lua\x54\x00\x19\x93\r\n\x1a\n", 12, "is a compiled chunk; only Lua text is read"},
        {"\033", 1, "is a compiled chunk; only Lua text is read"},
        {"return '\xff'", 10, "is not UTF-8 text"},
        {"\xef\xbb\xbf\033Lua", 7, "is a compiled chunk; only Lua text is read"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_report report = {0};
        assert_int_equal(run_bytes("marsh/rigs/odd.lua", cases[i].bytes, cases[i].count, NULL, &report), FID_SYNTAX);
        assert_text_contains(report.findings.at[0].message, cases[i].part);
        assert_string_equal(report.findings.at[0].places[0].file, "marsh/rigs/odd.lua");
        fid_report_clear(&report);
    }
}

static void a_mark_and_a_first_line_for_the_shell_are_passed_over(void **state) {
    (void)state;
    assert_runs("\xef\xbb\xbfreturn 1");
    assert_runs("#!/usr/bin/fid\nreturn 1");
    assert_runs("");
    assert_runs("#");
    assert_fails("\xef\xbb\xbf#!/usr/bin/fid\nerror('here')", FID_INVALID, "here", "marsh/rigs/recipe.lua", 2);
}

static void too_long_a_file_is_refused(void **state) {
    (void)state;
    static char text[FID_LIMIT_SOURCE + 2];
    memset(text, ' ', sizeof text);
    fid_report report = {0};
    assert_int_equal(run_bytes("marsh/rigs/long.lua", text, sizeof text - 1, NULL, &report), FID_LIMIT);
    assert_text_contains(report.findings.at[0].message, "too large");
    fid_report_clear(&report);
    unlink("marsh/rigs/long.lua");
}

static void a_missing_recipe_is_a_finding_with_its_path(void **state) {
    (void)state;
    fid_host *host = NULL;
    fid_report report = {0};
    assert_int_equal(fid_host_open(NULL, "marsh/nowhere.lua", &host, NULL), FID_OK);
    assert_int_equal(fid_host_run(host, run_recipe, NULL, &report), FID_IO);
    assert_string_equal(report.findings.at[0].places[0].file, "marsh/nowhere.lua");
    fid_report_clear(&report);
    fid_host_close(host);
}

static void the_own_library_has_an_environment_of_its_own(void **state) {
    (void)state;
    assert_runs("local fid = require 'fid'\n"
                "local points = fid.own 'points'\n"
                "assert(points == fid.own 'points' and points.count == 1 and points.four == 4)\n"
                "assert(points.core.twice(4) == 8 and not pcall(function() return core end) and not pcall(function() "
                "return count end))");
    assert_fails("require 'fid'.own 'nothing'", FID_UNKNOWN, "the program has no library file 'nothing'",
                 "marsh/rigs/recipe.lua", 1);
    // Errors in it are laid at the line that led there.
    assert_fails("\n\nrequire 'fid'.own 'broken'", FID_INVALID, "attempt to index a nil value (local 'x')",
                 "marsh/rigs/recipe.lua", 3);
}

static int load_form(lua_State *L) {
    const char *text = lua_touserdata(L, 1);
    fid_loader_push_session(L);
    fid_loader_load_text(L, text, strlen(text), "session");
    lua_call(L, 0, 0);
    return 0;
}

static fid_code run_form(fid_host *host, char *text, fid_report *report) {
    return fid_host_run(host, load_form, text, report);
}

static void a_session_keeps_its_globals(void **state) {
    (void)state;
    fid_host *host = NULL;
    fid_report report = {0};
    char first[] = "width = 4";
    char second[] = "assert(width == 4)";
    char third[] = "width = = 4";
    assert_int_equal(fid_host_open(NULL, NULL, &host, NULL), FID_OK);
    assert_int_equal(run_form(host, first, &report), FID_OK);
    assert_int_equal(run_form(host, second, &report), FID_OK);
    assert_int_equal(run_form(host, third, &report), FID_SYNTAX);
    assert_string_equal(report.findings.at[0].places[0].file, "session");
    fid_report_clear(&report);
    fid_host_close(host);
}

static void paths_are_normalized_by_their_text(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"", "."},       {".", "."},       {"./a", "a"},           {"a/./b//c/", "a/b/c"}, {"a/../b", "b"},
        {"a/..", "."},   {"../a", "../a"}, {"../../a", "../../a"}, {"a/../../b", "../b"},  {"/a/..", "/"},
        {"/../a", "/a"}, {"/", "/"},       {"a/b/../../..", ".."}, {"../a/..", ".."},      {"..a/b..", "..a/b.."},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_file_path path;
        snprintf(path.at, sizeof path.at, "%s", cases[i][0]);
        fid_path_normalize(&path);
        assert_string_equal(path.at, cases[i][1]);
    }
}

static void folders_above_end_at_the_top(void **state) {
    (void)state;
    fid_file_path path = {"/a/b"};
    assert_int_equal(fid_path_count_above(path.at), 2);
    assert_true(fid_path_step_up(&path));
    assert_string_equal(path.at, "/a");
    assert_true(fid_path_step_up(&path));
    assert_string_equal(path.at, "/");
    assert_false(fid_path_step_up(&path));
    fid_file_path relative = {"a"};
    assert_int_equal(fid_path_count_above("a"), fid_path_count_above(".") + 1);
    assert_true(fid_path_step_up(&relative));
    assert_string_equal(relative.at, ".");
    assert_true(fid_path_step_up(&relative));
    assert_string_equal(relative.at, "..");
    assert_true(fid_path_step_up(&relative));
    assert_string_equal(relative.at, "../..");
}

static void failed_allocations_are_errors_and_leave_nothing(void **state) {
    (void)state;
    write_file("marsh/rigs/recipe.lua", "local fid = require 'fid'\n"
                                        "local a, b = fid.find 'tail', fid.own 'points'\n"
                                        "pcall(fid.find, 'tial')\n"
                                        "assert(not pcall(require, 'shared.syntax'))\n");
    for (int onward = 0; onward < 2; onward++) {
        bool has_failed = true;
        fid_code code = FID_OK;
        for (long fail_at = 1; has_failed; fail_at++) {
            memory_fail memory;
            memory_fail_begin(&memory, fail_at);
            memory.onward = onward != 0;
            fid_host *host = NULL;
            fid_report report = {0};
            code = fid_host_open(NULL, "marsh/rigs/recipe.lua", &host, NULL);
            if (code == FID_OK) {
                code = fid_host_run(host, run_recipe, NULL, &report);
            }
            fid_report_clear(&report);
            fid_host_close(host);
            memory_fail_end();
            has_failed = memory.asked >= fail_at;
            if ((code != FID_OK && code != FID_NO_MEMORY) || memory.live != 0) {
                print_error("allocation %ld%s: code %d, %ld left\n", fail_at, onward ? " and onward" : "", (int)code,
                            memory.live);
                fail();
            }
        }
        assert_int_equal(code, FID_OK);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_recipe_requires_files_below_its_folder_once),
        cmocka_unit_test(nothing_outside_of_the_folder_is_read),
        cmocka_unit_test(a_circle_of_files_is_an_error),
        cmocka_unit_test(a_file_that_fails_can_be_tried_again),
        cmocka_unit_test(a_syntax_error_names_its_file_then_who_asked),
        cmocka_unit_test(modules_are_found_from_the_nearest_folder_on),
        cmocka_unit_test(a_module_sees_its_own_folder_and_globals_alone),
        cmocka_unit_test(embedded_modules_come_last),
        cmocka_unit_test(more_folders_are_searched_in_order),
        cmocka_unit_test(an_unknown_module_gets_the_nearest_name),
        cmocka_unit_test(names_that_are_no_names_of_modules_are_refused),
        cmocka_unit_test(only_utf8_text_is_read),
        cmocka_unit_test(a_mark_and_a_first_line_for_the_shell_are_passed_over),
        cmocka_unit_test(too_long_a_file_is_refused),
        cmocka_unit_test(a_missing_recipe_is_a_finding_with_its_path),
        cmocka_unit_test(the_own_library_has_an_environment_of_its_own),
        cmocka_unit_test(a_session_keeps_its_globals),
        cmocka_unit_test(paths_are_normalized_by_their_text),
        cmocka_unit_test(folders_above_end_at_the_top),
        cmocka_unit_test(failed_allocations_are_errors_and_leave_nothing),
    };
    return cmocka_run_group_tests(tests, make_tree, NULL);
}
