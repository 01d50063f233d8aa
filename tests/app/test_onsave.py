#!/usr/bin/env python3
"""A session that takes in what is saved by itself."""
import unittest

from support import run
from terminal import Terminal

RECIPE = '''local fid = require "fid"
local guides = fid.data("guides.json")
local rig = fid.rig { name = "pier", height = 1 }
for i = 1, guides.count do rig:control { part = "post", index = i, at = { 0, 0, i }, size = 0.1 } end
return rig
'''


class OnSave(Terminal):
    def begin(self):
        self.write("pier.lua", RECIPE)
        self.save(1)
        self.open("pier.lua", "--watch")

    def save(self, count):
        self.write("guides.json", '{"count": %s}' % count)

    def count(self):
        return int(self.type("#rig:bones {}\r").split("\n")[1])

    def test_what_is_saved_is_there_as_if_reload_had_been_typed(self):
        self.begin()
        self.type('set("post_01_control.translation.y", 0.25)\r')
        self.save(3)
        self.assertIn("reload()", self.see("fid> "))
        self.assertEqual(self.count(), 3)
        self.assertIn("0.25", self.type('get("post_01_control.translation.y")\r'))

    def test_a_line_that_is_begun_is_finished_first(self):
        self.begin()
        self.type("#rig:bones", end="#rig:bones")
        self.save(2)
        shown = self.type(" {}\r", end="reload()\r\npier: 2 bones\r\nfid> ")
        self.assertIn("\n1\n", shown, "the form ran before the reload")
        self.assertEqual(self.count(), 2)

    def test_a_form_of_several_lines_is_finished_first(self):
        self.begin()
        self.type("do\r", end="   > ")
        self.save(2)
        self.type("x = 1\r", end="   > ")
        self.type("end\r", end="reload()\r\npier: 2 bones\r\nfid> ")
        self.assertEqual(self.count(), 2)

    def test_a_save_that_does_not_build_is_told_and_the_next_is_taken(self):
        self.begin()
        self.save("nothing")
        self.assertIn("error", self.see("fid> "))
        self.assertEqual(self.count(), 1)
        self.save(4)
        self.see("fid> ")
        self.assertEqual(self.count(), 4)

    def test_undo_takes_it_back(self):
        self.begin()
        self.save(5)
        self.see("fid> ")
        self.type("undo()\r")
        self.assertEqual(self.count(), 1)

    def test_files_that_come_to_be_read_are_watched_from_then_on(self):
        self.begin()
        self.write("more.json", '{"count": 2}')
        self.see("fid> ")  # a file of the folder: it might have been looked for
        self.write("pier.lua", RECIPE.replace("guides.json", "more.json"))
        self.see("fid> ")
        self.assertEqual(self.count(), 2)
        self.write("more.json", '{"count": 6}')
        self.see("fid> ")
        self.assertEqual(self.count(), 6)

    def test_a_pipe_and_a_session_without_a_recipe_are_refused(self):
        self.write("pier.lua", RECIPE)
        self.save(1)
        self.refused(run("repl", self.path("pier.lua"), "--watch", input=""), 2, "--watch is for a terminal")
        self.refused(run("repl", "--watch", input=""), 2, "--watch needs a recipe")


if __name__ == "__main__":
    unittest.main()
