#!/usr/bin/env python3
"""What a session shows of values, and what `x?` tells of them."""
import unittest

from support import ARM, Case, run


class Values(Case):
    def session(self, *forms, status=0):
        result = run("repl", "-k", self.write("arm.lua", ARM), input="\n".join(forms) + "\n")
        self.assertEqual(result.returncode, status, result.stderr)
        self.errors = result.stderr
        return result.stdout.split("\n", 1)[1]

    def test_a_bone_is_shown_with_its_place_and_what_hangs_from_it(self):
        shown = self.session("post = rig:bone { part = 'post', at = {0, 0, 0}, to = {0, 0.5, 0}, up = {0, 0, 1} }",
                             "lamp = rig:bone { part = 'lamp', parent = post, at = {0, 0.5, 0}, to = {0, 1, -0.25}, up = {0, 0, 1} }",
                             "glass = rig:bone { part = 'glass', parent = lamp, at = {0, 1, 0}, to = {0, 2, 0}, up = {0, 0, 1} }", "post", "lamp")
        self.assertEqual(shown, "bone 'post_deform'\n  deform, 0.5 m long, hangs from nothing\n  base  0    0  0\n  tip   0  0.5  0\n    lamp_deform\n      glass_deform\n"
                                "bone 'lamp_deform'\n  deform, 0.559017 m long, hangs from 'post_deform'\n  base  0  0.5      0\n  tip   0    1  -0.25\n    glass_deform\n")

    def test_a_chain_is_shown_bone_by_bone(self):
        shown = self.session("c = rig:chain { part = 'tail', points = { {0, 0, 0}, {0, 1, 0}, {0, 1, 10} } }", "c")
        self.assertEqual(shown, "chain of 2 bones\n  [1] tail_01_helper   1 m  0  0  0\n  [2] tail_02_helper  10 m  0  1  0\n")

    def test_an_instance_is_shown_by_what_it_hands_out(self):
        shown = self.session("l = rig:use('stretch_leg', { id = 'leg', side = 'left', guides = { {0.3, 1, 0}, {0.4, 0.5, 0.2}, {0.4, 0, 0} } })", "l", "l.controls")
        self.assertIn("leg (left) of stretch_leg ", shown)
        self.assertIn("\n  controls:\n    foot = bone 'leg_foot_left_control'\n", shown)
        self.assertIn(" bones\nfoot = bone 'leg_foot_left_control'\n", shown)

    def test_a_matrix_is_shown_by_its_rows(self):
        # Column by column in the list; the place of the bone is the last column, as in all that is written for column vectors (common practice, no source).
        shown = self.session("post = rig:bone { part = 'post', at = {2, 3, 4}, to = {2, 3, 5}, up = {0, 1, 0} }", "solve():matrix(post)")
        self.assertEqual(shown, "  1  0  0  2\n  0  1  0  3\n  0  0  1  4\n  0  0  0  1\n")

    def test_points_stand_in_columns(self):
        self.assertEqual(self.session("{ {0, 10.5, 0}, fid.vec(-1, 2, 0.25) }"), "[1]   0  10.5     0\n[2]  -1     2  0.25\n")

    def test_a_frame_is_shown_with_its_axes(self):
        shown = self.session("fid.frame { at = {1, 2, 3} }").splitlines()
        self.assertEqual(shown[1:], ["  at      1  2  3", "  aim     0  0  1", "  up      0  1  0", "  across  1  0  0"])

    def test_tables_are_trees_that_end_somewhere(self):
        self.assertEqual(self.session("{ 1, { 2, { 3, { 4, { 5 } } } }, none = {} }"),
                         "[1] = 1\n[2]:\n  [1] = 2\n  [2]:\n    [1] = 3\n    [2]:\n      [1] = 4\n      [2] = {...}\nnone = {}\n")
        self.assertEqual(self.session("t = {} t.me = t", "t"), "me:\n  me:\n    me:\n      me = {...}\n")
        self.assertTrue(self.session("t = {} for i = 1, 100 do t[i] = i end", "t").endswith("[60] = 60\n... and 40 more\n"))

    def test_what_a_script_says_of_its_own_tables_holds(self):
        self.assertEqual(self.session("t = setmetatable({ 1 }, { __tostring = function() return 'mine' end })", "t"), "mine\n")

    def test_a_question_mark_asks_for_help(self):
        for asked, told in (("rig:follow?", "rig:follow{}  Takes over another bone's motion"), ("fid.vec ?", "fid.vec(x, y, z)  Makes a point"),
                            ("fid.points.line?", "fid.points.line{}"), ("rig:bones{}[1]?", "Bone  What rig:bone{}"), ("solve()?", "Solved  What rig:solve"),
                            ("'twist'?", "rig:twist{}"), ("set?", 'set("bone.rotation.x", 30): poses'), ("rig?", "Rig  What fid.rig{}"),
                            ("fid.vec(1, 2, 3)?", "fid.vec(x, y, z)")):
            with self.subTest(asked=asked):
                self.assertTrue(self.session(asked).startswith(told), self.session(asked))
        self.assertIn("set(\"bone.rotation.x\", 30)", self.session("fid?"))

    def test_a_channel_tells_its_own_range(self):
        shown = self.session("rig:find('goal_control').channel['rotation.x']?")
        self.assertTrue(shown.startswith("channel 'goal_control.rotation.x'\n  0 at rest, from -30 to 30\nChannel  "), shown)

    def test_an_instance_tells_the_parameters_of_its_module(self):
        use = "l = rig:use('stretch_leg', { id = 'leg', side = 'left', guides = { {0.3, 1, 0}, {0.4, 0.5, 0.2}, {0.4, 0, 0} } })"
        shown = self.session(use, "l?")
        told = run("modules", "info", "stretch_leg").stdout
        head = shown[:shown.index("\nInstance  ")]
        self.assertIn("\n  guides: ", head)
        self.assertTrue(told.startswith(head.rstrip("\n")), told)

    def test_help_has_an_example(self):
        self.assertIn("  for example\n      rig = fid.rig {", self.session("rig:ik?"))

    def test_what_is_no_question_stays_what_it_is(self):
        self.assertEqual(self.session("'what?'", "1 -- why?"), '"what?"\n1\n')
        self.session("nosuchname?", status=2)
        self.assertIn("there is no 'nosuchname'", self.errors)
        self.session("x = 5?", status=2)
        self.assertIn("session:1: error:", self.errors)
        self.session("5?", status=2)
        self.assertIn("help takes the name of a call", self.errors)

    def test_a_question_is_no_form_to_undo(self):
        self.assertEqual(self.session("x = 1", "rig?", "undo()", "(pcall(function() return x end))").splitlines()[-2], "undone: x = 1")


if __name__ == "__main__":
    unittest.main()
