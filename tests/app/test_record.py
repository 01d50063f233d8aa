#!/usr/bin/env python3
"""record() and lift(): a session becomes a recipe that builds the same rig."""
import json
import os
import subprocess
import unittest

from support import ARM, FID, POST, Case, run


def bare(text):
    """A skeleton without where its elements were written."""
    skeleton = json.loads(text)
    del skeleton["origins"]
    for elements in skeleton.values():
        for element in elements if isinstance(elements, list) else ():
            element.pop("origin", None)
    return skeleton


class Record(Case):
    def session(self, text, *words, status=0):
        result = subprocess.run([FID, "repl", *words], input=text, capture_output=True, text=True, timeout=200, cwd=self.folder.name)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def recorded(self, text, *words):
        """The skeleton of the session and that of its recording, which is the same on every run."""
        self.session(text + 'export("out.json")\nrecord("rec.lua")\n', *words)
        one, two = run("build", self.path("rec.lua")), run("build", self.path("rec.lua"))
        self.assertEqual((one.returncode, one.stderr), (0, ""))
        self.assertEqual(one.stdout, two.stdout)
        return bare(self.read(self.path("out.json"))), bare(one.stdout)

    def test_a_recording_builds_the_rig_of_the_session(self):
        recipe = self.write("arm.lua", ARM)
        session, recording = self.recorded(
            "t = { 1 }\nfunction half(n)\n  return n / 2\nend\nlocal a = half(3) t[2] = a\n1 + 1\n"
            "rig:bone { part = 'extra', at = {0, 0, half(t[2])}, to = {0, 0, 1} }.name\n"
            "rig:bone { part = 'undone', at = {0, 0, 0}, to = {0, 0, 1} }\nundo()\n"
            'set("goal_control.translation.y", 0.5)\nsolve():base("goal_control")\nfor i = 1, 2 do set("goal_control.translation.y", i) end\n'
            "('x'):rep(3)\nlocal hook = rig:control { part = 'hook', at = {0, 1, 0}, size = 0.1 } if hook then return hook end\n", recipe)
        self.assertEqual(session, recording)
        self.assertEqual([bone["name"] for bone in recording["bones"]][-2:], ["extra_deform", "hook_control"])
        text = self.read(self.path("rec.lua"))
        for left_out in ("undone", "set(", "solve", "1 + 1", "rep(3)", "record", "export"):
            self.assertNotIn(left_out, text)
        # What the file of the session made keeps its lines.
        origins = json.loads(run("build", self.path("rec.lua")).stdout)["origins"]
        self.assertEqual([(at["file"], at["line"]) for at in origins][:3], [("arm.lua", 2), ("arm.lua", 3), ("arm.lua", 4)])
        self.assertEqual({at["file"] for at in origins[4:]}, {"rec.lua"})

    def test_a_long_session_builds_the_same(self):
        self.write("modules/post/module.lua", POST)
        forms = ['rig = fid.rig { name = "long", height = 1 }', "last = rig:bone { part = 'base', at = {0, 0, 0}, to = {0, 0, 1} }"]
        for i in range(1, 201):
            forms.append(f'last = rig:bone {{ part = "link", index = {i}, at = {{0, 0, {i}}}, to = {{0, 0, {i + 1}}}, parent = last }}')
            if i % 10 == 0:
                forms.append(f'rig:use("post", {{ id = "post{i}" }})')
            if i % 7 == 0:
                forms += ["undo()", f'last = rig:find("link_{i}_deform") or last']
        session, recording = self.recorded("\n".join(forms) + "\n")
        self.assertEqual(session, recording)
        self.assertGreater(len(recording["bones"]), 150)

    def test_forms_of_every_shape_are_recorded(self):
        forms = ("rig = fid.rig { name = 'shapes', height = 1 } -- a comment", "a, b = 1, 2", "local c <const> = 3 d = c", "f = function(...) return select('#', ...) end",
                 "function g(n) if n > 0 then return g(n - 1) end return n end", "local function inner() return 5 end e = inner()", "(function() h = 6 end)()", "('x'):rep(3):gsub('x', function() i = 7 end)",
                 "do goto out end ::out:: j = 8", "k = [==[\n]] return -- ]==]", "l = 'return ' .. \"local\" --[[ more ]]", "repeat local m = 9 until m == 9", "n = 0x10 + 1e1 + .5", "t = { rig = 1, solve = 2; get = 3 }",
                 "t.solve = t.solve + t['get']", "for q, r in pairs({ 4, 5 }) do t[q] = r end", "return t", "rig:bone { part = 'one', at = {0, 0, 0}, to = {0, 0, d} } return f(1, 2)", "if e == 5 then return end",
                 "rig:bone { part = 'two', at = {0, 0, 0}, to = {0, 0, n + t.solve + #k} }, 1", "(rig):bone { part = 'three', at = {0, 0, 0}, to = {0, 0, h + i + j} }", "#rig:bones{}", "rig:find 'one_deform'.length",
                 "t.p = function(self, x) self.q = x end", "t:p(11)", "local get = 1 s = get", "while a < 3 do a = a + 1 end", "rig:bone { part = 'four', at = {0, 0, 0}, to = {0, 0, t.q + s + a + g(2)} };", ";", "rig:bone {\n  part = 'five', -- why\n  at = {0, 0, 0},\n\n  to = {0, 1, 0} }")
        session, recording = self.recorded("\n".join(forms) + "\n")
        self.assertEqual(session, recording)
        self.assertEqual([bone["length"] for bone in recording["bones"]], [3, 16 + 10 + 0.5 + 5 + len("]] return -- "), 21, 15, 1])

    def test_a_session_without_a_file_and_one_with_parameters_are_recorded(self):
        session, recording = self.recorded('rig = fid.rig { name = "own", height = 2 }\nrig:control { part = "a", at = {0, 0, 0} }\n')
        self.assertEqual(session, recording)
        recipe = self.write("bar.lua", 'local fid = require "fid"\nreturn fid.recipe { params = { long = { type = "number", default = 1, min = 0.1, unit = "m", doc = "length" }, names = { type = "any", optional = true, doc = "words" } },\n'
                            'build = function(p) local rig = fid.rig { name = "bar", height = 1 } rig:bone { part = "bar", at = {0, 0, 0}, to = {0, 0, p.long} } return rig end }\n')
        session, recording = self.recorded("rig:bone { part = 'more', at = {0, 0, 0}, to = {0, 1, 0} }\n", recipe, "--param", "long=30 cm", "--param", 'names=["a", {"b": 0.25}]')
        self.assertEqual(session, recording)
        self.assertEqual(recording["bones"][0]["length"], 0.3)

    def test_forms_before_the_file_was_run_anew_count_where_they_are_free_of_its_rig(self):
        recipe = self.write("arm.lua", ARM)
        more = "long = 2\nrig:bone { part = 'lost', at = {0, 0, 0}, to = {0, 0, 1} }\nrun()\nrig:bone { part = 'extra', at = {0, 0, 0}, to = {0, 0, long} }\n"
        session, recording = self.recorded(more, recipe)
        self.assertEqual(session, recording)
        self.assertNotIn("lost", self.read(self.path("rec.lua")))
        result = self.session("long = rig:find('arm_01_helper').length\nrun()\nrig:bone { part = 'extra', at = {0, 0, 0}, to = {0, 0, long} }\nrecord('new.lua')\n", recipe, status=2)
        self.assertIn("it uses 'long', which was made before the file was run anew", result.stderr)
        self.assertFalse(os.path.exists(self.path("new.lua")))

    def test_what_cannot_be_recorded_is_refused_with_the_reason(self):
        recipe = self.write("arm.lua", ARM)
        for form, parts in (("rig:bone { part = 'a', at = solve():base('goal_control'), to = {0, 0, 3} }", ("form 1 cannot be recorded", "uses 'solve'", "to mend: ")),
                            ("function f() return get('goal_control.translation.x') end", ("uses 'get'",)),
                            ("print = function() rig:bone { part = 'b', at = {0, 0, 0}, to = {0, 0, 1} } end\nprint()\nx = fid.name", ())):
            result = self.session(form + "\nrecord('rec.lua')\n", recipe, status=2 if parts else 0)
            for part in parts:
                self.assertIn(part, result.stderr)
            self.assertEqual(os.path.exists(self.path("rec.lua")), not parts)
        self.assertIn("no recipe begins with a skeleton", self.session("x = 1\nrecord('rec.lua')\n", self.write("arm.json", run("build", recipe).stdout), status=2).stderr)
        self.assertIn("there is no rig to record", self.session("x = 1\nrecord('a.lua')\n", status=2).stderr)
        self.assertIn("nothing to record", self.session("record('a.lua')\n", status=2).stderr)
        # A guide that has changed since the form read it.
        self.write("guides.json", "[0, 0, 1]")
        result = self.session("rig = fid.rig { name = 'x', height = 1 }\ncount = 0\nfunction find() count = count + 1 return count end\nt = { find = find }\nt:find()\n"
                              "rig:bone { part = 'a', at = {0, 0, 0}, to = {0, 0, t:find()} }\nrecord('a.lua')\n", status=2)
        self.assertIn("would build another rig", result.stderr)
        self.assertFalse(os.path.exists(self.path("a.lua")))

    def test_a_file_that_is_no_untouched_recording_is_not_written_over(self):
        recipe = self.write("arm.lua", ARM)
        make = "rig:bone { part = 'a', at = {0, 0, 0}, to = {0, 0, 1} }\n"
        self.write("mine.lua", "return 1\n")
        self.assertIn("is no recording or was changed since", self.session(make + "record('mine.lua')\n", recipe, status=2).stderr)
        self.assertEqual(self.read(self.path("mine.lua")), "return 1\n")
        self.session(make + "record('mine.lua', { replace = true })\nrecord('mine.lua')\n", recipe)
        self.write("mine.lua", self.read(self.path("mine.lua")) + "-- mine\n")
        self.assertIn("changed since", self.session(make + "record('mine.lua')\n", recipe, status=2).stderr)
        self.assertIn("is not written over", self.session(make + "record('arm.lua')\n", recipe, status=2).stderr)
        for form, part in (("record('a.txt')", "ends in .lua"), ("record(5)", "takes the path of a recipe"), ("record('a.lua', { replce = true })", "did you mean 'replace'"),
                           ("record('/a.lua')", "stands in the folder of its session")):
            self.assertIn(part, self.session(make + form + "\n", recipe, status=2).stderr)

    def test_a_lifted_number_is_a_parameter_of_the_recipe(self):
        make = ("rig = fid.rig { name = 'x', height = 1 }\nrig:bone { part = 'a', at = {0, 0, 0}, to = {0, -0.25, 2} }\nrig:bone { part = 'b', at = {0, 0, 0}, to = {0, 0.25, 2} }\n"
                "local c = rig:chain { part = 'c', points = { {0, 0, 0}, {0, 0.5, 1}, {0, 0, 2} } } rig:ik { chain = c, goal = rig:control { part = 'goal', at = {0, 0, 2} }, soft = 0.05 }\n")
        result = self.session(make + "lift('drop', -0.25)\nlift('far', 2, { form = \"'b'\", min = 1, max = 3 })\nlift('soft', 0.05)\nrecord('rec.lua')\nexport('out.json')\n")
        self.assertIn("drop: number, m, default -0.25, in form 2\nfar: number, m, 1 to 3, default 2, in form 3\nsoft: number, 0 to ", result.stdout)
        self.assertEqual(bare(self.read(self.path("out.json"))), bare(run("build", self.path("rec.lua")).stdout))
        # The variant is what the forms make with the other number.
        variant = bare(run("build", self.path("rec.lua"), "--param", "far=3", "--param", "drop=-0.75").stdout)
        self.session(make.replace("{0, 0.25, 2}", "{0, 0.25, 3}").replace("-0.25", "-0.75") + "export('other.json')\n")
        self.assertEqual(variant, bare(self.read(self.path("other.json"))))
        self.refused(run("build", self.path("rec.lua"), "--param", "far=4"), 2, "far", "from 1 to 3 in m")
        # A lift that is undone is gone; what was lifted in a form that is undone, too.
        self.session(make + "lift('drop', -0.25)\nundo()\nlift('tip', 2, { form = 4, nth = 1 })\nundo(2)\nrecord('gone.lua')\n")
        self.assertNotIn("params", self.read(self.path("gone.lua")))

    def test_a_number_that_cannot_be_lifted_is_told(self):
        make = "rig = fid.rig { name = 'x', height = 1 }\nrig:bone { part = 'a', at = {0, 0, 0}, to = {0, 0, 2} }\nrig:bone { part = 'b', at = {0, 1, 0}, to = {0, 2, 2} }\n"
        for form, parts in (("lift('far', 2)", ("stands 3 times, in form 2: rig:bone", "form 3: rig:bone", "to mend: say in which form")), ("lift('far', 2, { form = 3 })", ("stands 2 times", "nth = 1")),
                            ("lift('far', 2, { form = 3, nth = 3 })", ("from 1 to 2",)), ("lift('far', 7)", ("stands in no form",)), ("lift('far', 2, { form = 1 })", ("does not stand there, but in form 2",)),
                            ("lift('end', 2)", ("takes the name of a parameter",)), ("lift('far', 'x')", ("takes the number",)), ("lift('far', 2, { from = 2 })", ("did you mean 'form'",)),
                            ("lift('far', 2, { form = 2, min = 3 })", ("lift",)), ("lift('far', 2, { form = 2 })\nlift('far', 1, { form = 1 })", ("is a parameter already",)),
                            ("lift('far', 2, { form = 2 })\nlift('more', 2, { form = 2 })", ("is the parameter 'far' already",))):
            result = self.session(make + form + "\n", status=2)
            for part in parts:
                self.assertIn(part, result.stderr, form)


if __name__ == "__main__":
    unittest.main()
