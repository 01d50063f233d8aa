#!/usr/bin/env python3
"""reload() and run(): the file of a session with all that it reads, anew."""
import subprocess
import unittest

from support import ARM, FID, HEAD, POST, Case, run


class Reload(Case):
    def begin(self, *words):
        self.process = subprocess.Popen([FID, "repl", *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=self.folder.name)
        self.addCleanup(self.end)

    def end(self):
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            stream.close()
        self.process.wait()

    def ask(self, form, lines=1):
        self.process.stdin.write(form + "\n")
        self.process.stdin.flush()
        return "".join(self.process.stdout.readline() for _ in range(lines))

    def test_reload_reads_the_recipe_its_parts_modules_and_data_anew(self):
        self.write("modules/post/module.lua", POST)
        self.write("part.lua", "return 1\n")
        self.write("guides.json", '{"high": [0, 0, 1]}')
        self.write("rig.lua", HEAD + 'rig:use("post", { id = "a" })\nrig:bone { part = "part", index = require "part", at = fid.data("guides.json").high, to = {0, 0, 5} }\nreturn rig\n')
        self.begin("rig.lua")
        self.assertEqual(self.ask("tree()", 3), "test: 2 bones\na_post_deform\npart_01_deform\n")
        self.write("modules/post/module.lua", POST.replace('"post", at', '"pole", at'))
        self.write("part.lua", "return 2\n")
        self.write("guides.json", '{"high": [0, 0, 2]}')
        self.assertEqual(self.ask('reload() tree() print(rig:find("part_02_deform").base)', 4), "test: 2 bones\na_pole_deform\npart_02_deform\n(0, 0, 2)\n")
        # What it was before is there to go back to, whatever the files say now.
        self.assertEqual(self.ask("undo()\ntree()", 3), 'undone: reload() tree() print(rig:find("part_02_deform").base)\na_post_deform\npart_01_deform\n')

    def test_reload_keeps_the_pose_and_tells_what_is_lost_from_it(self):
        self.write("arm.lua", ARM)
        self.begin("arm.lua")
        self.ask('set("goal_control.translation.y", 0.5) set("goal_control.rotation.x", 20) set("goal_control.rotation.z", 5)')
        self.assertEqual(self.ask('get("goal_control.translation.y")'), "0.5\n")
        self.write("arm.lua", ARM.replace("size = 0.1, rotation", 'size = 0.1, channels = {"translation", "rotation.z"} }\nlocal _ = { rotation'))
        self.assertEqual(self.ask("reload()", 2), "test: 4 bones\nlost from the pose: goal_control.rotation.x = 20\n")
        self.assertEqual(self.ask('get("goal_control.translation.y") + get("goal_control.rotation.z")'), "5.5\n")
        self.assertEqual(self.ask('run() get("goal_control.translation.y")', 1), "test: 4 bones\n")
        self.assertEqual(self.ask('get("goal_control.translation.y")'), "0.0\n")

    def test_a_file_that_fails_leaves_the_session_as_it_was(self):
        self.write("arm.lua", ARM)
        self.begin("arm.lua", "--keep-going")
        self.ask('set("goal_control.translation.y", 0.5)')
        self.write("arm.lua", ARM + "end\n")
        self.assertEqual(self.ask('reload()\nget("goal_control.translation.y")'), "0.5\n")
        self.process.stdin.close()
        self.assertIn("arm.lua:7: error: ", self.process.stderr.readline())

    def test_run_takes_another_file(self):
        arm, other = self.write("arm.lua", ARM), HEAD.replace("test", "other") + "return rig\n"
        self.write("other.lua", other)
        skeleton = self.write("deep/arm.json", run("build", arm).stdout)
        self.write("deep/far.lua", other)
        for file, forms, out in ((("arm.lua",), 'run("other.lua")\nreload()\nundo(2)\nrig.name\n', "test: 4 bones\nother: 0 bones\nother: 0 bones\nundone: reload()\nundone: run(\"other.lua\")\n\"test\"\n"),
                                 ((), f'run("arm.lua")\nrun("{skeleton}")\n#rig:bones{{}}\n', "test: 4 bones\ntest: 4 bones\n4\n")):
            result = subprocess.run([FID, "repl", *file], input=forms, capture_output=True, text=True, timeout=60, cwd=self.folder.name)
            self.assertEqual((result.stdout, result.stderr), (out, ""))
        for form, part in (("run('deep/far.lua')", "is not in the folder of the session"), ("run('none.lua')", "none.lua"), ("run('a.txt')", "neither a recipe"), ("run(5)", "takes the path of a recipe or skeleton")):
            result = subprocess.run([FID, "repl", "arm.lua"], input=form + "\n", capture_output=True, text=True, timeout=60, cwd=self.folder.name)
            self.assertEqual(result.returncode, 2)
            self.assertIn(part, result.stderr)
        for form, part in (("reload('arm.lua')", "reload takes no argument"), ("diff('arm.lua')", "diff takes no argument"), ("tree(5)", "a bone or its name is asked for, not a number")):
            result = subprocess.run([FID, "repl", "arm.lua"], input=form + "\n", capture_output=True, text=True, timeout=60, cwd=self.folder.name)
            self.assertEqual((result.returncode, result.stderr), (2, f"session: error: {part}\n"))
        for form in ("run()", "reload()"):
            result = subprocess.run([FID, "repl"], input=form + "\n", capture_output=True, text=True, timeout=60, cwd=self.folder.name)
            self.assertEqual((result.returncode, result.stdout), (2, ""))
            self.assertIn("begun without a file", result.stderr)


if __name__ == "__main__":
    unittest.main()
