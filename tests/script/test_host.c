#include "support/assert.h"
#include "support/memory_fail.h"

#include "script/host.h"
#include "script/loader.h"
#include "script/raise.h"

#include <lauxlib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/// A script to run in the session's environment.
typedef struct script {
    const char *text;
    const char *shown;
} script;

static int run_script(lua_State *L) {
    const script *what = lua_touserdata(L, 1);
    fid_loader_push_session(L);
    fid_loader_load_text(L, what->text, strlen(what->text), what->shown);
    lua_call(L, 0, 0);
    return 0;
}

static fid_code run(fid_host *host, const char *text, fid_report *report) {
    script what = {text, "rigs/marsh.lua"};
    return fid_host_run(host, run_script, &what, report);
}

/// use(instance, module, function): what a binding that builds an instance does.
static int use(lua_State *L) {
    lua_Debug activation;
    fid_place place = {.instance = lua_tostring(L, 1), .module = lua_tostring(L, 2)};
    if (lua_getstack(L, 1, &activation) != 0 && lua_getinfo(L, "Sl", &activation) != 0) {
        place.file = activation.source + 1;
        place.line = activation.currentline;
    }
    lua_pushvalue(L, 3);
    fid_host_call_within(L, 0, 1, &place);
    return 1;
}

static int refuse(lua_State *L) {
    fid_error err;
    fid_fail(&err, FID_RANGE, "reach is %d, more than %d", 5, 4);
    fid_error_about(&err, "leg1/joint/left");
    return fid_raise_with(L, &err, "S204", "bend the guides by 3 degrees or more");
}

static int add_functions(lua_State *L) {
    fid_loader_push_session(L);
    lua_pushcfunction(L, use);
    lua_setfield(L, -2, "use");
    lua_pushcfunction(L, refuse);
    lua_setfield(L, -2, "refuse");
    return 0;
}

static fid_host *open_host(const fid_limits *limits) {
    fid_host *host = NULL;
    fid_report report = {0};
    assert_int_equal(fid_host_open(limits, NULL, &host, NULL), FID_OK);
    assert_int_equal(fid_host_run(host, add_functions, NULL, &report), FID_OK);
    fid_report_clear(&report);
    return host;
}

static void assert_place(const fid_place *place, const char *file, int line, const char *instance, const char *module) {
    assert_string_equal(place->file, file);
    assert_int_equal(place->line, line);
    assert_string_equal(place->instance != NULL ? place->instance : "-", instance);
    assert_string_equal(place->module != NULL ? place->module : "-", module);
}

/// Runs a script that must fail and checks message, code and the line to blame.
static void assert_fails(const char *text, fid_code code, const char *message, int line) {
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host, text, &report), code);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].message, message);
    assert_int_equal(report.findings.at[0].severity, FID_ERROR);
    assert_string_equal(report.findings.at[0].code, "");
    assert_int_equal(report.findings.at[0].place_count, 1);
    assert_place(&report.findings.at[0].places[0], "rigs/marsh.lua", line, "-", "-");
    fid_report_clear(&report);
    fid_host_close(host);
}

static void a_good_script_leaves_no_finding(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host, "assert(1 + 1 == 2)", &report), FID_OK);
    assert_int_equal(report.findings.count, 0);
    assert_int_equal(lua_gettop(fid_host_state(host)), 0);
    assert_ptr_equal(fid_host_of(fid_host_state(host)), host);
    fid_host_close(host);
}

static void errors_of_the_language_name_the_line_once(void **state) {
    (void)state;
    assert_fails("local x\nreturn x.y", FID_INVALID, "attempt to index a nil value (local 'x')", 2);
    assert_fails("\n\nerror('no room')", FID_INVALID, "no room", 3);
    assert_fails("error('no room', 0)", FID_INVALID, "no room", 1);
    assert_fails("assert(false)", FID_INVALID, "assertion failed!", 1);
    assert_fails("assert(nil, 'not here')", FID_INVALID, "not here", 1);
    assert_fails("string.rep()", FID_INVALID, "bad argument #1 to 'rep' (string expected, got no value)", 1);
    assert_fails("\ncoroutine.wrap(function()\nlocal x = nil + 1 end)()", FID_INVALID,
                 "attempt to perform arithmetic on a nil value", 3);
    assert_fails("error('marsh.lua:7: kept')", FID_INVALID, "marsh.lua:7: kept", 1);
}

