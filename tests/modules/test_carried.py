#!/usr/bin/env python3
"""The tests that the standard modules carry: all of them have some, and they pass, as an installed program runs them."""
import json
import os
import subprocess
import sys

modules = os.path.join(os.environ["FID_SOURCE"], "modules")
names = sorted(name for name in os.listdir(modules) if os.path.exists(os.path.join(modules, name, "module.lua")))
environment = {key: value for key, value in os.environ.items() if key != "FID_PATH"}
run = subprocess.run([os.environ["FID"], "test", "--format", "json"], capture_output=True, text=True, env=environment)
sys.stderr.write(run.stderr)
result = json.loads(run.stdout)
for suite in result["modules"]:
    for case in suite["cases"]:
        if not case["passed"]:
            print(f"{suite['file']}: {case['name']}: {case['message']} {case['origins']}")
carried = [suite["module"] for suite in result["modules"]]
print(f"{len(carried)} modules, {result['summary']}")
sys.exit(run.returncode or carried != names or len(names) == 0)
