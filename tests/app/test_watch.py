#!/usr/bin/env python3
"""fid build --watch: builds again when something that was read changes, keeps the last good result, ends on Ctrl-C."""
import json
import os
import select
import signal
import subprocess
import time
import unittest

from support import FID, HEAD, POST, Case, run


class Watch(Case):
    RECIPE = HEAD + 'local high = fid.data("guides.json").high\nrig:use("post", { id = "a" })\nrig:bone { part = "part", index = require "part", at = {0, 0, 0}, to = {0, 0, high} }\nreturn rig\n'

    def begin(self, *words):
        self.write("modules/post/module.lua", POST)
        self.write("part.lua", "return 1\n")
        self.write("guides.json", '{"high": 1}')
        self.write("rig.lua", self.RECIPE)
        self.process = subprocess.Popen([FID, "build", "rig.lua", "-o", "rig.json", "--watch", *words], stderr=subprocess.PIPE, cwd=self.folder.name, start_new_session=True)
        self.addCleanup(self.process.stderr.close)
        self.addCleanup(lambda: (self.process.kill(), self.process.wait()))
        return self.told()

    def told(self, seconds=20):
        """What is said until a build has ended."""
        text, until = b"", time.time() + seconds
        while time.time() < until:
            if select.select([self.process.stderr], [], [], 0.1)[0]:
                text += os.read(self.process.stderr.fileno(), 65536)
                if text.endswith(b"Ctrl-C ends it\n") or text.endswith(b"after the next change\n"):
                    return text.decode()
        self.fail(f"nothing was built: {text}")

    def is_still(self, seconds=0.6):
        self.assertEqual(select.select([self.process.stderr], [], [], seconds)[0], [])

    def bones(self):
        return [(bone["name"], bone["length"]) for bone in json.loads(self.read(self.path("rig.json")))["bones"]]

    def test_whatever_is_read_is_watched(self):
        self.assertIn("rig.json built in ", self.begin())
        self.assertEqual(self.bones(), [("a_post_deform", 1), ("part_01_deform", 1)])
        for name, text, bones in (("part.lua", "return 2\n", [("a_post_deform", 1), ("part_02_deform", 1)]), ("guides.json", '{"high": 3}', [("a_post_deform", 1), ("part_02_deform", 3)]),
                                  ("modules/post/module.lua", POST.replace("{0, 1, 0}", "{0, 2, 0}"), [("a_post_deform", 2), ("part_02_deform", 3)]),
                                  ("rig.lua", self.RECIPE.replace('part = "part"', 'part = "other"'), [("a_post_deform", 2), ("other_02_deform", 3)])):
            self.write(name, text)
            self.assertIn("built in", self.told(), name)
            self.assertEqual(self.bones(), bones, name)
        # As programs that edit do: a new file in the place of the old one.
        self.write("new", "return 7\n")
        os.replace(self.path("new"), self.path("part.lua"))
        self.told()
        self.assertEqual(self.bones()[1][0], "other_07_deform")
        self.is_still()

    def test_an_error_keeps_the_last_good_result_until_it_is_mended(self):
        self.begin()
        good = self.read(self.path("rig.json"))
        self.write("rig.lua", self.RECIPE + "end\n")
        told = self.told()
        self.assertIn("rig.lua:7: error: ", told)
        self.assertIn("rig.json is as it was", told)
        self.assertEqual(self.read(self.path("rig.json")), good)
        # What is missing is waited for, too: a module of a new folder, a file that is gone.
        self.write("rig.lua", self.RECIPE.replace('"post"', '"pole"'))
        self.assertIn("pole", self.told())
        self.write("modules/pole/module.lua", POST.replace('"post"', '"pole"'))
        while "built in" not in self.told():
            pass
        self.assertEqual(self.bones()[0][0], "a_pole_deform")
        os.remove(self.path("guides.json"))
        self.assertIn("guides.json", self.told())
        self.write("guides.json", '{"high": 2}')
        while "built in" not in self.told():
            pass
        self.assertEqual(self.bones()[1][1], 2)

    def test_many_writes_are_one_build_and_other_files_none(self):
        self.begin()
        with open(self.path("part.lua"), "w", encoding="utf-8") as file:
            for i in range(10):
                file.write(f"-- {i}\n")
                file.flush()
                time.sleep(0.01)
            file.write("return 3\n")
        self.told()
        self.assertEqual(self.bones()[1][0], "part_03_deform")
        self.is_still()
        for name in ("notes.txt", ".hidden.lua", "rig.svg"):
            self.write(name, "x")
        self.write("rig.json", self.read(self.path("rig.json")))
        self.is_still()

    def test_a_build_that_breaks_a_limit_ends_itself_only(self):
        self.begin("--max-memory", "64M", "--max-seconds", "5")
        self.write("part.lua", "local t = {} for i = 1, 1e9 do t[i] = ('x'):rep(1e6) .. i end\n")
        self.assertIn("memory", self.told())
        self.write("part.lua", "return 4\n")
        self.told()
        self.assertEqual(self.bones()[1][0], "part_04_deform")

    def test_ctrl_c_ends_it_with_status_0(self):
        for during in ("return 1\n", "while true do end\n"):
            self.begin()
            self.write("part.lua", during)
            if "while" in during:
                time.sleep(0.5)
            else:
                self.told()
            os.killpg(self.process.pid, signal.SIGINT)
            self.assertEqual(self.process.wait(10), 0)
            self.assertEqual(self.bones()[1][0], "part_01_deform")
            self.assertEqual([name for name in os.listdir(self.folder.name) if name.startswith(".")], [])

    def test_what_cannot_be_watched_is_refused(self):
        recipe = self.write("rig.lua", HEAD + "return rig\n")
        self.refused(run("build", recipe, "--watch"), 2, "--watch needs a file to write: -o FILE")
        self.refused(run("build", recipe, "--watch", "-o", recipe), 2, "is an input")
        self.refused(run("build", self.path("none.lua"), "--watch", "-o", self.path("out.json")), 3, "none.lua")
        self.refused(run("build", self.path("none.json"), "--watch", "-o", self.path("out.json")), 2, "--watch is for a recipe")
        self.refused(run("build", recipe, "--watch", "--variants", "t.csv", "--out-dir", self.path("out")), 2, "leave --variants out")


if __name__ == "__main__":
    unittest.main()
