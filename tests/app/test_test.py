#!/usr/bin/env python3
"""fid test: every check passes on a sound rig and fails on a planted fault; what is run, and how results are written."""
import json
import os
import resource
import unittest
import xml.etree.ElementTree as xml

from support import POST, Case, run

HEAD = '''local fid = require "fid"
return fid.tests {
  module = "post", height = 1,
  cases = {
'''
TAIL = '  },\n}\n'

# A post whose slider `lean` turns it, whose control `top` it reaches for and stretches to, keeping as much volume as
# the parameter says; `flip` snaps it over in the middle of the slider.
POST_OF_ALL = '''local fid = require "fid"
return fid.module {
  name = "post", version = "1.0.0", summary = "a post that leans and stretches",
  params = {
    at   = { type = "point", default = { 0.3, 0, 0 }, unit = "m", doc = "its foot" },
    keep = { type = "number", default = 1, min = 0, max = 1, doc = "how much of its volume it keeps" },
    snap = { type = "boolean", default = false, doc = "whether it snaps over in the middle" },
    skew = { type = "boolean", default = false, doc = "whether one side differs" },
    hat  = { type = "point", optional = true, unit = "m", doc = "a bone on its top" },
    low  = { type = "bone", optional = true, doc = "what it stands on" },
  },
  build = function(rig, p)
    local foot = rig:control { part = "foot", parent = p.parent, at = p.at, size = 0.1 }
    local top = rig:control { part = "top", parent = foot, at = p.at + fid.vec(0, 1, 0), size = 0.1 }
    local lean = rig:slider { on = foot, name = "lean", min = -1, max = 1 }
    local post = rig:bone { part = "post", parent = foot, at = p.at, to = p.at + fid.vec(0, 1, 0), up = { 0, 0, 1 } }
    local arm = rig:bone { part = "arm", parent = foot, at = p.at, to = p.at + fid.vec(p.skew and 0.2 or 0.3, 0.1, 0), up = { 0, 0, 1 }, rotation_order = "zyx" }
    rig:span { bone = post, source = top, keep_volume = p.keep }
    if p.snap then rig:drive { to = arm.channel["rotation.z"], from = lean, curve = { { 0.499, 0 }, { 0.501, 60 } } }
    else rig:drive { to = arm.channel["rotation.z"], from = lean, gain = 60 } end
    if p.hat then rig:bone { part = "hat", parent = top, at = p.at + fid.vec(0, 1, 0), to = p.hat } end
    return { controls = { foot = foot, top = top }, mounts = { post = post, arm = arm }, sliders = { lean = lean } }
  end,
}
'''


def suite(*cases, more=""):
    return HEAD.replace("cases = {", more + "cases = {") + "".join(f'    {{ {json.dumps(name, ensure_ascii=False)}, function(t)\n      {body}\n    end }},\n' for name, body in cases) + TAIL


