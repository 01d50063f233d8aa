#!/usr/bin/env python3
"""fid modules: what is found and what hides it, what a module takes, and whether it keeps its contract."""
import json
import os
import unittest

from support import POST, SOURCE, Case, run

# One of each kind of parameter.
KINDS = '''local fid = require "fid"
return fid.module {
  name = "kinds", version = "2.1.0", summary = 'one of "each"',
  params = {
    size   = { type = "number", unit = "m", min = 0.5, max = 4, default = 1.25, doc = "how large" },
    count  = { type = "integer", min = 1, doc = "how many" },
    way    = { type = "points", unit = "m", min = 2, flat = 3, doc = "where along" },
    form   = { type = "choice", choices = { "round", "square" }, default = "round", doc = "its form" },
    flag   = { type = "vector", default = function(p) return fid.vec(0, 0, p.size) end, doc = "where it blows" },
    rows   = { type = "list", max = 3, of = { type = "list", of = { type = "angles", unit = "deg" } }, optional = true, doc = "turns" },
    up     = { type = "vector", default = { 0, 1, 0 }, doc = "up" },
    word   = { type = "string", default = 'say "it"\\n', doc = "a text" },
    free   = { type = "any", default = { a = 1, b = { true } }, doc = "anything" },
  },
  needs = { "post ^1.0" },
  moved = { params = { height = "size" }, parts = { hand = "foot" } },
  build = function(rig, p) end,
}
'''


# Tests of a module of which nothing is wanted but that it stands.
TESTS = '''local fid = require "fid"
return fid.tests {
  module = "post", example = {},
  poses = { { "raised", function(post) return { [post.bones[1].name] = {} } end } },
  cases = { { "it stands", function(t) t:is_true(t:use()) end } },
}
'''


