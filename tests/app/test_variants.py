#!/usr/bin/env python3
"""fid build --variants: many skeletons of one recipe, a table of what became of them, and runs that go on where they were."""
import csv
import hashlib
import json
import os
import signal
import subprocess
import time
import unittest

from support import FID, HOBRUNDLE, Case, run

POST = '''local fid = require "fid"
return fid.recipe {
  params = {
    height = { type = "number", default = 1, min = 0.1, max = 10, unit = "m", doc = "of the post" },
    cap = { type = "boolean", default = false, doc = "whether it has a cap" },
    wood = { type = "choice", choices = { "oak", "ash", "stone" }, default = "oak", doc = "what it is of" },
    path = { type = "points", optional = true, doc = "more posts" },
  },
  build = function(p)
    if p.wood == "stone" then while true do end end
    if p.wood == "ash" then print("ash it is") end
    local rig = fid.rig { name = "post", height = p.height }
    local root = rig:control { part = "root", at = {0, 0, 0}, size = p.height / 4, placement = true }
    local post = rig:bone { part = "post", parent = root, at = {0, 0, 0}, to = {0, p.height, 0} }
    if p.cap then rig:bone { part = "cap", parent = post, at = {0, p.height, 0}, to = {0, p.height * 1.1, 0} } end
    for i, at in ipairs(p.path or {}) do rig:bone { part = "post", index = i, parent = root, at = at, to = at + fid.vec(0, 1, 0) } end
    return rig
  end,
}
'''


