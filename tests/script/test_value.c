#include "script/run.h"

static void points_add_scale_and_compare(void **state) {
    (void)state;
    run_prints(
        "local a = fid.vec(1, 2, 3)\n"
        "print(a + fid.vec(1, 1, 1), a - { 1, 1, 1 }, a * 2, 2 * a, a / 2, -a)\n"
        "print(a == fid.vec(1, 2, 3), a == fid.vec(1, 2, 4), a.x, a.y, a[3], a[4])\n"
        "print(a:length() == math.sqrt(14), a:dot { 1, 0, 2 }, fid.vec(1, 0, 0):cross { 0, 1, 0 })\n"
        "print(fid.vec(0, 3, 4):normalized(), a:distance { 1, 2, 5 }, fid.vec(0, 0, 0):lerp({ 2, 4, 8 }, 0.25))\n"
        "print(math.abs(fid.vec(1, 0, 0):angle { 0, 2, 0 } - 90) < 1e-9)\n"
        "print(fid.vec({ 4, 5, 6 }), fid.vec(a))",
        "(2, 3, 4)\t(0, 1, 2)\t(2, 4, 6)\t(2, 4, 6)\t(0.5, 1, 1.5)\t(-1, -2, -3)\n"
        "true\tfalse\t1.0\t2.0\t3.0\tnil\n"
        "true\t7.0\t(0, 0, 1)\n"
        "(0, 0.6, 0.8)\t2.0\t(0.5, 1, 2)\n"
        "true\n"
        "(4, 5, 6)\t(1, 2, 3)\n");
}

static void points_keep_double_precision(void **state) {
    (void)state;
    // 1e-12 is lost beside 1 in single precision.
    run_prints("local a = fid.vec(1, 0, 0) + { 1e-12, 0, 0 }\nprint(a.x > 1, a.x - 1 < 2e-12)", "true\ttrue\n");
}

static void points_refuse_what_is_none(void **state) {
    (void)state;
    run_refuses("local a = fid.vec(1, 2)", "fid.vec");
    run_refuses("local a = fid.vec(1, 2, '3')", "number");
    run_refuses("local a = fid.vec(1, 2, 0/0)", "number");
    run_refuses("local a = fid.vec { 1, 2 }", "2");
    run_refuses("local a = fid.vec(1, 2, 3) + 1", "a number");
    run_refuses("local a = fid.vec(1, 2, 3) * fid.vec(1, 2, 3)", "number");
    run_refuses("local a = fid.vec(1, 2, 3) / 0", "zero");
    run_refuses("local a = fid.vec(0, 0, 0):normalized()", "no length");
    run_refuses("local a = fid.vec(1, 2, 3).lenght", "did you mean 'length'");
    run_refuses("local a = fid.vec(1, 2, 3); a.x = 2", "cannot be changed");
}

static void frames_carry_points_and_frames(void **state) {
    (void)state;
    // The frame aims along +X with up +Y, so its across is -Z: own (1, 2, 3) is at (3, 2, -1).
    run_prints("local f = fid.frame { at = { 10, 0, 0 }, aim = { 1, 0, 0 } }\n"
               "local function show(v)\n"
               "  return ('%.4f %.4f %.4f'):format(v.x + 0.00001, v.y + 0.00001, v.z + 0.00001)\n"
               "end\n"
               "print(show(f * fid.vec(1, 2, 3)), show(f:to_own { 13, 2, -1 }))\n"
               "print(show(f.aim), show(f.up), show(f.across), show(f.at))\n"
               "local g = fid.frame { at = { 0, 1, 0 }, up = { 1, 0, 0 } }\n"
               "print(show((f * g).at), show((f * g):inverse() * (f * g * fid.vec(1, 2, 3))))\n"
               "print(show((f * f:turn_to(g)).at), show((f * f:turn_to(g)).up))\n"
               "print(fid.frame {} == fid.frame { aim = { 0, 0, 2 } }, f == g)",
               "13.0000 2.0000 -1.0000\t1.0000 2.0000 3.0000\n"
               "1.0000 0.0000 0.0000\t0.0000 1.0000 0.0000\t0.0000 0.0000 -1.0000\t10.0000 0.0000 0.0000\n"
               "10.0000 1.0000 0.0000\t1.0000 2.0000 3.0000\n"
               "0.0000 1.0000 0.0000\t1.0000 0.0000 0.0000\n"
               "true\tfalse\n");
}