static void any_value_that_is_raised_becomes_a_message(void **state) {
    (void)state;
    assert_fails("\nassert(false, print)", FID_INVALID, "a script raised a value of type function", 2);
    assert_fails("assert(nil, 42)", FID_INVALID, "a script raised a value of type number", 1);
    assert_fails("error {}", FID_INVALID, "a script raised a table without a message", 1);
    assert_fails("error { message = 'own words' }", FID_INVALID, "own words", 1);
    assert_fails("error { message = 'own words', kind = 'range' }", FID_RANGE, "own words", 1);
    assert_fails("error(setmetatable({}, { __tostring = function() return 'shown' end }))", FID_INVALID, "shown", 1);
    assert_fails("error(setmetatable({}, { __tostring = function() error('x') end }))", FID_INVALID,
                 "a script raised a table whose __tostring fails", 1);
    assert_fails("error { message = 'here', where = { { file = 'rigs/marsh.lua', line = 9 }, 5, {} } }", FID_INVALID,
                 "here", 9);
    assert_fails("error('a\\27[31mb\\nc')", FID_INVALID, "a?[31mb c", 1);
}

static void fields_of_an_error_are_cut_at_a_character(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(
        run(host, "error { message = ('m'):rep(9999), subject = ('\xc3\xa9'):rep(99), hint = {} }", &report),
        FID_INVALID);
    const fid_finding *finding = &report.findings.at[0];
    assert_int_equal(strlen(finding->message), FID_ERROR_MESSAGE_SIZE - 1);
    // 47 characters of two bytes: one more would not leave room for the end.
    assert_int_equal(strlen(finding->subject), 94);
    assert_null(finding->hint);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void a_loop_in_showing_an_error_ends_by_the_budget(void **state) {
    (void)state;
    const fid_limits limits = {.max_instructions = 100000};
    fid_host *host = open_host(&limits);
    fid_report report = {0};
    assert_int_equal(run(host, "error(setmetatable({}, { __tostring = function() while true do end end }))", &report),
                     FID_LIMIT);
    assert_text_contains(report.findings.at[0].message, "more than 100000 steps");
    fid_report_clear(&report);
    fid_host_close(host);
}

static void errors_of_the_parser_name_the_line(void **state) {
    (void)state;
    assert_fails("local a = 1\nlocal = 2", FID_SYNTAX, "<name> expected near '='", 2);
    assert_fails("do\n\n", FID_SYNTAX, "'end' expected (to close 'do' at line 1) near <eof>", 3);
}

static void level_two_blames_the_caller(void **state) {
    (void)state;
    assert_fails("local function check()\nerror('too small', 2)\nend\ncheck()", FID_INVALID, "too small", 4);
}

static void deep_recursion_is_an_error(void **state) {
    (void)state;
    assert_fails("local function f()\nreturn 1 + f() end\nf()", FID_LIMIT,
                 "calls are nested too deeply (stack overflow)", 2);
}

static void a_raised_error_keeps_code_subject_and_hint(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host, "\nrefuse()", &report), FID_RANGE);
    const fid_finding *finding = &report.findings.at[0];
    assert_string_equal(finding->code, "S204");
    assert_string_equal(finding->subject, "leg1/joint/left");
    assert_string_equal(finding->message, "reach is 5, more than 4");
    assert_string_equal(finding->hint, "bend the guides by 3 degrees or more");
    assert_place(&finding->places[0], "rigs/marsh.lua", 2, "-", "-");
    fid_report_clear(&report);
    assert_int_equal(run(host,
                         "local ok, e = pcall(refuse)\n"
                         "assert(not ok and e.kind == 'range' and e.code == 'S204' and e.where[1].line == 1)\n"
                         "assert(e.subject == 'leg1/joint/left' and tostring(e) == 'reach is 5, more than 4')",
                         &report),
                     FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void an_error_in_an_instance_names_the_way_to_the_recipe(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host,
                         "use('body', 'trunk 1.0.0', function()\n"
                         "  use('leg1 (left)', 'stretch_leg 1.2.0', function()\n"
                         "    refuse()\n"
                         "  end)\n"
                         "end)",
                         &report),
                     FID_RANGE);
    const fid_finding *finding = &report.findings.at[0];
    assert_int_equal(finding->place_count, 3);
    assert_place(&finding->places[0], "rigs/marsh.lua", 3, "leg1 (left)", "stretch_leg 1.2.0");
    assert_place(&finding->places[1], "rigs/marsh.lua", 2, "body", "trunk 1.0.0");
    assert_place(&finding->places[2], "rigs/marsh.lua", 1, "-", "-");
    fid_report_clear(&report);
    fid_host_close(host);
}

