#!/usr/bin/env python3
"""The module limb, fitted to joint centers of people, gives them back at rest, on both sides.

Left and right of LOA-1: ISO/IEC 19774 default joint centers, as in the example DiamondManLOA_1.x3d of web3d.org (metres, height 1.7504).
Pairs of LOA-3, whose left and right are images of each other: HAnimSpecificationLOA3Invisible.x3d of web3d.org."""
import json
import os
import subprocess
import sys
import tempfile

HEIGHT = 1.7504
LOA1 = {
    ("arm", "left"): [(.2029, 1.4376, -.0387), (.2014, 1.1357, -.0682), (.1984, .8663, -.0583)],
    ("arm", "right"): [(-.1907, 1.4407, -.0325), (-.1949, 1.1388, -.0620), (-.1959, .8694, -.0521)],
    ("leg", "left"): [(.0961, .9124, -.0001), (.1040, .4867, .0308), (.1101, .0656, -.0736)],
    ("leg", "right"): [(-.0950, .9171, .0029), (-.0867, .4913, .0318), (-.0801, .0712, -.0766)],
}
# Sternoclavicular, acromioclavicular; the shoulder of LOA-1 is the third joint of that limb.
PAIR = {"left": [(.0820, 1.4488, -.0353), (.0962, 1.4269, -.0424)], "right": [(-.0820, 1.4488, -.0353), (-.0962, 1.4269, -.0424)]}
LIMITS = {"arm": ["none", "arm_boone_azen", "arm_aaos", "arm_ama"], "leg": ["none", "leg_cdc_girls", "leg_cdc_boys"]}


def lua(points):
    return "{" + ", ".join("{%r, %r, %r}" % point for point in points) + "}"


def solve(text):
    """Bases of all bones of the rig by name, at rest as it is solved."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "person.lua")
        with open(path, "w", encoding="utf-8") as file:
            file.write(f'local fid = require "fid"\nlocal rig = fid.rig {{ name = "person", height = {HEIGHT} }}\n{text}return rig\n')
        run = subprocess.run([os.environ["FID"], "pose", path], capture_output=True, text=True, check=True)
        return {bone["name"]: bone["base"] for bone in json.loads(run.stdout)["bones"]}


def off(found, expected):
    return max(abs(a - b) for a, b in zip(found, expected))


worst = {"centers": 0.0, "mirrored": 0.0}
for (part, side), centers in LOA1.items():
    for limits in LIMITS[part]:
        bases = solve(f'rig:use("limb", {{ id = "{part}", side = "{side}", guides = {lua(centers)}, limits = "{limits}" }})\n')
        for i, center in enumerate(centers, 1):
            worst["centers"] = max(worst["centers"], off(bases[f"{part}_joint_{i:02d}_{side}_control"], center))

# A limb from breastbone to arm, built on one side and mirrored: its joints are those of the other side.
shoulder = LOA1["arm", "left"][0]
for side, other in (("left", "right"), ("right", "left")):
    sign = 1 if side == "left" else -1
    guides = PAIR[side] + [(sign * shoulder[0], shoulder[1], shoulder[2])]
    bases = solve(f'rig:mirror(rig:use("limb", {{ id = "girdle", side = "{side}", guides = {lua(guides)} }}))\n')
    for i, center in enumerate(PAIR[side], 1):
        worst["centers"] = max(worst["centers"], off(bases[f"girdle_joint_{i:02d}_{side}_control"], center))
    for i, center in enumerate(PAIR[other], 1):
        worst["mirrored"] = max(worst["mirrored"], off(bases[f"girdle_joint_{i:02d}_{other}_control"], center))

print(worst)
sys.exit(0 if worst["centers"] < 1e-6 and worst["mirrored"] < 1e-6 else 1)
