#include "support/assert.h"

#include "script/host.h"
#include "script/library.h"
#include "script/loader.h"

#include <lauxlib.h>
#include <string.h>

static int64_t get_rank(lua_State *L, int index) {
    const int64_t *rank = lua_touserdata(L, index);
    return *rank;
}

/// thing(rank): a userdata that can be a key, as bones are.
static int make_thing(lua_State *L) {
    lua_Integer rank = luaL_checkinteger(L, 1);
    int64_t *thing = lua_newuserdatauv(L, sizeof *thing, 0);
    *thing = rank;
    lua_createtable(L, 0, 1);
    lua_pushliteral(L, "Thing");
    lua_setfield(L, -2, "__name");
    lua_setmetatable(L, -2);
    return 1;
}

/// keys(table): what bindings use where they go through a table.
static int give_keys(lua_State *L) {
    luaL_checktype(L, 1, LUA_TTABLE);
    fid_library_push_keys(L, 1);
    return 1;
}

static int run_script(lua_State *L) {
    const char *text = lua_touserdata(L, 1);
    fid_loader_push_session(L);
    lua_pushcfunction(L, make_thing);
    lua_setfield(L, -2, "thing");
    lua_pushcfunction(L, give_keys);
    lua_setfield(L, -2, "keys");
    lua_createtable(L, 0, 1);
    lua_pushinteger(L, 7);
    lua_setfield(L, -2, "seven");
    fid_library_seal(L, "sealed");
    lua_setfield(L, -2, "sealed");
    fid_loader_load_text(L, text, strlen(text), "session");
    lua_call(L, 0, 0);
    return 0;
}

static fid_code run(const char *text, fid_library_rank rank, fid_report *report) {
    char copy[2048];
    assert_true(strlen(text) < sizeof copy);
    memcpy(copy, text, strlen(text) + 1);
    fid_host *host = NULL;
    assert_int_equal(fid_host_open(NULL, NULL, &host, NULL), FID_OK);
    fid_library_set_key_order(host, rank);
    fid_code code = fid_host_run(host, run_script, copy, report);
    fid_host_close(host);
    return code;
}

static void assert_runs(const char *text) {
    fid_report report = {0};
    fid_code code = run(text, get_rank, &report);
    if (code != FID_OK) {
        print_error("line %d: %s\n", (int)report.findings.at[0].places[0].line, report.findings.at[0].message);
    }
    assert_int_equal(code, FID_OK);
    fid_report_clear(&report);
}

static void assert_fails(const char *text, fid_library_rank rank, const char *message) {
    fid_report report = {0};
    assert_int_not_equal(run(text, rank, &report), FID_OK);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].message, message);
    fid_report_clear(&report);
}

static void elements_are_keys_in_the_order_of_their_rank(void **state) {
    (void)state;
    assert_runs("local a, b, c = thing(3), thing(1), thing(2)\n"
                "local seen = {}\n"
                "for key, value in pairs { [a] = 'a', x = 'x', [b] = 'b', [c] = 'c', [1] = '1' } do\n"
                "  seen[#seen + 1] = value\n"
                "end\n"
                "assert(table.concat(seen) == '1xbca')");
}

static void elements_without_a_rank_are_no_keys(void **state) {
    (void)state;
    static const char message[] = "a key of type userdata has no order: tables are gone through by numbers, texts and "
                                  "bones as keys";
    assert_fails("for _ in pairs { [thing(1)] = 1 } do end", NULL, message);
    assert_fails("for _ in pairs { [thing(-1)] = 1 } do end", get_rank, message);
}

static void keys_come_in_the_order_of_pairs(void **state) {
    (void)state;
    assert_runs("local list = keys { 'a', 'b', z = 1, y = 2, [-0.5] = 3 }\n"
                "assert(#list == 5 and list[1] == -0.5 and list[2] == 1 and list[3] == 2)\n"
                "assert(list[4] == 'y' and list[5] == 'z' and #keys {} == 0)");
}

static void numbers_are_compared_exactly(void **state) {
    (void)state;
    // 2^53 + 1 is no double; compared as doubles it would equal its neighbor.
    assert_runs(
        "local t = { [2^53 + 0.0] = 1, [(1 << 53) + 1] = 2, [(1 << 53) - 1] = 3, [0.5] = 4, [0] = 5, [-0.5] = 6,\n"
        "            [1e300] = 7, [-1e300] = 8, [math.maxinteger] = 9, [math.mininteger] = 10, [1] = 11 }\n"
        "local seen = {}\n"
        "for _, value in pairs(t) do seen[#seen + 1] = value end\n"
        "assert(table.concat(seen, ' ') == '8 10 6 5 4 11 3 1 2 9 7')");
}

static void pairs_wants_a_table(void **state) {
    (void)state;
    assert_fails("pairs('text')", NULL, "bad argument #1 to 'pairs' (table expected, got string)");
}

