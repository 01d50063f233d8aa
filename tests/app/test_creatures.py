#!/usr/bin/env python3
"""What the creatures of the demo must do, tried in a session as a rigger would; what each module promises by itself stands in its own test.lua."""
import glob
import json
import os
import unittest

from support import SOURCE, Case, run

# A pose of every control that moves each channel a little, the same in every run; and points of all bones.
PRELUDE = """
fid = require "fid"
function moved(amount)
  local pose, random = {}, fid.random(7)
  for _, bone in ipairs(rig:bones { role = "control" }) do
    local given = {}
    for _, name in ipairs(bone.channels) do
      if name:find("^rotation") then given[name] = random:number(-12, 12) * amount
      elseif name:find("^translation") then given[name] = random:number(-0.02, 0.02) * amount * rig.height end
    end
    if bone.parent then pose[bone] = given end
  end
  return pose
end
function close(a, b, most, what) if a:distance(b) > most then error(what .. ": " .. tostring(a) .. " and " .. tostring(b)) end end
"""


def recipe(name):
    return os.path.join(SOURCE, "recipes", name + ".lua")


class Creatures(Case):
    def session(self, name, forms):
        done = run("repl", recipe(name), input=PRELUDE + forms)
        self.assertEqual((done.returncode, done.stderr), (0, ""), forms)
        return done.stdout

    def skeleton(self, name):
        out = self.path(name + ".json")
        done = run("build", recipe(name), "-o", out)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return json.loads(self.read(out))

    def test_each_has_about_the_deform_bones_that_it_should(self):
        for name, about in (("hobrundle", 96), ("skelvane", 100), ("pimmet", 80)):
            with self.subTest(name):
                count = sum(bone["role"] == "deform" for bone in self.skeleton(name)["bones"])
                self.assertLess(abs(count - about), 0.12 * about, count)

    def test_all_share_modules(self):
        used = [{module["name"] for module in self.skeleton(name)["modules"]} for name in ("hobrundle", "skelvane", "pimmet")]
        self.assertGreaterEqual(len(set.intersection(*used)), 4, used)
        self.assertLessEqual({"stretch_leg", "eye_stalk"}, used[0] & used[2])

    def test_no_rule_finds_anything(self):
        for path in glob.glob(os.path.join(SOURCE, "recipes", "*.lua")):
            with self.subTest(path):
                done = run("check", path, "--fail-on", "note")
                self.assertEqual(done.returncode, 0, done.stderr + done.stdout)

    def test_each_has_the_same_shape_at_every_size_and_place(self):
        for name in ("hobrundle", "skelvane", "pimmet"):
            with self.subTest(name):
                self.session(name, """
do
  local place
  for _, bone in ipairs(rig:bones { role = "control" }) do if not bone.parent then place = bone break end end
  local before = rig:solve(moved(1))
  for _, given in ipairs { { scale = 0.5 }, { scale = 2 }, { translation = { 0, 0, 1000 } } } do
    local pose = moved(1)
    pose[place] = given
    local solved = rig:solve(pose)
    local size, far = given.scale or 1, fid.vec(given.translation or { 0, 0, 0 })
    for _, bone in ipairs(rig:bones()) do
      close((solved:base(bone) - far - place.base) / size, before:base(bone) - place.base, 2e-5 * rig.height + 1e-7 * far:length(), bone.name)
    end
  end
end
""")


if __name__ == "__main__":
    unittest.main()
