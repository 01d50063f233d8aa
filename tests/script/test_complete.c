#include "script/run.h"

#include "script/session.h"

#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>

/// How a half-typed form goes on.

enum { MOST_ANSWER = 1 << 16 };

static char recipe[1024];
static fid_session *session;

static void open_recipe(const char *file) {
    const fid_recipe_options options = {0};
    fid_report report = {0};
    snprintf(recipe, sizeof recipe, "%s/recipes/%s", getenv("FID_SOURCE"), file);
    assert_int_equal(fid_session_open(recipe, &options, NULL, &session, &report), FID_OK);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
}

static int leave(void **state) {
    (void)state;
    fid_session_close(session);
    session = NULL;
    return 0;
}

static void run_one(const char *form) {
    fid_report report = {0};
    fid_session_wish wish;
    fid_code code = fid_session_run(session, form, &wish, &report);
    if (code != FID_OK) {
        print_error("%s\n", report.findings.count > 0 ? report.findings.at[0].message : form);
    }
    assert_int_equal(code, FID_OK);
    fid_report_clear(&report);
}

/// What completion answers; never an error.
static const char *answer(const char *text) {
    static char kept[MOST_ANSWER];
    fid_text out = {0};
    fid_report report = {0};
    fid_code code = fid_session_complete(session, text, &out, &report);
    if (code != FID_OK || report.findings.count > 0) {
        print_error("for '%s': %s\n", text, report.findings.count > 0 ? report.findings.at[0].message : "failed");
    }
    assert_int_equal(code, FID_OK);
    assert_int_equal(report.findings.count, 0);
    snprintf(kept, sizeof kept, "\n%s", out.at ? out.at : "");
    fid_text_clear(&out);
    fid_report_clear(&report);
    return kept;
}

/// `text` goes on with exactly these: "12: a b(" tells the bytes typed, then the words with what follows them.
static void goes_on(const char *text, const char *expected) {
    char flat[MOST_ANSWER] = "";
    const char *told = answer(text);
    for (size_t i = 0; told[i]; i++) {
        size_t used = strlen(flat);
        bool is_end = told[i] == '\n';
        if (told[i] != '\t' && (!is_end || (used > 0 && told[i + 1]))) {
            snprintf(flat + used, sizeof flat - used, is_end ? "|" : "%c", told[i]);
        }
    }
    if (strcmp(flat, expected) != 0) {
        print_error("for '%s'\n", text);
    }
    assert_string_equal(flat, expected);
}

static void offers(const char *text, const char *word) {
    char line[256];
    snprintf(line, sizeof line, "\n%s", word);
    if (!strstr(answer(text), line)) {
        print_error("'%s' does not offer %s but%s\n", text, word, answer(text));
        fail();
    }
}

static void does_not_offer(const char *text, const char *word) {
    char line[256];
    snprintf(line, sizeof line, "\n%s\t", word);
    if (strstr(answer(text), line)) {
        print_error("'%s' offers %s\n", text, word);
        fail();
    }
}

static void globals_and_words_of_the_session(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    goes_on("sol", "3|solve(");
    goes_on("1 + mat", "3|math");
    goes_on("whi", "3|while");
    run_one("marsh_lamp = 3");
    goes_on("print(marsh", "5|marsh_lamp");
    goes_on("local lantern = 3\nprint(lan", "3|lantern");
    goes_on("nothing_of_this_name", "");
    goes_on("x = 'sol", "");
    goes_on("x = 3 -- sol", "");
    goes_on("x = [[ sol", "");
    goes_on("12so", "");
}

static void members_of_what_the_value_is(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    goes_on("rig:foll", "4|follow { ");
    goes_on("rig:swi", "3|switch(");
    goes_on("rig.hei", "3|height");
    goes_on("fid.points.re", "2|resample(");
    goes_on("fid.outline.ci", "2|circle { ");
    goes_on("math.flo", "3|floor(");
    run_one("bone = rig:bones{}[9]");
    goes_on("bone.paren", "5|parent");
    goes_on("bone.parent:po", "2|point(");
    goes_on("fid.vec(1, 2, 3):norm", "4|normalized(");
    goes_on("rig:solve():quat", "4|quaternion(");
    goes_on("solve():quat", "4|quaternion(");
    goes_on("rig:find('x').display", "7|display_set");
    goes_on("rig:bones{}[1].chil", "4|children");
    goes_on("local lamp = rig:bone { part = 'lamp' }\nlamp.len", "3|length");
    goes_on("for i, part in ipairs(rig:bones{}) do\n  part.len", "3|length");
    goes_on("for i, part in ipairs(rig:chain{}) do\n  part.len", "3|length");
    goes_on("bone.rotation:", "");
    goes_on("bone.len:", "");
    goes_on("nothing.", "");
    goes_on("nothing:", "");
    run_one("mine = { lantern = { glow = 1, ['two words'] = 2 } }");
    goes_on("mine.lantern.", "0|glow");
    goes_on("mine['lantern'].g", "1|glow");
    goes_on("mine[\"lan", "3|lantern\"]");
}

