#!/usr/bin/env python3
"""Rotations against scipy's Rotation and Slerp: angles in every order both ways, part of a turn, what lies between two rotations, twist and swing, and limits of both.
Random input, with the middle angle near 90 degrees and at it too."""
import json
import os
import subprocess
import sys
import tempfile
import warnings

import numpy as np
from scipy.spatial.transform import Rotation, Slerp

FID = os.environ["FID"]
ORDERS = ("xyz", "xzy", "yxz", "yzx", "zxy", "zyx")
EACH = 30  # bones of each order and kind
CONE, TWIST = 50, (-40, 70)  # degrees: the bounds of the limits


def weight(i):
    return (i - 1) / (EACH - 1)  # from 0 to 1

RECIPE = f"""
local fid = require "fid"
local rig = fid.rig {{ name = "turns", height = 1 }}
local shown = rig:control {{ part = "shown", at = {{0, 0, 0}} }}
local function control(part, order, i)
  return rig:control {{ part = part .. order, index = i, at = {{0, 0, 0}}, rotation_order = order }}
end
local function show(name, from)
  rig:drive {{ to = rig:slider {{ on = shown, name = name, min = -1000, max = 1000 }}, from = from }}
end
for _, order in ipairs {{ "xyz", "xzy", "yxz", "yzx", "zxy", "zyx" }} do
  for i = 1, {EACH} do
    control("angles", order, i)
    local turned = control("turned", order, i)
    for _, axis in ipairs {{ "x", "y", "z" }} do
      show(("angle_%s_%d_%s"):format(order, i, axis), turned.channel["rotation." .. axis])
    end
    show(("twist_%s_%d"):format(order, i), {{ twist = turned }})
    rig:follow {{ bone = control("part", order, i), source = turned, weight = 0.3, path = "straight", channels = {{ "rotation" }} }}
    local swung = control("swung", order, i)
    rig:twist {{ bone = swung, source = turned, gain = -1 }}
    local from = control("from", order, i)
    local mixed = rig:control {{ part = "mixed" .. order, index = i, at = {{0, 0, 0}}, parent = from }}
    rig:follow {{ bone = mixed, source = turned, weight = (i - 1) / {EACH - 1}, path = "straight", offset = "none", channels = {{ "rotation" }} }}
    local held = control("held", order, i)
    rig:limit {{ bone = held, swing = {CONE}, twist = {{{TWIST[0]}, {TWIST[1]}}} }}
  end
end
return rig
"""


