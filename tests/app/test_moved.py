#!/usr/bin/env python3
"""Old poses fit new modules: names of before in pose files, in --set and in recipes, from a recipe and from its skeleton file."""
import json
import os
import subprocess
import unittest

import jsonschema

from support import HEAD, SOURCE, Case, run

OLD = '''local fid = require "fid"
return fid.module {
  name = "post", version = "1.0.0", summary = "a post", params = {},
  build = function(rig, p)
    local hand = rig:control { part = "hand", at = {0.5, 1, 0}, size = 0.2 }
    rig:slider { on = hand, name = "lean", min = -1, max = 1 }
    return { controls = { hand = hand } }
  end,
}
'''
NEW = OLD.replace('"hand"', '"foot"').replace('"lean"', '"tilt"').replace("hand", "foot").replace("1.0.0", "2.0.0") \
    .replace("params = {},", 'params = {}, moved = { parts = { hand = "foot" }, sliders = { lean = "tilt" }, results = { ["controls.hand"] = "controls.foot" } },')
RECIPE = HEAD + '''local a = rig:use("post", { id = "leg1", side = "left" })
rig:mirror(a)
return rig
'''
POSE = {"format": "fid-pose", "version": 1, "values": {"leg1_hand_left_control": {"translation": [0, 0.5, 0], "lean": 0.25}, "leg1/hand/right/control": {"rotation": [0, 30, 0]}}}


