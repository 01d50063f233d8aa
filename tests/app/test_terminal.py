#!/usr/bin/env python3
"""A session on a terminal: what is typed, Ctrl-C, recalled forms and the end of input, by the screen; and what holds a session, ended from outside."""
import os
import signal
import subprocess
import time
import unittest

from screen import Screen
from support import ARM, FID, Case
from terminal import Terminal


class Typing(Terminal):
    def test_what_is_typed_runs_and_the_end_of_input_leaves(self):
        self.open(self.write("arm.lua", ARM))
        self.assertIn("\n42\n", self.type("6 * 7\r"))
        self.assertIn('\n"ä→"\n', self.type("'ä→'\r"))
        self.assertIn("\n0.5\n", self.type('set("goal_control.translation.y", 0.5)\rget("goal_control.translation.y")\r', "0.5\r\nfid> "))
        self.assertEqual(self.leave(), 0)

    def test_ctrl_c_leaves_the_line_and_not_the_session(self):
        self.open()
        self.type("x = 41\r")
        self.type("half a form\x03")
        self.type("for i = 1, 2 do\r", "   > ")
        self.type("\x03")
        self.assertIn("\n42\n", self.type("x + 1\r"))
        self.assertEqual(self.leave(), 0)

    def test_what_is_typed_right_after_ctrl_c_belongs_to_the_next_line(self):
        self.open()
        for _ in range(20):
            shown = self.type("1 + \x03'kept'\r", '"kept"\r\nfid> ')
            self.assertIn("1 + \n", shown)
        self.assertIn("\n42\n", self.type("for i = 1, 2 do\r\x036 * 7\r", "\r\n42\r\nfid> "))
        self.assertEqual(self.leave(), 0)

    def test_a_signal_from_outside_leaves_the_line_as_ctrl_c_does(self):
        self.open()
        self.type("half", "half")
        os.kill(self.process, signal.SIGINT)
        self.see("fid> ")
        self.assertIn("\n42\n", self.type("6 * 7\r"))
        self.assertEqual(self.leave(), 0)

    def test_a_long_line_is_shown_and_edited_in_a_window_that_changes_its_width(self):
        for keeps_lines_whole in (True, False):
            with self.subTest(keeps_lines_whole=keeps_lines_whole):
                screen = Screen(20, 60, keeps_lines_whole)
                self.open(size=(20, 60), screen=screen)
                text = "'" + "äö→é" * 18 + "'"
                self.type(text, text[-1])
                for columns in (30, 44, 110):
                    screen.resize(20, columns)
                    self.resize(20, columns)
                    self.wait(lambda: screen.shows("fid> " + text))
                    # In the middle of the line, and back at its end.
                    self.type("\x02" * 40 + "ß" + "\x05", None)
                    text = text[:-40] + "ß" + text[-40:]
                    self.wait(lambda: screen.shows("fid> " + text))
                self.assertIn('\n"' + text[1:-1] + '"\n', self.type("\r"))
                self.assertEqual(self.leave(), 0)

    def test_ctrl_z_goes_to_the_shell_and_the_line_is_there_afterwards(self):
        self.open(program=["/bin/sh", "-i"], env={"PS1": "shell: "}, prompt="shell: ")
        self.type(f"{FID} repl\r")
        self.type("x = 4", "x = 4")
        self.type("\x1a", "shell: ")
        self.assertIn("\nthe shell\n", self.type("echo the shell\r", "shell: "))
        self.type("fg\r", "x = 4")
        self.type("1\r")
        self.assertIn("\n41\n", self.type("x\r"))
        self.type("\x04", "shell: ")
        self.assertIn("\nended with 0\n", self.type("echo ended with $?\r", "shell: "))

    def test_ctrl_c_stops_a_form_that_runs_and_leaves_everything_as_it_was(self):
        self.open()
        self.type("x = { 1 }\r")
        os.write(self.screen, b"x[1] = 2 while true do end\r")
        self.see("end\r\n")
        time.sleep(0.3)
        self.assertIn("session:1: error: stopped", self.type("\x03"))
        self.assertIn("[1] = 1\n", self.type("x\r"))
        self.assertEqual(self.leave(), 0)

    def test_a_form_of_several_lines_is_recalled_as_a_whole(self):
        self.open()
        self.type("for i = 1, 2 do\r", "   > ")
        self.type("print(i)\r", "   > ")
        self.assertIn("\n1\n2\n", self.type("end\r"))
        os.write(self.screen, b"\x1b[A")
        self.see("end")
        self.assertIn("\n1\n2\n", self.type("\r"))
        self.assertEqual(self.leave(), 0)


    def test_tab_goes_on_with_the_one_word_that_fits(self):
        self.open(self.write("arm.lua", ARM))
        self.assertIn("\n0.1", self.type("rig:find('goa\t).length\r", "\r\nfid> "))
        self.type("for _, bone in ipairs(rig:bones{}) do\r", "   > ")
        self.type("\tprint(bone.len\t", "gth")
        self.assertIn("\n0.1", self.type(") end\r"))
        self.assertEqual(self.leave(), 0)

    def test_tab_lists_what_fits_below_the_line_in_columns(self):
        screen = Screen(20, 60, True)
        self.open(self.write("arm.lua", ARM), size=(20, 60), screen=screen)
        self.type("rig:sp\t", None)
        self.wait(lambda: screen.shows("fid> rig:sp"))
        self.type("\t", None)
        self.wait(lambda: "\nspaces      span        span_chain  spline\nfid> rig:sp" in screen.text() and screen.shows("fid> rig:sp"))
        # From the first row of a line of two, with what stands behind the cursor.
        self.type("\x15" + "-- " + "x" * 70 + "\x01rig:sp", None)
        self.wait(lambda: "fid> rig:sp-- xxx" in screen.text() and screen.text().rstrip("\n").endswith("\n" + "x" * 24))
        self.type("\t", None)
        self.wait(lambda: "xxx\nspaces      span        span_chain  spline\nfid> rig:sp-- " in screen.text())
        self.type("\x05\x15", None)
        self.wait(lambda: screen.shows("fid> "))
        self.assertEqual(self.leave(), 0)

    def test_tab_where_nothing_fits_rings_the_bell_and_changes_nothing(self):
        self.open()
        self.type("x = nosuchname\t", "\a")
        self.assertIn("\n3\n", self.type("\x153\r"))
        self.assertEqual(self.leave(), 0)

    def test_tab_in_a_pipe_is_a_blank(self):
        result = subprocess.run([FID, "repl"], input="\tprint\t(\t7)\n", capture_output=True, text=True, timeout=60)
        self.assertEqual((result.stdout, result.stderr, result.returncode), ("7\n", "", 0))


