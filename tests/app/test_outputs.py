#!/usr/bin/env python3
"""Where the commands write: files whole or not at all, standard output that is lost, terminals, and that the same input gives the same bytes."""
import os
import pty
import re
import signal
import subprocess
import time
import unittest

from support import ARM, FID, HEAD, HOBRUNDLE, POST, SOURCE, Case, run

# A warning of S204 at the line of the ik constraint.
ALMOST_STRAIGHT = ARM.replace("0.4, 0.9", "0.1, 0.9")


def on_terminal(*words, env):
    """What the program writes to stdout and stderr where both are one terminal."""
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    leader, follower = pty.openpty()
    process = subprocess.Popen([FID, *words], stdin=subprocess.DEVNULL, stdout=follower, stderr=follower,
                               env=dict(environment, **env))
    os.close(follower)
    said = b""
    while True:
        try:
            more = os.read(leader, 65536)
        except OSError:
            break
        if not more:
            break
        said += more
    os.close(leader)
    return process.wait(timeout=60), said.decode().replace("\r\n", "\n")


class Outputs(Case):
    # Progress

    def test_a_bar_shows_long_work_on_a_terminal_only_and_goes_away(self):
        recipe = self.write("arm.lua", ARM)
        words = ("check", recipe, "--only", "P413", "--poses", "400000")
        status, said = on_terminal(*words, env={})
        self.assertEqual(status, 0)
        shown = re.findall(r"\r\|(=+ *)\| (\d+) of 400000 poses", said)
        self.assertGreater(len(shown), 1, said)
        for bar, done in shown:
            self.assertEqual(bar.count("="), -(-30 * int(done) // 400000))
        self.assertIn("\r\x1b[K" + recipe + ": 0 errors", said)
        self.assertNotIn("|", on_terminal(*words, "--quiet", env={})[1])
        self.assertNotIn("|", on_terminal("check", recipe, env={})[1])
        self.assertEqual(run(*words[:-1], "100000").stderr, "")

    # Standard output

    def every_command(self):
        recipe, skeleton = self.write("arm.lua", ARM), self.path("arm.json")
        self.assertEqual(run("build", recipe, "-o", skeleton).returncode, 0)
        yield from ((words, None) for words in (
            ("build", recipe), ("check", recipe), ("check", skeleton, "--format", "json"), ("pose", recipe),
            ("export", skeleton, "--to", "skeleton"), ("export", recipe, "--to", "svg"), ("show", recipe),
            ("show", skeleton, "goal_control"), ("rule",), ("rule", "S204"), ("help",), ("help", "pose"), ("help", "ik"),
            ("help", "calls"), ("build", "--help"), ("version",)))
        yield ("repl",), "1 + 1\n"

    def test_data_that_cannot_be_printed_is_status_3_in_every_command(self):
        for words, text in self.every_command():
            with self.subTest(words), open("/dev/full", "w") as full:
                result = subprocess.run([FID, *words], input=text, stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
                self.assertEqual(result.returncode, 3)
                self.assertEqual(result.stderr.count("error:"), 1, result.stderr)
                self.assertIn("standard output cannot be written", result.stderr)

    def test_data_for_a_closed_output_is_status_3_in_every_command(self):
        for words, text in self.every_command():
            with self.subTest(words):
                result = subprocess.run(["sh", "-c", 'exec "$@" >&-', "sh", FID, *words], input=text, stderr=subprocess.PIPE,
                                        text=True, timeout=60)
                self.assertEqual(result.returncode, 3, result.stderr)
                self.assertIn("standard output cannot be written", result.stderr)

    def test_a_file_is_written_where_nothing_can_be_printed(self):
        recipe, out = self.write("arm.lua", ARM.replace("return rig", 'print("said")\nreturn rig')), self.path("out.json")
        result = subprocess.run(["sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh", FID, "build", recipe, "-o", out], timeout=60)
        self.assertEqual(result.returncode, 0)
        self.assertEqual(self.read(out), run("build", recipe).stdout)

    def test_a_session_without_an_input_ends(self):
        recipe = self.write("arm.lua", ARM)
        result = subprocess.run(["sh", "-c", 'exec "$@" <&-', "sh", FID, "repl", recipe], capture_output=True, text=True, timeout=20)
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, "test: 4 bones\n", ""))

    def test_colors_are_for_terminals_that_do_not_refuse_them(self):
        recipe = self.write("arm.lua", ALMOST_STRAIGHT)
        bad = self.write("bad.lua", "return 5")
        for words, status, severity in ((("check", recipe), 0, "warning"), (("build", bad), 2, "error"), (("bild",), 2, "error")):
            with self.subTest(words):
                plain = run(*words)
                self.assertNotIn("\x1b", plain.stdout + plain.stderr)
                colored = on_terminal(*words, env={"NO_COLOR": ""})
                self.assertEqual(colored[0], status)
                self.assertRegex(colored[1], r"\x1b\[[0-9;]+m" + severity + r"\x1b\[0m: ")
                self.assertEqual(re.sub(r"\x1b\[[0-9;]*m", "", colored[1]), plain.stdout + plain.stderr)
                self.assertEqual(on_terminal(*words, env={"NO_COLOR": "1"}), (status, plain.stdout + plain.stderr))

    def test_findings_in_a_file_have_no_colors(self):
        recipe, out = self.write("arm.lua", ALMOST_STRAIGHT), self.path("found.txt")
        self.assertEqual(on_terminal("check", recipe, "--format", "text:" + out, env={}), (0, ""))
        self.assertEqual(self.read(out), run("check", recipe).stdout)

    # Files

    def test_an_input_is_known_by_any_of_its_names(self):
        recipe = self.write("arm.lua", ARM)
        os.symlink("arm.lua", self.path("link.lua"))
        os.link(recipe, self.path("other.lua"))
        os.mkdir(self.path("sub"))
        for name in ("link.lua", "other.lua", "sub/../arm.lua", "./arm.lua"):
            for source in ("arm.lua", "link.lua"):
                self.refused(run("build", source, "-o", name, cwd=self.folder.name), 2, name, "not written over")
        self.assertEqual(self.read(recipe), ARM)

    def test_devices_pipes_and_folders_that_refuse_are_status_3(self):
        recipe = self.write("arm.lua", ARM)
        os.mkfifo(self.path("pipe"))
        os.mkdir(self.path("locked"), 0o555)
        os.symlink("none/out.json", self.path("dangling"))
        places = ["/dev/full", self.path("pipe"), "/proc/out.json", self.path("dangling"), self.path("sub/"), ""]
        # Permissions do not bind the superuser.
        places += [self.path("locked/out.json")] if os.geteuid() != 0 else []
        before = sorted(os.listdir(self.folder.name))
        for place in places:
            with self.subTest(place):
                self.refused(run("build", recipe, "-o", place), 3, f"cannot write the file '{place}'")
        self.assertEqual((sorted(os.listdir(self.folder.name)), os.listdir(self.path("locked"))), (before, []))

    def test_a_link_stays_a_link_and_a_file_keeps_its_permissions(self):
        recipe, out = self.write("arm.lua", ARM), self.write("out.json", "old")
        os.chmod(out, 0o640)
        os.symlink("out.json", self.path("link.json"))
        self.assertEqual(run("build", recipe, "-o", self.path("link.json")).returncode, 0)
        self.assertTrue(os.path.islink(self.path("link.json")))
        self.assertEqual(os.stat(out).st_mode & 0o777, 0o640)
        self.assertEqual(self.read(out), run("build", recipe).stdout)

    def test_an_export_that_is_killed_leaves_the_old_file_or_the_new_one(self):
        out = self.write("out.json", "old")
        fresh = run("build", HOBRUNDLE).stdout
        began = time.monotonic()
        self.assertEqual(run("build", HOBRUNDLE, "-o", self.path("first.json")).returncode, 0)
        takes = time.monotonic() - began
        seen = set()
        for i in range(60):
            process = subprocess.Popen([FID, "build", HOBRUNDLE, "-o", out], stderr=subprocess.DEVNULL)
            # Spread over the whole run and somewhat beyond its end.
            time.sleep(takes * i / 50)
            process.send_signal(signal.SIGKILL)
            process.wait()
            text = self.read(out)
            self.assertIn(text, ("old", fresh))
            seen.add(text)
            self.write("out.json", "old")
        self.assertIn("old", seen)
        self.assertEqual(run("build", HOBRUNDLE, "-o", out).returncode, 0)
        self.assertEqual(self.read(out), fresh)
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["first.json", "out.json"])

    def test_a_script_that_runs_out_of_time_leaves_the_old_file(self):
        out, recipe = self.write("out.json", "old"), self.write("bad.lua", HEAD + "while true do pcall(error) end\nreturn rig\n")
        self.refused(run("build", recipe, "-o", out, "--max-seconds", "0.2"), 2, "bad.lua", "0.2 seconds", "--max-seconds")
        self.assertEqual(self.read(out), "old")
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["bad.lua", "out.json"])

    # The same bytes

    def test_bytes_depend_neither_on_the_folder_nor_on_the_environment(self):
        self.write("rigs/modules/post/module.lua", POST)
        self.write("rigs/use.lua", HEAD + 'rig:use("post", { id = "one" })\nreturn rig\n')
        folder = os.path.realpath(self.folder.name)
        first = run("build", os.path.join(folder, "rigs/use.lua"))
        self.assertEqual((first.returncode, first.stderr), (0, ""))
        self.assertNotIn(folder, first.stdout)
        for words, where in (("rigs/use.lua", folder), ("use.lua", folder + "/rigs"), ("../use.lua", folder + "/rigs/modules"),
                             ("../rigs/use.lua", folder + "/rigs"), (".//../rigs/./use.lua", folder + "/rigs")):
            self.assertEqual(run("build", words, cwd=where).stdout, first.stdout)
        for environment in ({"LC_ALL": "de_DE.UTF-8"}, {"LC_ALL": "C"}, {"TZ": "Asia/Tokyo", "HOME": "/"}, {"NO_COLOR": "1"}):
            self.assertEqual(run("build", "rigs/use.lua", cwd=folder, env=environment).stdout, first.stdout)

    def test_every_command_says_the_same_twice(self):
        recipe = self.write("arm.lua", ALMOST_STRAIGHT)
        for words in (("check", recipe), ("check", recipe, "--format", "json", "--seed", "7"), ("pose", recipe),
                      ("show", recipe, "goal_control"), ("export", recipe, "--to", "svg")):
            with self.subTest(words):
                first, second = run(*words), run(*words)
                self.assertEqual(first.stdout, second.stdout)
                self.assertNotEqual(first.stdout, "")

    def test_what_a_recipe_reads_is_never_written_over(self):
        self.write("modules/post/module.lua", POST)
        self.write("parts/size.lua", "return 1\n")
        inputs = ["guides.json", "table.csv", "step.json", "parts/size.lua", "modules/post/module.lua", "use.lua"]
        kept = {"guides.json": '{"a": [0, 0, 1]}', "table.csv": "name,x\na,1\n", "step.json": '{"format": "fid-pose", "version": 1, "values": {}}\n'}
        for name, text in kept.items():
            self.write(name, text)
        recipe = self.write("use.lua", HEAD + """fid.data("guides.json") fid.data("table.csv") require "parts.size"
rig:use("post", { id = "one" })
rig:solve("step.json")
return rig
""")
        before = {name: self.read(self.path(name)) for name in inputs}
        skeleton = self.path("out.json")
        self.assertEqual(run("build", recipe, "-o", skeleton).returncode, 0)
        os.link(self.path("guides.json"), self.path("other.json"))
        for name in inputs + ["other.json", "./parts/../guides.json"]:
            for words in (("build", recipe, "-o"), ("pose", recipe, "-o"), ("pose", recipe, "-o", self.path("new.json"), "--write-pose"),
                          ("export", recipe, "--to", "svg", "-o"), ("export", recipe, "--to", "skeleton", "-o")):
                with self.subTest(words=words, name=name):
                    self.refused(run(*words, self.path(name)), 2, os.path.basename(name), "not written over")
            with self.subTest(session=name):
                result = run("repl", "use.lua", cwd=self.folder.name, input='export("' + name + '")\n')
                self.assertEqual(result.returncode, 2)
                self.assertIn("not written over", result.stderr)
        self.assertEqual(before, {name: self.read(self.path(name)) for name in inputs})
        # What an earlier run wrote is no input.
        self.assertEqual(run("build", recipe, "-o", skeleton).returncode, 0)

    def test_how_a_path_is_spelled_changes_neither_bytes_nor_what_is_protected(self):
        module = self.write("modules/post/module.lua", POST)
        self.write("rigs/use.lua", HEAD + 'rig:use("post", { id = "one" })\nreturn rig\n')
        first = run("build", "rigs/use.lua", cwd=self.folder.name).stdout
        for name in (".//rigs/use.lua", "rigs//use.lua", "rigs/../rigs/use.lua", self.path("rigs//use.lua"), self.path("./rigs/../rigs/use.lua")):
            with self.subTest(name):
                self.assertEqual(run("build", name, cwd=self.folder.name).stdout, first)
                self.refused(run("build", name, "-o", "modules/post/module.lua", cwd=self.folder.name), 2, "not written over")
                self.assertEqual(self.read(module), POST)

    # The form of messages

    def test_messages_have_place_severity_text_code_trail_and_remedy_in_this_order(self):
        recipe = self.write("bad.lua", HEAD + 'local root = rig:control { part = "root", at = {0, 0, 0} }\n'
                            'rig:use("stretch_leg", { id = "leg1", side = "left", parent = root, guides = { {0, 1, 0}, {0, 0.5, 0.01}, {0, 0, 0} } })\n'
                            'return rig\n')
        lines = run("build", recipe).stderr.splitlines()
        self.assertEqual(len(lines), 3, lines)
        module = self.read(os.path.join(SOURCE, "modules", "stretch_leg", "module.lua")).splitlines()
        place = re.match(r"fid:modules/stretch_leg/module\.lua:([0-9]+): error: .*'leg1/joint/left.*[^ ] \[S204\]$", lines[0])
        self.assertIsNotNone(place, lines[0])
        self.assertIn("rig:ik {", module[int(place[1]) - 1])
        self.assertEqual(lines[1], f"    in leg1 (left) of stretch_leg 1.1.0, used at {recipe}:4")
        self.assertRegex(lines[2], "^    to mend: .*3 degrees")