static void an_instance_is_left_where_its_error_is_caught(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host,
                         "pcall(use, 'leg1', 'leg 1.0.0', refuse)\n"
                         "pcall(function() use('leg2', 'leg 1.0.0', function() local x = nil + 1 end) end)\n"
                         "assert(use('leg3', 'leg 1.0.0', function() return 7 end) == 7)\n"
                         "refuse()",
                         &report),
                     FID_RANGE);
    assert_int_equal(report.findings.at[0].place_count, 1);
    assert_place(&report.findings.at[0].places[0], "rigs/marsh.lua", 4, "-", "-");
    fid_report_clear(&report);
    fid_host_close(host);
}

static int enter_and_leave(lua_State *L) {
    fid_host *host = fid_host_of(L);
    const fid_place use_site = {.file = "rigs/marsh.lua", .line = 4, .instance = "leg1", .module = "leg 1.0.0"};
    fid_place places[FID_LIMIT_PLACES];
    fid_error err;
    if (fid_host_enter(host, &use_site, &err) != FID_OK) {
        return fid_raise(L, &err);
    }
    int within = fid_host_places(L, places);
    fid_host_leave(host);
    fid_host_leave(host);
    return within == 1 && places[0].line == 4 && fid_host_places(L, places) == 0 ? 0 : luaL_error(L, "places");
}

static void an_instance_is_entered_and_left(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, enter_and_leave, NULL, &report), FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void modules_that_use_one_another_forever_are_an_error(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(run(host, "local function f() use('a', 'b 1', f) end f()", &report), FID_LIMIT);
    assert_string_equal(report.findings.at[0].message, "modules use one another more than 32 deep");
    assert_int_equal(report.findings.at[0].place_count, FID_LIMIT_PLACES);
    fid_report_clear(&report);
    fid_host_close(host);
}

static int give_places(lua_State *L) {
    fid_place places[FID_LIMIT_PLACES];
    int count = fid_host_places(L, places);
    lua_pushinteger(L, count);
    lua_pushinteger(L, count > 0 ? places[0].line : 0);
    return 2;
}

static int add_places(lua_State *L) {
    fid_loader_push_session(L);
    lua_pushcfunction(L, give_places);
    lua_setfield(L, -2, "places");
    // No script runs here.
    give_places(L);
    return lua_tointeger(L, -2) == 0 ? 0 : luaL_error(L, "places outside of scripts");
}