# For each check: a body that passes, and bodies that fail, with what the message says.
RAISED = 't:use() local solved = t:solve { one_top_control = { translation = {0, 0.5, 0} } } '
LEANS = 't:use() local solved = t:solve { one_foot_control = { lean = 0.5 } } '
CHECKS = {
    "near of numbers": ('t:near(1, 1.0009, 0.001)', [
        ('t:near(1, 1.0011, 0.001, "the sum")', "the sum: expected 1.0011, found 1, which is 0.0011 off; 0.001 is allowed"),
        ('t:near(0/0, 1, 10)', "found"), ('t:near(math.huge, 1, 10)', "found inf"),
        ('t:near("a", 1, 10)', "expected 1, found 'a', which cannot be near to it"), ('t:near(nil, 1, 10)', "found nil"),
        ('t:near(1, 1)', "t:near needs how far off it may be"), ('t:near(1, 1, -1)', "t:near needs how far off it may be")]),
    "near of points": (RAISED + 't:near(solved:tip("one_post_deform"), {0.3, 1.5, 0}, 1e-5)', [
        (RAISED + 't:near(solved:tip("one_post_deform"), {0.3, 1.4, 0}, 1e-5, "the tip")', "the tip: expected {0.3, 1.4, 0}, found {0.3, 1.5, "),
        ('t:near({0, 0, 0}, {0, 0, 1e-4}, 1e-5)', "which is 0.0001 off")]),
    "near of frames and lists": ('t:use() t:near(t.rig:find("one_top_control").frame, {0.3, 1, 0}, 1e-6) t:near({1, 2, 3, 4}, {1, 2, 3, 4}, 0)', [
        ('t:use() t:near(t.rig:find("one_top_control").frame, fid.frame { at = {0, 1, 0} }, 1e-6)', "which is 0.3 off"),
        ('t:near({1, 2, 3, 4}, {1, 2, 3, 5}, 0.5)', "which is 1 off"), ('t:near({1, 2}, {1, 2, 3, 4}, 9)', "the value")]),
    "aligned with rest": ('t:use() t:aligned(t:solve { one_foot_control = { translation = {1, 2, 3} } }, "one_arm_deform", "rest", 0.01)', [
        (LEANS + 't:aligned(solved, "one_arm_deform", "rest", 29)', "expected to be turned as at rest"),
        (LEANS + 't:aligned(solved, "one_arm_deform", "rest", 29)', "which is 30 degrees off; 29 are allowed")]),
    # Turned about the aim axis, which is the bone's own z: 30 degrees behind what it was, in the order zyx of its own.
    "aligned with angles": (LEANS + 'local r = solved:rotation("one_arm_deform") t:aligned(solved, "one_arm_deform", { r.x, r.y, r.z }, 0.01)', [
        (LEANS + 'local r = solved:rotation("one_arm_deform") t:aligned(solved, "one_arm_deform", { r.x, r.y, r.z + 5 }, 0.01)', "degrees off"),
        ('t:use() t:aligned(t:solve(), "one_arm_deform", "left", 1)', 't:aligned() takes a frame, angles {x, y, z} or "rest", not'),
        ('t:use() t:aligned("one_arm_deform", "rest", 1)', "t:aligned takes what t:solve() gave first")]),
    "aligned with a frame": ('local one = t:use() t:aligned(t:solve(), one.mounts.arm, one.mounts.arm.frame, 0.01)', [
        ('local one = t:use() t:aligned(t:solve(), one.mounts.arm, one.mounts.post.frame, 1)', "expected the axes of the frame")]),
    "length": (RAISED + 't:length(solved, "one_post_deform", 1.5, 1e-5)', [
        (RAISED + 't:length(solved, "one_post_deform", 1, 0.4)', "one_post_deform: expected a length of 1 m, found 1.5 m; 0.4 is allowed")]),
    "volume": (RAISED + 't:volume(solved, "one_post_deform", 1, 1e-4)', [
        ('t:use { keep = 0 } t:volume(t:solve { one_top_control = { translation = {0, 0.5, 0} } }, "one_post_deform", 1, 1e-4)', "expected 1 times the volume at rest, found 1.5 times")]),
    "symmetric": ('''local left = t:use(nil, { side = "left" })
      t:symmetric(left, t.rig:mirror(left), function(one) return { [one.controls.top] = { translation = {0.1, 0.2, 0.3}, rotation = {10, 20, 30} }, [one.controls.foot] = { lean = 0.4, quaternion = {0, 0.6, 0, 0.8} } } end)''', [
        ('''local left = t:use(nil, { side = "left" })
      t:symmetric(left, t.rig:mirror(left, { skew = true }), function() return {} end)''', "the tip of one_arm_right_deform: expected {-0.6, 0.1, 0}, the mirror image of one_arm_left_deform, found {-0.5, 0.1, 0}"),
        ('''local left = t:use(nil, { side = "left" })
      t:symmetric(left, t.rig:mirror(left, { snap = true }), function(one) return { [one.controls.foot] = { lean = 0.4 } } end)''', "the mirror image of one_arm_left_deform"),
        ('''local left = t:use(nil, { side = "left" })
      t:symmetric(left, t.rig:mirror(left, { hat = {-0.3, 1.2, 0} }), function() return {} end)''', "expected as many bones on both sides, found 4 and 5"),
        ('''local left = t:use(nil, { side = "left" })
      t:symmetric(left, t.rig:mirror(left, { keep = 0 }), function(one) return { [one.controls.top] = { translation = {0, 0.5, 0} } } end)''', "expected the scale of one_post_left_deform"),
        ('local left = t:use(nil, { side = "left" }) t:symmetric(left, t.rig:mirror(left), function() end)', "must give a pose table")]),
    "continuous": ('t:use() t:continuous { set = function(x) return { one_foot_control = { lean = x } } end, from = -1, to = 1, steps = 300, turn = 0.5, shift = 0.01 }', [
        ('t:use { snap = true } t:continuous { set = function(x) return { one_foot_control = { lean = x } } end, from = 0, to = 1, steps = 100, turn = 5, shift = 1 }',
         "one_arm_deform: expected to turn by at most 5 degrees a step, found"),
        ('t:use() t:continuous { set = function(x) return { one_top_control = { translation = { x > 0.5 and 0.2 or 0, 0, 0 } } } end, steps = 100, turn = 90, shift = 0.1 }',
         "expected to move by at most 0.1 m a step, found 0.2 before x = 0.51"),
        ('t:use() t:continuous { from = 0 }', "t:continuous{} needs 'set'"), ('t:use() t:continuous { set = print, steps = 0 }', "'steps' must be a whole number"),
        ('t:use() t:continuous { set = print, step = 3 }', "did you mean 'steps'?")]),
    "refused": ('t:refused("must be a number", function() t:use { keep = 2 } end) t:refused("boo", function() error "boo" end)', [
        ('t:refused("a number", function() t:use() end)', "refused: expected an error with 'a number', found none"),
        ('t:refused("too thick", function() t:use { keep = 2 } end)', "refused: expected an error with 'too thick', found: one of post 1.0.0: 'keep' is 2"),
        ('t:refused("", function() error "x" end)', "t:refused() takes a text")]),
    "clean": ('t:use() t:clean { poses = 10, severity = "error" }', [
        ('t:use() t.rig:chain { part = "row", points = { {0, 0, 0}, {0, 0, 1}, {0, 0, 2} } } '
         'local goal = t.rig:control { part = "goal", at = {0, 0, 2}, size = 0.1 } t.rig:ik { chain = t.rig:chain { part = "line", points = { {0, 0, 0}, {0, 0, 1}, {0, 0, 2} } }, goal = goal } t:clean { poses = 1 }',
         "expected no finding, found")]),
    "equal": ('t:equal({ 1, { a = "b" } }, { 1, { a = "b" } }) t:equal(fid.vec(1, 2, 3), fid.vec(1, 2, 3)) t:equal(nil, nil)', [
        ('t:equal({ 1, { a = "b" } }, { 1, { a = "c" } }, "both")', "both: expected {1, {...}}, found {1, {...}}"), ('t:equal(1, 2)', "the value: expected 2, found 1"),
        ('t:equal({ 1 }, { 1, 2 })', "expected {1, 2}, found {1}"), ('t:equal({ 1, 2 }, { 1 })', "found {1, 2}"), ('t:equal("1", 1)', "expected 1, found '1'"),
        ('t:equal(fid.vec(1, 2, 3), fid.vec(1, 2, 4))', "expected {1, 2, 4}, found {1, 2, 3}")]),
    "is_true": ('t:is_true(0) t:is_true("x")', [('t:is_true(nil, "it is there")', "it is there: expected to be so, found nil"), ('t:is_true(false)', "found false")]),
    "use": ('t:equal(t:use().id, "one") t:equal(t:use().id, "two") t:equal(t:use({ keep = 0.5 }, { id = "own", side = "left" }).id, "own") t:equal(t:use(nil, { side = "left" }).side, "left")', [
        ('t:use({ kep = 1 }) t:is_true(true)', "has no parameter 'kep'; did you mean 'keep'?"), ('t:use({}, { sidee = "left" })', "did you mean 'side'?"),
        ('t:use({}, { without = { "hat" } })', "the example has no 'hat' to go without"), ('t.use {}', "use is called as t:use(...)"), ('t:naer(1, 1, 1)', "did you mean 'near'?")]),
    "what ends a case": ('t:is_true(true)', [
        ('local x = 1', "checks nothing"), ('error("boom")', "boom"), ('local x = nil; return x.y', "attempt to index"), ('while true do end', "takes more than"),
        ('pcall(function() while true do end end) t:is_true(true)', "takes more than"), ('local function f() return 1 + f() end f()', "nested too deeply")]),
}


