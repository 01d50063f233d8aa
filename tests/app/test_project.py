#!/usr/bin/env python3
"""fid init and fid doctor: a folder that builds at once, what editors know of fid, and what is missing for what."""
import json
import os
import re
import shutil
import subprocess
import unittest

from support import HEAD, POST, SOURCE, Case, run


class Init(Case):
    def init(self, name="marsh", **more):
        done = run("init", self.path(name), **more)
        self.assertEqual((done.returncode, done.stdout), (0, ""), done.stderr)
        return done.stderr

    def lint(self, *files, folder):
        return subprocess.run(["luacheck", "--no-color", *files], capture_output=True, text=True, cwd=folder, timeout=60)

    def test_a_new_project_builds_and_checks_clean_at_once(self):
        self.init()
        self.assertEqual(sorted(os.listdir(self.path("marsh"))), [".fid", ".luacheckrc", ".luarc.json", "marsh.lua"])
        recipe = self.path("marsh/marsh.lua")
        self.assertIn('name = "marsh"', self.read(recipe))
        self.assertEqual(run("build", recipe, "-o", self.path("marsh.json")).returncode, 0)
        checked = run("check", recipe, "--fail-on", "note")
        self.assertEqual(checked.returncode, 0, checked.stdout)

    def test_what_is_there_is_left_and_what_editors_know_is_written_anew(self):
        self.init()
        mine = self.write("marsh/.luarc.json", "{}")
        recipe = self.write("marsh/marsh.lua", HEAD + "return rig\n")
        known = self.write("marsh/.fid/fid.lua", "old")
        said = self.init()
        self.assertEqual(self.read(mine), "{}")
        self.assertEqual(self.read(recipe), HEAD + "return rig\n")
        self.assertNotEqual(self.read(known), "old")
        self.assertIn("left as it is: " + mine, said)
        self.assertIn("written: " + known, said)

    def test_a_folder_with_recipes_gets_no_other_and_one_without_a_name_does(self):
        self.write("there/my creature.lua", HEAD + "return rig\n")
        self.init("there")
        self.assertEqual([name for name in os.listdir(self.path("there")) if name.endswith(".lua")], ["my creature.lua"])
        self.init("12 Post-Stakes 3")
        self.assertTrue(os.path.exists(self.path("12 Post-Stakes 3/poststakes3.lua")))
        self.init("../" + os.path.basename(self.folder.name) + "/--1")
        self.assertTrue(os.path.exists(self.path("--1/creature.lua")))

    def test_a_folder_that_cannot_be_made_leaves_nothing(self):
        self.write("file", "")
        self.refused(run("init", self.path("file")), 3, "cannot be made")
        self.refused(run("init", self.path("none/below")), 3, "cannot be made")
        self.refused(run("init", "x" * 1001), 2, "longer than 1000")
        self.assertEqual(os.listdir(self.folder.name), ["file"])

    def test_settings_are_json_and_know_the_folder(self):
        self.init()
        settings = json.loads(self.read(self.path("marsh/.luarc.json")))
        self.assertEqual(settings["workspace.library"], [".fid"])
        self.assertEqual(settings["runtime.version"], "Lua 5.4")
        self.assertEqual({name for name, is_on in settings["runtime.builtin"].items() if is_on == "disable"}, {"debug", "io", "os", "package"})

    @unittest.skipUnless(shutil.which("luacheck"), "luacheck is not installed")
    def test_luacheck_is_clean_on_all_recipes_and_modules_and_finds_a_planted_typo(self):
        self.init()
        folder = self.path("marsh")
        for part in ("recipes", "modules"):
            shutil.copytree(os.path.join(SOURCE, part), os.path.join(folder, part))
        done = self.lint(".", folder=folder)
        self.assertEqual(done.returncode, 0, done.stdout)
        self.write("marsh/typo.lua", HEAD + 'prnt(rig.name)\nlocal wide = math.flor(2.5)\nreturn rig\n')
        done = self.lint("typo.lua", folder=folder)
        self.assertIn("undefined variable 'prnt'", done.stdout)
        self.assertIn("undefined field 'flor' of global 'math'", done.stdout)
        self.assertIn("unused variable 'wide'", done.stdout)
        for name in ("os", "io", "load", "dofile", "collectgarbage"):
            self.write("marsh/out.lua", f"print({name})\n")
            self.assertIn(f"variable '{name}'", self.lint("out.lua", folder=folder).stdout)


