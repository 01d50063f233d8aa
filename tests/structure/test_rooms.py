"""The rooms of src/ include only rooms above them, and each library is included in one room alone. The public header of
the C library stands outside of the rooms, includes the C library's headers alone, and is included in one room alone.

Reads the `#include` lines of every file of src/. Runs against planted faults first, so that silence means something.
"""

import os
import re
import sys
import tempfile
from pathlib import Path

ROOMS = ["base", "math", "rig", "program", "solve", "skin", "check", "format", "library", "script", "app"]

# Headers of a library, and the one room that may include them.
LIBRARIES = [
    (re.compile(r"^cglm/"), "math"),
    (re.compile(r"^(cjson/)?cJSON(_Utils)?\.h$"), "format"),
    (re.compile(r"^(lua5\.4/)?(lua|luaconf|lualib|lauxlib)\.h(pp)?$"), "script"),
    (re.compile(r"^archive(_entry)?\.h$"), "app"),
]

# The one header that is installed, what it may include, and the one room that may include it.
PUBLIC, PUBLIC_INCLUDES, PUBLIC_ROOM = "fid.h", ("stdbool.h", "stddef.h", "stdint.h"), "library"

MOST_LINES = 700
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def faults_of_include(room, quote, header):
    """Yields what is wrong with one include in a file of `room` (None: in the public header)."""
    if room is None:
        if quote != "<" or header not in PUBLIC_INCLUDES:
            yield f"the public header may include {', '.join(PUBLIC_INCLUDES)} alone, not {header}"
        return
    if header == PUBLIC:
        if room != PUBLIC_ROOM:
            yield f"{header} may be included in {PUBLIC_ROOM}/ alone"
        return
    for pattern, owner in LIBRARIES:
        if pattern.match(header):
            if room != owner:
                yield f"{header} may be included in {owner}/ alone"
            return
    first = header.split("/")[0]
    if "/" in header and first in ROOMS:
        if ROOMS.index(first) > ROOMS.index(room):
            yield f"{room}/ stands above {first}/ and may not include {header}"
    elif quote == '"':
        yield f'"{header}" is not written from src/ as "room/noun.h"'


def faults_of(source):
    """Returns the faults of the tree `source` (the folder src) as lines of text, and the number of files read."""
    faults = []
    count = 0
    for path in sorted(source.rglob("*")):
        if not path.is_file():
            continue
        name = path.relative_to(source).as_posix()
        parts = name.split("/")
        room = parts[0] if len(parts) == 2 and parts[0] in ROOMS else None
        if room is None and name != PUBLIC:
            faults.append(f"src/{name}:1: error: is in none of the rooms {' '.join(ROOMS)}")
            continue
        if path.suffix not in (".c", ".h"):
            continue
        count += 1
        lines = path.read_text(encoding="utf-8").splitlines()
        if len(lines) > MOST_LINES:
            faults.append(f"src/{name}:{MOST_LINES + 1}: error: has {len(lines)} lines, more than {MOST_LINES}")
        for number, line in enumerate(lines, 1):
            match = INCLUDE.match(line)
            if match:
                for fault in faults_of_include(room, match[1], match[2]):
                    faults.append(f"src/{name}:{number}: error: {fault}")
    return faults, count


# File, content, and what the one fault found in it must say; None where there is nothing to find.
PLANTED = [
    ("base/upward.c", '#include "rig/rig.h"\n', "base/ stands above rig/"),
    ("solve/sideways.h", '\n  #  include "script/state.h"\n', "solve/ stands above script/"),
    ("rig/angle.c", "#include <app/command.h>\n", "rig/ stands above app/"),
    ("solve/near.c", '#include "near.h"\n', "not written from src/"),
    ("rig/vector.c", "#include <cglm/vec3.h>\n", "math/ alone"),
    ("check/json.c", "#include <cjson/cJSON.h>\n", "format/ alone"),
    ("app/json.c", "#include <cJSON.h>\n", "format/ alone"),
    ("format/state.c", "#include <lua.h>\n", "script/ alone"),
    ("app/state.c", "#include <lauxlib.h>\n", "script/ alone"),
    ("script/archive.c", "#include <archive_entry.h>\n", "app/ alone"),
    ("library/state.c", '#include <lua.h>\n', "script/ alone"),
    ("library/near.c", '#include "script/host.h"\n', "library/ stands above script/"),
    ("app/public.c", '#include "fid.h"\n', "library/ alone"),
    ("fid.h", '#include <stddef.h>\n#include "base/error.h"\n', "may include"),
    ("math/long.c", "\n" * (MOST_LINES + 1), "more than"),
    ("attic/old.c", "", "in none of the rooms"),
    ("stray.c", "", "in none of the rooms"),
    ("base/deep/er.c", "", "in none of the rooms"),
    ("math/frame.c", '#include "math/frame.h"\n#include <cglm/quat.h>\n#include "base/error.h"\n', None),
    ("format/skeleton.c", '#include <stdio.h>\n#include <cjson/cJSON.h>\n#include "rig/rig.h"\n', None),
    ("library/pose.c", '#include "fid.h"\n#include "format/pose_read.h"\n', None),
    ("script/state.c", '#include <lua.h>\n#include "format/skeleton.h"\n', None),
    ("app/main.c", '#include <sys/stat.h>\n#include "script/state.h"\n', None),
    ("math/full.c", "\n" * MOST_LINES, None),
]


def blind_spots():
    """Plants PLANTED in a folder of its own and returns what faults_of fails to say, or says without reason."""
    problems = []
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "src"
        for name, content, _ in PLANTED:
            path = source / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content, encoding="utf-8")
        faults, _ = faults_of(source)
    for name, _, expected in PLANTED:
        found = [fault for fault in faults if fault.startswith(f"src/{name}:")]
        if expected is None and found:
            problems.append(f"{name}: found without reason: {found}")
        if expected is not None and not (len(found) == 1 and expected in found[0]):
            problems.append(f"{name}: expected one fault saying '{expected}', found: {found}")
    return problems


def main():
    problems = blind_spots()
    faults, count = faults_of(Path(os.environ["FID_SOURCE"]) / "src")
    if count == 0:
        problems.append("no file was read")
    for line in problems + faults:
        print(line)
    print(f"{count} files read, {len(faults)} faults")
    return 1 if problems or faults else 0


if __name__ == "__main__":
    sys.exit(main())
