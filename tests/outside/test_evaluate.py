#!/usr/bin/env python3
"""`fid pose` against a second evaluation in double precision (evaluate.py), which was written from the pages on the mathematics and the format alone: rest and seeded random poses of every creature and of rigs with every kind of constraint.

Positions within 1e-5 of the height, axes within 0.01 degrees (docs/mathematics.md, "Accuracy and range"), scales within 1e-4. Left out are poses beyond these that
sit on a documented discontinuity, where rounding decides; they are counted, and no more than 1 % of the random ones:
  - half turn: an aim without up or a span almost opposite to its rest direction, where the shortest arc changes sides, or so near its source that the direction is rounding;
  - full length: a chain without room for softening, or with soft = 0, within 1e-4 of full length, where the bend grows with the root of the gap. A chain that rests straight is there
    wherever it is not posed; these are counted by themselves.
"""
import glob
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from evaluate import Evaluator  # noqa: E402

SOURCE, FID = os.environ["FID_SOURCE"], os.environ["FID"]
SEED = int(os.environ.get("FID_SEED", "11"))
TOLERANCE = np.array([1e-5, 0.01, 1e-4])


def random_pose(skeleton, random):
    values, locked = {}, set()
    # Joints of chains slide by up to 0.3 of their length, as the range tests of check do; farther, neighbours change places.
    joints = {name for constraint in skeleton["constraints"] if "chain" in constraint for name in constraint["chain"]}
    slide = {bone["name"]: 0.3 * bone["length"] for bone in skeleton["bones"] if bone["name"] in joints}
    for channel in skeleton["channels"]:
        owner, _, key = channel["name"].rpartition(".")
        low, high = channel["min"], channel["max"]
        if len(key) == 1 and ".rotation" in owner and not (channel["animatable"] and low is None and high is None):
            locked.add(owner.rpartition(".")[0])
        if not channel["animatable"] or random.random() < 0.6:
            continue
        if len(key) == 1:
            owner, _, group = owner.rpartition(".")
            far = slide.get(owner, 0.2)
            least, most = {"translation": (-far, far), "rotation": (-40, 40), "scale": (0.8, 1.25)}[group]
            least, most = max(least, -np.inf if low is None else low), min(most, np.inf if high is None else high)
            axes = values.setdefault(owner, {}).setdefault(group, [1.0 if group == "scale" else 0.0] * 3)
            axes["xyz".index(key)] = float(np.float32(random.uniform(least, most)))
        elif key == "scale":
            values.setdefault(owner, {})["scale"] = float(np.float32(random.uniform(0.5, 2)))
        elif channel.get("choices"):
            choice = int(random.integers(0, int(high) + 1))
            values.setdefault(owner, {})[key] = choice if random.random() < 0.5 else channel["choices"][choice]
        else:
            values.setdefault(owner, {})[key] = float(np.float32(random.uniform(low, high)))
    for owner, value in values.items():
        if "rotation" in value and value["rotation"][0] and owner not in locked and random.random() < 0.2:
            # Half as long a quaternion part as the real one: turns of at most 53 degrees.
            x, y, z = random.uniform(-0.25, 0.25, 3)
            value.pop("rotation")
            value["quaternion"] = [float(part) for part in np.array([x, y, z, 1]) / np.linalg.norm([x, y, z, 1])]
    for constraint in skeleton["constraints"]:
        if isinstance(constraint.get("weight"), (int, float)) and random.random() < 0.2:
            values.setdefault(constraint["address"], {})["weight"] = float(np.float32(random.random()))
    addresses = {bone["name"]: bone["address"] for bone in skeleton["bones"] if random.random() < 0.3}
    return {addresses.get(owner, owner): value for owner, value in values.items()}


