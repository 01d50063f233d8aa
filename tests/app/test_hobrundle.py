#!/usr/bin/env python3
"""The hobrundle as a whole: its variants in one batch, other sizes, and a walk that outlives a change of its legs."""
import csv
import json
import math
import os
import unittest

from support import HOBRUNDLE, SOURCE, Case, run

VARIANTS = os.path.join(SOURCE, "recipes", "hobrundle.variants.csv")
LEGS = [("leg1", "left"), ("leg2", "right"), ("leg3", "left"), ("leg1", "right"), ("leg2", "left"), ("leg3", "right")]


def step(phase):
    """A pose of a walk, three feet on the ground at any time: each foot is carried forward through the air, and pushes back on the ground."""
    values = {"root_cog_control": {"translation": [0, 0.02 * math.sin(4 * math.pi * phase), 0.0]}}
    for i, (leg, side) in enumerate(LEGS):
        at = (phase + (0.5 if i >= 3 else 0)) % 1
        swing = at < 0.5
        z = -0.18 * math.cos(2 * math.pi * at) if swing else 0.18 - 0.72 * (at - 0.5)
        y = 0.15 * math.sin(2 * math.pi * at) if swing else 0
        values[f"{leg}_foot_{side}_control"] = {"translation": [0, y, z], "rotation": [20 * math.sin(2 * math.pi * at) if swing else 0, 0, 0]}
    return {"format": "fid-pose", "version": 1, "values": values}


def bones(result):
    return {bone["name"]: bone for bone in json.loads(result.stdout)["bones"]}


class Hobrundle(Case):
    def solved(self, file, pose):
        result = run("pose", file, "--pose", pose)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        return bones(result)

    def near(self, found, expected, most, what):
        self.assertLessEqual(math.dist(found, expected), most, what)

    def test_it_has_the_bones_of_its_description(self):
        made = json.loads(run("build", HOBRUNDLE).stdout)
        deform = [bone for bone in made["bones"] if bone["role"] == "deform"]
        self.assertEqual(len(deform), 96)
        self.assertEqual(sum(bone["name"].startswith("leg") for bone in deform), 24)
        # Everyday controls are shown at first, fine ones are not; each control is in a set of its side.
        shown = {one["name"]: one["visible"] for one in made["display_sets"]}
        self.assertEqual(shown, {f"{level}_{side}": level == "everyday" for level in ("everyday", "fine") for side in ("left", "right", "center")})
        for bone in made["bones"]:
            if bone["role"] == "control":
                self.assertIn(bone["display_set"], shown, bone["name"])
                self.assertIsNotNone(bone["outline"], bone["name"])

    def test_only_what_is_meant_to_move_may_be_posed(self):
        made = json.loads(run("build", HOBRUNDLE).stdout)
        roles = {bone["name"]: bone["role"] for bone in made["bones"]}
        posed = {channel["name"].split(".")[0] for channel in made["channels"] if channel["animatable"]}
        self.assertEqual({name for name in posed if roles[name] != "control"}, set())
        self.assertEqual({name for name, role in roles.items() if role == "control"} - posed, set())

    def test_a_walk_plays_on_after_each_leg_gains_a_segment(self):
        before, after = self.path("before.json"), self.path("after.json")
        self.assertEqual(run("build", HOBRUNDLE, "-o", before).returncode, 0)
        self.assertEqual(run("build", HOBRUNDLE, "--param", "segments=4", "-o", after).returncode, 0)
        self.assertEqual(run("check", after, "--poses", "100", "--fail-on", "note").returncode, 0)
        lowest = {}
        for i in range(16):
            pose = self.write(f"step{i}.json", json.dumps(step(i / 16)))
            old, new = self.solved(before, pose), self.solved(after, pose)
            for leg, side in LEGS:
                foot, last = f"{leg}_foot_{side}", new[f"{leg}_joint_05_{side}_control"]
                self.assertIn(f"{leg}_joint_04_{side}_control", old)
                self.assertNotIn(f"{leg}_joint_05_{side}_control", old)
                # Both feet are where their control is, and turned as it is: within 1e-4 of the leg's length.
                self.near(last["base"], new[foot + "_control"]["base"], 2e-4, foot)
                self.near(new[foot + "_deform"]["matrix"], old[foot + "_deform"]["matrix"], 6e-4, foot)
                lowest[foot] = min(lowest.get(foot, 1), new[foot + "_deform"]["tip"][1])
            for name in ("spine_body_06_deform", "neck_head_deform", "stalk_ball_left_deform"):
                self.near(new[name]["matrix"], old[name]["matrix"], 1e-5, name)
        # Each foot comes down to the ground, and none goes below it by more than its toe dips.
        self.assertTrue(all(-0.02 < y < 0.02 for y in lowest.values()), lowest)

    def test_twelve_variants_build_in_one_batch_without_a_finding(self):
        out = self.path("out")
        done = run("build", HOBRUNDLE, "--variants", VARIANTS, "--out-dir", out, "--poses", "25")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("12 variants built (0 as before), 0 failed", done.stderr)
        with open(os.path.join(out, "results.csv"), newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        self.assertEqual(len(rows), 12)
        for row in rows:
            self.assertEqual((row["result"], row["errors"], row["warnings"], row["poses"]), ("built", "0", "0", "25"), row)
        self.assertEqual(len({row["sha256"] for row in rows}), 12)

    def test_half_and_twice_the_size_are_the_same_creature(self):
        pose = self.write("pose.json", json.dumps({"format": "fid-pose", "version": 1, "values": {
            "spine_end_control": {"rotation": [5, 20, 0]}, "neck_neck_control": {"rotation": [10, 25, 5]}, "mouth_jaw_control": {"open": 0.7, "side": 0.5},
            "clasp_base_left_control": {"close": 0.8}, "lids_blink_left_control": {"close": 0.5}, "stalk_base_right_control": {"retract": 0.4},
            "stalk_curl_left_control": {"rotation": [20, 10, 5]}, "leg2_hip_left_control": {"rotation": [0, 10, 0]}}}))
        one = self.solved(HOBRUNDLE, pose)
        for size in (0.5, 2):
            built = self.path(f"size{size}.json")
            self.assertEqual(run("build", HOBRUNDLE, "--param", f"size={size}", "-o", built).returncode, 0)
            other = self.solved(built, pose)
            self.assertEqual(one.keys(), other.keys())
            for name, bone in one.items():
                self.near([x / size for x in other[name]["base"]], bone["base"], 1e-4, name)


if __name__ == "__main__":
    unittest.main()
