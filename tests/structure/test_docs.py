#!/usr/bin/env python3
"""Links of README.md and docs/ lead to files, and what they show is so.

Every Lua block that is a whole file builds: recipes with `fid build`, modules through a recipe that uses them, tests of a module with `fid test`. A page that names the files of its blocks, as the tutorial does, is walked through
in one folder instead: files are saved and changed, commands are run, and print what stands below them. FID_UPDATE=1 writes what they print into the page, but where `...` leaves lines out.
"""
import os
import re
import subprocess
import sys
import tempfile

source = os.environ["FID_SOURCE"]
fid = os.path.abspath(os.environ["FID"])
pages = ["README.md", "DEVELOPERS.md"] + [os.path.join(folder, f) for folder in ("docs", "docs/modules") for f in sorted(os.listdir(os.path.join(source, folder))) if f.endswith(".md")]
faults, blocks, links = [], 0, 0

# `FILE`: above a block, where it is one of a file; its kind; its text; the block of kind text below it, as commands have.
NAMED = re.compile(r"^`([\w./]+)`:\n\n```", re.M)
BLOCK = re.compile(r"(?:^`([\w./]+)`:\n\n)?^```(\w+)\n(.*?)^```$(?:\n\n```text\n(.*?)^```$)?", re.M | re.S)


def save(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def build_alone(page, text, folder):
    """Builds and checks each Lua block that is a whole file."""
    global blocks
    homes = {}
    for block in re.findall(r"```lua\n(.*?)```", text, re.S):
        if 'require "fid"' not in block:
            continue
        blocks += 1
        recipe = os.path.join(folder, str(blocks), "block.lua")
        tests = re.search(r'return fid.tests \{\s*module = "(\w+)"', block)
        if tests:
            own = homes.get(tests[1], folder)
            save(os.path.join(own, "test.lua"), block)
            run = subprocess.run([fid, "test", own], capture_output=True, text=True)
            if run.returncode != 0:
                faults.append(f"{page}: `fid test` of a block gives {run.returncode}: {run.stderr}{run.stdout}\n{block}")
            continue
        module = re.search(r'return fid.module \{\s*name = "(\w+)"', block)
        if module:
            homes[module[1]] = os.path.join(folder, str(blocks), "modules", module[1])
            save(os.path.join(homes[module[1]], "module.lua"), block)
            block = ('local fid = require "fid"\nlocal rig = fid.rig { name = "block", height = 2 }\n'
                     'local root = rig:control { part = "root", at = {0, 0, 0}, size = 1 }\n'
                     f'local one = rig:use("{module[1]}", {{ id = "one", side = "left", parent = root, at = {{1, 0, 0}} }})\n'
                     'rig:mirror(one)\nreturn rig\n')
        save(recipe, block)
        for command in (["build", recipe, "-o", os.path.join(folder, "out.json")], ["check", recipe]):
            run = subprocess.run([fid] + command, capture_output=True, text=True)
            if run.returncode != 0:
                faults.append(f"{page}: `fid {command[0]}` of a block gives {run.returncode}: {run.stderr}{run.stdout}\n{block}")


def run(page, commands, shown, folder):
    """Runs commands, `fid` among them, and gives what they print. They fail where an error is shown, and only there."""
    there = dict(os.environ, PATH=os.path.join(folder, "bin") + os.pathsep + os.environ["PATH"])
    done = subprocess.run(["sh", "-ec", commands], cwd=os.path.join(folder, "work"), env=there,
                          stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    pattern = re.escape(shown).replace(re.escape("...\n"), "(?:.*\n)*")
    if not re.fullmatch(pattern, done.stdout) or (done.returncode != 0) != (": error:" in shown):
        faults.append(f"{page}: this does not give what is shown, but {done.returncode}:\n{commands}---\n{done.stdout}")
    return done.stdout


def change(page, path, lines):
    """Replaces the lines with `-` (and those around them) by those with `+`."""
    old, new = ("".join(line[1:] + "\n" for line in lines.splitlines() if line[:1] in (" ", sign)) for sign in "-+")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    if text.count(old) != 1:
        faults.append(f"{page}: {text.count(old)} times, not once, in {path}:\n{old}")
    save(path, text.replace(old, new))


def walk(page, text, folder):
    """Does what a page says, in its order; gives the page with what the commands really print."""
    def step(match):
        global blocks
        blocks += 1
        name, kind, body, shown = match.groups()
        path = os.path.join(folder, "work", name or "")
        if kind == "sh":
            printed = run(page, body, shown or "", folder)
            if shown is not None and "...\n" not in shown:
                start = match.start(4) - match.start()
                return match[0][:start] + printed + match[0][start + len(shown):]
        elif not name:
            faults.append(f"{page}: a block without the name of its file, and without a command above it:\n{body}")
        elif kind == "diff":
            change(page, path, body)
        else:
            save(path, body)
        return match[0]

    os.makedirs(os.path.join(folder, "work"))
    os.makedirs(os.path.join(folder, "bin"))
    os.symlink(fid, os.path.join(folder, "bin", "fid"))
    return BLOCK.sub(step, text)


for page in pages:
    with open(os.path.join(source, page), encoding="utf-8") as file:
        text = file.read()
    for target in re.findall(r"\]\(([^)#:]+)\)", text):
        links += 1
        if not os.path.exists(os.path.join(source, os.path.dirname(page), target)):
            faults.append(f"{page}: the link to {target} leads nowhere")
    with tempfile.TemporaryDirectory() as folder:
        if not NAMED.search(text):
            build_alone(page, text, folder)
            continue
        walked = walk(page, text, folder)
    if os.environ.get("FID_UPDATE") and walked != text:
        save(os.path.join(source, page), walked)

print(f"{blocks} blocks, {links} links, {len(faults)} faults")
print("\n".join(faults))
sys.exit(1 if faults or blocks == 0 or links == 0 else 0)