class Annotations(Case):
    def setUp(self):
        super().setUp()
        self.assertEqual(run("init", self.path("marsh")).returncode, 0)
        self.text = self.read(self.path("marsh/.fid/fid.lua"))

    def fields(self, name, exact=False):
        part = re.search(rf"---@class {'[(]exact[)] ' if exact else ''}fid\.{name}\n((?:---.*\n)*)", self.text)[1]
        return dict(re.findall(r"---@field (\w+\??) (.*)", part))

    def test_every_call_and_argument_of_help_is_there(self):
        arguments = 0
        for line in run("help", "calls").stdout.splitlines():
            shown = re.split(r"[({ ]", line)[0]
            function = re.sub("^(rig|chain|constraint):", lambda part: part[1].capitalize() + ":", shown)
            if shown[0].isupper():
                self.assertIn(f"---@class fid.{shown}\n", self.text)
                continue
            self.assertIn(f"function {function}(", self.text)
            if "{}" in line.split("  ")[0]:
                known = {name.rstrip("?") for name in self.fields(re.split("[:]|^fid[.]", shown)[1].replace(".", "_") + "_arguments")}
                for row in re.findall(r"^  ([a-z_]+): (?!gives|operators)", run("help", shown).stdout, re.M):
                    self.assertIn(row, known, shown)
                    arguments += 1
        self.assertGreater(arguments, 150)

    def test_types_choices_and_what_is_required_show(self):
        ik = self.fields("ik_arguments")
        self.assertTrue(ik["chain"].startswith("fid.Chain "), ik["chain"])
        self.assertTrue(ik["reach?"].startswith("number|fid.Channel "))
        self.assertIn("1 to 4, default 1", ik["reach?"])
        self.assertTrue(self.fields("follow_arguments")["path?"].startswith('"arc"|"straight" '))
        self.assertTrue(self.fields("Bone")["parent"].startswith("fid.Bone|nil "))
        self.assertTrue(self.fields("Bone")["children"].startswith("(fid.Bone)[] "))
        self.assertIn("---@return fid.Bone|nil", re.search(r"((?:---.*\n)*)function Rig:find", self.text)[1])
        self.assertNotIn("---@param  ", self.text)

    def test_modules_of_the_program_are_known_by_what_they_take_and_hand_out(self):
        names = [row["name"] for row in json.loads(run("modules", "--format", "json", cwd=self.path("marsh"), env={"FID_PATH": ""}).stdout)["modules"]]
        self.assertIn("stretch_leg", names)
        types = {"number": "number", "integer": "integer", "boolean": "boolean", "point": "fid.Vec|number[]", "points": "(fid.Vec|number[])[]|fid.Chain", "bone": "fid.Bone"}
        used = re.search(r"((?:---.*\n)*)function Rig:use\(", self.text)[1]
        for name in names:
            module = json.loads(run("modules", "info", name, "--format", "json", cwd=self.path("marsh")).stdout)["module"]
            fields = self.fields(rf"modules\.{name}\.arguments", exact=True)
            for own in ("id", "side?", "parent?"):
                fields.pop(own)
            self.assertEqual(sorted(fields), sorted(param["name"] + ("" if param["required"] else "?") for param in module["parameters"]), name)
            for param in module["parameters"]:
                told = fields[param["name"] + ("" if param["required"] else "?")]
                self.assertTrue(told.startswith(types.get(param["type"], "") + " " if param["type"] in types else ""), told)
                self.assertIn(re.sub(r"\s+", " ", param["doc"]), told)
            handed = self.fields(rf"modules\.{name}: fid\.Instance")
            for group, kind in (("controls", "Bone"), ("mounts", "Bone"), ("sliders", "Channel"), ("chains", "Chain")):
                self.assertEqual(re.findall(r"(\w+): fid\.(\w+)", handed[group]), [(row["name"], kind) for row in module["results"][group]], name)
            # One way to use each, by a text of its own.
            self.assertEqual(used.count(f"fid.modules.{name}.arguments"), 1)
            self.assertIn(f'"{name}"|"{name} {module["version"]}"|', used)
        self.assertIn('"stretch_leg ^1.0"', used)
        self.assertNotRegex(used, r"module: string|@param module string")

    def test_modules_of_the_project_are_known_too_and_one_that_is_broken_is_left_out(self):
        self.write("marsh/modules/post/module.lua", POST.replace('version = "1.0.0"', 'version = "0.3.2"').replace("params = {}", """params = {
            form = { type = "choice", choices = { "round", "a \\"b\\"" }, default = "round", doc = "its\\nform" },
            rows = { type = "list", of = { type = "list", of = "angles" }, doc = "turns" } }"""))
        self.write("marsh/modules/broken/module.lua", "return 3")
        self.write("marsh/modules/user/module.lua", POST.replace('"post"', '"user"', 1).replace("params = {}", 'needs = { "post ^0.3" }, params = {}')
                   .replace("return {} end", 'rig:use("post", { id = "inner", rows = {} }) return { mounts = { top = rig:bone { part = "top", at = {0, 1, 0}, to = {0, 2, 0}, up = {0, 0, 1} } } } end'))
        self.write("marsh/modules/user/test.lua", 'return require "fid".tests { module = "user", cases = { { "it is", function(t) t:is_true(t:use()) end } } }')
        done = run("init", "marsh", cwd=self.folder.name)
        self.assertEqual(done.returncode, 0)
        self.assertEqual(done.stderr.count("error:"), 1)
        self.assertIn("marsh/modules/broken/module.lua must return fid.module{}", done.stderr)
        self.text = self.read(self.path("marsh/.fid/fid.lua"))
        post = self.fields(r"modules\.post\.arguments", exact=True)
        self.assertTrue(post["form?"].startswith('"round"|"a \\"b\\"" its form (one of round,'), post["form?"])
        self.assertTrue(post["rows"].startswith("((fid.Vec|number[])[])[] turns ("), post["rows"])
        self.assertIn('module: "post"|"post 0.3.2"|"post ^0.3"|"post ^0.3.2", arguments', self.text)
        self.assertEqual(self.fields(r"modules\.user: fid\.Instance")["mounts"], "{ top: fid.Bone }")
        self.assertNotIn("broken", self.text)
        # The folder itself and the one above it give the same.
        self.assertEqual(run("init", "-q", cwd=self.path("marsh")).returncode, 0)
        self.assertEqual(self.read(self.path("marsh/.fid/fid.lua")), self.text)
        if shutil.which("luac5.4"):
            self.assertEqual(subprocess.run(["luac5.4", "-p", self.path("marsh/.fid/fid.lua")], timeout=60).returncode, 0)

    @unittest.skipUnless(shutil.which("luac5.4"), "luac5.4 is not installed")
    def test_the_file_is_lua(self):
        done = subprocess.run(["luac5.4", "-p", self.path("marsh/.fid/fid.lua")], capture_output=True, text=True, timeout=60)
        self.assertEqual((done.returncode, done.stderr), (0, ""))