class Test(Case):
    def setUp(self):
        super().setUp()
        self.write("modules/post/module.lua", POST_OF_ALL)

    def run_tests(self, *words, **more):
        return run("test", "--max-instructions", "2e7", *words, cwd=more.pop("cwd", self.folder.name), **more)

    def try_tests(self, text, *words):
        self.write("modules/post/test.lua", text)
        return self.run_tests("post", *words)

    def test_every_check_passes_on_a_sound_rig(self):
        result = self.try_tests(suite(*((name, sound) for name, (sound, _) in CHECKS.items())))
        self.assertEqual((result.stdout, result.returncode), (f"1 module, {len(CHECKS)} cases: {len(CHECKS)} passed, 0 failed\n", 0))
        self.assertEqual(result.stderr, "")

    def test_every_check_fails_on_a_planted_fault_and_alone(self):
        planted = [(f"{name} {i}", body, says) for name, (_, faults) in CHECKS.items() for i, (body, says) in enumerate(faults)]
        cases = [case for name, body, _ in planted for case in ((name, body), (name + " and on", "t:is_true(true)"))]
        text = suite(*cases)
        result = self.try_tests(text, "--format", "json")
        self.assertEqual((result.returncode, result.stderr), (1, ""))
        found = json.loads(result.stdout)
        self.assertEqual((found["format"], found["version"]), ("fid-tests", 1))
        self.assertEqual(found["summary"], {"passed": len(planted), "failed": len(planted), "unusable": 0})
        rows = found["modules"][0]["cases"]
        self.assertEqual([row["name"] for row in rows], [name for name, _ in cases])
        self.assertEqual([row["passed"] for row in rows], [False, True] * len(planted))
        lines = text.split("\n")
        for (name, body, says), row in zip(planted, rows[::2]):
            self.assertIn(says, row["message"], name)
            place = row["origins"][0]
            self.assertEqual(place["file"], "modules/post/test.lua", name)
            if says != "checks nothing":
                # At the line of the check.
                self.assertIn(lines[place["line"] - 1].strip(), body, name)

    def test_a_failure_tells_line_and_trail(self):
        broken = POST_OF_ALL.replace('    local lean =', '    if p.keep == 0.25 then local _ = nil .. "" end\n    local lean =')
        self.write("modules/post/module.lua", broken)
        result = self.try_tests(suite(("it keeps a quarter", "t:use { keep = 0.25 }"), ("one is two", 't:near(1, 2, 0.1, "one")')))
        self.assertEqual((result.returncode, result.stderr), (1, ""))
        line = broken.split("\n").index('    if p.keep == 0.25 then local _ = nil .. "" end') + 1
        self.assertEqual(result.stdout, f"modules/post/module.lua:{line}: error: post: 'it keeps a quarter': attempt to concatenate a nil value\n"
                         "    in one of post 1.0.0, used at modules/post/test.lua:6\n"
                         "modules/post/test.lua:9: error: post: 'one is two': one: expected 2, found 1, which is 1 off; 0.1 is allowed\n"
                         "1 module, 2 cases: 0 passed, 2 failed\n")
        quiet = self.run_tests("post", "-q")
        self.assertEqual(quiet.stdout, "".join(result.stdout.splitlines(True)[:3]))

    def test_each_case_has_a_rig_and_globals_of_its_own(self):
        result = self.try_tests(suite(("first", 'seen = 1 t:use() t:equal(t.rig.height, 3)'), ("second", 't:equal(pcall(function() return seen end), false) t:equal(#t.rig:bones {}, 0)'), more="height = 3, ").replace("height = 1, ", ""))
        self.assertIn("2 passed", result.stdout)

    def test_the_example_may_make_what_it_needs(self):
        more = 'example = function(rig) return { parent = rig:control { part = "ground", at = {0, 0, 0}, size = 1 }, keep = 0.5 } end, '
        result = self.try_tests(suite(("it hangs from it", 't:equal(t:use().controls.foot.parent.name, "ground_control") t:equal(t:use().controls.foot.parent.name, "ground_control") t:equal(#t.rig:bones { part = "ground" }, 1)'),
                                   ("but need not", 't:equal(t:use({}, { without = { "parent" } }).controls.foot.parent, nil)'), more=more))
        self.assertIn("2 passed, 0 failed", result.stdout)
        self.assertIn("must give a table of parameters", self.try_tests(suite(("it", "t:use()"), more="example = function() end, ")).stdout)

    def test_a_fault_of_the_file_is_told_once_and_the_rest_is_run(self):
        self.write("modules/other/module.lua", POST.replace('"post"', '"other"', 1))
        self.write("modules/other/test.lua", suite(("it is", "t:use() t:is_true(true)")).replace('"post"', '"other"'))
        for text, says in (("return 3", "must return fid.tests{}"), ("return fid.test {", "unexpected symbol"), ("error 'no'", "no"),
                           ('return require "fid".tests { module = "post", cases = {} }', "there are no cases"),
                           ('return require "fid".tests { module = "Post", cases = {} }', "needs 'module'"),
                           ('return require "fid".tests { module = "post", case = {} }', "did you mean 'cases'?"),
                           ('return require "fid".tests { module = "post", height = 0, cases = {} }', "'height' must be a number above 0"),
                           ('return require "fid".tests { module = "post", cases = { { "a" } } }', "('a') must be {name, function}"),
                           ('return require "fid".tests { module = "post", cases = { { "a\\n", print } } }', "needs a name that reads as a sentence"),
                           ('return require "fid".tests { module = "post", cases = { { "a", print }, { "a", print } } }', "there is a 'a' before"),
                           ('return require "fid".tests { module = "post", cases = { a = print } }', "it has 'a'"),
                           ('return require "fid".tests { module = "post", poses = { { "Up", print }, { "up", print } }, cases = { { "a", print } } }', "there is a 'Up' before"),
                           ('return require "fid".tests { module = "stretch_leg", cases = { { "a", print } } }', "is called 'post', not as its folder")):
            self.write("modules/post/test.lua", text)
            result = self.run_tests("other", "post", "--format", "text", "--format", "junit:" + self.path("out.xml"))
            self.assertEqual(result.returncode, 2, text)
            self.assertEqual(result.stderr.count("error:"), 1, text)
            self.assertIn(says, result.stderr)
            self.assertEqual(result.stdout, "2 modules, 1 case: 1 passed, 0 failed; the tests of 1 cannot be run\n")
            self.check_junit(self.read(self.path("out.xml")), 2, 0, 1)

    def test_which_modules_are_tested(self):
        self.write("modules/post/test.lua", suite(("near", "t:use() t:is_true(true)")))
        self.write("recipes/modules/post/module.lua", POST_OF_ALL.replace("1.0.0", "2.0.0"))
        self.write("recipes/modules/post/test.lua", suite(("nearer", "t:equal(t:use().module, 'post 2.0.0')")))
        self.write("recipes/modules/bare/module.lua", POST.replace('"post"', '"bare"', 1))
        self.write("shared/tail/module.lua", POST.replace('"post"', '"tail"', 1))
        self.write("shared/tail/test.lua", suite(("far", "t:use() t:is_true(true)")).replace('"post"', '"tail"'))
        recipes = self.path("recipes")

        def files(*words, **more):
            result = self.run_tests(*words, "--format", "json", **more)
            self.assertEqual((result.returncode, result.stderr), (0, ""))
            return [(suite["file"], [case["name"] for case in suite["cases"]]) for suite in json.loads(result.stdout)["modules"]]
        self.assertEqual(files("post", cwd=recipes), [("modules/post/test.lua", ["nearer"])])
        self.assertEqual(files("post"), [("modules/post/test.lua", ["near"])])
        self.assertEqual(files("recipes/modules/post"), [("recipes/modules/post/test.lua", ["nearer"])])
        self.assertEqual(files("recipes/modules/post/test.lua", "modules/post/"), [("recipes/modules/post/test.lua", ["nearer"]), ("modules/post/test.lua", ["near"])])
        self.assertEqual(files("test.lua", cwd=self.path("modules/post")), [("test.lua", ["near"])])
        self.assertEqual(files(".", cwd=self.path("modules/post")), [("test.lua", ["near"])])
        # A folder that is no place of the search is as good.
        self.assertEqual(files("shared/tail"), [("shared/tail/test.lua", ["far"])])
        self.assertEqual(files("tail", env={"FID_PATH": self.path("shared")}), [(self.path("shared/tail/test.lua"), ["far"])])
        every = files(cwd=recipes, env={"FID_PATH": "../shared"})
        self.assertEqual([file for file, _ in every if not file.startswith("fid:")], ["modules/post/test.lua", "../shared/tail/test.lua"])
        self.assertIn("fid:modules/stretch_leg/test.lua", [file for file, _ in every])

        self.refused(self.run_tests("bare", cwd=recipes), 3, "'bare' has no test.lua in modules/bare")
        self.refused(self.run_tests("recipes/modules/nothing"), 3, "there is no 'recipes/modules/nothing'; name a module, its folder or its test.lua")
        self.refused(self.run_tests("psot"), 2, "did you mean 'post'?")
        self.refused(self.run_tests("Post"), 2, "the name of a module has lower-case letters")
        self.refused(self.run_tests("--param", "a=1", "post"), 2, "there is no option '--param'")
        self.write("lonely/test.lua", suite(("it", "t:use()")))
        result = self.run_tests("./lonely")
        self.assertEqual(result.stderr, "lonely/test.lua: error: cannot read the file 'module.lua': it does not exist\n")
        self.assertEqual(result.returncode, 3)

    def test_a_case_that_reaches_a_limit_or_ends_its_process_fails_alone(self):
        cases = (("before", "t:is_true(true)"), ("it takes all memory", 'local all = {} while true do all[#all + 1] = ("x"):rep(1000000) .. #all end'),
                 ("it takes all steps", "while true do end"), ("behind", "t:use() t:is_true(true)"))
        result = self.try_tests(suite(*cases), "--max-memory", "32M", "--format", "json")
        self.assertEqual((result.returncode, result.stderr), (1, ""))
        rows = json.loads(result.stdout)["modules"][0]["cases"]
        self.assertEqual([(row["name"], row["passed"]) for row in rows], [("before", True), ("it takes all memory", False), ("it takes all steps", False), ("behind", True)])
        self.assertIn("need more than 32 MiB", rows[1]["message"])
        self.assertIn("takes more than 20000000 steps", rows[2]["message"])
        self.assertEqual([row["origins"][0]["file"] for row in rows[1:3]], ["modules/post/test.lua"] * 2)
        # The wall clock, where there are steps enough; and a signal that nobody awaits.
        endless = suite(("before", "t:is_true(true)"), ("it takes all the time", "while true do end"), ("behind", "t:is_true(true)"))
        self.write("modules/post/test.lua", endless)
        timed = run("test", "post", "--max-seconds", "0.3", "--max-instructions", "1e15", cwd=self.folder.name)
        self.assertEqual((timed.returncode, timed.stderr), (1, ""))
        self.assertRegex(timed.stdout, r"^modules/post/test.lua: error: post: 'it takes all the time': .*0\.3 s.*\n1 module, 3 cases: 2 passed, 1 failed\n$")
        killed = run("test", "post", "--max-instructions", "1e15", cwd=self.folder.name, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (1, 1)))
        self.assertEqual(killed.returncode, 1)
        self.assertRegex(killed.stdout, r"^modules/post/test.lua: error: post: 'it takes all the time': its process was ended by signal \d+\n1 module, 3 cases: 2 passed, 1 failed\n$")

    def test_a_file_that_reaches_a_limit_leaves_the_others_alone(self):
        self.write("modules/other/module.lua", POST.replace('"post"', '"other"', 1))
        self.write("modules/other/test.lua", suite(("it is", "t:use() t:is_true(true)")).replace('"post"', '"other"'))
        for text, says in (('local all = {} while true do all[#all + 1] = ("x"):rep(1000000) .. #all end', "need more than 32 MiB"), ("while true do end", "takes more than 20000000 steps")):
            self.write("modules/post/test.lua", text)
            result = self.run_tests("post", "other", "--max-memory", "32M")
            self.assertEqual((result.returncode, result.stdout), (2, "2 modules, 1 case: 1 passed, 0 failed; the tests of 1 cannot be run\n"))
            self.assertRegex(result.stderr, r"^modules/post/test.lua(:\d+)?: error: .*" + says)

    def test_what_is_printed_does_not_depend_on_how_many_run_at_once(self):
        cases = [(f"case {i}", f'print("said {i}") t:is_true({"true" if i % 3 else "false"})') for i in range(12)]
        cases.insert(5, ("it takes all memory", 'print "soon" local all = {} while true do all[#all + 1] = ("x"):rep(1000000) .. #all end'))
        self.write("modules/post/test.lua", suite(*cases))
        results = [self.run_tests("post", "--max-memory", "32M", "--jobs", jobs) for jobs in ("1", "2", "7")]
        self.assertEqual(results[0].stdout.count("error:"), 5)
        said = [f"said {i}" for i in range(12)]
        self.assertEqual(results[0].stderr.splitlines(), said[:5] + ["soon"] + said[5:])
        for result in results[1:]:
            self.assertEqual((result.returncode, result.stdout, result.stderr), (results[0].returncode, results[0].stdout, results[0].stderr))
        self.refused(self.run_tests("post", "--jobs", "0"), 2, "--jobs")

    def test_poses_are_tried_too(self):
        poses = (('leaning', 'return { [one.controls.foot] = { lean = 1 } }', None), ('still', 'return { [one.controls.foot] = { lean = 0 } }', "the pose 'still' moves nothing"),
                 ('lost', 'return { [one.controls.foot] = { loan = 1 } }', "loan"), ('none', 'return 3', "the pose 'none': the function must give a pose table {[bone] = {...}}"))
        more = "poses = {" + "".join(f'{{ "{name}", function(one) {body} end }}, ' for name, body, _ in poses) + "}, "
        result = self.try_tests(suite(("it is", "t:use() t:is_true(true)"), more=more), "--format", "json")
        rows = json.loads(result.stdout)["modules"][0]["cases"]
        self.assertEqual([row["name"] for row in rows], ["it is"] + [f"the pose '{name}' moves something" for name, _, _ in poses])
        for row, (_, _, says) in zip(rows[1:], poses):
            self.assertEqual(row["passed"], says is None, row)
            self.assertIn(says or "", row.get("message") or "")
        self.assertEqual(self.run_tests("post", "--only", "the pose 'leaning'*").stdout, "1 module, 1 case: 1 passed, 0 failed\n")
        self.assertIn("is what the pose stands for", self.try_tests(suite(("the pose 'still' moves something", "t:is_true(true)"), more=more)).stderr)

    def test_only_some_cases(self):
        self.write("modules/post/test.lua", suite(("it is up", "t:is_true(true)"), ("it is down", "t:is_true(true)"), ("all fails", "t:is_true(false)")))
        self.assertEqual(self.run_tests("post", "--only", "it is *").stdout, "1 module, 2 cases: 2 passed, 0 failed\n")
        self.assertEqual(self.run_tests("post", "--only", "it is ?p").stdout, "1 module, 1 case: 1 passed, 0 failed\n")
        self.refused(self.run_tests("post", "--only", "it is"), 2, "no case has a name that matches 'it is'")

    def test_a_module_that_is_not_as_in_its_lock_is_warned_of_once(self):
        self.write("modules/post/test.lua", suite(("one", "t:use() t:is_true(true)"), ("two", "t:use() t:is_true(true)")))
        self.assertEqual(run("modules", "lock", cwd=self.folder.name).returncode, 0)
        self.assertEqual(self.run_tests("post").stderr, "")
        self.write("modules/post/extra.lua", "")
        result = self.run_tests("post")
        self.assertEqual((result.returncode, result.stderr.count("warning:"), result.stderr.count("extra.lua added")), (0, 1, 1))
        self.assertEqual(self.run_tests("post", "--locked").returncode, 2)

    def check_junit(self, text, tests, failures, errors):
        """The shape that servers read: testsuites of testsuite (name, tests, failures, errors) of testcase (name, classname), each with at most one failure or error (message, type).
        From memory of the schema that is published with Jenkins' plug-in for such files; times, which it does not require, are not there."""
        root = xml.fromstring(text.encode())
        self.assertEqual((root.tag, root.get("tests"), root.get("failures"), root.get("errors")), ("testsuites", str(tests), str(failures), str(errors)))
        counted = [0, 0, 0]
        for suite in root:
            self.assertEqual((suite.tag, sorted(suite.keys())), ("testsuite", ["errors", "failures", "name", "tests"]))
            found = [len(suite.findall("testcase")), len(suite.findall("testcase/failure")), len(suite.findall("testcase/error"))]
            self.assertEqual([int(suite.get(key)) for key in ("tests", "failures", "errors")], found)
            self.assertEqual({one.tag for one in suite}, {"testcase"})
            for case in suite:
                self.assertEqual(sorted(case.keys()), ["classname", "name"])
                self.assertLessEqual(len(case), 1)
                for flaw in case:
                    self.assertIn(flaw.tag, ("failure", "error"))
                    self.assertEqual(sorted(flaw.keys()), ["message", "type"])
                    self.assertIn(flaw.get("message"), flaw.text)
            counted = [a + b for a, b in zip(counted, found)]
        self.assertEqual(counted, [tests, failures, errors])
        return root

    def test_junit_is_well_formed_whatever_names_and_messages_hold(self):
        odd = 'it\'s <b> & "c" ]]> é \U0001f441'
        result = self.try_tests(suite((odd, "t:use() t:is_true(true)"), (odd + " fails", "t:is_true(false, '<&\"]]> \\239\\191\\191 \\1 end')"), ("\uffff and \ufffe", "t:is_true(false)")), "--format", "junit")
        self.assertEqual((result.returncode, result.stderr), (1, ""))
        root = self.check_junit(result.stdout, 3, 2, 0)
        cases = root.findall("testsuite/testcase")
        self.assertEqual([case.get("name") for case in cases], [odd, odd + " fails", "? and ?"])
        self.assertEqual(cases[1][0].get("message"), '<&"]]> ? ? end: expected to be so, found false')
        self.assertRegex(cases[1][0].text, r"^modules/post/test.lua:\d+: error: <&")
        # Folders may be called anything.
        folder = os.path.join(self.folder.name.encode(), b"a<&\"\xff\x01")
        os.makedirs(folder)
        for name, text in (("module.lua", POST_OF_ALL), ("test.lua", suite(("it fails", "t:is_true(false)")))):
            with open(os.path.join(folder, name.encode()), "w") as file:
                file.write(text)
        result = self.run_tests(os.fsdecode(folder), "--format", "junit")
        self.check_junit(result.stdout, 1, 1, 0)

    def test_results_go_where_they_are_asked_for_or_nowhere(self):
        self.write("modules/post/test.lua", suite(("it is", "t:use() t:is_true(true)")))
        out = self.path("out.json")
        result = self.run_tests("post", "--format", "text", "--format", f"json:{out}", "--format", f"junit:{self.path('out.xml')}")
        self.assertEqual((result.returncode, result.stdout), (0, "1 module, 1 case: 1 passed, 0 failed\n"))
        self.assertEqual(json.loads(self.read(out))["summary"], {"passed": 1, "failed": 0, "unusable": 0})
        self.check_junit(self.read(self.path("out.xml")), 1, 0, 0)
        self.assertEqual(self.run_tests("post", "--format", "json").stdout, self.run_tests("post", "--format", "json").stdout)
        for words, says in ((("--format", "jnuit"), "--format takes text, json or junit, and a file as in junit:tests.xml, not 'jnuit'; did you mean 'junit'?"),
                            (("--format", "json:"), "names no file"), (("--format", "json:a", "--format", "text:./a"), "would go to the same place")):
            self.refused(self.run_tests("post", *words), 2, says)
        for name in ("test", "module"):
            before = self.read(self.path(f"modules/post/{name}.lua"))
            self.refused(self.run_tests("post", "--format", f"json:modules/post/{name}.lua"), 2, "is an input of this command")
            self.assertEqual(self.read(self.path(f"modules/post/{name}.lua")), before)
        gone = self.run_tests("post", "--format", "json:nowhere/a.json", "--format", "junit:other.xml")
        self.assertEqual(gone.returncode, 3)
        self.assertFalse(os.path.exists(self.path("other.xml")))


if __name__ == "__main__":
    unittest.main()