static void a_sealed_table_can_be_read_only(void **state) {
    (void)state;
    assert_runs("assert(sealed.seven == 7 and getmetatable(sealed) == false and tostring(sealed) == 'table')\n"
                "assert(not pcall(setmetatable, sealed, {}))\n"
                "local count = 0\n"
                "for _ in pairs(sealed) do count = count + 1 end\n"
                "assert(count == 0)");
    assert_fails("sealed.seven = 8", NULL, "'sealed' is read-only: 'seven' cannot be set");
    assert_fails("sealed.eight = 8", NULL, "'sealed' is read-only: 'eight' cannot be set");
    assert_fails("sealed[{}] = 8", NULL, "'sealed' is read-only: 'table' cannot be set");
}

static void values_are_shown_by_their_name(void **state) {
    (void)state;
    assert_runs("assert(tostring(thing(1)) == 'Thing' and ('%s'):format(thing(1)) == 'Thing')\n"
                "assert(tostring(nil) == 'nil' and tostring(true) == 'true' and tostring(1) == '1')\n"
                "assert(tostring(1.0) == '1.0' and tostring('x') == 'x')\n"
                "local t = setmetatable({}, { __tostring = function() return 'mine' end })\n"
                "assert(tostring(t) == 'mine' and ('%5s'):format(t) == ' mine')\n"
                "assert(not pcall(tostring, setmetatable({}, { __tostring = function() return 1 end })))\n"
                "assert(getmetatable(thing(1)) == false)");
}

static void formats_are_those_of_the_language(void **state) {
    (void)state;
    assert_runs("assert(('%d %5.2f %s %q %% %x %c %i'):format(3, 1 / 4, nil, 'a\\n', 255, 65, 4) ==\n"
                "       '3  0.25 nil \"a\\\\\\n\" % ff A 4')\n"
                "assert(('%-5s|%5s|'):format('a', 'b') == 'a    |    b|')\n"
                "assert(('%%s'):format() == '%s' and ('plain'):format({}) == 'plain')\n"
                "local ok, problem = pcall(string.format, '%s')\n"
                "assert(not ok and problem:find('no value', 1, true))");
}

static void texts_are_joined_and_repeated(void **state) {
    (void)state;
    assert_runs("assert(table.concat { 1, 'a', 2.5 } == '1a2.5' and table.concat({}, 'x') == '')\n"
                "assert(table.concat({ 1, 2, 3 }, ', ', 2, 3) == '2, 3' and table.concat({ 1 }, ',', 2) == '')\n"
                "assert(table.concat({ [math.maxinteger] = 'end' }, ',', math.maxinteger, math.maxinteger) == 'end')\n"
                "assert(('ab'):rep(2, '-') == 'ab-ab' and ('ab'):rep(1, '-') == 'ab' and ('ab'):rep(0) == '')");
    assert_fails("table.concat { 1, {}, 3 }", NULL, "invalid value (type table) at index 2 in table for 'concat'");
}

static void sorting_is_stable_and_keeps_the_table_on_failure(void **state) {
    (void)state;
    assert_runs("for n = 0, 40 do\n"
                "  local t = {}\n"
                "  for i = 1, n do t[i] = (i * 17) % 23 end\n"
                "  table.sort(t)\n"
                "  assert(#t == n)\n"
                "  for i = 2, n do assert(t[i - 1] <= t[i]) end\n"
                "  table.sort(t, function(a, b) return a > b end)\n"
                "  for i = 2, n do assert(t[i - 1] >= t[i]) end\n"
                "end\n"
                "local words = { 'b1', 'a1', 'b2', 'a2', 'b3' }\n"
                "table.sort(words, function(a, b) return a:sub(1, 1) < b:sub(1, 1) end)\n"
                "assert(table.concat(words, ' ') == 'a1 a2 b1 b2 b3')\n"
                "local kept = { 3, 2, 'x', 1 }\n"
                "assert(not pcall(table.sort, kept) and kept[1] == 3 and kept[3] == 'x' and kept[4] == 1)");
}

static void tables_are_shifted_moved_and_packed(void **state) {
    (void)state;
    assert_runs("local t = { 1, 2, 3 }\n"
                "table.insert(t, 4) table.insert(t, 1, 0)\n"
                "assert(table.concat(t) == '01234' and table.remove(t, 1) == 0 and table.remove(t) == 4)\n"
                "assert(table.concat(table.move(t, 1, 3, 2)) == '1123' and select('#', table.unpack(t)) == 4)\n"
                "assert(table.pack(1, nil).n == 2 and table.remove {} == nil)\n"
                "assert(not pcall(table.insert, t, 9, 1) and not pcall(table.insert, t))");
}