static void places_are_found_through_coroutines(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, add_places, NULL, &report), FID_OK);
    assert_int_equal(run(host,
                         "local count, line = places()\n"
                         "assert(count == 1 and line == 1)\n"
                         "count, line = coroutine.wrap(places)()\n"
                         "assert(count == 1 and line == 3)\n"
                         "count, line = coroutine.wrap(function()\n"
                         "  local a, b = places()\n"
                         "  return a, b\n"
                         "end)()\n"
                         "assert(count == 1 and line == 6)",
                         &report),
                     FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void an_exceeded_budget_is_the_result_and_the_next_run_is_fresh(void **state) {
    (void)state;
    const fid_limits limits = {.max_instructions = 100000};
    fid_host *host = open_host(&limits);
    fid_report report = {0};
    assert_int_equal(run(host,
                         "kept = coroutine.wrap(function() while true do coroutine.yield() end end)\nkept()\n"
                         "pcall(function()\nwhile true do end end)",
                         &report),
                     FID_LIMIT);
    assert_int_equal(report.findings.count, 1);
    assert_text_contains(report.findings.at[0].message, "more than 100000 steps");
    assert_int_equal(report.findings.at[0].place_count, 1);
    fid_report_clear(&report);
    assert_int_equal(run(host, "for _ = 1, 1000 do kept() end", &report), FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static int charge(lua_State *L) {
    fid_host_charge(L, 60000);
    return 0;
}

static void charges_begin_anew_with_each_run(void **state) {
    (void)state;
    const fid_limits limits = {.max_instructions = 100000};
    fid_host *host = open_host(&limits);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, charge, NULL, &report), FID_OK);
    assert_int_equal(fid_host_run(host, charge, NULL, &report), FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static int charge_twice(lua_State *L) {
    charge(L);
    charge(L);
    return 0;
}

static void charges_of_one_run_add_up(void **state) {
    (void)state;
    const fid_limits limits = {.max_instructions = 100000};
    fid_host *host = open_host(&limits);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, charge_twice, NULL, &report), FID_LIMIT);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void limits_out_of_range_are_refused(void **state) {
    (void)state;
    static const struct {
        fid_limits limits;
        const char *part;
    } cases[] = {
        {{.max_memory = 1000}, "--max-memory"},
        {{.max_memory = SIZE_MAX}, "--max-memory"},
        {{.max_seconds = -1.0}, "--max-seconds"},
        {{.max_seconds = NAN}, "--max-seconds"},
        {{.max_seconds = INFINITY}, "--max-seconds"},
        {{.max_instructions = -1}, "--max-instructions"},
        {{.max_instructions = 999}, "--max-instructions"},
        {{.max_instructions = INT64_MAX}, "--max-instructions"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_host *host = NULL;
        fid_error err;
        assert_int_equal(fid_host_open(&cases[i].limits, NULL, &host, &err), FID_RANGE);
        assert_null(host);
        assert_text_contains(err.message, cases[i].part);
    }
    // The command line promises these.
    fid_limits usual = fid_limits_default();
    assert_true(usual.max_memory == 536870912);
    assert_near(usual.max_seconds, 60.0, 0.0);
}

static void a_path_too_long_is_refused(void **state) {
    (void)state;
    char path[2000];
    memset(path, 'a', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    fid_host *host = NULL;
    assert_int_equal(fid_host_open(NULL, path, &host, NULL), FID_LIMIT);
    assert_null(host);
    fid_host_close(NULL);
}

static void recipe_and_folder_are_as_given(void **state) {
    (void)state;
    fid_host *host = NULL;
    assert_int_equal(fid_host_open(NULL, "rigs/marsh.lua", &host, NULL), FID_OK);
    assert_string_equal(fid_host_recipe(host), "rigs/marsh.lua");
    assert_string_equal(fid_host_folder(host), "rigs");
    fid_host_close(host);
    assert_int_equal(fid_host_open(NULL, NULL, &host, NULL), FID_OK);
    assert_null(fid_host_recipe(host));
    assert_string_equal(fid_host_folder(host), ".");
    fid_host_close(host);
}

static void equal_texts_are_kept_once(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    char text[16];
    for (int i = 0; i < 1000; i++) {
        snprintf(text, sizeof text, "name%d", i % 100);
        const char *kept = fid_host_intern(host, text);
        assert_string_equal(kept, text);
        assert_ptr_not_equal(kept, text);
        assert_ptr_equal(fid_host_intern(host, kept), kept);
    }
    assert_null(fid_host_intern(host, NULL));
    fid_host_close(host);
}

static int run_again(lua_State *L) {
    fid_report report = {0};
    lua_pushboolean(L,
                    fid_host_run(fid_host_of(L), charge, NULL, &report) == FID_INVALID && report.count[FID_ERROR] == 1);
    fid_report_clear(&report);
    if (lua_toboolean(L, -1) == 0) {
        return luaL_error(L, "a run within a run");
    }
    return 0;
}

static void a_run_within_a_run_is_refused(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, run_again, NULL, &report), FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void keep_line(void *user, const char *line, size_t count) {
    char *all = user;
    size_t length = strlen(all);
    snprintf(all + length, 256 - length, "%.*s|", (int)count, line);
}

static void prints_go_to_the_function_that_was_set(void **state) {
    (void)state;
    fid_host *host = open_host(NULL);
    fid_report report = {0};
    char lines[256] = "";
    assert_int_equal(run(host, "print('lost')", &report), FID_OK);
    fid_host_set_print(host, keep_line, lines);
    assert_int_equal(run(host, "print('a', 1, nil, true, 2.5, {}, print) print()", &report), FID_OK);
    assert_string_equal(lines, "a\t1\tnil\ttrue\t2.5\ttable\tfunction||");
    fid_report_clear(&report);
    fid_host_close(host);
}

/// In a child: runs `text` in the instance of an activity and gives what the process said and how it ended.
static int run_apart(const fid_limits *limits, const char *recipe, const char *text, char *output, size_t size) {
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    fflush(NULL);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        alarm(20);
        dup2(ends[1], STDERR_FILENO);
        close(ends[0]);
        close(ends[1]);
        fid_host *host = NULL;
        fid_report report = {0};
        if (fid_host_open(limits, recipe, &host, NULL) != FID_OK ||
            fid_host_run(host, add_functions, NULL, &report) != FID_OK) {
            _exit(9);
        }
        fid_code code = run(host, text, &report);
        _exit(code == FID_OK ? 0 : 8);
    }
    close(ends[1]);
    size_t length = 0;
    ssize_t got = 0;
    while ((got = read(ends[0], output + length, size - 1 - length)) > 0) {
        length += (size_t)got;
    }
    output[length] = '\0';
    close(ends[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void the_cap_and_the_clock_say_where_the_script_was(void **state) {
    (void)state;
    char output[2048];
    fid_limits small = {.max_memory = 8 * 1024 * 1024};
    assert_int_equal(run_apart(&small, "rigs/marsh.lua",
                               "use('leg1 (left)', 'stretch_leg 1.0.0', function()\n"
                               "local t = {} for i = 1, 1e9 do t[i] = {} end end)",
                               output, sizeof output),
                     2);
    assert_string_equal(output, "rigs/marsh.lua: error: the script and its data need more than 8 MiB; raise "
                                "--max-memory if they really need more\n    in leg1 (left) of stretch_leg 1.0.0\n");
    fid_limits fast = {.max_seconds = 0.25};
    assert_int_equal(run_apart(&fast, NULL,
                               "use('leg1 (left)', 'stretch_leg 1.0.0', function() end)\n"
                               "while true do end",
                               output, sizeof output),
                     2);
    assert_string_equal(output, "session: error: the script takes longer than 0.25 seconds; raise --max-seconds if it "
                                "really needs more\n");
}

static int hold(lua_State *L) {
    fid_host *host = fid_host_of(L);
    for (int i = 0; i < 100; i++) {
        fid_host_hold(host, 4 * 1024 * 1024);
        fid_host_hold(host, -4 * 1024 * 1024);
    }
    fid_host_hold(host, PTRDIFF_MIN);
    return 0;
}

static int hold_too_much(lua_State *L) {
    fid_host_hold(fid_host_of(L), 8 * 1024 * 1024);
    return 0;
}

static void what_a_script_makes_elsewhere_counts(void **state) {
    (void)state;
    fid_limits small = {.max_memory = 8 * 1024 * 1024};
    fid_host *host = open_host(&small);
    fid_report report = {0};
    assert_int_equal(fid_host_run(host, hold, NULL, &report), FID_OK);
    fflush(NULL);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(STDERR_FILENO);
        fid_code code = fid_host_run(host, hold_too_much, NULL, &report);
        _exit(code == FID_OK ? 0 : 8);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 2);
    fid_report_clear(&report);
    fid_host_close(host);
}

static void no_thread_is_left_after_a_run(void **state) {
    (void)state;
    // The clock of a run that is over must not end the process.
    fid_limits fast = {.max_seconds = 0.05};
    fid_host *host = open_host(&fast);
    fid_report report = {0};
    assert_int_equal(run(host, "return 1", &report), FID_OK);
    const struct timespec wait = {.tv_nsec = 120000000};
    nanosleep(&wait, NULL);
    assert_int_equal(run(host, "return 1", &report), FID_OK);
    fid_report_clear(&report);
    fid_host_close(host);
}

static const char scenario[] = "local t = {}\n"
                               "for i = 1, 40 do t['k' .. i] = { i } end\n"
                               "for key in pairs(t) do t[key] = ('x'):rep(3) .. key end\n"
                               "table.sort({ 3, 1, 2 })\n"
                               "assert(string.format('%s %d', {}, 3) == 'table 3')\n"
                               "local w = coroutine.wrap(function() coroutine.yield(table.concat({ 1, 2 }, ',')) end)\n"
                               "assert(w() == '1,2')\n"
                               "setmetatable({}, { __index = t })\n"
                               "print('line', {})\n"
                               "local ok, e = pcall(refuse)\n"
                               "assert(not ok and (type(e) == 'string' or tostring(e) ~= ''))\n"
                               "use('leg1', 'leg 1.0.0', function() return t end)\n";

typedef struct outcome {
    fid_code code;
    bool is_told;
} outcome;

/// Opens, runs and closes; contains no assertion, which would leave the allocation function in place.
static outcome run_scenario(void) {
    outcome out = {FID_OK, true};
    fid_host *host = NULL;
    fid_report report = {0};
    fid_error err = {0};
    out.code = fid_host_open(NULL, "rigs/marsh.lua", &host, &err);
    if (out.code != FID_OK) {
        out.is_told = err.message[0] != '\0' && host == NULL;
        return out;
    }
    out.code = fid_host_run(host, add_functions, NULL, &report);
    if (out.code == FID_OK) {
        out.code = run(host, scenario, &report);
    }
    out.is_told = (out.code == FID_OK) == (report.findings.count == 0 && !report.failed);
    fid_report_clear(&report);
    fid_host_close(host);
    return out;
}

static void failed_allocations_are_errors_and_leave_nothing(void **state) {
    (void)state;
    for (int onward = 0; onward < 2; onward++) {
        bool has_failed = true;
        outcome out = {FID_OK, true};
        for (long fail_at = 1; has_failed; fail_at++) {
            memory_fail memory;
            memory_fail_begin(&memory, fail_at);
            memory.onward = onward != 0;
            out = run_scenario();
            memory_fail_end();
            has_failed = memory.asked >= fail_at;
            // Lua collects and tries again, so that a single failure may go by.
            bool is_good = out.code == FID_OK || out.code == FID_NO_MEMORY;
            if (!is_good || !out.is_told || memory.live != 0 || (onward != 0 && out.code == FID_OK && has_failed)) {
                print_error("allocation %ld%s: code %d, told %d, %ld left\n", fail_at, onward ? " and onward" : "",
                            (int)out.code, (int)out.is_told, memory.live);
                fail();
            }
        }
        assert_int_equal(out.code, FID_OK);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_script_leaves_no_finding),
        cmocka_unit_test(errors_of_the_language_name_the_line_once),
        cmocka_unit_test(any_value_that_is_raised_becomes_a_message),
        cmocka_unit_test(fields_of_an_error_are_cut_at_a_character),
        cmocka_unit_test(a_loop_in_showing_an_error_ends_by_the_budget),
        cmocka_unit_test(errors_of_the_parser_name_the_line),
        cmocka_unit_test(level_two_blames_the_caller),
        cmocka_unit_test(deep_recursion_is_an_error),
        cmocka_unit_test(a_raised_error_keeps_code_subject_and_hint),
        cmocka_unit_test(an_error_in_an_instance_names_the_way_to_the_recipe),
        cmocka_unit_test(an_instance_is_left_where_its_error_is_caught),
        cmocka_unit_test(an_instance_is_entered_and_left),
        cmocka_unit_test(modules_that_use_one_another_forever_are_an_error),
        cmocka_unit_test(places_are_found_through_coroutines),
        cmocka_unit_test(an_exceeded_budget_is_the_result_and_the_next_run_is_fresh),
        cmocka_unit_test(charges_begin_anew_with_each_run),
        cmocka_unit_test(charges_of_one_run_add_up),
        cmocka_unit_test(limits_out_of_range_are_refused),
        cmocka_unit_test(a_path_too_long_is_refused),
        cmocka_unit_test(recipe_and_folder_are_as_given),
        cmocka_unit_test(equal_texts_are_kept_once),
        cmocka_unit_test(a_run_within_a_run_is_refused),
        cmocka_unit_test(prints_go_to_the_function_that_was_set),
        cmocka_unit_test(the_cap_and_the_clock_say_where_the_script_was),
        cmocka_unit_test(what_a_script_makes_elsewhere_counts),
        cmocka_unit_test(no_thread_is_left_after_a_run),
        cmocka_unit_test(failed_allocations_are_errors_and_leave_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
