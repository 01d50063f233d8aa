#!/usr/bin/env python3
"""fid doc: the page of a module says what it declares and hands out, shows its poses, and has an example that runs; fid modules info tells the same."""
import json
import os
import re
import unittest
import xml.etree.ElementTree as xml

from support import POST, Case, run

MAST = '''local fid = require "fid"
return fid.module {
  name = "mast", version = "1.2.0", summary = "a mast that leans | turns",
  params = {
    at    = { type = "point", unit = "m", doc = "its foot" },
    high  = { type = "number", min = 0.5, max = 20, default = 1, unit = "m", doc = "how high" },
    form  = { type = "choice", choices = { "round", "square" }, default = "round", doc = "a | b" },
    turns = { type = "list", max = 3, of = { type = "list", of = { type = "angles", unit = "deg" } }, optional = true, doc = "turns" },
    deck  = { type = "bone", optional = true, doc = "where it stands" },
    rope  = { type = "points", min = 2, optional = true, unit = "m", doc = "along the deck" },
  },
  needs = { "post ^1.0" },
  moved = { params = { height = "high" } },
  build = function(rig, p)
    local mast = rig:bone { part = "mast", parent = p.deck or p.parent, at = p.at, to = p.at + fid.vec(0, p.high, 0), up = {0, 0, 1} }
    local top = rig:control { part = "top", parent = mast, at = p.at + fid.vec(0, p.high, 0), size = 0.1,
      channels = { "translation.x", "rotation" }, translation_range = { x = {-0.5, 0.25} } }
    local lean = rig:slider { on = top, name = "lean", min = -1, max = 1, default = 0, doc = "leans it" }
    rig:slider { on = top, name = "flag", choices = { "down", "up" }, doc = "which flag" }
    rig:slider { on = top, name = "inner", min = 0, max = 1, hidden = true }
    if p.deck then rig:slider { on = p.deck, name = "creak", min = 0, max = 1, doc = "on what was there before" } end
    rig:drive { to = mast.channel["rotation.x"], from = lean, gain = 20 }
    local stays = rig:chain { part = "stay", parent = mast, points = { p.at, p.at + fid.vec(0.2, 0.1, 0), p.at + fid.vec(0.4, 0, 0) } }
    return { controls = { top = top }, mounts = { mast = mast }, sliders = { lean = lean }, chains = { stays = stays } }
  end,
}
'''
TESTS = '''local fid = require "fid"
return fid.tests {
  module = "mast", height = 2.5,
  example = function(rig)
    local sea = rig:control { part = "sea", at = {0, 0, 0}, size = 3, placement = true }
    rig:slider { on = sea, name = "swell", min = 0, max = 2 }
    local hull = rig:control { part = "hull", parent = sea, at = {0, 0.5, 0}, size = 2 }
    local deck = rig:bone { part = "end", parent = hull, at = {0, 0.5, 0}, to = {0, 0.5, 1}, up = {0, 1, 0} }
    rig:bone { part = "keel", parent = hull, at = {0, 0, 0}, to = {0, 0, 1}, up = {0, 1, 0} }
    return { deck = deck, at = {0, 0.5, 0.25}, form = "square", turns = { { {0, 90, 0} } },
      rope = rig:chain { part = "rope", parent = hull, points = { {0, 0.5, 0}, {0, 0.5, 0.5}, {0, 0.5, 1} } } }
  end,
  poses = {
    { "fully leaning", function(mast) return { [mast.controls.top] = { lean = 1 } } end },
  },
  cases = { { "it stands", function(t) t:is_true(t:use()) end } },
}
'''
README = '''# mast

A mast by hand.

```lua
rig:use("mast", { at = {0, 0, 0} })
```

## Parameters

| parameter | type |
|---|---|
| `at` | a point |

## Advice

Grease it.

| result | what it is |
|---|---|
| `controls.top` | the top |

```sh
# parameter
```
'''