static void frames_refuse_what_is_none(void **state) {
    (void)state;
    run_refuses("local f = fid.frame { aim = { 0, 0, 0 } }", "no length");
    run_refuses("local f = fid.frame { aim = { 0, 0, 1 }, up = { 0, 0, 2 } }", "along");
    run_refuses("local f = fid.frame { up = { 0, 1, 0 }, across = { 1, 0, 0 } }", "not both");
    run_refuses("local f = fid.frame { ain = { 0, 0, 1 } }", "did you mean 'aim'");
    run_refuses("local f = fid.frame { at = { 0, 0 } }", "'at'");
    run_refuses("local f = fid.frame(3)", "table");
    run_refuses("local f = fid.frame {}; f.at = { 0, 0, 1 }", "cannot be changed");
    run_refuses("local f = fid.frame {} * 2", "a number");
}

static void plane_tells_bend_and_normal(void **state) {
    (void)state;
    // A leg in the plane x = 1 that goes down and whose knee points to +Z. The first segment turns to the next about
    // (segment 1) x (segment 2) = (0, -1, 0.5) x (0, -1, -0.5) = (1, 0, 0).
    run_prints("local way = fid.points.plane { { 1, 2, 0 }, { 1, 1, 0.5 }, { 1, 0, 0 } }\n"
               "print(way.first, way.last, #way.points, way.points[2])\n"
               "print(way.direction, way.bend, way.normal)\n"
               "print(math.abs(way.length - 2 * math.sqrt(1.25)) < 1e-12)",
               "(1, 2, 0)\t(1, 0, 0)\t3\t(1, 1, 0.5)\n"
               "(0, -1, 0)\t(0, 0, 1)\t(1, 0, 0)\n"
               "true\n");
}

static void plane_lays_points_flat(void **state) {
    (void)state;
    run_prints("local way = fid.points.plane { { 0, 3, 0 }, { 0, 2, 0.5 }, { 0.05, 1, 0.5 }, { 0, 0, 0 } }\n"
               "local worst, a = 0, way.first\n"
               "for _, p in ipairs(way.points) do worst = math.max(worst, math.abs((p - a):dot(way.normal))) end\n"
               "print(worst < 1e-12, math.abs(way.direction:dot(way.normal)) < 1e-12, way.off > 1, way.off < 5)\n"
               "print(way.first, way.last)",
               "true\ttrue\ttrue\ttrue\n(0, 3, 0)\t(0, 0, 0)\n");
    run_refuses("local way = fid.points.plane { { 0, 0, 0 }, { 0, 1, 0 }, { 0, 2, 0 } }", "one line");
    run_refuses("local way = fid.points.plane { { 0, 0, 0 }, { 0, 1, 0 } }", "3 points or more, not 2");
    run_refuses("local way = fid.points.plane { { 0, 0, 0 }, { 0, 1, 0 }, 7 }", "point 3");
    run_refuses("local way = fid.points.plan", "did you mean 'plane'");
}

