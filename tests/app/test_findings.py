#!/usr/bin/env python3
"""Faults that riggers plant, as recipes, and the sound rig beside each."""
import json
import unittest

from support import HEAD, Case, run

ROOT = HEAD + 'local root = rig:control { part = "root", at = {0, 0, 0}, size = 1, placement = true }\n'
TWO = ROOT + '''local a = rig:control { part = "a", parent = root, at = {0, 0, 0.2}, size = 0.1 }
local b = rig:control { part = "b", parent = root, at = {0, 0, 0.4}, size = 0.1 }
rig:bone { part = "m", parent = a, at = {0, 0, 0.2}, to = {0, 0, 0.3} }
'''
TAIL = ROOT + '''local tail = rig:bone { part = "tail", parent = root, at = {0, 0.5, 0}, to = {0, 0.5, -0.5} }
local function slider(name, min, max) return rig:slider { on = root, name = name, min = min, max = max } end
'''


class Findings(Case):
    def found(self, text, *codes):
        done = run("check", self.write("rig.lua", text + "return rig\n"), "--format", "json", "--only", ",".join(codes))
        return [(one["code"], one["subject"]) for one in json.loads(done.stdout)["findings"]]

    def test_a_drive_that_replaces_what_is_posed(self):
        drive = 'rig:bone {{ part = "d", parent = b, at = {{0, 0, 0.4}}, to = {{0, 0, 0.5}} }}\nrig:drive {{ to = b.channel["rotation.x"], from = a.channel["rotation.x"]{} }}\n'
        self.assertEqual(self.found(TWO + drive.format(""), "C304"), [("C304", "b_control.rotation.x")])
        self.assertEqual(self.found(TWO + drive.format(', combine = "add"'), "C304"), [])

    def test_a_drive_that_a_later_one_replaces(self):
        first, second = ('rig:drive { to = tail.channel["rotation.x"], from = slider("%s", -30, 30)%s }\n' % name for name in (("one", ""), ("two", "%s")))
        self.assertEqual(self.found(TAIL + first + second % "", "C303"), [("C303", "tail_deform.rotation.x")])
        self.assertEqual(self.found(TAIL + first + second % ', combine = "add"', "C303"), [])

    def test_a_drive_whose_slider_lies_beyond_its_curve(self):
        drive = 'rig:drive {{ to = tail.channel["translation.x"], from = slider("flat", 0, {}), curve = {{ {{2, 0}}, {{3, 10}} }} }}\n'
        self.assertEqual(self.found(TAIL + drive.format(1), "C303"), [("C303", "tail_deform.translation.x")])
        self.assertEqual(self.found(TAIL + drive.format(4), "C303"), [])

    def test_a_control_on_which_only_its_own_spaces_depend(self):
        spaces = 'rig:spaces { bone = b, among = { {"root", root}, {"a", a} } }\n'
        self.assertEqual(self.found(TWO + spaces, "S208"), [("S208", "b_control")])
        self.assertEqual(self.found(TWO + spaces + 'rig:bone { part = "d", parent = b, at = {0, 0, 0.4}, to = {0, 0, 0.5} }\n', "S208"), [])

    def test_a_source_that_departs_only_in_what_nobody_listens_to(self):
        text = ROOT + 'local a = rig:control { part = "a", parent = root, at = {0, 0, 0.2}, size = 0.1, channels = { "%s" } }\nlocal m = rig:bone { part = "m", parent = root, at = {0, 0, 0.2}, to = {0, 0, 0.3} }\n'
        twist = "rig:twist { bone = m, source = a, gain = 1 }\n"
        follow = 'rig:follow { bone = m, source = a, space = "own", channels = { "rotation" } }\n'
        for constraint in (twist, follow):
            self.assertEqual([code for code, _ in self.found(text % "translation" + constraint, "C302")], ["C302"])
            self.assertEqual(self.found(text % "rotation" + constraint, "C302"), [])

    def test_a_slider_in_the_center_may_sway_something_to_one_side(self):
        sides = "".join(f'''rig:bone {{ part = "k", side = "{side}", at = {{{x}, 0, 0}}, to = {{{x}, 0, 0.2}},
  parent = rig:control {{ part = "a", side = "{side}", parent = root, at = {{{x}, 0, 0}}, size = 0.1 }} }}\n''' for side, x in (("left", 0.3), ("right", -0.3)))
        wag = 'rig:drive { to = tail.channel["rotation.y"], from = slider("wag", -30, 30) }\n'
        self.assertEqual(self.found(TAIL + sides + wag, "P410"), [])
        # What is no image either way is found, and so is a side that takes more than the other.
        for to in ('rig:find("k_left_deform").channel["rotation.x"]', 'rig:find("k_left_deform").channel["rotation.y"]'):
            lean = f'rig:drive {{ to = {to}, from = slider("lean", -30, 30) }}\n'
            self.assertIn("P410", [code for code, _ in self.found(TAIL + sides + lean, "P410")])
        uneven = sides + 'rig:drive { to = rig:find("k_left_deform").channel["rotation.x"], from = rig:find("a_left_control").channel["rotation.x"] }\n'
        self.assertIn("P410", [code for code, _ in self.found(TAIL + uneven, "P410")])
        # One that squashes both sides alike has its image at the same value.
        squash = "".join(f'rig:drive {{ to = rig:find("k_{side}_deform").channel["rotation.x"], from = {first} }}\n' for side, first in (("left", 'slider("both", -30, 30)'), ("right", 'root.channel["both"]')))
        self.assertEqual(self.found(TAIL + sides + squash, "P410"), [])


if __name__ == "__main__":
    unittest.main()
