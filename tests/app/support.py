"""What the tests of commands share: the program, a small recipe, a folder that goes away, and what a refusal is."""
import os
import subprocess
import tempfile
import unittest

SOURCE, FID = os.environ["FID_SOURCE"], os.environ["FID"]
HOBRUNDLE = os.path.join(SOURCE, "recipes", "hobrundle.lua")

HEAD = 'local fid = require "fid"\nlocal rig = fid.rig { name = "test", height = 1 }\n'
ARM = HEAD + '''local goal = rig:control { part = "goal", at = {0, 0, 1.8}, size = 0.1, rotation_range = { x = {-30, 30} } }
local arm = rig:chain { part = "arm", points = { {0, 0, 0}, {0, 0.4, 0.9}, {0, 0, 1.8} }, with_end = true, parenting = "fan" }
rig:ik { chain = arm, goal = goal }
return rig
'''


# A module of one bone.
POST = '''local fid = require "fid"
return fid.module {
  name = "post", version = "1.0.0", summary = "a post", params = {},
  build = function(rig, p) rig:bone { part = "post", at = {0, 0, 0}, to = {0, 1, 0}, up = {0, 0, 1} } return {} end,
}
'''


def run(*words, **more):
    environment = dict(os.environ, **more.pop("env", {}))
    return subprocess.run([FID, *words], capture_output=True, text=True, env=environment, timeout=60, **more)


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name):
        return os.path.join(self.folder.name, name)

    def write(self, name, text):
        os.makedirs(os.path.dirname(self.path(name)), exist_ok=True)
        with open(self.path(name), "wb") as file:
            file.write(text if isinstance(text, bytes) else text.encode())
        return self.path(name)

    def read(self, path):
        with open(path, encoding="utf-8") as file:
            return file.read()

    def refused(self, result, status, *parts):
        """One error with this status, these parts in its message, and no output."""
        self.assertEqual(result.returncode, status, result.stderr)
        self.assertEqual(result.stdout, "")
        self.assertEqual(result.stderr.count("error:"), 1, result.stderr)
        self.assertNotIn("\x1b", result.stderr)
        for part in parts:
            self.assertIn(part, result.stderr)

    def refused_recipe(self, text, *parts, options=(), status=2):
        recipe, out = self.write("bad.lua", text), self.path("out.json")
        self.refused(run("build", recipe, "-o", out, *options), status, *parts)
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["bad.lua"])