static void rows_of_points_are_made(void **state) {
    (void)state;
    run_prints(
        "local function show(list)\n"
        "  local text = {}\n"
        "  for i, p in ipairs(list) do text[i] = ('%.3f,%.3f,%.3f'):format(p.x + 1e-9, p.y + 1e-9, p.z + 1e-9) end\n"
        "  print(table.concat(text, ' '))\n"
        "end\n"
        "show(fid.points.line { from = { 0, 0, 0 }, to = { 2, 0, 4 }, count = 3 })\n"
        "show(fid.points.arc { center = { 1, 0, 0 }, axis = { 0, 1, 0 }, from = { 1, 0, 1 }, degrees = 180, count = 3 "
        "})\n"
        "show(fid.points.split({ { 0, 0, 0 }, { 2, 0, 0 }, { 2, 4, 0 } }, 2))\n"
        "show(fid.points.resample({ { 0, 0, 0 }, { 1, 0, 0 }, { 1, 3, 0 } }, 3))\n"
        "show(fid.points.mirror { { 1, 2, 3 }, { 0, 1, 0 } })\n"
        "print(fid.points.mirror(fid.vec(1, 2, 3)))",
        "0.000,0.000,0.000 1.000,0.000,2.000 2.000,0.000,4.000\n"
        "1.000,0.000,1.000 2.000,0.000,0.000 1.000,0.000,-1.000\n"
        "0.000,0.000,0.000 1.000,0.000,0.000 2.000,0.000,0.000 2.000,2.000,0.000 2.000,4.000,0.000\n"
        "0.000,0.000,0.000 1.000,1.000,0.000 1.000,3.000,0.000\n"
        "-1.000,2.000,3.000 0.000,1.000,0.000\n"
        "(-1, 2, 3)\n");
    run_refuses("local l = fid.points.line { from = { 0, 0, 0 }, to = { 0, 1, 0 }, cuont = 3 }",
                "did you mean 'count'");
    run_refuses("local l = fid.points.line { from = { 0, 0, 0 }, to = { 0, 1, 0 }, count = 1 }", "from 2 to 4096");
    run_refuses("local l = fid.points.line { to = { 0, 1, 0 }, count = 3 }", "needs 'from'");
    run_refuses("local l = fid.points.arc { center = { 0, 0, 0 }, axis = { 0, 0, 0 }, from = { 1, 0, 0 }, degrees = 9, "
                "count = 3 }",
                "axis");
}

static void curves_answer_between_their_points(void **state) {
    (void)state;
    // Monotone cubic of three points: no overshoot beyond 1 although the middle point is the highest (Fritsch and
    // Carlson 1980: the slope at a local extremum is 0).
    run_prints("local line = fid.curve { points = { { 0, 0 }, { 1, 2 } }, interpolation = 'linear' }\n"
               "print(line:at(0.25), line:at(-1), line:at(5))\n"
               "local bump = fid.curve { points = { { 0, 0 }, { 1, 1 }, { 2, 0 } } }\n"
               "local top = 0\n"
               "for i = 0, 200 do top = math.max(top, bump:at(i / 100)) end\n"
               "print(top, bump:at(0.5) > 0.5, bump:at(0.5) == bump:at(1.5))",
               "0.5\t0.0\t2.0\n1.0\ttrue\ttrue\n");
    run_refuses("local c = fid.curve { points = { { 0, 0 }, { 0, 1 } } }", "rise");
    run_refuses("local c = fid.curve { points = { { 0, 0 } } }", "1 points");
    run_refuses("local c = fid.curve { points = { { 0, 0 }, { 1 } } }", "point 2");
    run_refuses("local c = fid.curve { points = { { 0, 0 }, { 1, 0/0 } } }", "finite");
    run_refuses("local c = fid.curve { points = { { 0, 0 }, { 1, 1 } }, interpolation = 'smoth' }", "\"smooth\"");
    run_refuses("local c = fid.curve { ponts = {} }", "did you mean 'points'");
    run_refuses("local c = fid.curve { points = { { 0, 0 }, { 1, 1 } } }:at('x')", "finite number");
}

static void random_numbers_follow_the_seed(void **state) {
    (void)state;
    // SplitMix64 from the seed 1234567 gives 6457827717110365317, 3203168211198807973, 9817491932198370423 (widely
    // published check values, from memory; the algorithm is Steele, Lea and Flood 2014). Whole numbers over the full
    // range begin at -2^63.
    run_prints("local r = fid.random(1234567)\n"
               "print(r:integer(math.mininteger, math.maxinteger), r:integer(math.mininteger, math.maxinteger), "
               "r:integer(math.mininteger, math.maxinteger))\n"
               "local a, b, same, inside = fid.random(7), fid.random(7), true, true\n"
               "local seen = {}\n"
               "for i = 1, 1000 do\n"
               "  local x = a:number(-2, 3)\n"
               "  same, inside = same and x == b:number(-2, 3), inside and x >= -2 and x <= 3\n"
               "end\n"
               "for i = 1, 1000 do seen[a:integer(1, 3)] = true end\n"
               "print(same, inside, #seen, a:integer(4, 4))",
               "-2765544319744410491\t-6020203825655967835\t594119895343594615\ntrue\ttrue\t3\t4\n");
    run_refuses("local r = fid.random()", "seed");
    run_refuses("local r = fid.random(1):number(3, 2)", "lowest");
    run_refuses("local r = fid.random(1):integer(3, 2)", "lowest");
}

