#!/usr/bin/env python3
"""fid diff and diff(): what is different in two rigs."""
import json
import subprocess
import unittest

from support import ARM, FID, HEAD, HOBRUNDLE, Case, run


class Diff(Case):
    def differences(self, before, after, *words):
        result = run("diff", before, after, "--format", "json", *words)
        self.assertEqual(result.stderr, "")
        found = json.loads(result.stdout)
        self.assertEqual((found["format"], found["version"]), ("fid-difference", 1))
        self.assertEqual(result.returncode, 1 if found["differences"] else 0)
        self.assertEqual(found["breaking"], sum(one["breaks_animation"] for one in found["differences"]))
        return found["differences"]

    def test_a_rig_is_not_different_from_itself(self):
        built = self.write("hobrundle.json", run("build", HOBRUNDLE, "-q").stdout)
        same = run("diff", built, HOBRUNDLE)
        self.assertEqual((same.returncode, same.stdout, same.stderr), (0, "no difference\n", ""))
        # Where an element was written does not count.
        self.assertEqual(self.differences(self.write("arm.lua", ARM), self.write("low.lua", "\n\n" + ARM)), [])

    def test_changed_fields_are_told_with_both_values(self):
        one = self.write("one.lua", ARM)
        two = self.write("two.lua", ARM.replace("0, 0, 1.8}, size = 0.1", "0, 0.25, 1.8}, size = 0.1").replace("{-30, 30}", "{-20, 40}").replace("goal = goal", "goal = goal, soft = 0.05"))
        found = {(each["list"], each["address"], each["field"]): (each["before"], each["after"], each["breaks_animation"]) for each in self.differences(one, two)}
        self.assertEqual(found, {("bones", "goal/control", "rest.translation"): ([0, 0, 1.8], [0, 0.25, 1.8], True),
                                 ("channels", "goal_control.rotation.x", "min"): (-30, -20, True), ("channels", "goal_control.rotation.x", "max"): (30, 40, False),
                                 ("constraints", "arm:ik", "soft"): (0.02, 0.05, False)})
        text = run("diff", one, two).stdout
        self.assertIn("bones:\n    changed goal/control\n        rest.translation: [0, 0, 1.8] -> [0, 0.25, 1.8] (breaks animation)\n", text)
        self.assertTrue(text.endswith("0 added, 0 removed, 3 changed; 2 of this break animation that was made before\n"), text)
        self.assertEqual(self.differences(one, two, "--tolerance", "0.04")[-1]["field"], "max")

    def test_what_came_and_what_is_gone_are_the_sets_of_addresses(self):
        whole = json.loads(run("build", HOBRUNDLE, "-q").stdout)
        less = dict(whole, constraints=[one for i, one in enumerate(whole["constraints"]) if one["kind"] != "span" or i % 3], drives=[], pose_layers=whole["pose_layers"][1:])
        arm = self.write("arm.lua", ARM)
        for before, after in ((HOBRUNDLE, arm), (arm, HOBRUNDLE), (HOBRUNDLE, self.write("less.json", json.dumps(less)))):
            self.assert_sets(before, after)

    def assert_sets(self, *files):
        skeletons = [json.loads(self.read(file) if file.endswith(".json") else run("build", file, "-q").stdout) for file in files]
        found = self.differences(*files)
        for key in ("bones", "constraints", "pose_layers"):
            before, after = ({one["address"] for one in skeleton[key]} for skeleton in skeletons)
            for change, wanted in (("removed", before - after), ("added", after - before)):
                self.assertEqual({one["address"] for one in found if (one["list"], one["change"]) == (key, change)}, wanted)
        controls = {bone["address"] for bone in skeletons[0]["bones"] if bone["role"] == "control"} - {bone["address"] for bone in skeletons[1]["bones"]}
        self.assertEqual({one["address"] for one in found if (one["list"], one["change"], one["breaks_animation"]) == ("bones", "removed", True)}, controls)

    def test_a_bone_that_is_called_otherwise_is_one_change(self):
        one = self.write("one.lua", ARM)
        two = self.write("two.lua", ARM.replace("height = 1 }", 'height = 1, naming = { template = "{role}_{id}_{part}_{index}_{side}" } }'))
        found = self.differences(one, two)
        self.assertEqual({(each["list"], each["field"]) for each in found}, {("rig", "naming.template"), ("bones", "name")})
        self.assertEqual(len(found), 5)

    def test_order_counts_where_things_act_in_order(self):
        parts = ['rig:follow { bone = a, source = b, weight = 0.5 }\n', 'rig:limit { bone = a, translation = { x = {-1, 1} } }\n', 'rig:aim { bone = a, source = b }\n']
        head = HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0} }\nlocal b = rig:control { part = "b", at = {0, 0, 1} }\n'
        one, two = self.write("one.lua", head + "".join(parts) + "return rig\n"), self.write("two.lua", head + parts[2] + parts[0] + parts[1] + "return rig\n")
        self.assertEqual({(each["list"], each["field"]) for each in self.differences(one, two)}, {("constraints", "place")})

    def test_a_control_that_moved_breaks_nothing(self):
        module = ('local fid = require "fid"\nreturn fid.module { name = "post", version = "1.0.0", summary = "a post", params = {}, %s'
                  'build = function(rig, p) rig:control { part = "%s", at = {0, 0, 0} } return {} end }\n')
        recipe = HEAD + 'rig:use("post", { id = "a" })\nreturn rig\n'
        before = self.write("old/rig.lua", recipe)
        self.write("old/modules/post/module.lua", module % ("", "post"))
        for moved, broken in (("", True), ('moved = { parts = { post = "pole" } }, ', False)):
            after = self.write("new/rig.lua", recipe)
            self.write("new/modules/post/module.lua", module % (moved, "pole"))
            found = self.differences(before, after)
            self.assertIn(("removed", "a/post/control"), {(each["change"], each["address"]) for each in found})
            self.assertEqual(any(each["breaks_animation"] for each in found), broken)

    def test_what_cannot_be_compared_is_refused(self):
        arm, built = self.write("arm.lua", ARM), self.path("arm.json")
        self.write("arm.json", run("build", arm).stdout)
        self.refused(run("diff", arm), 2, "usage: fid diff")
        self.refused(run("diff", arm, self.path("none.json")), 3, "none.json")
        self.refused(run("diff", arm, self.write("bad.json", "{}")), 2, "bad.json")
        self.refused(run("diff", arm, built, "--tolerance", "-1"), 2, "--tolerance")
        self.refused(run("diff", built, built, "--param", "x=1"), 2, "both files are skeletons")
        self.refused(run("diff", arm, built, "--param", "x=1"), 2, "takes no parameters")
        self.refused(run("diff", arm, built, "--format", "json:" + arm), 2, "not written over")
        self.assertEqual(self.read(arm), ARM)

    def test_a_session_compares_with_its_last_build(self):
        recipe = self.write("arm.lua", ARM)
        forms = ("diff()\nrig:bone { part = 'x', at = {0, 0, 0}, to = {0, 0, 1} }.name\ndiff()\nset('goal_control.translation.y', 0.5)\nexport('out.json')\ndiff()\n"
                 "undo(3)\ndiff()\n")
        added = 'bones:\n    added x/deform\n1 added, 0 removed, 0 changed\n'
        for file, status in ((recipe, 0), (self.write("arm.json", run("build", recipe).stdout), 0)):
            result = subprocess.run([FID, "repl", file], input=forms, capture_output=True, text=True, timeout=60, cwd=self.folder.name)
            self.assertEqual((result.returncode, result.stderr), (status, ""))
            self.assertEqual(result.stdout.replace("undone: ", "").splitlines(),
                             ("test: 4 bones\nno difference\n\"x_deform\"\n" + added + "written: out.json\nno difference\n").splitlines() +
                             ["export('out.json')", "set('goal_control.translation.y', 0.5)", "rig:bone { part = 'x', at = {0, 0, 0}, to = {0, 0, 1} }.name", "no difference"])
        result = subprocess.run([FID, "repl"], input="rig = fid.rig { name = 'a', height = 1 }\ndiff()\n", capture_output=True, text=True, timeout=60)
        self.assertEqual(result.returncode, 2)
        self.assertIn("there is no build to compare with", result.stderr)


if __name__ == "__main__":
    unittest.main()
