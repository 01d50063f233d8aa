#!/usr/bin/env python3
"""Every form of a session is a whole: a thousand can be undone, and one that fails, wherever it does, changes no byte."""
import os
import subprocess
import unittest

from support import ARM, FID, POST, Case

# Changes a rig, tables in place, globals and the pose, and stops after the call number STOP.
BUILD = '''local n = 0
local function after() n = n + 1 if n == STOP then error("stopped after call " .. n) end end
t.deep[1] = 2 after()
made = rig:control { part = "base", at = {0, 0, 0}, size = 0.1 } after()
local chain = rig:chain { part = "leg", id = "leg", side = "left", points = { {0.1, 0, 1}, {0.1, 0.1, 0.5}, {0.1, 0, 0} }, parent = made, with_end = true } after()
local goal = rig:control { part = "foot", side = "left", at = {0.1, 0, 0}, size = 0.1 } after()
local amount = rig:slider { on = goal, name = "amount", min = 0, max = 1 } after()
rig:ik { chain = chain, goal = goal, weight = amount } after()
rig:follow { bone = goal, source = made, weight = 0.5 } after()
rig:drive { to = goal.channel["translation.x"], from = amount, gain = 2 } after()
rig:pose_layer { name = "lift", by = amount, poses = { { at = 1, pose = { [goal] = { translation = {0, 0, 0.1} } } } } } after()
local post = rig:use("post", { id = "post", side = "left", parent = made }) after()
rig:mirror(post) after()
rig:display_set { name = "extra", color = "#112233" } after()
set("base_control.translation.y", 0.25) after()
table.insert(t, "more") after()
function helper() return t end after()
export("inner.json") after()
'''
CALLS = BUILD.count("after()") - 1


class Whole(Case):
    def session(self, text, *words, status=0):
        result = subprocess.run([FID, "repl", *words], input=text, capture_output=True, text=True, timeout=500, cwd=self.folder.name)
        if status is not None:
            self.assertEqual(result.returncode, status, result.stderr)
        return result

    def begin(self):
        self.write("modules/post/module.lua", POST)
        self.write("arm.lua", ARM)
        return 't = { deep = { 1 } } set("goal_control.translation.y", 0.5)\n'

    # Everything that a session holds, in lines of its output.
    STATE = 'print(#rig:bones{}, t.deep[1], #t, get("goal_control.translation.y"), pcall(function() return made end), pcall(function() return helper end))\n'

    def test_an_error_after_any_call_changes_no_byte(self):
        text = self.begin() + 'export("before.json")\n' + self.STATE
        for stop in range(1, CALLS + 1):
            text += BUILD.replace("STOP", str(stop)) + f'export("after{stop}.json")\n' + self.STATE
        # As one form: its locals live as long as it does.
        text = text.replace(BUILD.splitlines()[0], "do local n = 0").replace('export("inner.json") after()\n', 'export("inner.json") after() end\n')
        result = self.session(text, "arm.lua", "--keep-going", status=2)
        self.assertEqual(result.stderr.count("error: stopped after call "), CALLS)
        self.assertEqual(result.stderr.count("error: "), CALLS)
        before = self.read(self.path("before.json"))
        for stop in range(1, CALLS + 1):
            self.assertEqual(self.read(self.path(f"after{stop}.json")), before, stop)
        states = [line for line in result.stdout.splitlines() if line.startswith("4\t")]
        self.assertEqual(len(states), CALLS + 1)
        self.assertEqual(len(set(states)), 1)
        # The form itself is sound: without an error it changes all of that.
        whole = self.session(self.begin() + BUILD.replace("STOP", "0").replace("local n = 0", "do local n = 0", 1) + "end\n" + self.STATE, "arm.lua")
        self.assertIn("\n11\t2\t1\t0.5\ttrue\ttrue\tfunction", whole.stdout)
        self.assertNotEqual(self.read(self.path("inner.json")), before)

    # Many bones, so that memory and steps are used little by little.
    LONG = "do local last for i = 1, 300 do last = rig:bone { part = 'link', index = i, at = {0, 0, i}, to = {0, 0, i + 1}, parent = last } t[i] = ('x'):rep(20000) .. i end end\n"

    def sweep(self, option, limits):
        """Tries the long form under each limit; how often it failed, and how often it did not."""
        failed = done = 0
        for limit in limits:
            result = self.session(self.begin() + 'export("before.json")\n' + self.LONG + 'export("after.json")\n' + self.STATE, "arm.lua", "--keep-going", option, str(limit), status=None)
            self.assertGreaterEqual(result.returncode, 0, result.stderr)
            if not os.path.exists(self.path("after.json")):
                # Too little for the session to begin, or to write.
                self.assertIn(option, result.stderr)
                continue
            if result.returncode == 2:
                failed += 1
                self.assertIn(option, result.stderr)
                self.assertEqual(self.read(self.path("after.json")), self.read(self.path("before.json")), limit)
                self.assertIn("\n4\t1\t0\t0.5\t", result.stdout)
            else:
                done += 1
                self.assertIn("\n304\t1\t300\t0.5\t", result.stdout)
            os.remove(self.path("after.json"))
        return failed, done

    def test_the_memory_cap_at_any_point_changes_no_byte(self):
        failed, done = self.sweep("--max-memory", [f"{kilobytes}K" for kilobytes in range(1100, 9100, 250)])
        self.assertGreater(failed, 5)
        self.assertGreater(done, 0)

    def test_the_budget_at_any_point_changes_no_byte(self):
        failed, done = self.sweep("--max-instructions", range(20000, 3020000, 100000))
        self.assertGreater(failed, 5)
        self.assertGreater(done, 0)

    def test_a_thousand_forms_that_change_a_rig_are_undone_and_done_again_to_the_byte(self):
        # A state is a process. Sanitized ones are large.
        most = 50 if "-fsanitize" in os.environ.get("FID_FLAGS", "") else 1000
        half = most // 2
        text = 'rig = fid.rig { name = "long", height = 1 } last = false\n'
        for i in range(1, most + 1):
            text += f"last = rig:bone {{ part = 'link', index = {i}, at = {{0, 0, {i}}}, to = {{0, 0, {i + 1}}}, parent = last or nil }}\n"
        skeleton = "print(#rig:bones{}, last and last.name)\n"
        text += f'{skeleton}picture("all.svg")\nundo({half})\n{skeleton}picture("half.svg")\nundo({half})\n{skeleton}redo({half})\nredo({half})\n{skeleton}picture("again.svg")\n' + "undo()\n" * 2 + skeleton
        result = self.session(text)
        shown = [line for line in result.stdout.splitlines() if "\t" in line and not line.startswith(("undone", "done"))]
        self.assertEqual(shown, [f"{most}\tlink_{most:02}_deform", f"{half}\tlink_{half:02}_deform", "0\tfalse", f"{most}\tlink_{most:02}_deform", f"{most - 2}\tlink_{most - 2:02}_deform"])
        self.assertEqual(self.read(self.path("all.svg")), self.read(self.path("again.svg")))
        self.assertNotEqual(self.read(self.path("all.svg")), self.read(self.path("half.svg")))
        # The half is what the first half of the forms makes alone.
        self.session("".join(text.splitlines(keepends=True)[:1 + half]) + 'picture("alone.svg")\n')
        self.assertEqual(self.read(self.path("half.svg")), self.read(self.path("alone.svg")))


if __name__ == "__main__":
    unittest.main()