static void arguments_and_their_choices(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    goes_on("rig:span_chain { keep", "4|keep_volume = ");
    goes_on("rig:follow {\n  bone = x,\n  sou", "3|source = |sources = ");
    does_not_offer("rig:follow { bone = x, ", "bone");
    goes_on("rig:bone { role = \"de", "2|deform\"");
    goes_on("rig:bone { role = 'de", "2|deform'");
    goes_on("fid.outline.circle { size = 1, axis = \"", "0|x\"|y\"|z\"");
    goes_on("rig:bone { side = \"", "0|center\"|left\"|right\"");
    goes_on("rig:follow { channels = { \"transl", "6|translation\"");
    goes_on("rig:check { only = { \"S204", "4|S204\"");
    goes_on("check { only = \"S204", "4|S204\"");
    offers("rig:bone { at = ri", "rig\t");
    does_not_offer("rig:bone { at = ", "part");
    goes_on("help(\"span_", "5|span_chain\"");
}

static void what_the_rig_has(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    goes_on("rig:find(\"spine_joint_05_c", "16|spine_joint_05_control\"");
    goes_on("show \"spine_joint_05_c", "16|spine_joint_05_control\"");
    goes_on("rig:find(\"spine/joint/5/c", "15|spine/joint/5/control\"");
    goes_on("set(\"spine_joint_05_con", "18|spine_joint_05_control.");
    goes_on("get(\"spine_joint_05_control.rotation.", "32|spine_joint_05_control.rotation.x\"|"
                                                      "spine_joint_05_control.rotation.y\"|"
                                                      "spine_joint_05_control.rotation.z\"");
    run_one("bone = rig:find('spine_joint_05_control')");
    goes_on("bone.channel[\"rot", "3|rotation.x\"]|rotation.y\"]|rotation.z\"]");
    goes_on("set(\"spine_joint_05_control.rotation.x\", \"", "");
}

static void modules_and_their_parameters(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    goes_on("rig:use(\"stretch", "7|stretch_leg\"");
    offers("rig:use(\"stretch_leg\", { ", "id\t = ");
    offers("rig:use(\"stretch_leg\", {\n  id = 'a', si", "side\t = ");
    goes_on("rig:use(\"stretch_leg\", { side = \"l", "1|left\"");
}

static void a_module_of_ones_own_is_known_once_it_was_used(void **state) {
    assert_int_equal(run_enter(state), 0);
    run_put("modules/mine/module.lua",
            "local fid = require 'fid'\nreturn fid.module { name = 'mine', version = '1.0.0', summary = 'a post', "
            "params = { "
            "lantern = { type = 'choice', choices = { 'lit', 'dark' }, default = 'lit', doc = 'the lamp' } }, build = "
            "function(rig, p) return {} end }\n");
    const fid_recipe_options options = {0};
    fid_report report = {0};
    assert_int_equal(fid_session_open(NULL, &options, NULL, &session, &report), FID_OK);
    run_one("rig = fid.rig { name = 'one', height = 1 }");
    goes_on("rig:use('min", "3|mine'");
    goes_on("rig:use('mine', { i", "1|id = ");
    goes_on("rig:use('mine', { lan", "");
    run_one("rig:use('mine', { id = 'a' })");
    goes_on("rig:use('mine', { lan", "3|lantern = ");
    goes_on("rig:use('mine ^1.0', { lantern = \"", "0|dark\"|lit\"");
    assert_int_equal(run_leave(state), 0);
}

static void files(void **state) {
    (void)state;
    char folder[] = "/tmp/fid-complete-XXXXXX", recipe_in[64], before[1024];
    assert_non_null(mkdtemp(folder));
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(folder), 0);
    static const char *const names[] = {"lengths.csv", "lengths.json", "lengths.txt", "last.json"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        FILE *file = fopen(names[i], "w");
        assert_non_null(file);
        fclose(file);
    }
    assert_int_equal(mkdir("leaves", 0700), 0);
    snprintf(recipe_in, sizeof recipe_in, "%s/a.lua", folder);
    const fid_recipe_options options = {0};
    fid_report report = {0};
    assert_int_equal(fid_session_open(NULL, &options, NULL, &session, &report), FID_OK);
    goes_on("fid.data(\"le", "2|leaves/|lengths.csv\"|lengths.json\"");
    goes_on("fid.data(\"leaves/", "");
    goes_on("fid.data(\"/", "");
    goes_on("fid.data(\"../", "");
    goes_on("export(\"la", "2|last.json\"");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        assert_int_equal(remove(names[i]), 0);
    }
    assert_int_equal(remove("leaves"), 0);
    assert_int_equal(chdir(before), 0);
    assert_int_equal(remove(folder), 0);
}