static void zip_goes_through_two_lists(void **state) {
    (void)state;
    run_prints("for a, b in fid.zip({ 1, 2, 3 }, { 'x', 'y', 'z' }) do print(a, b) end", "1\tx\n2\ty\n3\tz\n");
    run_refuses("for a, b in fid.zip({ 1 }, { 1, 2 }) do end", "1 and 2 elements");
}

static void names_give_back_their_fields(void **state) {
    (void)state;
    run_prints("local n = fid.name.parse('leg1_shin_02_left_control')\n"
               "print(n.id, n.part, n.index, n.side, n.role)\n"
               "local m = fid.name.parse('root_control')\n"
               "print(m.id, m.part, m.index, m.side, m.role)",
               "leg1\tshin\t2\tleft\tcontrol\nnil\troot\tnil\tcenter\tcontrol\n");
    run_refuses("local n = fid.name.parse('Not A Name')", "Not A Name");
    run_refuses("local n = fid.name.parse('a', { tempate = '{part}' })", "did you mean 'template'");
}

static void outlines_become_strokes_of_the_rig(void **state) {
    (void)state;
    script_run run;
    run_recipe(&run,
               "local rig = fid.rig { name = 'test', height = 1 }\n"
               "rig:control { part = 'a', at = { 0, 0, 0 }, "
               "outline = fid.outline.line { points = { { 0, 0, 0 }, { 1, 2, 3 }, { 4, 5, 6 } }, closed = true } }\n"
               "rig:control { part = 'b', at = { 0, 0, 0 }, outline = fid.outline.circle { size = 2, axis = 'z', at = "
               "{ 0, 0, 5 } } }\n"
               "return rig");
    run_ok(&run);
    assert_int_equal(run.rig->bones.count, 2);
    int32_t lines = 0, circles = 0;
    for (int32_t i = 0; i < run.rig->outlines.count; i++) {
        const fid_strokes *strokes = &run.rig->outlines.at[i].strokes;
        assert_int_equal(strokes->count, 1);
        const fid_stroke *stroke = &strokes->at[0];
        assert_true(stroke->closed);
        if (stroke->count == 3) {
            lines++;
            assert_near(stroke->points[1].x, 1, 0);
            assert_near(stroke->points[2].z, 6, 0);
        } else {
            // Square to Z and moved along it; the largest extent is the size, so the radius is half of it.
            circles++;
            for (int32_t j = 0; j < stroke->count; j++) {
                fid_vec3 p = stroke->points[j];
                assert_near(p.z, 5, 1e-6);
                assert_near(sqrt((double)p.x * p.x + (double)p.y * p.y), 1, 1e-5);
            }
        }
    }
    assert_int_equal(lines, 1);
    assert_int_equal(circles, 1);
    run_clear(&run);
    run_refuses("local o = fid.outline.circle {}", "needs 'size'");
    run_refuses("local o = fid.outline.circle { size = -1 }", "above 0");
    run_refuses("local o = fid.outline.box { size = 1, axis = 'w' }", "\"x\", \"y\" or \"z\"");
    run_refuses("local o = fid.outline.line { points = { { 0, 0, 0 } } }", "1 points");
    run_refuses("local o = fid.outline.line { points = { { 0, 0, 0 }, 3 } }", "'points' [2]");
    run_refuses("local o = fid.outline.square { sise = 1 }", "did you mean 'size'");
}

static void data_files_become_tables(void **state) {
    (void)state;
    run_put("guides/legs.json", "{\"leg\": [[0, 1.5, -2], [1e2, 0.25, 3]], \"count\": 2, \"on\": true, \"none\": null, "
                                "\"name\": \"\\u00e9\"}");
    run_prints("local d = fid.data('guides/legs.json')\n"
               "print(d.leg[1][2], d.leg[2][1], d.count, d.on, d.none, d.name, #d.leg)\n"
               "print(fid.vec(d.leg[1]) + { 1, 1, 1 })",
               "1.5\t100\t2\ttrue\tnil\t\xc3\xa9\t2\n(1, 2.5, -1)\n");
    run_put("points.csv", "name,x,y\r\n\"hip, left\",1,-2.5\r\n\r\n\"say \"\"so\"\"\",4,\"5\"\n");
    run_prints("local rows = fid.data('points.csv')\n"
               "print(#rows, rows[1].name, rows[1].x, rows[1].y)\n"
               "print(rows[2].name, rows[2].x, math.type(rows[2].y))",
               "2\thip, left\t1.0\t-2.5\nsay \"so\"\t4.0\tnil\n");
}

