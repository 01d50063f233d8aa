"""The JSON Schema of the skeleton file is valid, admits skeletons and refuses planted faults.

Judged by the package jsonschema (draft 2020-12).
"""

import copy
import json
import os
import sys
from pathlib import Path

from jsonschema import Draft202012Validator

SOURCE = Path(os.environ["FID_SOURCE"])


def read(path):
    return json.loads((SOURCE / path).read_text(encoding="utf-8"))


def set_at(path, value):
    """A change of a document: the member at `path` becomes `value`."""

    def change(document):
        at = document
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = value

    return change


def delete_at(path):
    """A change of a document: the member at `path` goes away."""

    def change(document):
        at = document
        for key in path[:-1]:
            at = at[key]
        del at[path[-1]]

    return change


# In tests/golden/skeleton_whole.json, by kind of fault.
PLANTED = {
    "other format": set_at(["format"], "fid-pose"),
    "other version": set_at(["version"], 2),
    "missing key": delete_at(["origins"]),
    "extra key": set_at(["remark"], "mine"),
    "other unit": set_at(["units", "length"], "cm"),
    "extra axis": set_at(["axes", "side"], "+x"),
    "height of zero": set_at(["height"], 0),
    "height as text": set_at(["height"], "1.6"),
    "bone without parent": delete_at(["bones", 0, "parent"]),
    "bone with an extra key": set_at(["bones", 0, "color"], "#FFFFFF"),
    "bone without length": set_at(["bones", 0, "length"], 0),
    "unknown role": set_at(["bones", 0, "role"], "muscle"),
    "unknown order": set_at(["bones", 0, "rotation_order"], "xyx"),
    "part of a group taken": set_at(["bones", 0, "takes"], ["translation.x"]),
    "group taken twice": set_at(["bones", 0, "takes"], ["scale", "scale"]),
    "vector of two": set_at(["bones", 0, "rest", "translation"], [0, 0]),
    "quaternion of three": set_at(["bones", 0, "rest", "rotation"], [0, 0, 1]),
    "name with a blank": set_at(["bones", 0, "name"], "root control"),
    "origin below zero": set_at(["bones", 0, "origin"], -1),
    "channel without default": delete_at(["channels", 0, "default"]),
    "channel half a slider": set_at(["channels", 0, "choices"], []),
    "bound as text": set_at(["channels", 0, "min"], "none"),
    "unknown kind": set_at(["constraints", 0, "kind"], "spring"),
    "kind of another constraint": set_at(["constraints", 0, "kind"], "aim"),
    "source and sources": set_at(["constraints", 0, "source"], "rig"),
    "no source": delete_at(["constraints", 0, "sources"]),
    "share above 1": set_at(["constraints", 0, "sources", 0, "share"], 1.5),
    "along above 1": set_at(["constraints", 0, "sources", 0, "source", "along"], 1.5),
    "between one point": set_at(["constraints", 0, "sources", 1, "source", "between"], ["hand_control", 0.5]),
    "unknown axis": set_at(["constraints", 0, "channels"], ["rotation.w"]),
    "weight above 1": set_at(["constraints", 1, "weight"], 1.1),
    "no spaces": set_at(["constraints", 2, "among"], []),
    "unknown offset": set_at(["constraints", 2, "among", 0, "offset"], "parent"),
    "no bones in a chain": set_at(["constraints", 3, "chain"], []),
    "share of zero": set_at(["constraints", 3, "bend_shares"], [0]),
    "goal of nothing": set_at(["constraints", 3, "goal"], None),
    "ratio above 100": set_at(["constraints", 5, "longest"], 101),
    "three bounds": set_at(["constraints", 6, "rotation", "x"], [0, 1, 2]),
    "curve of one point": set_at(["drives", 0, "curve", "points"], [[0, 0]]),
    "distance of one point": set_at(["drives", 2, "from", "distance"], ["hand_control"]),
    "angle of points": set_at(["drives", 3, "from", "angle"], ["rig", "world"]),
    "angle of an unknown axis": set_at(["drives", 3, "from", "angle", 1], "z"),
    "twist of nothing": set_at(["drives", 4, "from", "twist"], None),
    "two measures in one": set_at(["drives", 4, "from", "distance"], ["rig", "world"]),
    "product of one": set_at(["drives", 5, "from"], ["hand_control.mode"]),
    "power of zero": set_at(["drives", 5, "curve", "power"], 0),
    "sign of two": set_at(["drives", 5, "curve", "sign"], 2),
    "power with points": set_at(["drives", 5, "curve", "points"], [[0, 0], [1, 1]]),
    "unknown combination": set_at(["drives", 0, "combine"], "subtract"),
    "color in small letters": set_at(["display_sets", 0, "color"], "#009e73"),
    "open or not": set_at(["outlines", 0, "strokes", 0, "closed"], 1),
    "line as text": set_at(["origins", 0, "line"], "3"),
    "a pose layer": set_at(["pose_layers"], [{}]),
}


def main():
    schema = read("docs/skeleton.schema.json")
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    problems = []
    files = sorted((SOURCE / "tests" / "golden").glob("skeleton_*.json"))
    if not files:
        problems.append("no skeleton was found")
    for path in files:
        document = json.loads(path.read_text(encoding="utf-8"))
        problems += [f"{path.name}: {error.json_path}: {error.message}" for error in validator.iter_errors(document)]
    sound = read("tests/golden/skeleton_whole.json")
    for name, change in PLANTED.items():
        document = copy.deepcopy(sound)
        change(document)
        if validator.is_valid(document):
            problems.append(f"{name}: not refused")
    for problem in problems:
        print(problem)
    print(f"{len(files)} skeletons admitted, {len(PLANTED)} faults planted, {len(problems)} problems")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