static void metatables_act_and_are_the_ones_given(void **state) {
    (void)state;
    assert_runs("local Box = {}\n"
                "Box.__index = Box\n"
                "Box.__add = function(a, b) return a.n + b.n end\n"
                "Box.__len = function(a) return a.n end\n"
                "Box.__eq = function(a, b) return a.n == b.n end\n"
                "Box.__lt = function(a, b) return a.n < b.n end\n"
                "Box.__call = function(a, x) return a.n * x end\n"
                "function Box.make(n) return setmetatable({ n = n }, Box) end\n"
                "local two, three = Box.make(2), Box.make(3)\n"
                "function Box:get() return self.n end\n"
                "assert(two + three == 5 and #two == 2 and two ~= three and two < three and three(3) == 9)\n"
                "assert(two == Box.make(2) and two:get() == 2 and getmetatable(two) == Box)\n"
                "assert(setmetatable(two, nil) == two and getmetatable(two) == nil)\n"
                "assert(not pcall(setmetatable, {}) and not pcall(setmetatable, {}, 1))");
}

static void coroutines_pass_values_both_ways(void **state) {
    (void)state;
    assert_runs("local co = coroutine.create(function(a, b)\n"
                "  local c = coroutine.yield(a + b, 'x')\n"
                "  local d, e = coroutine.yield(c)\n"
                "  return d, e\n"
                "end)\n"
                "local ok, sum, x = coroutine.resume(co, 1, 2)\n"
                "assert(ok and sum == 3 and x == 'x' and coroutine.status(co) == 'suspended')\n"
                "assert(select(2, coroutine.resume(co, 'c')) == 'c')\n"
                "assert(select('#', coroutine.resume(co, 1, nil)) == 3 and coroutine.status(co) == 'dead')\n"
                "local ok, problem = coroutine.resume(co)\n"
                "assert(not ok and problem == 'cannot resume dead coroutine')\n"
                "assert(not coroutine.isyieldable() and select(2, coroutine.running()) == true)\n"
                "local ok, problem = coroutine.resume(coroutine.create(function() error({ n = 5 }) end))\n"
                "assert(not ok and problem.n == 5)\n"
                "assert(not pcall(coroutine.resume, 1) and not pcall(coroutine.create, 1))");
}

static void protected_calls_give_what_was_raised(void **state) {
    (void)state;
    assert_runs("local ok, problem = pcall(error, 'plain', 0)\n"
                "assert(not ok and problem == 'plain')\n"
                "local thrown = {}\n"
                "ok, problem = pcall(error, thrown)\n"
                "assert(not ok and problem == thrown)\n"
                "ok, problem = pcall(function() error('here') end)\n"
                "assert(not ok and problem == 'session:6: here')\n"
                "assert(select('#', pcall(function() return 1, nil, nil end)) == 4)");
}

static void unknown_names_get_the_nearest_right_one(void **state) {
    (void)state;
    static const struct {
        const char *text, *message;
    } cases[] = {
        {"prnt(3)", "there is no 'prnt'; did you mean 'print'?"},
        {"rawset({}, 1, 2)", "there is no 'rawset': tables of scripts are written with t[key] = value"},
        {"local a = unpack{1}", "there is no 'unpack': table.unpack gives the values of a list"},
        {"local a = _G.print", "there is no '_G': the names of a script are in _ENV"},
        {"local a = math.pow(2, 3)", "'math' has no 'pow': x ^ y is x to the power of y"},
        {"local a = zebra", "there is no 'zebra'; a name is made by 'local' or by '=', with a value that is not nil"},
        {"string.formt('')", "'string' has no 'formt'; did you mean 'format'?"},
        {"(''):formt()", "'string' has no 'formt'; did you mean 'format'?"},
        {"math.random()", "'math' has no 'random': fid.random(seed) gives numbers that are the same on every run"},
        {"io.open('x')", "there is no 'io': scripts reach no files; fid.data(path) reads guides"},
        {"table.clear({})", "'table' has no 'clear'"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_fails(cases[i].text, get_rank, cases[i].message);
    }
    // What is no name is no typing error.
    assert_runs("assert(math[1] == nil and _ENV[1] == nil and string[true] == nil)");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(elements_are_keys_in_the_order_of_their_rank),
        cmocka_unit_test(elements_without_a_rank_are_no_keys),
        cmocka_unit_test(keys_come_in_the_order_of_pairs),
        cmocka_unit_test(numbers_are_compared_exactly),
        cmocka_unit_test(pairs_wants_a_table),
        cmocka_unit_test(a_sealed_table_can_be_read_only),
        cmocka_unit_test(values_are_shown_by_their_name),
        cmocka_unit_test(formats_are_those_of_the_language),
        cmocka_unit_test(texts_are_joined_and_repeated),
        cmocka_unit_test(sorting_is_stable_and_keeps_the_table_on_failure),
        cmocka_unit_test(tables_are_shifted_moved_and_packed),
        cmocka_unit_test(metatables_act_and_are_the_ones_given),
        cmocka_unit_test(coroutines_pass_values_both_ways),
        cmocka_unit_test(unknown_names_get_the_nearest_right_one),
        cmocka_unit_test(protected_calls_give_what_was_raised),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