static void functions_of_scripts_are_never_called(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    run_one("called = 0\n"
            "trap = setmetatable({ inner = {} }, { __index = function() called = called + 1 end, __call = function() "
            "called = called + 1 end, __len = function() called = called + 1 end, __pairs = function() called = called "
            "+ 1 end, __tostring = function() called = called + 1 return '' end, __eq = function() called = called + 1 "
            "end, __concat = function() called = called + 1 return '' end })\n"
            "function act() called = called + 1 return rig end\n"
            "");
    static const char *const texts[] = {"trap.",
                                        "trap.x.",
                                        "trap:",
                                        "trap().",
                                        "trap[1].",
                                        "act().",
                                        "act():",
                                        "trap[\"",
                                        "trap.inner.",
                                        "#trap.",
                                        "trap == trap.",
                                        "(trap).x.",
                                        "act{}.b",
                                        "rig:solve(trap):",
                                        "rig:bones(act()).",
                                        "local t = act()\nt:",
                                        "act\"x\"."};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        (void)answer(texts[i]);
    }
    run_one("assert(called == 0)");
}

/// Every beginning of every line.
static void try_lines(const char *path) {
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    char line[1024], text[4096];
    while (fgets(line, sizeof line, file)) {
        for (size_t length = strcspn(line, "\n"); length > 0; length--) {
            snprintf(text, sizeof text, "%.*s", (int)length, line);
            (void)answer(text);
        }
    }
    fclose(file);
}

/// Tries all Lua files in a folder and in those in it; how many there were.
static int try_folder(const char *folder) {
    char path[2048];
    int count = 0;
    DIR *list = opendir(folder);
    assert_non_null(list);
    for (const struct dirent *entry = readdir(list); entry; entry = readdir(list)) {
        struct stat told;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] == '.' || stat(path, &told) != 0) {
            continue;
        }
        if (S_ISDIR(told.st_mode)) {
            count += try_folder(path);
        } else if (fid_text_ends_with(path, ".lua")) {
            try_lines(path);
            count++;
        }
    }
    closedir(list);
    return count;
}

static void no_beginning_of_a_line_of_recipes_and_modules_is_an_error(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    run_one("bones_before = #rig:bones{}");
    char folder[1024];
    snprintf(folder, sizeof folder, "%s/recipes", getenv("FID_SOURCE"));
    assert_true(try_folder(folder) > 0);
    snprintf(folder, sizeof folder, "%s/modules", getenv("FID_SOURCE"));
    assert_true(try_folder(folder) > 0);
    run_one("assert(#rig:bones{} == bones_before)");
}

static void no_ruins_are_an_error(void **state) {
    (void)state;
    open_recipe("hobrundle.lua");
    static const char *const parts[] = {"rig",  ":",  ".",   "(",    ")",    "{",  "}",     "[",  "]",
                                        "\"",   "'",  "use", "fid",  ",",    "=",  "--[[",  "[[", "]]",
                                        "then", "\\", "\n",  "set",  "..",   "::", "bone",  ";",  "vec",
                                        "--",   "5",  "#",   "\xc3", "\x01", "ä",  "check", "~=", " "};
    uint32_t seed = 1;
    for (int round = 0; round < 4000; round++) {
        char text[256] = "";
        for (int i = 0; i < 14; i++) {
            seed = seed * 1664525u + 1013904223u;
            strcat(text, parts[(seed >> 16) % (sizeof parts / sizeof *parts)]);
        }
        (void)answer(text);
    }
    char deep[4001];
    memset(deep, '(', 4000);
    deep[4000] = '\0';
    (void)answer(deep);
    memset(deep, '{', 4000);
    (void)answer(deep);
    for (int i = 0; i < 4000; i++) {
        deep[i] = "a."[i % 2];
    }
    (void)answer(deep);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(globals_and_words_of_the_session, leave),
        cmocka_unit_test_teardown(members_of_what_the_value_is, leave),
        cmocka_unit_test_teardown(arguments_and_their_choices, leave),
        cmocka_unit_test_teardown(what_the_rig_has, leave),
        cmocka_unit_test_teardown(modules_and_their_parameters, leave),
        cmocka_unit_test_teardown(a_module_of_ones_own_is_known_once_it_was_used, leave),
        cmocka_unit_test_teardown(files, leave),
        cmocka_unit_test_teardown(functions_of_scripts_are_never_called, leave),
        cmocka_unit_test_teardown(no_beginning_of_a_line_of_recipes_and_modules_is_an_error, leave),
        cmocka_unit_test_teardown(no_ruins_are_an_error, leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