class Doc(Case):
    def setUp(self):
        super().setUp()
        self.write("modules/post/module.lua", POST)
        self.write("modules/mast/module.lua", MAST)
        self.write("modules/mast/test.lua", TESTS)
        self.write("modules/mast/README.md", README)

    def doc(self, *words, **more):
        return run("doc", *words, cwd=self.folder.name, env={"FID_PATH": ""}, **more)

    def page(self, name="mast"):
        result = self.doc(name, "--out-dir", "pages")
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, "", "1 page written to pages\n"))
        return self.read(self.path(f"pages/{name}.md"))

    def test_a_page_says_what_the_module_declares(self):
        page = self.page()
        self.assertTrue(page.startswith("# mast\n\nA mast that leans | turns. Version 1.2.0.\n"), page)
        for row in ("| `at` | point {x, y, z} | m |  | required | its foot |", "| `high` | number | m | 0.5 to 20 | 1 | how high |",
                    "| `form` | one of round, square |  |  | round | a \\| b |",
                    "| `turns` | list of (list of (three angles {x, y, z}, deg)) |  | up to 3 elements | none | turns |", "- `post ^1.0`",
                    "| parameter | `height` | `high` |"):
            self.assertIn(row + "\n", page)

    def test_a_page_says_what_its_example_hands_out(self):
        page = self.page()
        for row in ("| `controls.top` | `one_top_control` | everyday | translation.x -0.5 to 0.25 m, rotation |",
                    "| `one_top_control.lean` | `sliders.lean` | -1 to 1 | 0 | leans it |", "| `one_top_control.flag` |  | down, up | down | which flag |",
                    "| `mounts.mast` | `one_mast_deform` | deform |", "| `chains.stays` | 2 | helper | `one_stay_01_helper` to `one_stay_02_helper` |"):
            self.assertIn(row + "\n", page)
        self.assertNotIn("inner", page)

    def test_a_placement_has_one_scale(self):
        self.write("modules/mast/module.lua", MAST.replace("controls = { top = top }", "controls = { top = top, all = rig:control { part = 'all', at = {0, 0, 0}, size = 1, placement = true } }"))
        self.write("modules/mast/test.lua", TESTS.replace(", placement = true", ""))
        self.assertIn("| `controls.all` | `one_all_control` | everyday | translation, rotation, scale |", self.page())

    def test_what_the_readme_says_by_hand_comes_in_and_what_the_page_says_itself_does_not_again(self):
        page = self.page()
        for part in ("A mast by hand.\n", "## Advice\n\nGrease it.\n\n| result | what it is |\n|---|---|\n| `controls.top` | the top |\n", "```sh\n# parameter\n```\n"):
            self.assertEqual(page.count(part), 1, page)
        self.assertEqual(page.count("## Parameters"), 1)
        self.assertNotIn("| `at` | a point |", page)
        self.assertNotIn('rig:use("mast", {', page)
        self.assertEqual(page.count("\n# "), 1, page)  # that of the shell
        os.remove(self.path("modules/mast/README.md"))
        self.assertNotIn("Grease", self.page())

    def test_its_pictures_show_rest_and_each_pose(self):
        page = self.page()
        self.assertEqual(re.findall(r"!\[.*?\]\((.*?)\)", page), ["mast-at-rest.svg", "mast-fully-leaning.svg"])
        self.assertEqual(sorted(os.listdir(self.path("pages"))), ["mast-at-rest.svg", "mast-fully-leaning.svg", "mast.md"])
        rest, posed = (self.read(self.path("pages/mast-" + name)) for name in ("at-rest.svg", "fully-leaning.svg"))
        for picture in (rest, posed):
            xml.fromstring(picture)
            # The control of the example is none of the module's; its bones stand around it.
            self.assertNotIn(">hull_control<", picture)
            self.assertIn(">keel_deform<", picture)
            self.assertIn(">three-quarter<", picture)
        self.assertIn(">at rest<", rest)
        self.assertIn(">posed: one_top_control.lean 1<", posed)
        # The mast leans by 20 degrees, and where it was is drawn below.
        faint = "#CFC8BF"
        self.assertGreater(posed.count(faint), 2)
        self.assertEqual(rest.count(faint), 0)

    def test_its_example_is_a_recipe_that_runs(self):
        recipe = re.search(r"## Example\n\n```lua\n(.*?)```", self.page(), re.S)[1]
        self.assertIn('local sea = rig:control { part = "sea", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, up = { 0, 1, 0 }, size = 3, placement = true, '
                      'channels = { "translation", "rotation", "scale" } }\nrig:slider { on = sea, name = "swell", min = 0, max = 2, default = 0 }\n', recipe)
        self.assertNotIn("creak", recipe)  # which the module adds
        self.assertIn('local hull = rig:control { part = "hull", parent = sea, at = { 0, 0.5, 0 }, aim = { 0, 0, 1 }, up = { 0, 1, 0 }, size = 2 }\n', recipe)
        self.assertIn('local end_bone = rig:bone { part = "end", parent = hull,', recipe)
        self.assertNotIn("keel", recipe)  # which the example does not need
        self.assertIn('rig:use("mast ^1.2", {\n  id = "one",\n  at = { 0, 0.5, 0.25 },\n  deck = end_bone,\n  form = "square",\n', recipe)
        self.assertIn("  turns = { { { 0, 90, 0 } } },\n", recipe)
        self.assertIn("  rope = { { 0, 0.5, 0 }, { 0, 0.5, 0.5 }, { 0, 0.5, 1 } },\n", recipe)
        built = run("build", self.write("example.lua", recipe))
        self.assertEqual((built.returncode, built.stderr), (0, ""))
        bones = {bone["name"]: bone for bone in json.loads(built.stdout)["bones"]}
        self.assertEqual(bones["one_mast_deform"]["parent"], "end_deform")

    def test_its_example_uses_other_modules_as_it_does(self):
        self.write("modules/mast/module.lua", MAST.replace('needs = { "post ^1.0" }', 'needs = { "stretch_leg ^1.0" }'))
        self.write("modules/mast/test.lua", """local fid = require "fid"
return fid.tests {
  module = "mast", height = 2,
  example = function(rig)
    local hull = rig:control { part = "hull", at = {0, 0.5, 0}, size = 2 }
    rig:control { part = "idle", at = {0, 0, 0}, size = 2 }
    rig:use("stretch_leg", { id = "other", guides = { {1, 1, 0}, {1, 0.5, 0.1}, {1, 0, 0} } })
    local leg = rig:use("stretch_leg", { id = "leg", side = "left", parent = hull, reach = 1.5, guides = { {0.2, 1, 0}, {0.2, 0.5, 0.1}, {0.2, 0, 0} } })
    return { deck = leg.mounts.hip, at = leg.mounts.hip.base, rope = { leg.chains.leg[1].base, leg.chains.leg[2].base } }
  end,
  cases = { { "it stands", function(t) t:is_true(t:use()) end } },
}
""")
        recipe = re.search(r"## Example\n\n```lua\n(.*?)```", self.page(), re.S)[1]
        self.assertIn('local hull = rig:control { part = "hull", at = { 0, 0.5, 0 }', recipe)
        recipe = re.sub(r"stretch_leg \^1\.\d+", "stretch_leg ^1", recipe)
        self.assertIn('local stretch_leg = rig:use("stretch_leg ^1", {\n  id = "leg",\n  side = "left",\n  parent = hull,\n'
                      '  guides = { { 0.2, 1, 0 }, { 0.2, 0.5, 0.1 }, { 0.2, 0, 0 } },\n  reach = 1.5,\n})\n', recipe)
        self.assertIn("  deck = stretch_leg.mounts.hip,\n", recipe)
        for name in ("idle", "other"):
            self.assertNotIn(name, recipe)
        built = run("build", self.write("example.lua", recipe))
        self.assertEqual((built.returncode, built.stderr), (0, ""))
        bones = {bone["name"]: bone for bone in json.loads(built.stdout)["bones"]}
        self.assertEqual(bones["one_mast_deform"]["parent"], "leg_hip_left_control")

    def test_an_example_that_cannot_be_written_down_is_said_to_be_none(self):
        self.write("modules/mast/module.lua", MAST.replace('{ type = "points", min = 2, optional = true, unit = "m"', '{ type = "curve", optional = true'))
        rope = 'rope = rig:chain { part = "rope", parent = hull, points = { {0, 0.5, 0}, {0, 0.5, 0.5}, {0, 0.5, 1} } }'
        self.assertIn(rope, TESTS)
        self.write("modules/mast/test.lua", TESTS.replace(rope, "rope = fid.curve { points = { {0, 0}, {1, 1} } }"))
        self.assertIn("## Example\n\nNone is shown: 'rope' has a value that cannot be written down.\n", self.page())

    def test_the_same_module_gives_the_same_bytes(self):
        self.page()
        before = {name: self.read(self.path("pages/" + name)) for name in os.listdir(self.path("pages"))}
        self.page()
        self.assertEqual(before, {name: self.read(self.path("pages/" + name)) for name in os.listdir(self.path("pages"))})

    def test_a_module_without_tests_has_a_page_without_pictures_that_says_why(self):
        page = self.page("post")
        self.assertIn("## Parameters\n\nNone.\n", page)
        self.assertIn("no pictures and no example: the module has no `test.lua`", page)
        self.assertNotIn("![", page)

    def test_all_that_can_be_found_get_pages_and_a_list(self):
        result = self.doc()
        self.assertEqual(result.returncode, 0, result.stderr)
        index = self.read(self.path("docs/modules/index.md"))
        self.assertIn("| [mast](mast.md) | 1.2.0 | a mast that leans \\| turns |\n", index)
        for name in re.findall(r"\]\((.*?)\)", index):
            self.assertTrue(os.path.exists(self.path("docs/modules/" + name)), name)
        # Of those in the program, too.
        self.assertIn("(stretch_leg-raised.svg)", self.read(self.path("docs/modules/stretch_leg.md")))

    def test_what_cannot_be_built_is_an_error_and_leaves_no_page(self):
        for tests, part in ((TESTS.replace("at = {0, 0.5, 0.25}", "at = 3"), "'at' must be a point"), ("return 3", "must return fid.tests{}"),
                            (TESTS.replace('module = "mast"', 'module = "post"'), "the test.lua of 'mast' is about 'post'"),
                            (TESTS.replace("fully leaning", "At rest!"), "cannot be called 'at rest'"),
                            (TESTS.replace("return { [mast.controls.top] = { lean = 1 } }", "return 3"), "the pose 'fully leaning': the function must give a pose table"),
                            (TESTS.replace("lean = 1", "loan = 1"), "loan")):
            self.write("modules/mast/test.lua", tests)
            result = self.doc("mast", "post", "--out-dir", "pages")
            self.assertEqual(result.returncode, 2, result.stderr)
            self.assertRegex(result.stderr, r"modules/mast/\w+\.lua(:\d+)?: error: ")
            self.assertIn(part, result.stderr)
            self.assertEqual(os.listdir(self.path("pages")), ["post.md"])

    def test_a_module_that_breaks_a_limit_leaves_the_pages_of_the_others(self):
        self.write("modules/mast/module.lua", "while true do end")
        result = run("doc", "mast", "post", "--out-dir", "pages", "--max-seconds", "0.3", "--max-instructions", "1e15", cwd=self.folder.name)
        self.assertEqual(result.returncode, 2)
        self.assertRegex(result.stderr, r"^modules/mast/module.lua: error: .*0\.3 s")
        self.assertTrue(result.stderr.endswith("1 page written to pages\n"), result.stderr)
        self.assertEqual(os.listdir(self.path("pages")), ["post.md"])

    def test_wrong_words_are_refused(self):
        self.refused(self.doc("mats"), 2, "there is no module 'mats'")
        self.refused(self.doc("mast", "--out-dir", ""), 2, "--out-dir takes the folder")
        self.refused(self.doc("mast", "--out-dir", "modules/mast/module.lua"), 3, "modules/mast/module.lua")
        self.assertFalse(os.path.exists(self.path("docs")))

    def test_info_tells_what_is_handed_out(self):
        result = run("modules", "info", "mast", cwd=self.folder.name)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        self.assertIn('''  hands out, in its example:
    controls.top: one_top_control, everyday, poses translation.x -0.5 to 0.25 m, rotation
        slider: one_top_control.flag, down, up, default down
            which flag
    sliders.lean: one_top_control.lean, -1 to 1, default 0
        leans it
    mounts.mast: one_mast_deform, deform
    chains.stays: 2 helper bones, one_stay_01_helper to one_stay_02_helper
''', result.stdout)
        handed = json.loads(run("modules", "info", "mast", "--format", "json", cwd=self.folder.name).stdout)["module"]["results"]
        top = handed["controls"][0]
        self.assertEqual((top["name"], top["bone"], top["level"]), ("top", "one_top_control", "everyday"))
        self.assertEqual(top["channels"][0], {"name": "translation.x", "unit": "m", "default": 0, "min": -0.5, "max": 0.25})
        self.assertEqual([row["name"] for row in top["channels"]], ["translation.x", "rotation.x", "rotation.y", "rotation.z"])
        self.assertEqual(top["sliders"][1], {"name": "flag", "channel": "one_top_control.flag", "default": 0, "min": 0, "max": 1, "choices": ["down", "up"], "doc": "which flag"})
        self.assertEqual(handed["sliders"], [{"name": "lean", "channel": "one_top_control.lean", "default": 0, "min": -1, "max": 1, "doc": "leans it"}])
        self.assertEqual(handed["mounts"], [{"name": "mast", "bone": "one_mast_deform", "role": "deform"}])
        self.assertEqual(handed["chains"], [{"name": "stays", "bones": 2, "role": "helper", "first": "one_stay_01_helper", "last": "one_stay_02_helper"}])

    def test_info_tells_why_it_is_not_known_what_is_handed_out(self):
        for tests, part in ((None, "there is no test.lua with an example to build"), (TESTS.replace("at = {0, 0.5, 0.25}", "at = 3"), "its example cannot be built: one of mast 1.2.0: 'at' must be"),
                            ("return (", "its example cannot be built: ")):
            if tests:
                self.write("modules/mast/test.lua", tests)
            else:
                os.remove(self.path("modules/mast/test.lua"))
            result = run("modules", "info", "mast", cwd=self.folder.name)
            self.assertEqual(result.returncode, 0, result.stderr)
            self.assertIn("  what it hands out is not known: " + part, result.stdout)
            module = json.loads(run("modules", "info", "mast", "--format", "json", cwd=self.folder.name).stdout)["module"]
            self.assertIsNone(module["results"])
            self.assertIn(part, module["results_unknown"])


if __name__ == "__main__":
    unittest.main()
