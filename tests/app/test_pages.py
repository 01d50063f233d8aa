#!/usr/bin/env python3
"""The pages that the program writes, and what completes in shells, say what it says. FID_UPDATE=1 writes them anew."""
import os
import re
import subprocess
import sys
import tempfile

source, fid = os.environ["FID_SOURCE"], os.environ["FID"]


def say(*words):
    return subprocess.run([fid, *words], capture_output=True, text=True, check=True).stdout


def commands_page():
    overview = say("help")
    names = [line.split()[0] for line in overview.splitlines() if re.match(r"    [a-z]+  ", line)]
    page = ["# The command line", "",
            "stdout carries data, stderr messages. `-o FILE` writes a file whole or not at all, and never over an input; without it, or with `-o -`, the output goes to stdout. "
            "FILE is a recipe (`.lua`) or a skeleton file (`.json`).", "", "```", overview.rstrip(), "```", "",
            "Messages have the form that editors and continuous integration parse: `file:line: error: text [CODE]`, then the trail from the module to the recipe, then what to do:", "",
            "    modules/stretch_leg/module.lua:36: error: chain 'leg1/joint/left' bends by 1.2 degrees at rest; ik cannot tell which way it bends [S204]",
            "        in leg1 (left) of stretch_leg 1.1.0, used at recipes/hobrundle.lua:73",
            "        to mend: bend the guides by 3 degrees or more, or give bend_axis", "",
            "Modules are looked for in `modules/` of the recipe's folder, then of each folder above it, then in the folders of the environment variable `FID_PATH`, then among those of the program. "
            "Where `fid.lock` stands beside `modules/`, what is not as it says is a warning, with `--locked` an error: [modules of others](recipes-and-modules.md#modules-of-others).", ""]
    for name in names:
        page += [f"## fid {name}", "", "```", say("help", name).strip("\n"), "```", ""]
    return "\n".join(page)


def rules_page():
    page = ["# The rules of check", "", "`fid check FILE` tries them all; `fid rule CODE` explains one. Lengths scale with the height H of the rig.", ""]
    for line in say("rule").splitlines():
        text = say("rule", line.split()[0]).strip().split("\n\n")
        code, severity = re.match(r"(\w+) \((\w+)\)", text[0]).groups()
        page += [f"## {code}", "", f"{text[1]} ({severity})", ""]
        page += [f"- **{key}**: {value}" for key, value in (row.split(": ", 1) for row in text[2].splitlines())]
        page.append("")
    return "\n".join(page)


def annotations():
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([fid, "init", "-q", folder], check=True, env=dict(os.environ, FID_PATH=""))
        with open(os.path.join(folder, ".fid", "fid.lua"), encoding="utf-8") as file:
            return file.read()


def update(path, text):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def module_pages():
    """The pages of all modules of the sources, with their pictures."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([fid, "doc", "-q", "--out-dir", folder], check=True, cwd=source, env=dict(os.environ, FID_PATH=""))
        for name in sorted(os.listdir(folder)):
            with open(os.path.join(folder, name), encoding="utf-8") as file:
                yield os.path.join("modules", name), file.read()


faults = 0
pages = [("commands.md", commands_page()), ("rules.md", rules_page()), ("fid.1", say("help", "--man")), ("annotations.lua", annotations())]
pages += [(os.path.join("completion", name), say("completion", shell)) for name, shell in (("fid.bash", "bash"), ("_fid", "zsh"), ("fid.fish", "fish"))]
pages += module_pages()
kept = {name for name, _ in pages}
stale = [name for name in os.listdir(os.path.join(source, "docs", "modules")) if os.path.join("modules", name) not in kept]
for name in stale:
    if os.environ.get("FID_UPDATE"):
        os.remove(os.path.join(source, "docs", "modules", name))
    else:
        print(f"docs/modules/{name} belongs to no module; FID_UPDATE=1 removes it")
        faults += 1
for name, text in pages:
    path = os.path.join(source, "docs", name)
    if os.environ.get("FID_UPDATE"):
        update(path, text)
    there = None
    if os.path.exists(path):
        with open(path, encoding="utf-8") as file:
            there = file.read()
    if there != text:
        print(f"docs/{name} does not say what the program says; FID_UPDATE=1 writes it anew")
        faults += 1
sys.exit(1 if faults else 0)
