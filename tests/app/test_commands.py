#!/usr/bin/env python3
"""The command line as a user meets it: statuses, messages, wrong input of every kind, and that nothing is written where something is wrong."""
import json
import os
import re
import resource
import subprocess
import unittest
from xml.etree import ElementTree

from support import ARM, FID, HEAD, HOBRUNDLE, SOURCE, Case, run


class Commands(Case):
    # What works

    def test_version_and_help(self):
        self.assertEqual(run("version").stdout, "fid 0.1.0\n")
        self.assertEqual(run("version").returncode, 0)
        self.assertIn("fid check", run("help").stdout)
        self.assertIn("--set", run("help", "pose").stdout)
        self.assertIn("--set", run("pose", "--help").stdout)
        self.assertIn("soft", run("help", "ik").stdout)
        self.assertIn("see 'fid help rig:check'", run("help", "check").stdout)
        self.assertIn("severity: one of", run("help", "rig:check").stdout)
        for call in ("use", "fid.points.plane", "outline.box", "Bone", "Solved"):
            self.assertIn(call, run("help", call).stdout)
        self.assertEqual(run().returncode, 2)
        self.assertEqual(run().stdout, "")

    def test_the_demo_checks_clean_and_builds_the_same_bytes_everywhere(self):
        check = run("check", HOBRUNDLE)
        self.assertEqual((check.returncode, check.stderr), (0, ""))
        self.assertIn("0 errors, 0 warnings, 0 notes; 500 poses tried", check.stdout)
        first, second = self.path("a.json"), self.path("b.json")
        self.assertEqual(run("build", HOBRUNDLE, "-o", first).returncode, 0)
        self.assertEqual(run("build", "hobrundle.lua", "-o", second, cwd=os.path.dirname(HOBRUNDLE)).returncode, 0)
        text = self.read(first)
        self.assertEqual(text, self.read(second))
        self.assertEqual(text, run("build", HOBRUNDLE).stdout)
        self.assertEqual(text, run("export", first, "--to", "skeleton").stdout)
        self.assertEqual(run("pose", HOBRUNDLE).stdout, run("pose", first).stdout)

    def test_pose_prints_matrices_and_writes_a_pose_that_reads_back(self):
        recipe = self.write("arm.lua", ARM)
        posed = run("pose", recipe, "--set", "goal_control.translation.y=0.5", "--write-pose", self.path("p.json"))
        self.assertEqual((posed.returncode, posed.stderr), (0, ""))
        solved = json.loads(posed.stdout)
        self.assertEqual((solved["format"], solved["version"]), ("fid-solved", 1))
        bones = {bone["name"]: bone for bone in solved["bones"]}
        for got, want in zip(bones["goal_control"]["matrix"][12:], [0, 0.5, 1.8, 1]):
            self.assertAlmostEqual(got, want, delta=1e-6)
        # Reachable, away from the softening: the end meets the goal within 1e-5 of the chain's length.
        for got, want in zip(bones["arm_03_helper"]["base"], [0, 0.5, 1.8]):
            self.assertAlmostEqual(got, want, delta=2e-5)
        self.assertEqual(solved["channels"]["goal_control.translation.y"], 0.5)
        self.assertEqual(posed.stdout, run("pose", recipe, "--pose", self.path("p.json")).stdout)
        some = json.loads(run("pose", recipe, "--bones", "arm_0?_helper").stdout)
        self.assertEqual([bone["name"] for bone in some["bones"]], ["arm_01_helper", "arm_02_helper", "arm_03_helper"])

    def test_solved_bytes_are_the_same_with_every_compiler(self):
        # Golden file: this test runs in builds of both compilers at different optimisation levels.
        golden = os.path.join(SOURCE, "tests", "golden")
        solved = run("pose", os.path.join(golden, "skeleton_arm.json"), "--set", "goal_control.translation.y=0.3", "--set", "goal_control.translation.x=0.11")
        self.assertEqual(solved.stdout, self.read(os.path.join(golden, "solved_arm.json")))

    def test_show_tells_the_tree_and_one_bone(self):
        recipe = self.write("arm.lua", ARM)
        self.assertIn("test: 4 bones (0 deform, 3 helper, 1 control), 1 constraint, 0 sliders, 0 drives\n", run("show", recipe).stdout)
        self.assertIn("\ngoal_control  (control)\narm_01_helper  (helper)\n", run("show", recipe).stdout)
        self.assertIn("root_placement_control  (control, placement)\n", run("show", HOBRUNDLE).stdout)
        one = run("show", recipe, "goal/control", "--set", "goal/control.rotation.x=12").stdout
        for part in ("goal_control", "arm.lua:3", "rotation.x = 12, default 0, from -30 to 30", "arm:ik, as its goal"):
            self.assertIn(part, one)

    def test_show_tells_what_a_curve_goes_through(self):
        recipe = self.write("tail.lua", HEAD + 'local a, b = rig:control { part = "a", at = {0, 0, 0} }, rig:control { part = "b", at = {0, 0, 1} }\n'
                            'local tail = rig:chain { part = "tail", points = { {0, 0, 0}, {0, 0.1, 0.5}, {0, 0, 1} } }\nrig:spline { chain = tail, through = { a, b }, weight = 0.5 }\nreturn rig\n')
        self.assertIn("    tail:spline (before the pose, weight 0.5), written at ", run("show", recipe, "tail_02_helper").stdout)
        self.assertIn("    tail:spline, as its through\n", run("show", recipe, "b_control").stdout)
        kinds = json.loads(run("time", recipe, "--poses", "3", "--threads", "1", "--format", "json").stdout)["kinds"]
        self.assertEqual([(kind["kind"], kind["count"]) for kind in kinds], [("spline", 1), ("chain", 1)])

    def test_show_tells_drives_and_pose_layers(self):
        recipe = self.write("arm.lua", HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0} }\nlocal s = rig:slider { on = a, name = "s", min = 0, max = 1 }\n'
                            'local b = rig:bone { part = "b", parent = a, at = {0, 0, 0}, to = {0, 0, 1} }\nrig:drive { to = b.channel["rotation.x"], from = s, gain = 30 }\n'
                            'rig:pose_layer { name = "lift", by = s, poses = { { at = 1, pose = { [b] = { translation = {0, 1, 0} } } } } }\nreturn rig\n')
        moved = run("show", recipe, "b_deform", "--set", "a_control.s=1").stdout
        self.assertIn("channels: none\nwhat acts on it, in order:\n    lift (pose layer at 1), written at ", moved)
        self.assertIn("    the drive of b_deform.rotation.x = 30, written at ", moved)
        self.assertIn("what depends on it: none\n", moved)
        told = run("show", recipe, "a_control").stdout
        self.assertIn("    b_deform, as its child\n    lift, which it blends in\n    the drive of b_deform.rotation.x, which reads it, written at ", told)

    def test_show_tells_matches(self):
        recipe = self.write("limb.lua", HEAD + 'local points = { {0, 1, 0}, {0, 0.5, 0.15}, {0, 0.05, 0} }\nlocal goal = rig:control { part = "goal", at = points[3] }\n'
                            'local lead = rig:slider { on = goal, name = "lead", choices = {"joints", "goal"}, default = 1 }\nlocal roll = rig:slider { on = goal, name = "roll", min = -180, max = 180 }\n'
                            'local joints = rig:chain { part = "joint", role = "control", points = points, with_end = true }\n'
                            'local ik = rig:ik { chain = joints, goal = goal, swivel = roll, weight = lead }\n'
                            'rig:match { slider = lead, value = "joints", set = { {joints[1], like = joints[1]}, {joints[2], like = joints[2]} } }\n'
                            'rig:match { slider = lead, value = 1, set = { {goal, like = joints.last}, {roll, plane_of = ik, like = joints[2]}, {joints[1], neutral = true} } }\nreturn rig\n')
        goal = run("show", recipe, "goal_control").stdout
        self.assertIn(f"        choices: joints, goal\n        the match of goal_control.lead at 'joints' poses joint_01_control, joint_02_control, written at {recipe}:9\n", goal)
        self.assertIn("        the match of goal_control.lead at 'goal' poses goal_control like joint_03_control, goal_control.roll in the plane of joint:ik like joint_02_control, "
                      f"joint_01_control at rest, written at {recipe}:10\n", goal)
        acts, depends = goal.split("what depends on it:\n")
        self.assertIn("    the match of goal_control.lead at 'goal', which poses it\n", acts)
        joint = run("show", recipe, "joint_02_control").stdout
        acts, depends = joint.split("what depends on it:\n")
        self.assertIn("    the match of goal_control.lead at 'joints', which poses it\n", acts)
        self.assertIn("    the match of goal_control.lead at 'goal', which reads it\n", depends)
        self.assertNotIn("at 'joints', which reads it", depends)

    def test_findings_as_json(self):
        recipe = self.write("arm.lua", ARM.replace("0.4, 0.9", "0.1, 0.9"))
        result = run("check", recipe, "--format", "json:" + self.path("f.json"), "--format", "text")
        self.assertEqual(result.returncode, 0)
        findings = json.loads(self.read(self.path("f.json")))
        self.assertEqual((findings["format"], findings["version"]), ("fid-findings", 1))
        self.assertEqual(findings["summary"], {"errors": 0, "warnings": 1, "notes": 0, "poses_tried": 500})
        one = findings["findings"][0]
        self.assertEqual(sorted(one), sorted(["code", "severity", "subject", "message", "value", "threshold", "hint", "origins", "pose"]))
        self.assertEqual((one["code"], one["severity"], one["subject"]), ("S204", "warning", "arm:ik"))
        self.assertEqual(one["origins"], [{"file": "arm.lua", "line": 5}])
        self.assertIn(f"{recipe}:5: warning: ", result.stdout)
        self.assertEqual(run("check", recipe, "--fail-on", "warning").returncode, 1)
        self.assertEqual(run("check", recipe, "--fail-on", "warning", "--except", "S204").returncode, 0)

    def test_time_tells_what_a_solve_costs(self):
        told = run("time", HOBRUNDLE, "--poses", "5")
        self.assertEqual((told.returncode, told.stderr), (0, ""))
        for part in ("hobrundle: ", "a whole solve", "one control moved", "5 poses, 2 threads", "ik, 8", "span, 74", "the rest"):
            self.assertIn(part, told.stdout)
        costs = json.loads(run("time", self.write("arm.lua", ARM), "--poses", "3", "--threads", "1", "--format", "json").stdout)
        self.assertEqual((costs["format"], costs["name"], costs["bones"], costs["controls"], costs["poses"]), ("fid-time", "test", 4, 1, 3))
        self.assertEqual([(kind["kind"], kind["count"]) for kind in costs["kinds"]], [("ik", 1), ("chain", 2)])
        self.assertTrue(costs["whole_us"] > 0 and costs["one_control_us"] > 0 and 0 < costs["one_control_part_of_steps"] <= 1)
        self.assertEqual(costs["controls_tried"], 1)
        # Of many controls some are tried, so that it does not take long.
        many = self.write("many.lua", HEAD + 'for i = 1, 250 do rig:control { part = "knob", index = i, at = {i, 0, 0} } end\nreturn rig\n')
        costs = json.loads(run("time", many, "--poses", "1", "--format", "json").stdout)
        self.assertEqual((costs["controls"], costs["controls_tried"]), (250, 125))
        self.assertIn("(125 of the controls, evenly spread)", run("time", many, "--poses", "1").stdout)
        empty = self.write("empty.lua", 'return require "fid".rig { name = "empty", height = 1 }\n')
        self.assertEqual(run("time", empty, "--poses", "1").returncode, 0)
        self.refused(run("time", HOBRUNDLE, "--poses", "0"), 2, "--poses takes a number from 1")
        self.refused(run("time", HOBRUNDLE, "--threads", "65"), 2, "--threads takes a number from")
        self.refused(run("time", HOBRUNDLE, "--format", "xml"), 2, "text or json")

    def test_findings_are_drawn(self):
        recipe = self.write("faulty.lua", HEAD + 'local a = rig:control { part = "idle", at = {0, 0, 0} }\nlocal l = rig:chain { part = "arm", side = "left", points = { {0.3, 0, 0}, {0.6, 0.05, 0}, {0.9, 0, 0} }, with_end = true }\n'
                            'rig:ik { chain = l, goal = rig:control { part = "hand", at = {0.9, 0, 0} } }\nrig:control { part = "fine", parent = a, at = {0, 0.5, 0}, channels = {} }\nreturn rig\n')
        picture = self.path("faulty.svg")
        told = run("check", recipe, "--picture", picture)
        self.assertEqual((told.returncode, told.stderr), (0, ""))
        drawn = self.read(picture)
        for word in ("arm_01_left_helper S204", "fine_control C304", ">finding<"):
            self.assertIn(word, drawn)
        self.assertEqual(drawn.count('r="9"'), 4 * 2)
        self.assertNotIn("idle_control S", drawn)
        self.assertEqual(self.read(picture), [run("check", recipe, "--picture", picture), self.read(picture)][1])
        clean = self.path("clean.svg")
        self.assertEqual(run("check", HOBRUNDLE, "--picture", clean).returncode, 0)
        self.assertNotIn("#D55E00\" stroke-width=\"2.4\"", self.read(clean))
        straight = self.write("straight.lua", HEAD + 'local l = rig:chain { part = "arm", points = { {0, 0, 0}, {0, 0, 1}, {0, 0, 2} }, with_end = true }\nrig:ik { chain = l, goal = rig:control { part = "hand", at = {0, 0, 2} } }\nreturn rig\n')
        refused = run("check", straight, "--picture", self.path("none.svg"))
        self.assertEqual(refused.returncode, 1)
        self.assertIn("S204", refused.stdout)
        self.assertIn("--picture needs a rig that can be solved", refused.stderr)
        self.assertFalse(os.path.exists(self.path("none.svg")))
        self.refused(run("check", recipe, "--picture", ""), 2, "--picture needs a file")
        self.refused(run("check", recipe, "--format", "json:"), 2, "--format json: names no file")
        self.refused(run("check", recipe, "--format", "json:" + picture, "--picture", picture), 2, "same place")
        self.refused(run("check", recipe, "--picture", recipe), 2, "not written over")

    def test_rules_are_explained(self):
        self.assertIn("to mend:", run("rule", "S204").stdout)
        self.refused(run("rule", "S240"), 2, "no rule 'S240'", "did you mean")

    def test_parameters_and_prints(self):
        recipe = self.write("post.lua", 'local fid = require "fid"\nreturn fid.recipe { params = { height = { type = "number", min = 1, max = 3, default = 2, unit = "m", doc = "height" } },\n'
                            'build = function(p) print("tall", p.height)\nlocal rig = fid.rig { name = "post", height = p.height }\nrig:bone { part = "post", at = {0, 0, 0}, to = {0, p.height, 0}, up = {0, 0, 1} }\nreturn rig end }')
        built = run("build", recipe, "--param", "height=2.5")
        self.assertEqual(json.loads(built.stdout)["height"], 2.5)
        self.assertEqual(built.stderr, "tall\t2.5\n")
        self.refused(run("build", recipe, "--param", "height=9"), 2, "height", "from 1 to 3")
        self.refused(run("build", recipe, "--param", "hieght=2"), 2, "did you mean 'height'")
        self.refused(run("build", recipe, "--param", "height"), 2, "NAME=VALUE")
        self.refused(run("build", recipe, "--param", "height=tall"), 2, "'height' must be a number from 1 to 3 in m, not 'tall'")

    def test_a_parameter_that_cannot_be_read_is_answered_with_its_type(self):
        recipe = self.write("post.lua", 'local fid = require "fid"\nreturn fid.recipe { params = { on = { type = "boolean", default = true, doc = "on" }, n = { type = "integer", default = 1, doc = "n" },\n'
                            'to = { type = "vector", default = { 0, 0, 1 }, doc = "to" } }, build = function(p) return fid.rig { name = "post", height = 1 } end }')
        self.refused(run("build", recipe, "--param", "on=maybe"), 2, "'on' must be true or false, not 'maybe'")
        self.refused(run("build", recipe, "--param", "n=1.5"), 2, "'n' is 1.5; it must be a whole number")
        self.refused(run("build", recipe, "--param", "to=1,2"), 2, "'to' must be a vector {x, y, z}, written as JSON", "not '1,2'")
        self.assertEqual(run("build", recipe, "--param", "to=[0,1,0]").returncode, 0)

    def test_letters_of_options_stand_together(self):
        recipe, out = self.write("arm.lua", ARM), self.path("a.json")
        self.assertEqual(run("build", recipe, "-qo", out).returncode, 0)
        self.assertEqual(run("build", recipe, "-qo" + self.path("b.json")).returncode, 0)
        self.assertEqual(self.read(out), self.read(self.path("b.json")))
        self.refused(run("build", recipe, "-qz"), 2, "no option '-qz'")
        self.refused(run("build", recipe, "-qo"), 2, "--output needs a value")

    def test_a_pose_is_mirrored(self):
        turned = run("pose", HOBRUNDLE, "--set", "leg1_foot_left_control.translation.x=0.2", "--set", "leg1_foot_left_control.rotation.y=10", "--mirror", "--write-pose", self.path("m.json"), "-o", self.path("s.json"))
        self.assertEqual((turned.returncode, turned.stderr), (0, ""))
        values = json.loads(self.read(self.path("m.json")))["values"]
        self.assertEqual(list(values), ["leg1_foot_right_control"])
        self.assertEqual(values["leg1_foot_right_control"]["translation"][0], -0.2)
        self.assertEqual(values["leg1_foot_right_control"]["rotation"][1], -10)
        again = run("pose", HOBRUNDLE, "--pose", self.path("m.json"), "-o", self.path("t.json"))
        self.assertEqual((again.returncode, self.read(self.path("s.json"))), (0, self.read(self.path("t.json"))))
        recipe = self.write("one.lua", HEAD + 'rig:control { part = "hook", side = "left", at = {0.1, 0, 0} }\nreturn rig\n')
        self.assertIn("1 of the values that were posed found no channel", run("pose", recipe, "--set", "hook_left_control.translation.x=1", "--mirror").stderr)

    def test_several_outputs_are_written_together_or_not_at_all(self):
        recipe, kept, lost = self.write("arm.lua", ARM), self.path("kept.json"), self.path("none/lost.json")
        self.refused(run("pose", recipe, "--write-pose", kept, "-o", lost), 3, "lost.json")
        self.refused(run("pose", recipe, "-o", kept, "--write-pose", lost), 3, "lost.json")
        self.refused(run("check", recipe, "--format", "json:" + kept, "--format", "text:" + lost), 3, "lost.json")
        self.refused(run("check", recipe, "--format", "text", "--format", "json:" + lost), 3, "lost.json")
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["arm.lua"])
        self.assertEqual(run("check", recipe, "--format", "json:" + kept, "--format", "text").returncode, 0)
        self.assertEqual(json.loads(self.read(kept))["format"], "fid-findings")

    def test_modules_are_found_through_the_environment(self):
        self.write("lib/post/module.lua", 'local fid = require "fid"\nreturn fid.module { name = "post", version = "1.0.0", summary = "a post", params = {}, build = function(rig, p) rig:bone { part = "post", at = {0, 0, 0}, to = {0, 1, 0}, up = {0, 0, 1} } return {} end }')
        recipe = self.write("use.lua", HEAD + 'rig:use("post", { id = "one" })\nreturn rig\n')
        self.refused(run("build", recipe), 2, "use.lua:3", "no module 'post'")
        self.assertEqual(run("build", recipe, env={"FID_PATH": self.path("lib")}).returncode, 0)

    def test_pictures_are_well_formed_the_same_twice_and_show_every_bone(self):
        first = run("export", HOBRUNDLE, "--to", "svg", "--set", "spine_end_control.rotation.y=30")
        self.assertEqual((first.returncode, first.stderr), (0, ""))
        self.assertEqual(first.stdout, run("export", HOBRUNDLE, "--to", "svg", "--set", "spine_end_control.rotation.y=30").stdout)
        self.assertNotEqual(first.stdout, run("export", HOBRUNDLE, "--to", "svg").stdout)
        root = ElementTree.fromstring(first.stdout)
        bones = len(json.loads(run("pose", HOBRUNDLE).stdout)["bones"])
        names = {"{http://www.w3.org/2000/svg}" + name: name for name in ("circle", "line", "text", "polygon")}
        count = {name: sum(1 for _ in root.iter(tag)) for tag, name in names.items()}
        # Four views, a ring for each bone in each, and five in the legend.
        self.assertEqual(count["circle"], 4 * bones + 5)
        words = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
        for word in ("front", "side", "top", "three-quarter", "1 m", "L near", "deform bone", "leg1_foot_left_control"):
            self.assertIn(word, words)
        self.assertEqual((words.count("L"), words.count("R")), (3, 3))
        one = run("export", HOBRUNDLE, "--to", "svg", "--view", "front").stdout
        self.assertEqual(run("export", HOBRUNDLE, "--to", "svg", "--view", "all").stdout, run("export", HOBRUNDLE, "--to", "svg").stdout)
        marks = {text.text: float(text.get("x")) for text in ElementTree.fromstring(one).iter("{http://www.w3.org/2000/svg}text")}
        # Seen from the front, the character's left is on the right hand.
        self.assertGreater(marks["L"], marks["R"])

    def session(self, text, *words, status=0):
        result = subprocess.run([FID, "repl", *words], input=text, capture_output=True, text=True, timeout=200)
        self.assertEqual(result.returncode, status, result.stderr)
        return result

    def test_a_session_keeps_globals_and_runs_forms_over_several_lines(self):
        out = self.session("function twice(n)\n  return n * 2\nend\n\ntwice(21)\nx = { 1, name = 'a' }\nx\nfid.vec(1, 2, 3) * 2\n").stdout
        self.assertEqual(out, '42\n[1] = 1\nname = "a"\n(2, 4, 6)\n')

    def test_a_session_poses_checks_and_exports_a_recipe(self):
        recipe, out = self.write("arm.lua", ARM), self.path("out.json")
        result = self.session(f'set("goal_control.translation.y", 0.5)\nsolve():base("goal_control")\nset()\nsolve():base("goal_control")\ncheck()\n'
                              f'show("arm_01_helper")\nexport("{out}")\nhelp("twist")\n', recipe)
        lines = result.stdout.splitlines()
        self.assertEqual(lines[0], "test: 4 bones")
        self.assertEqual(lines[1:4], ["(0, 0.5, 1.8)", "(0, 0, 1.8)", "0 findings"])
        self.assertIn("arm_01_helper (arm/1/helper, helper)", lines)
        self.assertIn("  gain: number or Channel, default 1", lines)
        self.assertEqual(self.read(out), run("build", recipe).stdout)

    def test_a_failed_form_leaves_globals_and_rig_as_they_were(self):
        recipe = self.write("arm.lua", ARM)
        result = self.session('x = 1\nx = 2 rig:control { part = "extra", at = {0, 0, 0} } error("no")\nx\nrig:find("extra_control") == nil\n'
                              'set("gaol_control.translation.y", 1)\nsolve():base("goal_control")\nexport("' + recipe + '")\n', recipe, "--keep-going", status=2)
        self.assertEqual(result.stdout, "test: 4 bones\n1\ntrue\n(0, 0, 1.8)\n")
        self.assertEqual(result.stderr.count("error:"), 3)
        self.assertIn("session:1: error: no", result.stderr)
        self.assertIn("did you mean 'goal_control'", result.stderr)
        self.assertIn("not written over", result.stderr)
        self.assertEqual(self.read(recipe), ARM)

    def test_a_session_is_a_sandbox_and_ends_with_what_is_not_finished(self):
        result = self.session("not (pcall(function() return io end) or pcall(function() return os end) or pcall(function() return load end))\nwhile true do end\n'still here'\nfor i = 1,\n", "-k", "--max-instructions", "1e6", status=2)
        self.assertEqual(result.stdout, 'true\n"still here"\n')
        self.assertIn("--max-instructions", result.stderr)
        self.assertIn("the last form has no end", result.stderr)
        self.assertEqual(self.session("", self.path("none.lua"), status=3).stdout, "")

    def test_a_piped_session_ends_at_the_first_error(self):
        result = self.session("1\nerror('no')\n2\n", status=2)
        self.assertEqual((result.stdout, result.stderr), ("1\n", "session:1: error: no\n"))
        result = self.session("1\nerror('no')\n2\n", "--keep-going", status=2)
        self.assertEqual((result.stdout, result.stderr), ("1\n2\n", "session:1: error: no\n"))

    def test_forms_are_undone_and_done_again_whatever_they_changed(self):
        recipe = self.write("arm.lua", ARM)
        forms = ("t = { 1 }", "t[1] = 2", "rig:bone { part = 'extra', at = {0, 0, 0}, to = {0, 0, 1} }.name", 'set("goal_control.translation.y", 0.5)')
        look = 'get("goal_control.translation.y")\ntree()\nt\n'
        # Names, and calls that only look, are nothing to undo.
        result = self.session("\n".join(forms) + "\n" + look + "undo()\n" + look + "undo(2)\n" + look + "redo(3)\n" + look + "undo(4)\nt\n", recipe, status=2)
        names = "goal_control\narm_01_helper\narm_02_helper\narm_03_helper\n"
        extra = names + "extra_deform\n"
        self.assertEqual(result.stdout, 'test: 4 bones\n"extra_deform"\n' + f"0.5\n{extra}[1] = 2\n" + f"undone: {forms[3]}\n" + f"0.0\n{extra}[1] = 2\n" +
                         f"undone: {forms[2]}\nundone: {forms[1]}\n" + f"0.0\n{names}[1] = 1\n" + "".join(f"done again: {form}\n" for form in forms[1:]) +
                         f"0.5\n{extra}[1] = 2\n" + "".join(f"undone: {form}\n" for form in reversed(forms)))
        self.assertIn("there is no 't'", result.stderr)

    def test_undo_goes_back_and_forth_through_a_thousand_forms(self):
        # A state is a process. Sanitized ones are large.
        most = 100 if "-fsanitize" in os.environ.get("FID_FLAGS", "") else 1000
        half = most // 2
        text = ("n = 0\n" + "".join(f"n = {i}\n" for i in range(1, most + 1)) + f"undo({most})\nn\nredo({half})\nn\n" + "undo()\n" * 3 + f"n\nredo({half + 3})\nn\n" +
                f"undo({most + 1})\nredo()\nn\nn = 7\nn\n")
        result = self.session(text)
        shown = [line for line in result.stdout.splitlines() if not line.startswith(("undone: ", "done again: "))]
        self.assertEqual(shown, ["0", f"{half}", f"{half - 3}", f"{most}", "0", "7"])
        self.assertEqual(self.session("n = 1\nundo()\nundo()\n", status=2).stderr, "session: error: there is nothing to undo\n")
        self.assertEqual(self.session("n = 1\nundo(3)\n", status=2).stderr, "session: error: there are only 1 forms to undo\n")
        self.assertEqual(self.session("n = 1\nundo()\nn = 2\nredo()\n", status=2).stderr, "session: error: there is nothing to do again\n")
        self.assertIn("undo takes how many forms", self.session("undo(0)\n", status=2).stderr)

    def test_a_form_that_breaks_a_limit_leaves_the_session_as_it_was(self):
        for form, words in (("while true do end", ("--max-instructions", "1e6")), ("x = 2 while true do end", ("--max-instructions", "1e15", "--max-seconds", "0.3")),
                            ("x = 2 local t = {} for i = 1, 1e9 do t[i] = ('x'):rep(1e6) .. i end", ("--max-memory", "64M"))):
            result = self.session(f"x = 1\n{form}\nx\n", "-k", *words, status=2)
            self.assertEqual(result.stdout, "1\n", form)
            self.assertEqual(result.stderr.count("error:"), 1, result.stderr)

    def test_wrong_words_of_a_session_are_told(self):
        recipe = self.write("arm.lua", ARM)
        for form, part in (('set("goal_control.rotation.q", 20)', "no channel 'goal_control.rotation.q': rotation has x, y and z"), ("show(5)", "a bone or its name is asked for, not"),
                           ('tree("gaol_control")', "did you mean 'goal_control'"), ('export("rig.txt")', "ends in .json"),
                           ("help(5)", "help takes the name of a call"), ("help('folow')", "did you mean 'follow'"), ("get()", "get takes a channel"), ("redo('x')", "redo takes how many")):
            result = self.session(form + "\n", recipe, status=2)
            self.assertIn(part, result.stderr, form)
        self.assertFalse(os.path.exists(self.path("rig.txt")))

    def test_help_of_a_session_knows_its_words_calls_and_objects(self):
        recipe = self.write("arm.lua", ARM)
        shown = self.session("help()\n", recipe).stdout
        for word in ("run()", "set(", "get(", "undo()", "redo()", "tree()", "export(", "rig:follow{}"):
            self.assertIn(word, shown)
        self.assertIn("poses a channel", self.session('help("set")\n', recipe).stdout)
        self.assertIn("parameter of the recipe\n  form: in which form", self.session('help("lift")\n', recipe).stdout)
        for word in ("reload", "why", "diff", "picture", "time", "record", "lift"):
            self.assertIn(f"\n{word}(", shown)
            self.assertIn(f"{word}(", self.session(f'help("{word}")\n').stdout)
        self.assertIn("gain: number or Channel", self.session('help("rig:twist")\n', recipe).stdout)
        self.assertIn("rotation(bone) quaternion(bone)", self.session("help(solve())\n", recipe).stdout)
        self.assertIn("What hangs from it", self.session('help(rig:find("goal_control"))\n', recipe).stdout)
        self.assertEqual(self.session('return 1, nil, "q"\n').stdout, '1\nnil\n"q"\n')

    def test_no_process_is_left_behind(self):
        for text, words in (("x = 1\nx = 2\nundo()\n", ()), ("error('no')\n", ()), ("", (self.path("none.lua"),))):
            subprocess.run([FID, "repl", *words], input=text, capture_output=True, text=True, timeout=60)
        process = subprocess.Popen([FID, "repl"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        process.stdin.write("x = 1\n1\n")
        process.stdin.flush()
        process.stdout.readline()
        process.kill()
        process.wait()
        process.stdin.close()
        # The states end with the process that asks: their end of the pipe is closed.
        self.assertEqual(process.stdout.read(), "")
        process.stdout.close()

    # Wrong words

    def test_wrong_words_get_the_nearest_right_one(self):
        self.refused(run("bild", HOBRUNDLE), 2, "no command 'bild'", "did you mean 'build'")
        self.refused(run("check", HOBRUNDLE, "--pose", "3"), 2, "no option '--pose'", "did you mean '--poses'")
        self.refused(run("check"), 2, "usage: fid check")
        self.refused(run("check", HOBRUNDLE, "x"), 2, "usage: fid check")
        self.refused(run("check", HOBRUNDLE, "--poses"), 2, "needs a value")
        self.refused(run("check", HOBRUNDLE, "--poses", "many"), 2, "takes a number")
        self.refused(run("check", HOBRUNDLE, "--only", "S20"), 2, "no rule 'S20'")
        self.refused(run("check", HOBRUNDLE, "--format", "jsn"), 2, "did you mean 'json'")
        self.refused(run("check", HOBRUNDLE, "--fail-on", "warnings"), 2, "did you mean 'warning'")
        self.refused(run("export", HOBRUNDLE, "--to", "skelton"), 2, "did you mean 'skeleton'")
        self.refused(run("export", HOBRUNDLE, "--to", "svg", "--view", "frnt"), 2, "did you mean 'front'")
        self.refused(run("export", HOBRUNDLE), 2, "export needs --to")
        self.refused(run("help", "folow"), 2, "did you mean 'follow'")
        self.refused(run("help", "rig:folow"), 2, "did you mean 'follow'")
        self.refused(run("build", "rig.txt"), 2, "neither a recipe (.lua) nor a skeleton file (.json)")

    def test_wrong_channels(self):
        recipe = self.write("arm.lua", ARM)

        def posed(text):
            return run("pose", recipe, "--set", text)
        self.refused(posed("gaol_control.translation.x=1"), 2, "did you mean 'goal_control'")
        self.refused(posed("goal_control.translation.w=1"), 2, "translation.w")
        self.refused(posed("goal_control.translation.x=nan"), 2, "no finite number")
        self.refused(posed("goal_control.translation.x=1e999"), 2, "no finite number")
        self.refused(posed("goal_control.translation.x=1e6"), 2, "10000 times the height")
        self.refused(posed("goal_control.scale.x=2"), 2, "not animatable", "'channels' of its bone does not name it")
        self.refused(posed("goal_control"), 2, "CHANNEL=VALUE")
        clamped = posed("goal_control.rotation.x=50")
        self.assertEqual(clamped.returncode, 0)
        self.assertIn("note: --set goal_control.rotation.x=50: clamped to 30", clamped.stderr)
        self.assertEqual(json.loads(clamped.stdout)["channels"]["goal_control.rotation.x"], 30)
        self.refused(run("show", recipe, "gaol_control"), 2, "no bone 'gaol_control'", "did you mean 'goal_control'")

    def test_a_choice_that_is_none_is_answered_with_all_of_them(self):
        recipe = self.write("ride.lua", HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0} }\nlocal b = rig:control { part = "b", at = {0, 0, 1} }\n'
                            'rig:spaces { bone = b, among = { {"rig", "rig"}, {"hook", a} } }\nreturn rig\n')
        self.refused(run("pose", recipe, "--set", "b_control.space=tail"), 2, "no choice of the slider: rig, hook")
        self.assertEqual(json.loads(run("pose", recipe, "--set", "b_control.space=hook").stdout)["channels"]["b_control.space"], 1)

    def test_an_option_with_one_value_is_not_given_twice(self):
        tried = 0
        for command in re.findall(r"^    (\w+)  ", run("help").stdout, re.M):
            for option, argument, doc in re.findall(r"^    (?:-\w, )?--([\w-]+) (\S+) +(.*)$", run("help", command).stdout, re.M):
                twice = run(command, "x.lua", "--" + option, "one", f"--{option}=two")
                if "may be given several times" in doc:
                    self.assertNotIn("given twice", twice.stderr, f"{command} --{option}")
                else:
                    self.refused(twice, 2, f"--{option} is given twice: 'one' and 'two'")
                    tried += 1
        self.assertGreater(tried, 30)
        # What stands for itself may be said again.
        self.assertEqual(run("version", "-q", "--quiet").returncode, 0)

    def test_a_check_tells_in_how_many_poses_it_tried(self):
        for code, poses in (("P410", 20), ("P411", 60), ("P413", 60), ("S202", 0)):
            self.assertIn(f"; {poses} poses tried\n", run("check", HOBRUNDLE, "--only", code, "--poses", "60").stdout, code)

    def test_a_switch_keeps_what_rides_where_it_is(self):
        recipe = self.write("ride.lua", HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0}, channels = {"translation", "rotation", "scale"} }\n'
                            'local b = rig:control { part = "b", at = {0, 0, 1}, rotation_range = { x = {-90, 90}, z = {-90, 90} } }\n'
                            'rig:spaces { bone = b, among = { {"rig", "rig"}, {"hook", a} } }\nreturn rig\n')
        pose, out, bad = self.path("p.json"), self.path("out.json"), self.path("bad.json")
        move = ("--set", "a_control.translation.y=0.4", "--set", "a_control.rotation.y=50", "--set", "a_control.scale.x=2", "--set", "b_control.rotation.z=30")
        before = run("pose", recipe, *move, "--write-pose", pose)
        kept = run("pose", recipe, "--pose", pose, "--match", "b_control.space=hook", "--write-pose", out)
        self.assertEqual((kept.returncode, kept.stderr), (0, ""))
        again = run("pose", recipe, "--pose", out)
        self.assertEqual(json.loads(again.stdout)["channels"]["b_control.space"], 1)
        for one, two, three in zip(*(json.loads(each.stdout)["bones"] for each in (before, kept, again))):
            for a, b, c in zip(one["matrix"], two["matrix"], three["matrix"]):
                self.assertAlmostEqual(a, b, delta=2e-5)
                self.assertAlmostEqual(b, c, delta=2e-5)
        far = run("pose", recipe, "--set", "a_control.rotation.z=120", "--match", "b_control.space=hook", "--write-pose", bad)
        self.assertEqual(far.returncode, 0)
        self.assertIn("note: --match b_control.space=hook: bone 'b_control' ends ", far.stderr)
        self.assertIn("rotation.z is held in its range", far.stderr)
        self.assertEqual(run("pose", recipe, "-q", "--set", "a_control.rotation.z=120", "--match", "b_control.space=hook").stderr, "")
        self.refused(run("pose", recipe, "--match", "b_control.space=tail"), 2, "no choice of the slider: rig, hook")
        self.refused(run("pose", recipe, "--match", "b_control.space=7"), 2, "7 is beyond the range of slider 'space', 0 to 1")
        self.refused(run("pose", recipe, "--match", "b_control.space=0.5"), 2, "0.5 is no choice of slider 'space': 0 to 1 stand for rig, hook")
        self.refused(run("pose", recipe, "--match", "b_control.rotation.z=7"), 2, "nothing is switched by that")
        self.refused(run("pose", recipe, "--match", "b_control.space"), 2, "--match takes SLIDER=CHOICE")

    # Files

    def test_files_that_cannot_be_read_or_written(self):
        recipe = self.write("arm.lua", ARM)
        os.mkdir(self.path("folder.lua"))
        self.refused(run("build", self.path("none.lua")), 3, "none.lua")
        self.refused(run("check", self.path("none.json")), 3, "none.json")
        self.refused(run("build", self.path("folder.lua")), 3, "folder.lua")
        self.refused(run("pose", recipe, "--pose", self.path("none.json")), 3, "none.json")
        self.refused(run("build", recipe, "-o", self.path("none/out.json")), 3, "none/out.json")
        self.refused(run("build", recipe, "-o", self.path("folder.lua")), 3, "folder.lua")
        self.refused(run("build", recipe, "-o", recipe), 2, "not written over")
        self.assertEqual(self.read(recipe), ARM)
        os.mkfifo(self.path("pipe.json"))
        self.refused(run("check", self.path("pipe.json")), 3, "pipe.json")
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["arm.lua", "folder.lua", "pipe.json"])

    def test_no_output_goes_onto_an_input_or_another_output(self):
        recipe, pose = self.write("arm.lua", ARM), self.path("p.json")
        self.assertEqual(run("pose", recipe, "--write-pose", pose, "-o", self.path("s.json")).returncode, 0)
        before = self.read(pose)
        move = ("--pose", pose, "--set", "goal_control.translation.y=0.5")
        self.refused(run("pose", recipe, *move, "-o", pose), 2, "p.json", "not written over")
        self.refused(run("pose", recipe, *move, "--write-pose", pose, "-o", self.path("new.json")), 2, "p.json", "not written over")
        self.refused(run("export", recipe, "--to", "svg", *move, "-o", pose), 2, "p.json", "not written over")
        self.refused(run("check", recipe, "--format", "json:" + recipe), 2, "arm.lua", "not written over")
        self.assertEqual((self.read(pose), self.read(recipe)), (before, ARM))
        both = self.path("both.json")
        self.refused(run("pose", recipe, "--write-pose", both, "-o", both), 2, "both go to", "both.json")
        self.refused(run("pose", recipe, "--write-pose", "-"), 2, "both go to standard output")
        self.refused(run("check", recipe, "--format", "text", "--format", "json"), 2, "same place")
        self.refused(run("check", recipe, "--format", "text:" + both, "--format", "json:" + both), 2, "same place")
        # Neither does a file that is not there yet, by another spelling or through a link to its folder.
        os.symlink(self.folder.name, self.path("again"))
        for spelled in (os.path.join(self.folder.name, ".", "both.json"), self.path("again/both.json"), os.path.relpath(both)):
            self.refused(run("pose", recipe, "--write-pose", both, "-o", spelled), 2, "both go to", "both.json")
            self.refused(run("check", recipe, "--format", "json:" + both, "--picture", spelled), 2, "same place")
            self.refused(run("check", recipe, "--format", "text:" + spelled, "--format", "json:" + both), 2, "same place")
        self.assertEqual(sorted(os.listdir(self.folder.name)), ["again", "arm.lua", "p.json", "s.json"])

    def test_what_grows_beyond_the_limit_of_files_is_taken_back(self):
        whole, most = self.path("h.json"), 4096
        told = run("build", HOBRUNDLE, "-o", whole, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)))
        self.refused(told, 3, "h.json", "cannot write")
        self.assertEqual(os.listdir(self.folder.name), [])

    def test_no_output_goes_onto_a_module_that_the_rig_was_built_with(self):
        post = 'local fid = require "fid"\nreturn fid.module { name = "post", version = "1.0.0", summary = "a post", params = {}, build = function(rig, p) rig:bone { part = "post", at = {0, 0, 0}, to = {0, 1, 0}, up = {0, 0, 1} } return {} end }'
        module = self.write("modules/post/module.lua", post)
        recipe = self.write("use.lua", HEAD + 'rig:use("post", { id = "one" })\nreturn rig\n')
        self.refused(run("build", recipe, "-o", module), 2, "module.lua", "not written over")
        self.refused(run("build", "use.lua", "-o", "modules/post/module.lua", cwd=self.folder.name), 2, "module.lua", "not written over")
        self.assertEqual(self.read(module), post)
        shown = run("show", os.path.join(self.folder.name, "modules", "..", "use.lua"), "one_post_deform").stdout
        self.assertIn(f"written at {module}:2 (one of post 1.0.0), used at {recipe}:3\n", shown)

    def test_control_characters_in_names_of_files_and_keys_do_not_reach_the_terminal(self):
        self.refused(run("build", self.path("no\x1b[31m.lua")), 3, "no?[31m.lua")
        self.refused(run("bi\x1b[31mld"), 2, "bi?[31mld")
        self.refused(run("build", self.path("no\x9b31m\udce9\u00e9.lua")), 3, "no?31m?\u00e9.lua")
        says = self.write("says.lua", 'print("a\\x1b[31m\\xc2\\x9b\\xff\\tb\\nc\\xc3\\xa9")\nreturn require "fid".rig { name = "says", height = 1 }\n')
        self.assertEqual(run("build", "-q", says).stderr, "a?[31m??\tb\nc\u00e9\n")
        recipe = self.write("arm.lua", ARM)
        pose = self.write("p.json", '{"format": "fid-pose", "version": 1, "values": {"a\\u001b[31m": {"rotation": [0, 0, 0]}}}')
        self.refused(run("pose", recipe, "--pose", pose), 2, "a?[31m")

    def test_options_that_would_do_nothing_are_refused(self):
        recipe, skeleton = self.write("arm.lua", ARM), self.path("arm.json")
        self.assertEqual(run("build", recipe, "-o", skeleton).returncode, 0)
        self.refused(run("check", skeleton, "--param", "height=2"), 2, "--param is for recipes")
        self.refused(run("show", recipe, "--set", "goal_control.translation.x=1"), 2, "fid show FILE NAME")
        for option in (("--set", "goal_control.translation.x=1"), ("--pose", "p.json"), ("--view", "front")):
            self.refused(run("export", recipe, "--to", "skeleton", *option), 2, option[0] + " is for pictures")
        self.refused(run("pose", recipe, "--bones", "leg*"), 2, "--bones leg*: matches the name or address of no bone")
        self.refused(run("pose", recipe, "--bones", "gaol_control"), 2, "did you mean 'goal_control'")
        self.refused(run("check", recipe, "--poses", "1.5"), 2, "whole number")
        self.refused(run("check", recipe, "--seed", "0.5"), 2, "whole number")
        self.refused(run("check", recipe, "--seed", "-1"), 2, "from 0 to")

    def test_quiet_leaves_errors_and_data_only(self):
        recipe = self.write("arm.lua", ARM)
        pose = self.write("p.json", '{"format": "fid-pose", "version": 1, "values": {"goal_control": {"rotation": [50, 0, 0]}}}')
        loud, quiet = run("pose", recipe, "--pose", pose), run("pose", recipe, "--pose", pose, "--quiet")
        self.assertIn("p.json: /values/goal_control/rotation/0: note:", loud.stderr)
        self.assertEqual((quiet.returncode, quiet.stderr, quiet.stdout), (0, "", loud.stdout))
        self.assertEqual(run("check", recipe, "-q").stdout, "")
        self.refused(run("build", self.path("none.lua"), "-q"), 3, "none.lua")

    def test_an_old_file_stays_where_a_build_fails(self):
        out = self.write("out.json", "old")
        self.refused(run("build", self.write("bad.lua", "return 5"), "-o", out), 2)
        self.assertEqual(self.read(out), "old")

    def test_standard_output_that_is_full_or_gone(self):
        recipe = self.write("arm.lua", ARM)
        with open("/dev/full", "w") as full:
            result = subprocess.run([FID, "build", recipe], stdout=full, stderr=subprocess.PIPE, text=True)
        self.assertEqual(result.returncode, 3)
        self.assertIn("standard output cannot be written", result.stderr)
        reader, writer = os.pipe()
        os.close(reader)
        result = subprocess.run([FID, "build", recipe], stdout=writer, stderr=subprocess.PIPE, text=True)
        os.close(writer)
        self.assertEqual(result.returncode, 3)

    # Recipes

    def test_a_typo_a_wrong_type_and_numbers_that_are_none(self):
        self.refused_recipe(HEAD + 'rig:bone { part = "a", prent = rig, at = {0, 0, 0}, to = {0, 0, 1} }', "bad.lua:3: error:", "no argument 'prent'", "did you mean 'parent'")
        self.refused_recipe(HEAD + 'rig:bone { part = 5, at = {0, 0, 0}, to = {0, 0, 1} }', "bad.lua:3: error:", "part")
        self.refused_recipe(HEAD + 'rig:bone { part = "a", at = {0, 0, 0/0}, to = {0, 0, 1} }', "bad.lua:3: error:", "'at'", "finite")
        self.refused_recipe(HEAD + 'rig:bone { part = "a", at = {0, 0}, to = {0, 0, 1} }', "bad.lua:3: error:", "'at'", "three numbers")
        self.refused_recipe(HEAD + 'rig:bon { part = "a" }', "bad.lua:3: error:", "did you mean 'bone'")
        self.refused_recipe("local fid = require \"fid\"\nreturn fid.rig { name = \"x\", height = 1/0 }", "bad.lua:2: error:", "height")
        self.refused_recipe("return 5", "it must return a rig")
        self.refused_recipe("x = = 5", "bad.lua:1: error:")
        self.refused_recipe(HEAD + "\nlocal x = nil\nreturn x.y", "bad.lua:5: error:", "index")

    def test_a_missing_guide_names_the_parameter(self):
        self.refused_recipe(HEAD + 'rig:use("stretch_leg", { id = "leg1", side = "left" })\nreturn rig', "bad.lua:3", "guides")
        self.refused_recipe(HEAD + 'local g = fid.data("none.json")\nreturn rig', "bad.lua:3", "none.json", status=3)

    def test_an_error_inside_a_module_has_its_trail_and_a_remedy(self):
        self.refused_recipe(HEAD + 'local root = rig:control { part = "root", at = {0, 0, 0} }\nrig:use("stretch_leg", { id = "leg1", side = "left", parent = root, guides = { {0, 1, 0}, {0, 0.5, 0.01}, {0, 0, 0} } })\nreturn rig\n',
                            "in leg1 (left) of stretch_leg 1.1.0, used at", "bad.lua:4", "to mend:", "3 degrees")

    def test_what_a_recipe_reads_is_named_with_the_line_that_reads_it(self):
        self.write("guides.json", '{"a": [1, 2')
        self.write("pose.json", '{"format": "fid-pose", "version": 1, "values": {"a_control": {"rotation": [1, 2]}}}')
        self.write("modules/five/module.lua", 'local fid = require "fid"\nreturn fid.module { name = "five", version = "1.0.0", summary = "wrong", params = {}, build = function() return 5 end }\n')
        self.write("a.lua", "return 1")

        def refused(line, *parts):
            self.refused(run("build", self.write("bad.lua", HEAD + 'rig:control { part = "a", at = {0, 0, 0} }\n' + line)), 2, *parts)
        refused('fid.data("guides.json")', "guides.json:1: error: the file ends", "    read at ", "bad.lua:4\n")
        refused('rig:pose("pose.json")', "bad.lua:4: error: ", "(pose.json: /values/a_control/rotation)")
        refused('rig:use("five", { id = "one" })', "its build must return a table of results, not a number")
        refused('require "a\\0b"', "bad.lua:4: error: require takes")

    def test_a_cycle_and_a_clash_of_names_name_both_lines(self):
        cycle = HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0} }\nlocal b = rig:control { part = "b", at = {0, 0, 1}, parent = a }\nrig:aim { bone = a, source = b }\nreturn rig\n'
        self.refused_recipe(cycle, "[S201]", "a_control needs b_control for 'a/control:aim'", "b_control needs a_control as its parent", "bad.lua:5", "bad.lua:4")
        self.refused_recipe(HEAD + 'local a = rig:control { part = "a", at = {0, 0, 0} }\nlocal x, y = a.channel["translation.x"], a.channel["translation.y"]\n'
                            'rig:drive { to = x, from = y }\nrig:drive { to = y, from = x }\nreturn rig\n', "bad.lua:5: error: a cycle:", "for a drive (bad.lua:6)", "[S201]")
        recipe = self.write("bad.lua", cycle)
        checked = run("check", recipe)
        self.assertEqual(checked.returncode, 1)
        self.assertIn("[S201]", checked.stdout)
        os.remove(recipe)
        self.refused_recipe(HEAD + 'rig:bone { part = "a", at = {0, 0, 0}, to = {0, 0, 1} }\nrig:bone { part = "a", at = {0, 0, 0}, to = {0, 1, 0} }', "bad.lua:4", "bad.lua:3", "a_deform")

    def test_loops_memory_and_binary_chunks(self):
        self.refused_recipe("while true do end", "bad.lua:1", "--max-instructions", options=("--max-instructions", "1e6"))
        self.refused_recipe("while true do end", "--max-seconds", options=("--max-seconds", "0.3"))
        self.refused_recipe("local s = ('x'):rep(10 * 1024 * 1024 * 1024)", "bad.lua")
        self.refused_recipe("local t = {}\nfor i = 1, 1e9 do t[i] = {i} end", "--max-memory", options=("--max-memory", "32M"))
        self.refused_recipe(b"\x1bLua\x54\x00", "only Lua text is read")
        self.refused_recipe(b"return '\xff'", "UTF-8")
        self.refused_recipe("local function f() return f() + 1 end\nf()", "nested too deeply")

    def test_handles_of_what_was_taken_back_are_errors(self):
        uses = ("t.bone.name", "t.bone:point(0.5)", "t.slider.name", "t.aim.weight", "t.chain[1].name", "t.layer.address", "#t.chain:points()",
                "rig:follow { bone = t.bone, source = t.bone }", "rig:drive { to = t.slider, from = t.slider }", "rig:ik { chain = t.chain, goal = t.bone }",
                "rig:control { part = 'c', parent = t.bone, at = {0, 0, 0} }", "rig:bone { part = 'b', parent = t.bone, at = {0, 0, 0}, to = {0, 0, 1} }")
        made = ('t.bone = rig:control { part = "hand", at = {0, 0, 0} } t.slider = rig:slider { on = t.bone, name = "by" } '
                't.chain = rig:chain { part = "leg", points = { {0, 0, 0}, {0, 0.4, 0.9}, {0, 0, 1.8} }, with_end = true } '
                't.aim = rig:aim { bone = t.bone, source = t.chain[2] } '
                't.layer = rig:pose_layer { name = "l", by = t.slider, poses = { { at = 1, pose = { [t.bone] = { scale = 2 } } } } }')
        # A module keeps the handles of its first build, which fails, and uses them in later ones.
        self.write("modules/keeps/module.lua", 'local fid = require "fid"\nlocal t = {}\nlocal uses = {\n' +
                   "".join(f"  function(rig) local _ = {use} end,\n" for use in uses) +
                   '}\nreturn fid.module { name = "keeps", version = "1.0.0", summary = "keeps", params = { n = { type = "integer", default = 0, doc = "which use" } },\n'
                   f'  build = function(rig, p)\n    if p.n == 0 then {made} error("no") end\n'
                   '    if p.n > 20 then rig:control { part = "hand", at = {0, 0, 0} } p.n = p.n - 20 end\n    uses[p.n](rig)\n    return {}\n  end }\n')
        recipe = self.write("keeps.lua", HEAD + f"""
assert(not pcall(function() rig:use("keeps", {{ id = "a" }}) end))
for n = 1, {len(uses)} do
  for _, more in ipairs {{ 0, 20 }} do -- also after another bone has taken the place
    local good, err = pcall(function() rig:use("keeps", {{ id = "b" .. n, n = n + more }}) end)
    assert(not good and tostring(err):find("gone", 1, true), n .. " " .. tostring(err))
  end
end
assert(#rig:bones {{}} == 0)
rig:control {{ part = "root", at = {{0, 0, 0}} }}
return rig
""")
        built = run("build", recipe)
        self.assertEqual(built.returncode, 0, built.stderr)

    # Skeleton files

    def refused_file(self, text, *parts):
        skeleton, out = self.write("bad.json", text), self.path("out.json")
        self.refused(run("export", skeleton, "--to", "skeleton", "-o", out), 2, *parts)
        self.assertFalse(os.path.exists(out))

    def test_skeleton_files_are_read_strictly(self):
        text = run("build", self.write("arm.lua", ARM)).stdout
        for cut in list(range(0, len(text) - 1, 211)) + [1, len(text) - 3]:
            self.refused_file(text[:cut], "bad.json")
        self.refused_file(text.replace('"version": 1', '"version": 2', 1), "version")
        self.refused_file(text.replace('"goal": "goal_control"', '"goal": "gaol_control"'), "/constraints/0/goal: error:", "no bone 'gaol_control'", "[S201]")
        self.refused_file(text.replace('"height": 1,', '"height": 1, "height": 2,'), "height", "twice")
        self.refused_file(text.replace('"soft": 0.02', '"soft": 1e999'), "bad.json")
        self.refused_file(text.replace('"soft": 0.02', '"soft": 7'), "/constraints/0", "soft")
        self.refused_file(text.replace('"soft"', '"sofd"'), "did you mean 'soft'")
        self.refused_file("[" * 1000000, "bad.json:1", "more than 64 objects and lists in each other")
        self.refused_file(text + "x", "bad.json")
        self.refused_file("\ufeff" + text, "bad.json")


if __name__ == "__main__":
    unittest.main()