class Inputs(Case):
    """Files that are cut, of another kind, or wrong in one place."""

    def refused_everywhere(self, name, text, *parts, commands):
        path = self.write(name, text)
        before = sorted(os.listdir(self.folder.name))
        for words in commands:
            with self.subTest(words):
                self.refused(run(*words), 2, path, *parts)
        self.assertEqual(sorted(os.listdir(self.folder.name)), before)

    def test_a_wrong_skeleton_is_refused_by_every_command_that_reads_one(self):
        text = run("build", self.write("arm.lua", ARM)).stdout
        bad, out = self.path("bad.json"), self.path("out.json")
        commands = (("build", bad, "-o", out), ("check", bad), ("check", bad, "--format", "json:" + out), ("pose", bad, "-o", out),
                    ("export", bad, "--to", "skeleton", "-o", out), ("export", bad, "--to", "svg", "-o", out), ("show", bad),
                    ("show", bad, "goal_control"))
        self.refused_everywhere("bad.json", text[:len(text) // 2], "error: ", commands=commands)
        self.refused_everywhere("bad.json", text.replace('"version": 1', '"version": 2', 1), ": /version: error: ", commands=commands)
        self.refused_everywhere("bad.json", text.replace('"goal": "goal_control"', '"goal": "gaol_control"'),
                                ": /constraints/0/goal: error: ", "did you mean 'goal_control'", "[S201]", commands=commands)
        self.refused_everywhere("bad.json", '{"format": "fid-pose", "version": 1, "values": {}}', ": /format: error: ", commands=commands)
        self.refused_everywhere("bad.json", "", "bad.json:1: error: ", commands=commands)
        # A bone that hangs from a later one, and so perhaps from itself.
        self.refused_everywhere("bad.json", text.replace('"parent": null', '"parent": "arm_03_helper"', 1), ": /bones/0/parent: error: ",
                                "[S201]", commands=commands)

    def test_a_skeleton_cut_anywhere_is_refused_with_the_line(self):
        text = run("build", self.write("arm.lua", ARM)).stdout
        bad, out = self.path("bad.json"), self.path("out.json")
        # The last byte is the end of the last line, which is no part of the document.
        for cut in sorted({*range(0, len(text) - 1, 29), len(text) - 2}):
            self.write("bad.json", text[:cut])
            result = run("export", bad, "--to", "skeleton", "-o", out)
            self.refused(result, 2)
            line = text.count("\n", 0, cut) + 1
            self.assertIn(result.stderr.split(": error:")[0], [f"{bad}:{at}" for at in (line - 1, line)])
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["arm.lua", "bad.json"])

    def test_a_wrong_pose_is_refused_with_the_path_of_the_value(self):
        recipe, bad, out = self.write("arm.lua", ARM), self.path("p.json"), self.path("out.json")
        commands = (("pose", recipe, "--pose", bad, "-o", out), ("pose", recipe, "--pose", bad, "--write-pose", out),
                    ("export", recipe, "--to", "svg", "--pose", bad, "-o", out), ("show", recipe, "goal_control", "--pose", bad))

        def refused(text, *parts):
            self.refused_everywhere("p.json", text, *parts, commands=commands)

        def values(text):
            return '{"format": "fid-pose", "version": 1, "values": {' + text + "}}"
        whole = values('"goal_control": {"rotation": [1, 2, 3]}')
        self.write("p.json", whole)
        self.assertEqual(run("pose", recipe, "--pose", bad).returncode, 0)
        for cut in range(len(whole)):
            self.write("p.json", whole[:cut])
            self.refused(run("pose", recipe, "--pose", bad, "-o", out), 2, bad + ":1: error: ")
        refused(whole.replace('"version": 1', '"version": 2'), ": /version: error: ")
        refused(whole.replace("fid-pose", "fid-skeleton"), ": /format: error: ", "fid-pose")
        refused(whole.replace('"values"', '"valuse"'), "did you mean 'values'")
        refused(whole.replace("goal", "gaol"), ": /values/gaol_control: error: ", "did you mean 'goal_control'")
        refused(whole.replace("rotation", "rotaton"), ": /values/goal_control/rotaton: error: ", "did you mean 'rotation'?")
        refused(whole.replace("3]", "NaN]"), ":1: error: ")
        refused(whole.replace("3]", "1e999]"), ":1: error: ", "1e999")
        refused(whole.replace(", 3]", "]"), ": /values/goal_control/rotation: error: ", "3 numbers")
        refused(values('"goal_control": {"rotation": [0, 0, 0], "rotation": [0, 0, 0]}'), ": /values/goal_control/rotation: error: ", "twice")
        refused(values('"goal_control": {"rotation": [0, 0, 0], "quaternion": [0, 0, 0, 1]}'), "exclude each other")
        refused(values('"goal_control": {"quaternion": [0, 0, 0, 0]}'), ": /values/goal_control/quaternion: error: ")
        refused(values('"arm_01_helper": {"rotation": [0, 0, 1]}'), ": /values/arm_01_helper/rotation/2: error: ", "not animatable")
        refused("[" * 1000000, "more than 64 objects and lists in each other")
        # A channel that cannot be posed may stand there at its default.
        self.write("p.json", values('"arm_01_helper": {"rotation": [0, 0, 0]}'))
        self.assertEqual(run("pose", recipe, "--pose", bad).returncode, 0)


if __name__ == "__main__":
    unittest.main()
