#!/usr/bin/env python3
"""What was typed on a terminal is there again in the next session of the same folder."""
import fcntl
import os
import stat
import subprocess
import unittest

from screen import Screen
from support import FID
from terminal import Terminal

HEAD = "fid history 1\n"


class History(Terminal):
    def project(self, text=None):
        """Makes the folder a project; the path of what it keeps."""
        os.mkdir(self.path(".fid"))
        return self.path(".fid/history") if text is None else self.write(".fid/history", text)

    def enter(self, *forms, **more):
        """A session in which forms are typed."""
        self.open(**more)
        for form in forms:
            self.type(form + "\r")
        self.assertEqual(self.leave(), 0)

    def kept(self):
        """All files that are kept below the home of states."""
        return [os.path.join(folder, name) for folder, _, names in os.walk(self.path("state")) for name in names if not name.endswith(".lock")]

    def test_a_project_keeps_its_forms_for_the_user_alone(self):
        file = self.project()
        self.enter("6 * 7", "x = 'ä→'")
        self.assertEqual(self.read(file), HEAD + "+ 6 * 7\n+ x = 'ä→'\n")
        self.assertEqual(stat.S_IMODE(os.stat(file).st_mode), 0o600)
        self.assertFalse(os.path.exists(self.path("state")))

    def test_a_form_of_several_lines_is_recalled_whole_and_changed(self):
        self.project(HEAD + "+ 1\n+ for i = 1, 2 do\n    print(i)\n  end\n")
        screen = Screen(20, 60, True)
        self.open(size=(20, 60), screen=screen)
        self.type("\x1b[A", None)
        self.wait(lambda: screen.text() == "fid> for i = 1, 2 do\n  print(i)\nend")
        self.type("\x01" + "\x06" * 11 + "3 * ", None)
        self.wait(lambda: screen.text() == "fid> for i = 1, 3 * 2 do\n  print(i)\nend")
        self.assertIn("\n1\n2\n3\n4\n5\n6\n", self.type("\r"))
        self.assertEqual(self.leave(), 0)
        self.assertTrue(self.read(self.path(".fid/history")).endswith("+ for i = 1, 3 * 2 do\n    print(i)\n  end\n"))

    def test_ctrl_r_finds_an_earlier_form(self):
        self.project(HEAD + "+ 6 * 7\n+ 2\n")
        self.open()
        self.type("\x126 *", None)
        self.assertIn("\n42\n", self.type("\r"))
        self.assertEqual(self.leave(), 0)

    def test_a_recipe_below_a_project_belongs_to_it(self):
        file = self.project()
        recipe = self.write("rigs/marsh/one.lua", 'local fid = require "fid"\nreturn fid.rig { name = "one", height = 1 }\n')
        self.open(recipe)
        self.type("7\r")
        self.assertEqual(self.leave(), 0)
        self.assertEqual(self.read(file), HEAD + "+ 7\n")

    def test_each_folder_that_is_no_project_has_its_own(self):
        self.enter("11")
        self.assertEqual([self.read(file) for file in self.kept()], [HEAD + "+ 11\n"])
        self.assertTrue(self.kept()[0].startswith(self.path("state/fid/history/")))
        other = self.write("other/one.lua", 'local fid = require "fid"\nreturn fid.rig { name = "one", height = 1 }\n')
        self.open(other)
        self.type("22\r")
        self.assertEqual(self.leave(), 0)
        self.assertEqual(sorted(self.read(file) for file in self.kept()), [HEAD + "+ 11\n", HEAD + "+ 22\n"])

    def test_without_a_home_of_states_it_is_in_the_home(self):
        # XDG Base Directory Specification 0.8: $HOME/.local/state where it is empty; relative paths are ignored.
        for given in ("", "relative"):
            with self.subTest(given=given):
                self.enter("3", env={"XDG_STATE_HOME": given, "HOME": self.path("home" + given)})
                folder = self.path("home" + given + "/.local/state/fid/history")
                names = [name for name in os.listdir(folder) if not name.endswith(".lock")]
                self.assertEqual([self.read(os.path.join(folder, name)) for name in names], [HEAD + "+ 3\n"])
        self.assertFalse(os.path.exists(self.path("relative")))

    def test_several_sessions_at_once_lose_nothing(self):
        file = self.project()
        sessions = []
        for _ in range(4):
            self.open()
            sessions.append((self.process, self.screen))
        for number, (_, screen) in enumerate(sessions):
            os.write(screen, "".join(f"{number} * 100 + {i}\r" for i in range(15)).encode())
        for self.process, self.screen in sessions:
            self.see(f"14\r\nfid> ", 30)
            self.assertEqual(self.leave(), 0)
        forms = self.read(file).splitlines()[1:]
        self.assertEqual(sorted(forms), sorted(f"+ {number} * 100 + {i}" for number in range(4) for i in range(15)))

    def test_the_latest_thousand_are_kept_and_at_most_a_megabyte(self):
        file = self.project(HEAD + "".join(f"+ {i}\n" for i in range(1500)))
        self.enter("'last'")
        self.assertEqual(self.read(file), HEAD + "".join(f"+ {i}\n" for i in range(501, 1500)) + "+ 'last'\n")
        self.write(".fid/history", HEAD + "".join(f"+ -- {i:05}{'x' * 49990}\n" for i in range(30)))
        self.enter("'last'")
        text = self.read(file)
        self.assertLess(len(text), 1100000)
        self.assertTrue(text.endswith("+ 'last'\n"))
        self.assertEqual(text.count("+ -- "), 20)

    def test_the_same_form_again_is_kept_once(self):
        file = self.project()
        self.enter("5", "5", "6", "5")
        self.assertEqual(self.read(file), HEAD + "+ 5\n+ 6\n+ 5\n")

    def test_a_damaged_file_is_told_and_put_aside(self):
        for text, line in ((b"\x00\xff", 1), (b"something else\n", 1), (HEAD.encode() + b"+ 1\nx 2\n", 3), (HEAD.encode() + b"  2\n", 2), (HEAD.encode() + b"+ 1", 1)):
            with self.subTest(text=text):
                file = self.write(".fid/history", text)
                before = len(os.listdir(self.path(".fid")))
                self.open()
                self.type("1\r")
                self.assertIn(f"fid: warning: the earlier forms in '{os.path.realpath(file)}' cannot be read from line {line} on; the file is '", self.begun)
                self.assertEqual(self.leave(), 0)
                self.assertEqual(self.read(file), HEAD + "+ 1\n")
                aside = [name for name in os.listdir(self.path(".fid")) if "damaged" in name]
                self.assertGreaterEqual(len(os.listdir(self.path(".fid"))), before + 1)
                kept = []
                for name in aside:
                    with open(self.path(".fid/" + name), "rb") as one:
                        kept.append(one.read())
                self.assertIn(text, kept)

    def test_who_holds_the_lock_for_good_keeps_nobody_from_typing(self):
        self.project()
        with open(self.path(".fid/history.lock"), "w", encoding="utf-8") as lock:
            fcntl.lockf(lock, fcntl.LOCK_EX)
            self.open()
            shown = self.type("6 * 7\r")
            self.assertIn("fid: warning: what is typed is not kept: ", shown)
            self.assertIn("\n42\n", shown)
            self.assertNotIn("warning", self.type("6 * 8\r"))
            self.assertEqual(self.leave(), 0)

    def test_a_pipe_keeps_nothing(self):
        self.project()
        env = dict(os.environ, XDG_STATE_HOME=self.path("state"))
        result = subprocess.run([FID, "repl"], input="1\n", capture_output=True, text=True, timeout=60, cwd=self.folder.name, env=env)
        self.assertEqual((result.stdout, result.returncode), ("1\n", 0))
        self.assertEqual((os.listdir(self.path(".fid")), os.path.exists(self.path("state"))), ([], False))


if __name__ == "__main__":
    unittest.main()