def angles_of(rotation, order):
    """Intrinsic angles, listed in the order x, y, z."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Gimbal lock")  # tried on purpose
        values = rotation.as_euler(order.upper(), degrees=True)
    return np.array([values[order.index(axis)] for axis in "xyz"])


def rotation_of(angles, order):
    return Rotation.from_euler(order.upper(), [angles["xyz".index(axis)] for axis in order], degrees=True)


def solve(folder, number, values):
    path = os.path.join(folder, f"pose{number}.json")
    with open(path, "w", encoding="utf-8") as file:
        json.dump({"format": "fid-pose", "version": 1, "values": values}, file)
    solved = json.loads(subprocess.run([FID, "pose", os.path.join(folder, "turns.json"), "--pose", path], capture_output=True, text=True, check=True).stdout)
    frames = {bone["name"]: Rotation.from_matrix(np.array(bone["matrix"]).reshape(4, 4).T[:3, :3]) for bone in solved["bones"]}
    return frames, solved["channels"]


def main():
    random = np.random.default_rng(2026)
    worst = dict.fromkeys(("angles to turn", "turn to angles", "angles near 90", "angles at 90", "part of a turn", "between two", "twist", "swing", "limit"), 0.0)
    compared, reached = 0, dict.fromkeys(("at 90", "near 90", "elsewhere"), 0)
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "turns.lua"), "w", encoding="utf-8") as file:
            file.write(RECIPE)
        subprocess.run([FID, "build", os.path.join(folder, "turns.lua"), "-o", os.path.join(folder, "turns.json")], check=True)
        for number in range(4):
            names = [(order, i) for order in ORDERS for i in range(1, EACH + 1)]
            angles = {name: np.float32(random.uniform(-720, 720, 3)) for name in names}
            turns = dict(zip(names, Rotation.random(len(names), random_state=number)))
            # Within a degree of where the first and the last axis fall together, and where they do.
            for first, low, high in ((0, 89, 89.99), (1, 90, 90)):
                for order, i in names[first::5]:
                    near = random.uniform(-180, 180, 3)
                    near["xyz".index(order[1])] = random.choice([-1, 1]) * random.uniform(low, high)
                    turns[order, i] = rotation_of(near, order)
            starts = dict(zip(names, Rotation.random(len(names), random_state=100 + number)))
            values = {}
            for order, i in names:
                values[f"angles{order}_{i:02}_control"] = {"rotation": [float(x) for x in angles[order, i]]}
                values[f"from{order}_{i:02}_control"] = {"quaternion": [float(x) for x in starts[order, i].as_quat()]}
                values[f"held{order}_{i:02}_control"] = {"quaternion": [float(x) for x in turns[order, i].as_quat()]}
                values[f"turned{order}_{i:02}_control"] = {"quaternion": [float(x) for x in turns[order, i].as_quat()]}
            frames, channels = solve(folder, number, values)

            def note(what, error):
                worst[what] = max(worst[what], float(error))

            for order, i in names:
                turn = turns[order, i]
                note("angles to turn", np.degrees((rotation_of(angles[order, i].astype(float), order).inv() * frames[f"angles{order}_{i:02}_control"]).magnitude()))
                shown = np.array([channels[f"shown_control.angle_{order}_{i}_{axis}"] for axis in "xyz"])
                back, wanted = np.degrees((rotation_of(shown, order).inv() * turn).magnitude()), angles_of(turn, order)
                # Where two axes fall together the angles are not well told apart, but still make the same turn.
                middle = abs(abs(wanted["xyz".index(order[1])]) - 90) < 2
                exact = abs(abs(wanted["xyz".index(order[1])]) - 90) < 1e-6
                note("angles at 90" if exact else "angles near 90", back) if middle else note("turn to angles", max(back, np.abs((shown - wanted + 180) % 360 - 180).max()))
                reached["at 90" if exact else "near 90" if middle else "elsewhere"] += 1
                part = Rotation.from_rotvec(0.3 * turn.as_rotvec())
                if turn.magnitude() < np.radians(179.9):  # a half turn is where the shorter way changes
                    note("part of a turn", np.degrees((part.inv() * frames[f"part{order}_{i:02}_control"]).magnitude()))
                start = starts[order, i]
                if (start.inv() * turn).magnitude() < np.radians(179.9):
                    between = Slerp([0, 1], Rotation.concatenate([start, turn]))(weight(i))
                    note("between two", np.degrees((between.inv() * frames[f"mixed{order}_{i:02}_control"]).magnitude()))
                x, y, z, w = turn.as_quat()
                if np.hypot(z, w) > 0.02:  # a swing of half a turn has no twist
                    twist = Rotation.from_quat([0, 0, z, w])
                    note("twist", abs((channels[f"shown_control.twist_{order}_{i}"] - np.degrees(twist.as_rotvec()[2]) + 180) % 360 - 180))
                    # The swing, undone by the twist constraint of gain -1, leaves a turn about an axis square to z.
                    swing = turn * frames[f"swung{order}_{i:02}_control"]
                    note("swing", np.degrees((swing.inv() * (turn * twist.inv())).magnitude()))
                    note("swing", np.degrees(abs(swing.as_rotvec()[2])))
                    # Swing and twist each brought to its bound: first the twist, then the swing about an axis square to z.
                    cone = (turn * twist.inv()).as_rotvec()
                    cone *= min(1, np.radians(CONE) / max(np.linalg.norm(cone), 1e-12))
                    kept = Rotation.from_rotvec([0, 0, np.clip(twist.as_rotvec()[2], *np.radians(TWIST))])
                    note("limit", np.degrees(((Rotation.from_rotvec(cone) * kept).inv() * frames[f"held{order}_{i:02}_control"]).magnitude()))
                compared += 1
    print(f"{compared} turns; largest differences in degrees: " + ", ".join(f"{what} {error:.1e}" for what, error in worst.items()))
    # Single precision against double: axes within 0.01 degrees.
    enough = compared == 4 * 6 * EACH and min(reached.values()) >= 100
    return 0 if enough and all(0 < error < 0.01 for error in worst.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