class Moved(Case):
    def setUp(self):
        super().setUp()
        self.recipe = self.write("arm.lua", RECIPE)
        self.pose = self.write("old.json", json.dumps(POSE))
        self.write("modules/post/module.lua", OLD)
        self.before = json.loads(run("pose", self.recipe, "--pose", self.pose).stdout)
        self.write("modules/post/module.lua", NEW)

    def same_matrices(self, result):
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual([bone["matrix"] for bone in json.loads(result.stdout)["bones"]], [bone["matrix"] for bone in self.before["bones"]])

    def warned(self, result):
        self.assertEqual(result.stderr.count("warning:"), 3, result.stderr)
        self.assertEqual(result.stderr.count("\n"), 3, result.stderr)
        self.assertIn("/values/leg1_hand_left_control: warning: 'leg1_hand_left_control' is called 'leg1_foot_left_control' now; write that", result.stderr)
        self.assertIn("warning: the slider 'lean' is called 'tilt' now; write that", result.stderr)
        self.assertIn("'leg1/hand/right/control' is called 'leg1_foot_right_control' now; write that", result.stderr)

    def test_an_old_pose_is_read_onto_the_new_bones(self):
        result = run("pose", self.recipe, "--pose", self.pose)
        self.same_matrices(result)
        self.warned(result)
        self.assertEqual(run("pose", self.recipe, "--pose", self.pose, "--quiet").stderr, "")

    def test_what_is_written_then_is_a_pose_of_today(self):
        today = self.path("new.json")
        run("pose", self.recipe, "--pose", self.pose, "--write-pose", today)
        values = json.loads(self.read(today))["values"]
        self.assertEqual(values, {"leg1_foot_left_control": {"translation": [0, 0.5, 0], "tilt": 0.25}, "leg1_foot_right_control": {"rotation": [0, 30, 0]}})
        again = run("pose", self.recipe, "--pose", today)
        self.same_matrices(again)
        self.assertEqual(again.stderr, "")

    def test_the_skeleton_file_keeps_the_names_of_before(self):
        built = self.path("rig.json")
        self.assertEqual(run("build", self.recipe, "-o", built).returncode, 0)
        self.assertEqual(json.loads(self.read(built))["moved"], [
            {"from": "leg1/hand/left/control", "to": "leg1_foot_left_control"},
            {"from": "leg1/foot/left/control.lean", "to": "leg1_foot_left_control.tilt"},
            {"from": "leg1/hand/right/control", "to": "leg1_foot_right_control"},
            {"from": "leg1/foot/right/control.lean", "to": "leg1_foot_right_control.tilt"}])
        jsonschema.validate(json.loads(self.read(built)), json.loads(self.read(os.path.join(SOURCE, "docs", "skeleton.schema.json"))))
        result = run("pose", built, "--pose", self.pose)
        self.same_matrices(result)
        self.warned(result)
        self.assertEqual(run("export", built, "--to", "skeleton").stdout, self.read(built))

    def test_set_takes_a_name_of_before_with_a_warning(self):
        result = run("pose", self.recipe, "--set", "leg1_hand_left_control.translation.y=0.5", "--set", "leg1/hand/left/control.lean=0.25", "--set", "leg1_foot_right_control.rotation.y=30")
        self.same_matrices(result)
        self.assertEqual(result.stderr, "fid: warning: --set leg1_hand_left_control.translation.y: is called 'leg1_foot_left_control.translation.y' now; write that\n"
                                        "fid: warning: --set leg1/hand/left/control.lean: is called 'leg1_foot_left_control.tilt' now; write that\n")

    def test_an_old_recipe_warns_at_its_lines(self):
        text = RECIPE.replace("return rig", '''assert(a.controls.hand == a.controls.foot)
assert(rig:find("leg1_hand_left_control") == a.controls.foot)
local solved = rig:solve(rig:pose { ["leg1/hand/left/control"] = { translation = {0, 0.5, 0}, lean = 0.25 } })
assert(solved:channel(a.controls.foot.channel.tilt) == 0.25)
assert(rig:solve(rig:pose("old.json")):base(a.controls.foot):distance(fid.vec(0.5, 1.5, 0)) < 1e-6)
return rig''')
        self.write("arm.lua", text)
        result = run("build", self.recipe, "-o", self.path("rig.json"))
        self.assertEqual(result.returncode, 0, result.stderr)
        for line, part in ((5, "'controls.hand' is 'controls.foot' now"), (6, "'leg1_hand_left_control' is called 'leg1_foot_left_control' now"),
                           (7, "'leg1/hand/left/control' is called"), (7, "'lean' is called 'tilt' now"),
                           (9, "old.json: 'leg1_hand_left_control' is called 'leg1_foot_left_control' now; write that")):
            self.assertRegex(result.stderr, rf"arm\.lua:{line}: warning: [^\n]*{part}")
        self.assertIn("to mend: write '.controls.foot' instead", result.stderr)

    def test_both_names_of_one_bone_are_refused(self):
        pose = self.write("both.json", json.dumps({"format": "fid-pose", "version": 1, "values": {"leg1_hand_left_control": {}, "leg1_foot_left_control": {}}}))
        result = run("pose", self.recipe, "--pose", pose)
        self.assertEqual(result.returncode, 2)
        self.assertIn("stands here twice", result.stderr)

    def test_a_part_that_is_there_again_has_not_moved(self):
        self.write("modules/post/module.lua", NEW.replace("    return {", '    rig:control { part = "hand", at = {0, 0, 0} }\n    return {'))
        result = run("build", self.recipe)
        self.refused(result, 2, "the part 'hand' has moved to 'foot', and there is a bone 'leg1/hand/left/control'", "arm.lua:3")

    def test_faults_of_the_list_in_a_file_are_refused(self):
        built = json.loads(run("build", self.recipe).stdout)
        cases = (({"from": "leg1/hand/left/control", "to": "nobody"}, "/moved/0/to: error: no bone 'nobody'"),
                 ({"from": "leg1/hand/left/control", "to": "leg1_foot_left_control.rotation.x"}, "is no bone and no slider"),
                 ({"from": "Leg 1", "to": "leg1_foot_left_control"}, "/moved/0/from: error:"),
                 ({"from": "leg1/hand/left/control"}, "'to' is missing"),
                 ({"from": "leg1/hand/left/control", "to": 3}, "/moved/0/to"),
                 ([], "/moved/0"))
        for entry, part in cases:
            built["moved"] = [entry]
            self.refused(run("pose", self.write("bad.json", json.dumps(built))), 2, part)
        built["moved"] = [{"from": "leg1/hand/left/control", "to": "leg1_foot_left_control"}] * 2
        self.refused(run("pose", self.write("bad.json", json.dumps(built))), 2, "/moved/1/from: error: 'leg1/hand/left/control' has moved twice")
        built["moved"] = {}
        self.refused(run("pose", self.write("bad.json", json.dumps(built))), 2, "/moved: error:")

    def test_the_c_library_finds_them_too(self):
        # A program of its own, against the static library of this build.
        build = os.environ["FID_BUILD"]
        source = self.write("find.c", '''#include "fid.h"
#include <stdio.h>
int main(int count, char **words) {
    char message[4096] = "";
    fid_skeleton *skeleton = NULL;
    fid_skeleton_pose *pose = NULL;
    int32_t channel = -1;
    (void)count;
    if (fid_skeleton_load(words[1], &skeleton, message, sizeof message) || fid_skeleton_pose_new(skeleton, &pose)) {
        return 1;
    }
    int32_t bone = fid_skeleton_find_bone(skeleton, "leg1_hand_left_control");
    if (fid_skeleton_find_channel(skeleton, "leg1/hand/left/control.lean", &channel, message, sizeof message)) {
        return 2;
    }
    if (fid_skeleton_pose_load(pose, words[2], message, sizeof message)) {
        return 3;
    }
    printf("%s %s %g\\n%s\\n", fid_skeleton_bone_name(skeleton, bone), fid_skeleton_channel_name(skeleton, channel),
           (double)fid_skeleton_pose_value(pose, channel), message);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
    return 0;
}
''')
        flags = os.environ.get("FID_FLAGS", "").split()
        subprocess.run([os.environ["FID_CC"], "-std=c17", "-I", os.path.join(SOURCE, "src"), source, os.path.join(build, "libfid.a"), "-lcjson", "-lm", "-lpthread", *flags, "-o", self.path("find")], check=True)
        built = self.path("rig.json")
        run("build", self.recipe, "-o", built)
        found = subprocess.run([self.path("find"), built, self.pose], capture_output=True, text=True)
        self.assertEqual(found.returncode, 0, found.stderr)
        self.assertTrue(found.stdout.startswith("leg1_foot_left_control leg1_foot_left_control.tilt 0.25\n"), found.stdout)
        self.assertIn("warning: 'leg1_hand_left_control' is called 'leg1_foot_left_control' now; write that", found.stdout)


if __name__ == "__main__":
    unittest.main()
