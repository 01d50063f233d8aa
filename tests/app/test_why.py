#!/usr/bin/env python3
"""why() and fid show --why: what made a bone's frame, step by step."""
import re
import subprocess
import unittest

from support import ARM, FID, HEAD, HOBRUNDLE, Case, run

# A quarter turn of the parent, half of a follow, a layer and a drive: each step can be done by hand.
STEPS = HEAD + '''local base = rig:control { part = "base", at = {0, 0, 0} }
local guide = rig:control { part = "guide", at = {0, 0, 0} }
local mix = rig:slider { on = base, name = "mix", min = 0, max = 2 }
local arm = rig:bone { part = "arm", at = {1, 0, 0}, to = {1, 0, 1}, parent = base, channels = {"translation"} }
rig:follow { bone = arm, source = guide, weight = 0.5 }
rig:pose_layer { name = "push", by = mix, poses = { { at = 1, pose = { [arm] = { translation = {0, 0, 0.25} } } } } }
rig:drive { to = arm.channel["translation.x"], from = mix, gain = 3 }
rig:drive { to = arm.channel["translation.x"], from = mix, combine = "add" }
return rig
'''


class Why(Case):
    def test_the_steps_of_a_bone_are_told_in_order_with_their_changes(self):
        recipe = self.write("steps.lua", STEPS)
        words = ("show", recipe, "arm_deform", "--why", "--set", "base_control.rotation.y=90", "--set", "guide_control.translation.y=0.5", "--set", "base_control.mix=0.5")
        told = run(*words)
        self.assertEqual((told.returncode, told.stderr), (0, ""))
        lines = told.stdout.splitlines()
        self.assertEqual(lines[0], f"arm_deform (arm/deform), written at {recipe}:6")
        # About +Y, +X goes to -Z: from (1, 0, 0) to (0, 0, -1).
        self.assertEqual(lines[2], "  1. taken from base_control (translation, rotation): moved (-1, 0, -1) m, turned 90 deg about (0, 1, 0)")
        self.assertRegex(lines[3], r"^  2\. arm/deform:follow \(before the pose, weight 0\.5\): moved ")
        self.assertEqual(lines[4], f"       written at {recipe}:7")
        self.assertEqual(lines[5], "       source: guide_control")
        self.assertRegex(lines[6], "^  3. push .pose layer.: moved ")
        self.assertEqual(lines[8], "       by: base_control.mix = 0.5")
        self.assertRegex(lines[9], "^  4. its channels: moved ")
        self.assertEqual(lines[10:13], ["       arm_deform.translation.x = 2, posed 0", f"           a drive makes it 1.5, written at {recipe}:9", f"           a drive makes it 2, written at {recipe}:10"])
        self.assertEqual(len(lines), 14)
        # All changes together lead from the one end to the other.
        where = [[float(n) for n in re.search(r"base \(([^)]*)\)", lines[i]).group(1).split(", ")] for i in (1, 13)]
        moved = [[float(n) for n in part.split(", ")] for part in re.findall(r"moved \(([^)]*)\)", told.stdout)]
        for axis in range(3):
            self.assertAlmostEqual(where[0][axis] + sum(step[axis] for step in moved), where[1][axis], 4)
        self.assertEqual(len(moved), 4)

    def test_a_session_tells_the_same_as_the_command(self):
        recipe = self.write("arm.lua", ARM)
        for file in (recipe, self.write("arm.json", run("build", recipe).stdout)):
            told = run("show", file, "arm_01_helper", "--why", "--set", "goal_control.translation.y=0.4").stdout
            self.assertIn("1. arm:ik (before the pose, weight 1): turned 9.15925 deg about (-1, 0, 0)", told)
            form = 'set("goal_control.translation.y", 0.4)\nwhy("arm_01_helper")\nwhy(rig:find("arm_01_helper"))\n'
            result = subprocess.run([FID, "repl", file], input=form, capture_output=True, text=True, timeout=60)
            self.assertEqual((result.stdout, result.stderr), ("test: 4 bones\n" + told * 2, ""))

    def test_every_bone_of_a_creature_can_be_told(self):
        names = [line.split()[0] for line in run("show", HOBRUNDLE).stdout.splitlines()[1:]]
        result = subprocess.run([FID, "repl", HOBRUNDLE], input="".join(f'why("{name}")\n' for name in names), capture_output=True, text=True, timeout=120)
        self.assertEqual(result.stderr, "")
        self.assertEqual(result.stdout.count("so it is: "), len(names))
        self.assertIn("(pose layer)", result.stdout)
        self.assertIn("it places the character", result.stdout)
        self.assertNotIn("nan", result.stdout)

    def test_what_cannot_be_told_is_refused(self):
        recipe = self.write("arm.lua", ARM)
        self.refused(run("show", recipe, "--why"), 2, "act on what is shown of one bone")
        self.refused(run("show", recipe, "gaol_control", "--why"), 2, "did you mean 'goal_control'")
        for form, part in (("why()", "why takes a bone"), ("why(5)", "a bone or its name is asked for"), ('why("gaol_control")', "did you mean 'goal_control'")):
            result = subprocess.run([FID, "repl", recipe], input=form + "\n", capture_output=True, text=True, timeout=60)
            self.assertEqual(result.returncode, 2)
            self.assertIn(part, result.stderr)


if __name__ == "__main__":
    unittest.main()