def compare(evaluator, path, values, folder):
    """The largest errors: of position (over the height), of axes (degrees), of scales (ratio); and those beyond tolerance by bone."""
    pose = os.path.join(folder, "pose.json")
    with open(pose, "w", encoding="utf-8") as file:
        json.dump({"format": "fid-pose", "version": 1, "values": values}, file)
    got = json.loads(subprocess.run([FID, "pose", path, "--pose", pose], capture_output=True, text=True, check=True).stdout)["bones"]
    matrices = evaluator.solve(values)
    if [bone["name"] for bone in got] != [bone["name"] for bone in evaluator.bones]:
        sys.exit(f"{path}: the bones solved are not those of the file")
    height = evaluator.height * evaluator.world_scale
    worst, beyond = np.zeros(3), []
    for bone, two in zip(got, matrices):
        one = np.array(bone["matrix"]).reshape(4, 4).T
        sizes = [np.linalg.norm(m[:3, :3], axis=0) for m in (one, two)]
        chord = np.linalg.norm(one[:3, :3] / sizes[0] - two[:3, :3] / sizes[1], axis=0).max()
        errors = np.array([np.linalg.norm(one[:3, 3] - two[:3, 3]) / height, np.degrees(2 * np.arcsin(min(1, chord / 2))), np.abs(sizes[0] / sizes[1] - 1).max()])
        worst = np.maximum(worst, errors)
        if not (errors <= TOLERANCE).all():
            beyond.append(f"{bone['name']}: position {errors[0]:.1e}, axes {errors[1]:.1e}, scales {errors[2]:.1e}")
    return worst, beyond


# Every creature, and rigs that together have each kind of constraint in each of its options. Sanitized programs take several times as long: a part of the poses there.
RECIPES = sorted(glob.glob(os.path.join(SOURCE, "recipes", "*.lua"))) + sorted(glob.glob(os.path.join(SOURCE, "tests", "outside", "rigs", "*.lua")))
POSES, PARTS = (40, 2) if "-fsanitize" in os.environ.get("FID_FLAGS", "") else (500, 10)


def try_part(job):
    """Rest, or a part of the poses: what is wrong, and the figures."""
    recipe, part = job
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "rig.json")
        subprocess.run([FID, "build", recipe, "-o", path], check=True)
        with open(path, encoding="utf-8") as file:
            skeleton = json.load(file)
        for constraint in skeleton["constraints"]:
            if constraint["kind"] == "ik" and isinstance(constraint["swivel"], str):
                constraint["swivel_gain"] = -1  # as the mirrored world writes it
        with open(path, "w", encoding="utf-8") as file:
            json.dump(skeleton, file)
        evaluator = Evaluator(skeleton)
        random, largest, edges, faults = np.random.default_rng([SEED, part]), np.zeros(3), {}, []
        for number in range(0 if part == 0 else 1, POSES // PARTS + 1):  # 0 is rest
            values = random_pose(skeleton, random) if number else {}
            errors, beyond = compare(evaluator, path, values, folder)
            if beyond and evaluator.edges:
                edge = " and ".join(sorted(evaluator.edges))
                edges[edge] = edges.get(edge, 0) + 1
                continue
            largest = np.maximum(largest, errors)
            if beyond:
                faults.append(f"{recipe}: pose {number} of part {part}: " + "; ".join(beyond[:5]) + f"\n{json.dumps(values)}")
    return recipe, largest, edges, faults


if __name__ == "__main__":
    found = {recipe: [np.zeros(3), {}, []] for recipe in RECIPES}
    with multiprocessing.Pool(2) as pool:
        for recipe, largest, edges, faults in pool.imap_unordered(try_part, [(recipe, part) for recipe in RECIPES for part in range(PARTS)]):
            kept = found[recipe]
            kept[0] = np.maximum(kept[0], largest)
            for edge, count in edges.items():
                kept[1][edge] = kept[1].get(edge, 0) + count
            kept[2] += faults
    skipped = faults = 0
    for recipe, (largest, edges, wrong) in found.items():
        print(f"{os.path.relpath(recipe, SOURCE)}: {POSES} poses, left out {edges}, largest errors: position {largest[0]:.1e} of the height, axes {largest[1]:.1e} degrees, scales {largest[2]:.1e}")
        print("\n".join(wrong[:3]))
        skipped += sum(count for edge, count in edges.items() if "rests at" not in edge)
        faults += len(wrong)
    if skipped > 0.01 * POSES * len(RECIPES):
        sys.exit(f"{skipped} of {POSES * len(RECIPES)} poses sit on a discontinuity: more than 1 %")
    sys.exit(1 if faults else 0)