class Doctor(Case):
    def doctor(self, folder=None, **env):
        done = run("doctor", cwd=folder or self.folder.name, env=env)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout

    def test_what_is_missing_comes_with_how_to_get_it(self):
        said = self.doctor(PATH=self.folder.name, FID_PATH="/none/modules:" + self.folder.name, LC_ALL="C")
        lines = said.splitlines()
        for i, line in enumerate(lines):
            if line.startswith("missing"):
                self.assertTrue(lines[i + 1].startswith("         to get it: "), said)
        self.assertIn("missing  luacheck", said)
        self.assertIn("apt-get install lua-check", said)
        self.assertIn("missing  folder of FID_PATH: /none/modules", said)
        self.assertIn("ok       folder of FID_PATH: " + self.folder.name, said)
        self.assertIn("missing  this folder is a project", said)
        self.assertIn("missing  UTF-8", said)

    def test_what_is_there_is_ok(self):
        programs = self.path("bin")
        os.makedirs(programs)
        for name in ("luacheck", "lua-language-server", "rsvg-convert", "git"):
            os.symlink("/bin/true", os.path.join(programs, name))
        run("init", self.path("marsh"))
        said = self.doctor(self.path("marsh"), PATH=programs, FID_PATH="", LC_ALL="C.UTF-8")
        self.assertEqual(re.findall("^missing  (.*)", said, re.M), ["a terminal for sessions (fid repl): lines are edited and remembered"])
        self.write("marsh/.fid/fid.lua", "old")
        self.assertIn("missing  what editors know of fid in this project is of this version\n         to get it: fid init", self.doctor(self.path("marsh")))


if __name__ == "__main__":
    unittest.main()
