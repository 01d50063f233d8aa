#!/usr/bin/env python3
"""picture(), time() and export() of a session: the same as the commands, and never onto what was read."""
import os
import re
import subprocess
import unittest

from support import ARM, FID, Case, run


class SessionFiles(Case):
    def session(self, text, *words, status=0):
        result = subprocess.run([FID, "repl", *words], input=text, capture_output=True, text=True, timeout=200, cwd=self.folder.name)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def test_a_picture_is_that_of_the_command(self):
        recipe = self.write("arm.lua", ARM)
        posed = 'set("goal_control.translation.y", 0.25)\n'
        for options, words in (("", ()), (', { view = "all" }', ()), (', { view = "side" }', ("--view", "side")), (', { view = { "front", "top" } }', ("--view", "front", "--view", "top"))):
            out = self.session(posed + f'picture("arm.svg"{options})\nundo()\nget("goal_control.translation.y")\n', recipe).stdout
            self.assertEqual(out, "test: 4 bones\nwritten: arm.svg\nundone: " + posed + "0.0\n")
            self.assertEqual(self.read(self.path("arm.svg")), run("export", recipe, "--to", "svg", "--set", "goal_control.translation.y=0.25", *words).stdout)

    def test_time_tells_what_the_command_tells(self):
        recipe = self.write("arm.lua", ARM)
        heads = [re.findall(r"^[a-z][a-z, 0-9]*?(?=  )|^test: .*", text, re.M) for text in (self.session("time { poses = 3, threads = 1 }\n", recipe).stdout.split("\n", 1)[1], run("time", recipe, "--poses", "3", "--threads", "1").stdout)]
        self.assertIn("a whole solve", heads[0])
        self.assertIn("ik, 1", heads[0])
        self.assertEqual(heads[0], heads[1])

    def test_what_cannot_be_drawn_written_or_measured_is_refused(self):
        recipe = self.write("arm.lua", ARM)
        os.link(recipe, self.path("same.svg"))
        for form, part in (('picture()', "picture takes the path of a file that ends in .svg"), ('picture("arm.png")', "ends in .svg, not 'arm.png'"), ('picture("a.svg", { view = "frnt" })', "did you mean 'front'"),
                           ('picture("a.svg", { view = { 5 } })', "is front, side, top, three-quarter or all, not a number"), ('picture("a.svg", { veiw = "front" })', "did you mean 'view'"),
                           ('picture("none/a.svg")', "none/a.svg"), ('picture("same.svg")', "was read in this session and is not written over"), ('export()', "export takes the path of a file that ends in .json"),
                           ("time { poses = 0 }", "'poses' is a whole number from 1 to 100000"), ("time { threads = 1.5 }", "'threads' is a whole number"), ("time { pose = 1 }", "did you mean 'poses'"), ("time(5)", "takes one table of named arguments")):
            self.assertIn(part, self.session(form + "\n", recipe, status=2).stderr, form)
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["arm.lua", "same.svg"])
        for form in ('picture("a.svg")', "time()"):
            self.assertIn("there is no rig", self.session(form + "\n", status=2).stderr)


if __name__ == "__main__":
    unittest.main()