class Modules(Case):
    def setUp(self):
        super().setUp()
        self.write("modules/post/module.lua", POST)
        self.work = self.path("recipes")
        os.makedirs(self.work)

    def modules(self, *words, **more):
        return run("modules", *words, cwd=more.pop("cwd", self.work), **more)

    def test_list_tells_where_each_is_found_and_what_is_hidden(self):
        self.write("recipes/modules/post/module.lua", POST.replace("1.0.0", "1.5.0"))
        self.write("shared/modules/eye_stalk/module.lua", POST.replace('"post"', '"eye_stalk"', 1))
        result = self.modules("list", "--format", "json", env={"FID_PATH": "../shared"})
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        listed = json.loads(result.stdout)
        self.assertEqual((listed["format"], listed["version"]), ("fid-modules", 1))
        rows = [(row["name"], row["version"], row["folder"], row["hidden_by"]) for row in listed["modules"]]
        told = [row for row in rows if row[0] in ("eye_stalk", "post")]
        self.assertEqual(told, [("eye_stalk", "1.0.0", "../shared/modules/eye_stalk", None), ("eye_stalk", "1.1.0", "fid:modules/eye_stalk", "../shared/modules/eye_stalk"),
                                ("post", "1.5.0", "modules/post", None), ("post", "1.0.0", "../modules/post", "modules/post")])
        # All that the sources hold are in the program.
        standard = sorted(name for name in os.listdir(os.path.join(SOURCE, "modules")) if os.path.exists(os.path.join(SOURCE, "modules", name, "module.lua")))
        self.assertEqual(sorted(row[0] for row in rows if row[2].startswith("fid:")), standard)
        text = self.modules(env={"FID_PATH": "../shared"})
        self.assertEqual(text.stdout, self.modules("list", env={"FID_PATH": "../shared"}).stdout)
        self.assertIn("post                     1.0.0     ../modules/post, hidden by modules/post\n    a post\n", text.stdout)

    def test_list_goes_on_after_a_module_that_cannot_be_read(self):
        self.write("modules/broken/module.lua", "return 3")
        result = self.modules("list")
        self.assertEqual(result.returncode, 2)
        self.assertIn("../modules/broken/module.lua: error: ../modules/broken/module.lua must return fid.module{}", result.stderr)
        self.assertRegex(result.stdout, r"broken +\? +\.\./modules/broken\n    cannot be read\n")
        self.assertRegex(result.stdout, r"post +1\.0\.0 ")
        rows = json.loads(self.modules("list", "--format", "json").stdout)["modules"]
        self.assertEqual([row["version"] for row in rows if row["name"] == "broken"], [None])

    def test_info_tells_all_that_a_module_declares(self):
        self.write("modules/kinds/module.lua", KINDS)
        result = self.modules("info", "kinds")
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        self.assertEqual(result.stdout, '''kinds 2.1.0  one of "each"
  count: whole number, 1 or more, required
      how many
  flag: vector {x, y, z}, computed unless given
      where it blows
  form: one of round, square, default round
      its form
  free: value, default {"a": 1, "b": [true]}
      anything
  rows: list of (list of (three angles {x, y, z}, deg)), up to 3 elements
      turns
  size: number, m, 0.5 to 4, default 1.25
      how large
  up: vector {x, y, z}, default [0, 1, 0]
      up
  way: list of points, m, 2 elements or more, required
      where along
  word: text, default "say \\"it\\"\\n"
      a text
  needs post ^1.0
  the parameter 'height' is called 'size' now
  the part 'hand' is called 'foot' now
  what it hands out is not known: there is no test.lua with an example to build
  found at ../modules/kinds
''')
        info = json.loads(self.modules("info", "kinds", "--format", "json").stdout)
        self.assertEqual((info["format"], info["version"], info["folder"]), ("fid-module", 1, "../modules/kinds"))
        module = info["module"]
        self.assertEqual((module["name"], module["version"], module["summary"], module["needs"]), ("kinds", "2.1.0", 'one of "each"', ["post ^1.0"]))
        self.assertEqual(module["moved"], {"params": {"height": "size"}, "parts": {"hand": "foot"}})
        params = {param["name"]: param for param in module["parameters"]}
        self.assertEqual(params["size"], {"name": "size", "type": "number", "unit": "m", "min": 0.5, "max": 4, "default": 1.25, "required": False, "doc": "how large"})
        self.assertEqual(params["way"], {"name": "way", "type": "points", "unit": "m", "min": 2, "flat": 3, "required": True, "doc": "where along"})
        self.assertEqual(params["flag"], {"name": "flag", "type": "vector", "computed": True, "required": False, "doc": "where it blows"})
        self.assertEqual(params["rows"]["of"], {"type": "list", "of": {"type": "angles", "unit": "deg"}})
        self.assertEqual((params["form"]["choices"], params["word"]["default"], params["free"]["default"]), (["round", "square"], 'say "it"\n', {"a": 1, "b": [True]}))

    def test_info_of_what_is_not_there_is_refused(self):
        self.refused(self.modules("info", "pots"), 2, "there is no module 'pots' (did you mean 'post'?)")
        self.refused(self.modules("info", "Post"), 2, "the name of a module has lower-case letters")
        self.refused(self.modules("info"), 2, "a word is missing: usage: fid modules info NAME")
        self.refused(self.modules("info", "a", "b"), 2, "a word too many")
        self.refused(self.modules("inof", "a"), 2, "did you mean 'info'?")
        self.refused(self.modules("list", "--format", "jsn"), 2, "--format takes text or json, not 'jsn'")

    def test_a_whole_module_is_found_sound(self):
        self.write("modules/post/README.md", "# post\n")
        self.write("modules/post/test.lua", TESTS)
        result = self.modules("check", "post")
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, "1 module checked: 0 errors, 0 warnings\n", ""))
        self.assertEqual(self.modules("check", "post", "--quiet").stdout, "")
        # So are all of the program.
        standard = self.modules("check", "eye_stalk", "spine_falloff", "stretch_leg")
        self.assertEqual((standard.returncode, standard.stdout), (0, "3 modules checked: 0 errors, 0 warnings\n"))

    def test_check_names_what_a_contract_lacks(self):
        result = self.modules("check")
        self.assertEqual(result.returncode, 1)
        self.assertIn("../modules/post/test.lua: error: the module has no test.lua\n    to mend: ", result.stdout)
        self.assertIn("../modules/post/README.md: error: the module has no README.md that can be read", result.stdout)
        self.assertIn("1 module checked: 2 errors, 0 warnings", result.stdout)
        # The name of a parameter within another word is not its name.
        self.write("modules/kinds/module.lua", KINDS)
        self.write("modules/kinds/test.lua", TESTS.replace('"post"', '"kinds"').replace("example = {}", "example = { count = 1, way = { {0, 0, 0}, {0, 0, 1} } }").replace("[post.bones[1].name] = {}", ""))
        self.write("modules/kinds/README.md", "count flags form free rows `size` up way word\n")
        result = self.modules("check", "kinds")
        self.assertEqual(result.returncode, 0, result.stdout)
        self.assertIn("../modules/kinds/README.md: warning: the page does not name the parameter 'flag'\n", result.stdout)
        self.assertIn("../modules/kinds/module.lua: warning: the parameter 'rows' has no range\n    to mend: give its min and max", result.stdout)
        self.assertIn("1 module checked: 0 errors, 2 warnings\n", result.stdout)
        found = json.loads(self.modules("check", "kinds", "--format", "json").stdout)
        self.assertEqual((found["format"], found["summary"]["warnings"], [row["subject"] for row in found["findings"]]), ("fid-findings", 2, ["rows", "flag"]))

    def test_check_warns_of_what_a_colleague_would_miss(self):
        self.write("modules/post/README.md", "# post\n\n`size` at `top` `turn`\n")
        whole = POST.replace("params = {}", 'params = { size = { type = "number", min = 0, max = 1, default = 1, doc = "d" }, at = { type = "point", unit = "m", default = {0, 0, 0}, doc = "d" } }').replace(
            "return {} end", '''local top = rig:control { part = "top", at = {0, 1, 0}, channels = { "rotation" } }
    local turn = rig:slider { on = top, name = "turn", max = 1, doc = "turns it" }
    return { controls = { top = top }, sliders = { turn = turn } } end''')
        for change, tests, parts in (
                (None, TESTS, ()),
                (("min = 0, max = 1, ", ""), TESTS, ("module.lua: warning: the parameter 'size' has no range",)),
                (('unit = "m", ', ""), TESTS, ("module.lua: warning: the parameter 'at' has no unit\n    to mend: write unit = \"m\"",)),
                ((', doc = "turns it"', ""), TESTS, ("module.lua: warning: the slider 'one_top_control.turn' has no doc",)),
                (('channels = { "rotation" }', "channels = {}"), TESTS, ()),
                (('sliders = { turn = turn }', "mounts = { crest = top }"), TESTS, ("README.md: warning: the page does not name the result 'mounts.crest'",)),
                (('sliders = { turn = turn }', "mounts = { top1 = top, top2 = top, other1 = top }"), TESTS, ("README.md: warning: the page does not name the result 'mounts.other1'",)),
                (('summary = "a post"', 'summary = "a post\\nand more"'), TESTS, ("module.lua: warning: the summary has more than one line",)),
                (None, TESTS[:TESTS.index("  poses")] + TESTS[TESTS.index("  cases"):], ("test.lua: warning: there are no poses",))):
            self.write("modules/post/module.lua", whole.replace(*change) if change else whole)
            self.write("modules/post/test.lua", tests)
            result = self.modules("check", "post")
            self.assertEqual((result.returncode, result.stdout.count("warning: ")), (0, len(parts)), result.stdout)
            for part in parts:
                self.assertIn("../modules/post/" + part, result.stdout)
        bare = whole.replace('channels = { "rotation" }', "channels = {}").replace('local turn = rig:slider { on = top, name = "turn", max = 1, doc = "turns it" }', "").replace(", sliders = { turn = turn }", "")
        self.write("modules/post/module.lua", bare)
        self.write("modules/post/test.lua", TESTS)
        self.assertIn("module.lua: warning: the control 'controls.top' has nothing that can be posed", self.modules("check", "post").stdout)

    def test_a_module_that_breaks_a_limit_is_an_error_of_its_own(self):
        self.write("modules/other/module.lua", POST.replace('"post"', '"other"', 1))
        self.write("modules/post/module.lua", "while true do end")
        result = self.modules("check", "--max-seconds", "0.3", "--max-instructions", "1e15")
        self.assertEqual((result.returncode, result.stderr), (1, ""))
        self.assertRegex(result.stdout, r"\.\./modules/post/module\.lua: error: .*0\.3 s")
        self.assertIn("../modules/other/test.lua: error: the module has no test.lua", result.stdout)
        self.assertIn("2 modules checked: 3 errors, 0 warnings\n", result.stdout)

    def test_tests_that_cannot_be_used_are_errors(self):
        self.write("modules/post/README.md", "# post\n")
        for tests, part in (("", "test.lua must return fid.tests{}"), ("return 3 +", "test.lua:1: error: "), (TESTS.replace('"post"', '"eye_stalk"'), "the test.lua of 'post' is about 'eye_stalk'"),
                            (TESTS.replace("example = {}", "example = { size = 3 }"), "the example cannot be built: one of post 1.0.0 has no parameter 'size'")):
            self.write("modules/post/test.lua", tests)
            result = self.modules("check", "post")
            self.assertEqual((result.returncode, result.stdout.count("error: ")), (1, 1), result.stdout)
            self.assertRegex(result.stdout, r"\.\./modules/post/test\.lua(:\d+)?: error: ")
            self.assertIn(part, result.stdout)

    def test_check_finds_faults_of_the_declaration(self):
        for change, part in (
                (('version = "1.0.0"', 'version = "1"'), "three numbers as in"),
                (('summary = "a post"', 'summary = ""'), "needs 'summary', a text"),
                (('params = {}', 'params = { size = { type = "number" } }'), "'size' needs 'doc'"),
                (('name = "post"', 'name = "pole"'), "the module is called 'pole', not as its folder"),
                (('params = {}', 'needs = { "pole ^1.0" }'), "post 1.0.0 needs 'pole ^1.0': there is no module 'pole'"),
                (("return fid", "return fd"), "fd")):
            self.write("modules/post/module.lua", POST.replace(*change))
            result = self.modules("check", "post")
            self.assertEqual(result.returncode, 1, result.stdout)
            self.assertRegex(result.stdout, r"\.\./modules/post(/module\.lua)?(:\d+)?: error: ")
            self.assertIn(part, result.stdout)

    def test_check_of_a_module_that_is_not_there_is_no_finding(self):
        self.refused(self.modules("check", "pots"), 2, "did you mean 'post'?")


if __name__ == "__main__":
    unittest.main()
