#!/usr/bin/env python3
"""Every Lua block of README.md and docs/ that is a whole file builds: recipes with `fid build`, modules through a recipe that uses them. Links lead to files."""
import os
import re
import subprocess
import sys
import tempfile

source = os.environ["FID_SOURCE"]
fid = os.environ["FID"]
pages = ["README.md", "DEVELOPERS.md"] + sorted(os.path.join("docs", f) for f in os.listdir(os.path.join(source, "docs")) if f.endswith(".md"))
faults, blocks, links = [], 0, 0

for page in pages:
    with open(os.path.join(source, page), encoding="utf-8") as file:
        text = file.read()
    for target in re.findall(r"\]\(([^)#:]+)\)", text):
        links += 1
        if not os.path.exists(os.path.join(source, os.path.dirname(page), target)):
            faults.append(f"{page}: the link to {target} leads nowhere")
    for block in re.findall(r"```lua\n(.*?)```", text, re.S):
        if 'require "fid"' not in block:
            continue
        blocks += 1
        with tempfile.TemporaryDirectory() as folder:
            recipe = os.path.join(folder, "block.lua")
            module = re.search(r'return fid.module \{\s*name = "(\w+)"', block)
            if module:
                os.makedirs(os.path.join(folder, "modules", module[1]))
                with open(os.path.join(folder, "modules", module[1], "module.lua"), "w", encoding="utf-8") as file:
                    file.write(block)
                block = ('local fid = require "fid"\nlocal rig = fid.rig { name = "block", height = 2 }\n'
                         'local root = rig:control { part = "root", at = {0, 0, 0}, size = 1 }\n'
                         f'local one = rig:use("{module[1]}", {{ id = "one", side = "left", parent = root, at = {{1, 0, 0}} }})\n'
                         'rig:mirror(one)\nreturn rig\n')
            with open(recipe, "w", encoding="utf-8") as file:
                file.write(block)
            for command in (["build", recipe, "-o", os.path.join(folder, "out.json")], ["check", recipe]):
                run = subprocess.run([fid] + command, capture_output=True, text=True)
                if run.returncode != 0:
                    faults.append(f"{page}: `fid {command[0]}` of a block gives {run.returncode}: {run.stderr}{run.stdout}\n{block}")

print(f"{blocks} blocks, {links} links, {len(faults)} faults")
print("\n".join(faults))
sys.exit(1 if faults or blocks == 0 or links == 0 else 0)
