#!/usr/bin/env python3
"""`fid pose` against the second evaluation in double precision (evaluate.py): seeded random poses of a rig with every kind of constraint.
Positions within 1e-5 of the height, axes within 0.01 degrees, scales within 1e-4."""
import json
import os
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from evaluate import Evaluator  # noqa: E402

SOURCE, FID = os.environ["FID_SOURCE"], os.environ["FID"]


def random_pose(skeleton, random):
    values = {}
    for channel in skeleton["channels"]:
        owner, _, key = channel["name"].rpartition(".")
        if not channel["animatable"] or random.random() < 0.6:
            continue
        low, high = channel["min"], channel["max"]
        if len(key) == 1:
            owner, _, group = owner.rpartition(".")
            least, most = {"translation": (-0.2, 0.2), "rotation": (-40, 40), "scale": (0.8, 1.25)}[group]
            least, most = max(least, -np.inf if low is None else low), min(most, np.inf if high is None else high)
            axes = values.setdefault(owner, {}).setdefault(group, [1.0 if group == "scale" else 0.0] * 3)
            axes["xyz".index(key)] = float(np.float32(random.uniform(least, most)))
        elif key == "scale":
            values.setdefault(owner, {})["scale"] = float(np.float32(random.uniform(0.5, 2)))
        elif channel.get("choices"):
            values.setdefault(owner, {})[key] = int(random.integers(0, int(high) + 1))
        else:
            values.setdefault(owner, {})[key] = float(np.float32(random.uniform(low, high)))
    for constraint in skeleton["constraints"]:
        if isinstance(constraint.get("weight"), (int, float)) and random.random() < 0.2:
            values.setdefault(constraint["address"], {})["weight"] = float(np.float32(random.random()))
    return values


def compare(evaluator, path, values, folder):
    """The largest errors: of position (over the height), of axes (degrees), of scales (ratio), and the bone."""
    pose = os.path.join(folder, "pose.json")
    with open(pose, "w", encoding="utf-8") as file:
        json.dump({"format": "fid-pose", "version": 1, "values": values}, file)
    got = json.loads(subprocess.run([FID, "pose", path, "--pose", pose], capture_output=True, text=True, check=True).stdout)["bones"]
    frames = evaluator.solve(values)
    height = evaluator.height * evaluator.world.s[0]
    worst, name = np.zeros(3), ""
    for bone, frame in zip(got, frames):
        one, two = np.array(bone["matrix"]).reshape(4, 4).T, evaluator.matrix(frame)
        sizes = [np.linalg.norm(m[:3, :3], axis=0) for m in (one, two)]
        chord = np.linalg.norm(one[:3, :3] / sizes[0] - two[:3, :3] / sizes[1], axis=0).max()
        errors = np.array([np.abs(one[:3, 3] - two[:3, 3]).max() / height, np.degrees(2 * np.arcsin(min(1, chord / 2))), np.abs(sizes[0] / sizes[1] - 1).max()])
        if (errors > worst).any():
            worst, name = np.maximum(worst, errors), bone["name"]
    return worst, name


faults = 0
for recipe, poses in (("tests/outside/rigs/limbs.lua", 80),):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "rig.json")
        subprocess.run([FID, "build", os.path.join(SOURCE, recipe), "-o", path], check=True)
        with open(path, encoding="utf-8") as file:
            evaluator = Evaluator(json.load(file))
        random, largest = np.random.default_rng(11), np.zeros(3)
        for number in range(poses + 1):
            values = random_pose(evaluator.file, random) if number else {}
            errors, bone = compare(evaluator, path, values, folder)
            largest = np.maximum(largest, errors)
            if errors[0] > 1e-5 or errors[1] > 0.01 or errors[2] > 1e-4:
                faults += 1
                print(f"{recipe}: pose {number}: {bone}: {errors}\n{json.dumps(values)}")
        print(f"{recipe}: {poses} poses, largest errors: position {largest[0]:.1e} of the height, axes {largest[1]:.1e} degrees, scales {largest[2]:.1e}")
sys.exit(1 if faults else 0)