class Variants(Case):
    def build(self, table, *words, recipe=POST, name="posts.csv", out="out"):
        self.folder_out = self.path(out)
        return run("build", self.write("post.lua", recipe), "--variants", self.write(name, table), "--out-dir", self.folder_out, *words)

    def results(self, name="results.csv"):
        with open(os.path.join(self.folder_out, name), newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def test_each_row_is_what_build_makes_of_its_parameters(self):
        done = self.build("name,height,cap,wood\nlow,0.5,,\ntall,3,true,oak\n", "--poses", "20")
        self.assertEqual((done.returncode, done.stdout), (0, ""), done.stderr)
        alone = run("build", self.path("post.lua"), "--param", "height=3", "--param", "cap=true")
        with open(os.path.join(self.folder_out, "tall.json"), encoding="utf-8") as file:
            text = file.read()
        self.assertEqual(text, alone.stdout)
        low, tall = self.results()
        self.assertEqual([low["name"], low["result"], low["bones"], low["deform_bones"], low["errors"], low["poses"]], ["low", "built", "2", "1", "0", "20"])
        self.assertEqual([tall["name"], tall["bones"], tall["deform_bones"]], ["tall", "3", "2"])
        self.assertEqual(tall["sha256"], hashlib.sha256(text.encode()).hexdigest())
        self.assertGreater(float(tall["seconds"]), 0)

    def test_numbers_of_a_table_may_have_their_unit(self):
        done = self.build("name,height\nplain,1.8\ncm,180 cm\nmm,1800mm\n", "--poses", "0")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(len({row["sha256"] for row in self.results()}), 1)
        for value in ("90deg", "6 ft"):
            wrong = self.build(json.dumps([{"name": "odd", "height": value}]), "--poses", "0", name="posts.json")
            self.assertEqual(wrong.returncode, 2)
            self.assertIn(f"'height' is in m, and '{value}' is in ", wrong.stderr)
            self.assertIn("write the number in m, cm or mm", wrong.stderr)

    def test_a_json_table_gives_lists_too(self):
        table = json.dumps([{"name": "row", "path": [[1, 0, 0], [2, 0, 0]], "wood": None}, {"name": "one", "height": 2}])
        done = self.build(table, "--poses", "0", name="posts.json")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual([row["bones"] for row in self.results()], ["4", "2"])

    def test_one_failure_does_not_stop_the_rest(self):
        done = self.build("name,height,wood\na,0.5,\nb,30,\nc,1,elm\nd,2,ash\ne,1,stone\nf,1,\n", "--poses", "0", "--max-instructions", "1e6")
        self.assertEqual(done.returncode, 2)
        rows = self.results()
        self.assertEqual([row["result"] for row in rows], ["built", "failed", "failed", "built", "failed", "built"])
        self.assertIn("'height' is 30; it must be a number from 0.1 to 10 in m", rows[1]["message"])
        self.assertIn("elm", rows[2]["message"])
        self.assertEqual([rows[1]["sha256"], rows[1]["bones"]], ["", ""])
        self.assertEqual(sorted(os.listdir(self.folder_out)), ["a.json", "d.json", "f.json", "results.csv"])
        # Messages come in the order of the table, each below the line of its variant.
        heads = [line for line in done.stderr.splitlines() if "variant '" in line]
        self.assertEqual([head.split("posts.csv")[1] for head in heads], [":3: variant 'b':", ":4: variant 'c':", ":5: variant 'd':", ":6: variant 'e':"])
        self.assertIn("3 variants built (0 as before), 3 failed", done.stderr)

    def test_a_variant_that_is_killed_is_told_and_the_rest_stands(self):
        table = "name,wood\na,oak\nb,stone\nc,oak\n"
        done = self.build(table, "--max-seconds", "0.3", "--max-instructions", "1e15", "--poses", "0", "--jobs", "1")
        self.assertEqual(done.returncode, 2)
        self.assertEqual([row["result"] for row in self.results()], ["built", "failed", "built"])
        self.assertIn("second", self.results()[1]["message"])

    def test_the_number_of_jobs_changes_nothing(self):
        table = "name,height\n" + "".join(f"v{i},{0.5 + i / 10}\n" for i in range(12))
        seen = []
        for jobs in ("1", "2", "7"):
            self.assertEqual(self.build(table, "--jobs", jobs, "--poses", "5", out="out" + jobs).returncode, 0)
            rows = self.results()
            seen.append([{key: value for key, value in row.items() if key != "seconds"} for row in rows])
        self.assertEqual(seen[0], seen[1])
        self.assertEqual(seen[0], seen[2])
        self.assertEqual([row["name"] for row in seen[0]], [f"v{i}" for i in range(12)])

    def test_what_is_the_same_is_not_checked_again(self):
        table = "name,height\na,0.5\nb,1\n"
        self.assertEqual(self.build(table).returncode, 0)
        seconds = [row["seconds"] for row in self.results()]
        before = os.stat(os.path.join(self.folder_out, "a.json")).st_mtime_ns
        again = self.build(table)
        self.assertIn("2 variants built (2 as before)", again.stderr)
        self.assertEqual([row["seconds"] for row in self.results()], seconds)
        self.assertEqual(os.stat(os.path.join(self.folder_out, "a.json")).st_mtime_ns, before)
        changed = self.build(table, recipe=POST.replace("p.height / 4", "p.height / 5"))
        self.assertIn("2 variants built (0 as before)", changed.stderr)
        more = self.build(table, "--poses", "7", recipe=POST.replace("p.height / 4", "p.height / 5"))
        self.assertIn("2 variants built (0 as before)", more.stderr)
        # A skeleton that was changed by hand is put right.
        with open(os.path.join(self.folder_out, "a.json"), "a", encoding="utf-8") as file:
            file.write(" ")
        self.assertEqual(self.build(table).returncode, 0)
        self.assertEqual(self.results()[0]["sha256"], hashlib.sha256(open(os.path.join(self.folder_out, "a.json"), "rb").read()).hexdigest())

    def test_a_run_that_is_killed_goes_on_where_it_was(self):
        rows = 40
        table = "name,height\n" + "".join(f"v{i},{0.5 + i / 10}\n" for i in range(rows))
        slow = POST.replace('if p.wood == "stone"', "for i = 1, 1e6 do end if p.wood == 'stone'")
        words = [FID, "build", self.write("post.lua", slow), "--variants", self.write("posts.csv", table), "--out-dir", self.path("out"), "--jobs", "1"]
        process = subprocess.Popen(words, stderr=subprocess.DEVNULL, start_new_session=True)
        until = time.time() + 50
        while not os.path.exists(self.path("out/results.csv")) and time.time() < until:
            time.sleep(0.01)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        # What it had started is gone only once the system has taken note.
        try:
            while time.time() < until:
                os.killpg(process.pid, 0)
                time.sleep(0.01)
        except ProcessLookupError:
            pass
        self.folder_out = self.path("out")
        done = len(self.results())
        self.assertGreater(done, 0)
        again = run(*words[1:])
        self.assertEqual(again.returncode, 0, again.stderr)
        self.assertEqual(len(self.results()), rows)
        kept = int(again.stderr.split("(")[1].split(" ")[0])
        self.assertGreaterEqual(kept, done)
        self.assertEqual([name for name in os.listdir(self.folder_out) if not name.endswith((".json", ".csv"))], [])

    def test_parts_of_a_table_together_are_the_whole(self):
        table = "name,height\n" + "".join(f"v{i},{0.5 + i / 10}\n" for i in range(7))
        for part in (1, 2, 3):
            self.assertEqual(self.build(table, "--part", f"{part}/3", "--poses", "5").returncode, 0)
        names = [[row["name"] for row in self.results(f"results-{part}-of-3.csv")] for part in (1, 2, 3)]
        self.assertEqual(names, [["v0", "v3", "v6"], ["v1", "v4"], ["v2", "v5"]])
        whole = self.build(table, "--poses", "5")
        self.assertIn("7 variants built (7 as before), 0 failed", whole.stderr)
        self.assertEqual(len(self.results()), 7)
        beyond = self.build("name\nonly\n", "--part", "2/2", out="beyond")
        self.assertEqual((beyond.returncode, self.results("results-2-of-2.csv")), (0, []))

    def test_wrong_usage_is_told_before_anything_is_written(self):
        good = "name,height\na,1\n"
        recipe, table = self.write("post.lua", POST), self.write("posts.csv", good)
        out = self.path("out")
        for words, parts in (
                (["--variants", table], ["--variants needs --out-dir"]),
                (["--out-dir", out], ["--out-dir goes with --variants"]),
                (["--jobs", "2"], ["--jobs goes with --variants"]),
                (["--part", "1/2"], ["--part goes with --variants"]),
                (["--variants", table, "--out-dir", out, "-o", "x.json"], ["leave --output out"]),
                (["--variants", table, "--out-dir", out, "--jobs", "0"], ["--jobs takes a number from 1"]),
                (["--variants", table, "--out-dir", out, "--part", "3/2"], ["--part takes PART/PARTS"]),
                (["--variants", table, "--out-dir", out, "--part", "x"], ["--part takes PART/PARTS"]),
                (["--variants", table, "--out-dir", out, "--param", "height=2"], ["--param height is in the table, too"]),
                (["--variants", self.write("two.csv", "name\na\na\n"), "--out-dir", out], ["two.csv:3: error: two variants are called 'a'"])):
            with self.subTest(words):
                self.refused(run("build", recipe, *words), 2, *parts)
                self.assertFalse(os.path.exists(out))
        self.refused(run("build", recipe, "--variants", self.path("none.csv"), "--out-dir", out), 3, "none.csv")
        self.refused(run("build", recipe, "--variants", table, "--out-dir", self.path("a/b")), 3, "cannot be made")

    def test_nothing_goes_onto_an_input(self):
        recipe = self.write("out/post.lua", POST)
        table = self.write("out/v.json", '[{"name": "v"}]')
        self.refused(run("build", recipe, "--variants", table, "--out-dir", self.path("out")), 2, "would go onto the table")
        guides = self.write("out/guides.json", "[1]")
        reads = self.write("out/reads.lua", POST.replace("build = function(p)", 'build = function(p) fid.data("guides.json")'))
        done = run("build", reads, "--variants", self.write("t.csv", "name\nguides\n"), "--out-dir", self.path("out"))
        self.assertEqual(done.returncode, 2)
        self.assertIn("is an input of this command", done.stderr)
        self.assertEqual(self.read(guides), "[1]")
        results = self.write("out/results.csv", "name\nx\n")
        self.refused(run("build", recipe, "--variants", results, "--out-dir", self.path("out")), 2, "onto the table")

    def test_a_folder_that_cannot_be_written_is_status_3(self):
        out = self.path("out")
        os.makedirs(os.path.join(out, "a.json"))
        done = self.build("name\na\nb\n", "--poses", "0")
        self.assertEqual(done.returncode, 3)
        self.assertEqual([row["result"] for row in self.results()], ["failed", "built"])


if __name__ == "__main__":
    unittest.main()