def children(process):
    """The processes that a process has begun, by what /proc/PID/stat tells of their parents."""
    found = []
    for name in filter(str.isdigit, os.listdir("/proc")):
        try:
            with open(f"/proc/{name}/stat", encoding="utf-8", errors="replace") as file:
                if int(file.read().rsplit(")", 1)[1].split()[1]) == process:
                    found.append(int(name))
        except OSError:
            pass
    return found


class Ended(Case):
    """Who ends one of the processes of a session from outside is told so, and nobody waits for ever."""

    def open(self, *forms):
        session = subprocess.Popen([FID, "repl", "-k"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=self.folder.name)
        self.addCleanup(session.kill)
        for form in forms:
            self.run_form(session, form)
        return session

    def run_form(self, session, form):
        session.stdin.write(form + "\nprint('ran')\n")
        session.stdin.flush()
        while session.stdout.readline() not in ("ran\n", ""):
            pass

    def awake(self, session):
        time.sleep(0.5)
        # The forms so far have succeeded: the process that began first has run them all.
        return children(session.pid)[0]

    def lost(self, session):
        out, errors = session.communicate("x\n", timeout=20)
        self.assertEqual((out, session.returncode), ("", 3), errors)
        self.assertEqual(errors, "fid: error: the process that held the session was ended from outside; begin a new one\n")

    def test_the_present_state_before_any_form(self):
        session = self.open()
        while not children(session.pid):
            time.sleep(0.02)
        session.stdin.write("print('ran')\n")
        session.stdin.flush()
        session.stdout.readline()
        os.kill(self.awake(session), signal.SIGKILL)
        self.lost(session)

    def test_the_present_state_while_earlier_ones_sleep(self):
        session = self.open("x = 1", "x = 2")
        os.kill(self.awake(session), signal.SIGKILL)
        self.lost(session)

    def test_what_runs_a_form_and_what_keeps_the_state_before_it(self):
        session = self.open("x = 1")
        session.stdin.write("print('ran') while true do end\n")
        session.stdin.flush()
        session.stdout.readline()
        runner = self.awake(session)
        for keeper in children(runner):
            os.kill(keeper, signal.SIGKILL)
        os.kill(runner, signal.SIGKILL)
        self.lost(session)

    def test_what_runs_a_form_alone_loses_that_form(self):
        session = self.open("x = 1")
        session.stdin.write("print('ran') while true do end\n")
        session.stdin.flush()
        session.stdout.readline()
        os.kill(self.awake(session), signal.SIGKILL)
        out, errors = session.communicate("x\n", timeout=20)
        self.assertEqual((out, errors, session.returncode), ("1\n", "session: error: stopped\n", 2))

    def test_an_earlier_state_leaves_the_present_one(self):
        session = self.open("x = 1", "x = 2")
        for keeper in children(self.awake(session)):
            os.kill(keeper, signal.SIGKILL)
        out, errors = session.communicate("undo()\nx\n", timeout=20)
        self.assertEqual((out, session.returncode), ("2\n", 2))
        self.assertIn("error: that state is gone: its process was ended from outside", errors)


if __name__ == "__main__":
    unittest.main()
