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

    def test_the_skelvane_folds_its_wings_against_its_body_without_a_jump(self):
        self.session("skelvane", """
do
  local wings = { rig:find("wing_shoulder_left_control"), rig:find("wing_shoulder_right_control") }
  local skin = rig:bones { role = "deform", id = "wing" }
  local function folded(x) return rig:solve { [wings[1]] = { fold = x }, [wings[2]] = { fold = x } } end
  local function span(solved)
    local low, high = math.huge, -math.huge
    for _, bone in ipairs(skin) do
      low, high = math.min(low, solved:tip(bone).x), math.max(high, solved:tip(bone).x)
    end
    return high - low
  end
  assert(math.abs(span(folded(0)) - 5) < 0.05, "spread it spans 5 m")
  assert(span(folded(1)) < 1, "folded it is as wide as the body")
  local last = folded(0)
  for i = 1, 500 do
    local now = folded(i / 500)
    for _, bone in ipairs(skin) do
      local angle = now:frame(bone).aim:angle(last:frame(bone).aim)
      assert(angle < 1.5 and now:base(bone):distance(last:base(bone)) < 0.03, bone.name .. " jumps at " .. i / 500)
    end
    last = now
  end
end
""")

    def test_the_tail_of_the_skelvane_keeps_its_length_as_it_swings(self):
        self.session("skelvane", """
do
  local tip = rig:find("tail_tip_control")
  local function length(solved)
    local sum = 0
    for _, bone in ipairs(rig:bones { role = "deform", id = "tail" }) do sum = sum + solved:tip(bone):distance(solved:base(bone)) end
    return sum
  end
  assert(math.abs(length(rig:solve()) - 2.404) < 1e-3, "2.4 m at rest")
  for _, way in ipairs { { 0.8, 0, 0.3 }, { -0.4, 0.7, 0.2 }, { 0, -0.5, 1 } } do
    local solved = rig:solve { [tip] = { translation = way } }
    assert(math.abs(length(solved) - 2.404) < 2e-3, "and swung")
  end
end
""")

    def test_the_eyes_of_the_skelvane_look_where_they_are_told_and_blink_over_the_ball(self):
        self.session("skelvane", """
do
  local look = rig:find("look_control")
  local solved = rig:solve { [look] = { translation = { 0.3, 0.2, 0 } }, [rig:find("lids_blink_left_control")] = { close = 1 } }
  for _, side in ipairs { "left", "right" } do
    local eye, target = "eye_" .. side .. "_deform", rig:find("target_" .. side .. "_control")
    local way = (solved:base(target) - solved:base(eye)):normalized()
    assert(way:angle(solved:frame(eye).aim) < 0.02, "the eye looks at its target")
  end
  close(solved:tip("lids_upper_left_deform"), solved:tip("lids_lower_left_deform"), 1e-4, "the closed lids meet")
  assert(solved:tip("lids_upper_left_deform"):distance(solved:base("eye_left_deform")) > 0.035, "outside of the ball")
  assert(solved:tip("lids_upper_right_deform"):distance(solved:tip("lids_lower_right_deform")) > 0.02, "the other eye is open")
end
""")

    def test_the_pimmet_passes_its_lamp_from_hand_to_clasp_without_a_jump(self):
        self.session("pimmet", """
do
  local prop, lamp = rig:find("pole_prop_control"), rig:find("lamp_deform")
  local space, hand = prop.channel.space, rig:find("palm_left_helper")
  local goal = rig:find("arm_goal_left_control")
  local pose = rig:pose { [prop] = { space = "left_low", length = 0.7 }, [goal] = { translation = { -0.03, 0.02, 0.03 }, rotation = { 10, 20, -5 } } }
  close(rig:solve(pose):base("pole_grip_01_helper"), rig:solve(pose):base(hand), 1e-5, "the lower grip is in the hand")
  local before = rig:solve(pose)
  for _, choice in ipairs { "belt_high", "right_high", "lead", "left_low", "belt_low", "lead" } do
    local next_pose, notes = rig:switch(pose, space, choice)
    assert(#notes == 0, notes[1])
    local after = rig:solve(next_pose)
    for _, name in ipairs { "lamp_deform", "pole_pole_01_deform", "arm_tip_left_deform", "arm_tip_right_deform" } do
      close(after:base(name), before:base(name), 1e-5 * 0.42, choice .. ": base of " .. name)
      close(after:tip(name), before:tip(name), 1e-5 * 0.42, choice .. ": tip of " .. name)
    end
    pose = next_pose
  end
end
""")

    def test_what_carries_the_lamp_takes_it_along_and_never_stretches_it(self):
        self.session("pimmet", """
do
  local prop, goal = rig:find("pole_prop_control"), rig:find("arm_goal_right_control")
  local rest = rig:solve { [prop] = { space = "right_high" } }
  local solved = rig:solve { [prop] = { space = "right_high" }, [goal] = { translation = { -0.3, 0.2, 0.1 } }, [rig:find("spine_main_control")] = { stretch = 0.3 } }
  close(solved:base("pole_grip_02_helper"), solved:base("palm_right_helper"), 1e-5, "the upper grip is in the hand")
  for i = 1, 3 do
    local name = "pole_pole_0" .. i .. "_deform"
    local s = solved:scale(name)
    close(fid.vec(s), fid.vec(1, 1, 1), 1e-6, name)
    close(solved:tip(name) - solved:base(name), (solved:tip(name) - solved:base(name)):normalized() * rest:tip(name):distance(rest:base(name)), 1e-6, name)
  end
end
""")


if __name__ == "__main__":
    unittest.main()
