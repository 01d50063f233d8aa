#!/usr/bin/env python3
"""Deltas of a pose layer against scipy's Rotation and Slerp: random pairs of poses, blended in between. Positions and scales by numpy."""
import json
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy.spatial.transform import Rotation, Slerp

fid = os.environ["FID"]
random = np.random.default_rng(7)
worst = {"turn": 0.0, "place": 0.0, "scale": 0.0}

for number in range(12):
    first, second = Rotation.random(2, random_state=number)
    places, scales = random.uniform(-1, 1, (2, 3)), random.uniform(0.5, 2, (2, 3))
    quaternions = [rotation.as_quat() for rotation in (first, second)]
    poses = ", ".join(
        "{ at = %d, pose = { [b] = { translation = {%.9g, %.9g, %.9g}, quaternion = {%.9g, %.9g, %.9g, %.9g}, scale = {%.9g, %.9g, %.9g} } } }"
        % (i + 1, *places[i], *quaternions[i], *scales[i]) for i in range(2))
    recipe = ('local fid = require "fid"\nlocal rig = fid.rig { name = "layer", height = 1 }\nlocal b = rig:control { part = "b", at = {0, 0, 0} }\n'
              'local s = rig:slider { on = b, name = "by", min = 0, max = 2 }\nrig:pose_layer { name = "blend", by = s, poses = { ' + poses + ' } }\nreturn rig\n')
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "layer.lua")
        with open(path, "w", encoding="utf-8") as file:
            file.write(recipe)
        for blend in (1.0, 1.1, 1.35, 1.5, 1.8, 2.0):
            solved = json.loads(subprocess.run([fid, "pose", path, "--set", f"b_control.by={blend}"], capture_output=True, text=True, check=True).stdout)
            matrix = np.array(solved["bones"][0]["matrix"]).reshape(4, 4).T
            size = np.linalg.norm(matrix[:3, :3], axis=0)
            t = float(np.float32(blend)) - 1
            turn = Slerp([0, 1], Rotation.concatenate([first, second]))(t)
            worst["turn"] = max(worst["turn"], (turn.inv() * Rotation.from_matrix(matrix[:3, :3] / size)).magnitude())
            worst["place"] = max(worst["place"], np.abs(matrix[:3, 3] - (places[0] + t * (places[1] - places[0]))).max())
            worst["scale"] = max(worst["scale"], np.abs(size - scales[0] ** (1 - t) * scales[1] ** t).max())

print(worst)
# Single precision against double: 1e-5 of the height, 0.01 degrees.
sys.exit(0 if worst["turn"] < np.radians(0.01) and worst["place"] < 1e-5 and worst["scale"] < 1e-5 else 1)