static void data_files_are_refused_with_their_line(void **state) {
    (void)state;
    static const struct {
        const char *file, *content, *message;
        int32_t line;
    } cases[] = {
        {"bad.json", "{\n\"a\": 1,\n}", "", 3},
        {"twice.json", "{\"a\": 1, \"a\": 2}", "stands twice", 0},
        {"hole.json", "[1, null]", "null", 0},
        {"empty.json", "", "", 1},
        {"more.csv", "a,b\n1,2\n1,2,3\n", "more cells", 3},
        {"fewer.csv", "a,b\n1\n", "fewer cells", 2},
        {"quote.csv", "a,b\n1,\"2\n", "not closed", 2},
        {"inside.csv", "a,b\n1,2\"2\n", "inside a cell", 2},
        {"after.csv", "a,b\n\"1\"2,2\n", "closing quote", 2},
        {"same.csv", "a,a\n1,2\n", "two columns", 1},
        {"noname.csv", "a,\n1,2\n", "has no name", 1},
        {"bytes.csv", "a\n\xff\n", "UTF-8", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[96];
        script_run run;
        run_put(cases[i].file, cases[i].content);
        snprintf(text, sizeof text, "local d = fid.data('%s')", cases[i].file);
        run_recipe(&run, text);
        run_failed(&run, cases[i].message, 2);
        const fid_finding *finding = &run.report.findings.at[0];
        assert_string_equal(finding->places[0].file, cases[i].file);
        assert_int_equal(finding->places[0].line, cases[i].line);
        run_clear(&run);
    }
    run_refuses("local d = fid.data('missing.json')", "missing.json");
    run_refuses("local d = fid.data('../recipe.json')", "..");
    run_refuses("local d = fid.data('/etc/passwd.json')", "/etc/passwd.json");
    run_refuses("local d = fid.data('recipe.lua')", ".json or .csv");
    run_refuses("local d = fid.data(7)", "a number");
}

static void points_beyond_all_measure_are_refused(void **state) {
    (void)state;
    run_prints("local far = fid.vec(1e30, 0, 0)\n"
               "local function try(f) print((tostring(select(2, pcall(f))))) end\n"
               "print(far)\n"
               "try(function() return fid.vec(1e31, 0, 0) end)\n"
               "try(function() return far * 10 end)\n"
               "try(function() return far + far end)\n"
               "try(function() return far / 1e-3 end)\n"
               "try(function() return far:cross { 0, 1e30, 0 } end)",
               "(1e30, 0, 0)\n"
               "x of fid.vec is 1e+31; it takes a finite number of at most 1e30\n"
               "the result is no point: a coordinate is beyond 1e30\n"
               "the result is no point: a coordinate is beyond 1e30\n"
               "the result is no point: a coordinate is beyond 1e30\n"
               "the result is no point: a coordinate is beyond 1e30\n");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_add_scale_and_compare),
        cmocka_unit_test(points_keep_double_precision),
        cmocka_unit_test(points_beyond_all_measure_are_refused),
        cmocka_unit_test(points_refuse_what_is_none),
        cmocka_unit_test(frames_carry_points_and_frames),
        cmocka_unit_test(frames_refuse_what_is_none),
        cmocka_unit_test(plane_tells_bend_and_normal),
        cmocka_unit_test(plane_lays_points_flat),
        cmocka_unit_test(rows_of_points_are_made),
        cmocka_unit_test(curves_answer_between_their_points),
        cmocka_unit_test(random_numbers_follow_the_seed),
        cmocka_unit_test(zip_goes_through_two_lists),
        cmocka_unit_test(names_give_back_their_fields),
        cmocka_unit_test(outlines_become_strokes_of_the_rig),
        cmocka_unit_test(data_files_become_tables),
        cmocka_unit_test(data_files_are_refused_with_their_line),
    };
    return cmocka_run_group_tests(tests, run_enter, run_leave);
}
