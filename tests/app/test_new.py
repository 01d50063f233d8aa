#!/usr/bin/env python3
"""fid new: what it writes builds, checks clean and passes its own tests; nothing is written over or left half done."""
import os
import shutil
import subprocess
import unittest

from support import HEAD, POST, Case, run


class New(Case):
    def new(self, *words, **more):
        return run("new", *words, cwd=more.pop("cwd", self.folder.name), **more)

    def files(self):
        return sorted(os.path.relpath(os.path.join(folder, name), self.folder.name) for folder, _, names in os.walk(self.folder.name) for name in names)

    def test_a_new_module_keeps_its_contract_and_its_promises(self):
        for name in ("stump", "x", "fore_leg2", "a" * 64):
            result = self.new("module", name)
            self.assertEqual((result.returncode, result.stdout), (0, ""), result.stderr)
            self.assertEqual(result.stderr, "".join(f"written: modules/{name}/{file}\n" for file in ("module.lua", "test.lua", "README.md")))
            checked = run("modules", "check", name, cwd=self.folder.name)
            self.assertEqual((checked.returncode, checked.stdout), (0, "1 module checked: 0 errors, 0 warnings\n"))
            tested = run("test", name, cwd=self.folder.name)
            self.assertEqual((tested.returncode, tested.stdout), (0, "1 module, 7 cases: 7 passed, 0 failed\n"))
            recipe = self.write(f"{name}.lua", HEAD + f'''local body = rig:control {{ part = "body", at = {{0, 1, 0}}, size = 0.5 }}
local limb = rig:use("{name} ^1.0", {{ id = "limb1", side = "left", parent = body, guides = {{ {{0.2, 1, 0}}, {{0.2, 0.6, 0.15}}, {{0.2, 0.1, 0}} }} }})
rig:mirror(limb)
return rig
''')
            found = run("check", recipe, "--fail-on", "note", "--poses", "100")
            self.assertEqual(found.returncode, 0, found.stdout)
        # What its page shows is what was tried above, and it speaks of no other name.
        for file in ("module.lua", "test.lua", "README.md"):
            self.assertNotIn("NAME", self.read(self.path(f"modules/stump/{file}")))
        self.assertIn('guides = { {0.2, 1, 0}, {0.2, 0.6, 0.15}, {0.2, 0.1, 0} }', self.read(self.path("modules/stump/README.md")))

    def test_a_new_recipe_builds_and_checks_clean(self):
        result = self.new("recipe", "crane_2")
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, "", "written: crane_2.lua\nwritten: crane_2.guides.json\n"))
        built = run("build", "crane_2.lua", "-o", "crane_2.json", cwd=self.folder.name)
        self.assertEqual((built.returncode, built.stderr), (0, ""))
        found = run("check", "crane_2.lua", "--fail-on", "note", cwd=self.folder.name)
        self.assertEqual(found.returncode, 0, found.stdout)
        self.assertNotIn("NAME", self.read(self.path("crane_2.lua")))
        # The guides are what it is built from.
        self.write("crane_2.guides.json", self.read(self.path("crane_2.guides.json")).replace("0.45", "0.55"))
        run("build", "crane_2.lua", "-o", "moved.json", cwd=self.folder.name)
        self.assertNotEqual(self.read(self.path("moved.json")), self.read(self.path("crane_2.json")))

    @unittest.skipUnless(shutil.which("luacheck"), "luacheck is not there; on Debian: apt-get install lua-check")
    def test_what_it_writes_has_no_name_too_few_or_too_many(self):
        run("init", self.path("marsh"))
        self.new("module", "stump", cwd=self.path("marsh"))
        self.new("recipe", "crane", cwd=self.path("marsh"))
        linted = subprocess.run(["luacheck", "--no-color", "--no-max-line-length", "crane.lua", "modules"], capture_output=True, text=True, cwd=self.path("marsh"), timeout=60)
        self.assertEqual(linted.returncode, 0, linted.stdout)

    def test_where_it_goes(self):
        self.write("modules/post/module.lua", POST)
        os.makedirs(self.path("recipes/deep"))
        self.assertIn("written: ../../modules/stump/module.lua", self.new("module", "stump", cwd=self.path("recipes/deep")).stderr)
        self.assertIn("written: recipes/crane.lua", self.new("recipe", "crane").stderr)
        self.assertIn("written: crane.lua", self.new("recipe", "crane", cwd=self.path("recipes/deep")).stderr)
        self.assertIn("written: shared/stump/module.lua", self.new("module", "stump", "-o", "shared").stderr)
        self.assertIn("written: shared/crane.lua", self.new("recipe", "crane", "-o", "shared/").stderr)
        self.assertEqual(self.new("recipe", "reed", "-q").stderr, "")
        hidden = self.new("module", "stretch_leg")
        self.assertEqual(hidden.returncode, 0)
        self.assertIn("modules/stretch_leg/module.lua: note: recipes find this module instead of fid:modules/stretch_leg now\n", hidden.stderr)

    def test_nothing_is_written_over(self):
        self.write("modules/stump/notes.txt", "mine")
        self.write("crane.lua", "mine")
        self.write("reed.guides.json", "mine")
        before = self.files()
        self.refused(self.new("module", "stump"), 2, "'modules/stump' is there already and is left as it is")
        self.refused(self.new("recipe", "crane"), 2, "'crane.lua' is there already")
        self.refused(self.new("recipe", "reed"), 2, "'reed.guides.json' is there already")
        self.assertEqual(self.files(), before)
        self.assertEqual({self.read(self.path(name)) for name in before}, {"mine"})

    def test_a_name_or_word_that_is_none_is_refused(self):
        for name in ("Stump", "2stump", "stump.lua", "../stump", "", "a" * 65, "stu mp"):
            self.refused(self.new("module", name), 2, "the name of a module has lower-case letters, digits and '_', at most 64")
            self.refused(self.new("recipe", name), 2, "the name of a recipe has lower-case letters, digits and '_', at most 64")
        self.refused(self.new("modul", "stump"), 2, "new makes a module or a recipe, not 'modul'; did you mean 'module'?")
        self.refused(self.new("module"), 2, "a word is missing: usage: fid new module|recipe NAME")
        self.refused(self.new("module", "stump", "-o", "-"), 2, "--output takes a folder")
        self.assertEqual(self.files(), [])

    def test_what_cannot_be_written_leaves_nothing(self):
        self.write("file", "")
        self.refused(self.new("module", "stump", "-o", "file"), 3, "cannot be made")
        self.refused(self.new("module", "stump", "-o", "none/below"), 3, "cannot be made")
        self.refused(self.new("recipe", "crane", "-o", "file"), 3, "cannot be made")
        self.refused(self.new("module", "stump", "-o", "x" * 1100), 2, "is longer than")
        self.assertEqual(os.listdir(self.folder.name), ["file"])
        # A file that is larger than may be written: the folders that were made for it are taken back.
        for words in (("module", "stump"), ("recipe", "crane", "-o", "made")):
            limited = subprocess.run(["sh", "-c", 'ulimit -f 0; exec "$0" "$@"', os.path.abspath(os.environ["FID"]), "new", *words], capture_output=True, text=True, cwd=self.folder.name,
                                     timeout=60)
            self.assertNotEqual(limited.returncode, 0)
            self.assertEqual(os.listdir(self.folder.name), ["file"], limited.stderr)


if __name__ == "__main__":
    unittest.main()
