#!/usr/bin/env python3
"""A session on a terminal: what is typed, Ctrl-C, recalled forms and the end of input, by the screen."""
import functools
import os
import pty
import re
import select
import signal
import time
import unittest

from support import ARM, FID, Case


def again(test):
    """A terminal drops what waits in its queues, in both directions, when Ctrl-C is typed (POSIX.1-2017, 11.1.9, INTR without NOFLSH): where that took what is looked for, the test is done again."""
    @functools.wraps(test)
    def run_again(self):
        for _ in range(4):
            try:
                return test(self)
            except AssertionError:
                self.end()
        return test(self)
    return run_again


class Terminal(Case):
    def end(self):
        try:
            os.kill(self.process, signal.SIGKILL)
            os.waitpid(self.process, 0)
        except OSError:
            pass

    def open(self, *words):
        self.process, self.screen = pty.fork()
        if self.process == 0:
            os.chdir(self.folder.name)
            os.environ.update(TERM="xterm", NO_COLOR="1", LC_ALL="C.UTF-8")
            os.execv(FID, [FID, "repl", *words])
        self.addCleanup(os.close, self.screen)
        self.see("fid> ")

    def see(self, end, seconds=10):
        """What the terminal shows until it ends with a text."""
        shown, until = b"", time.time() + seconds
        while not shown.decode(errors="replace").endswith(end) and time.time() < until:
            if select.select([self.screen], [], [], 0.1)[0]:
                try:
                    shown += os.read(self.screen, 65536)
                except OSError:
                    break
        text = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", shown.decode())
        self.assertTrue(text.endswith(end), repr(text))
        return text.replace("\r", "")

    def type(self, keys, end="fid> "):
        os.write(self.screen, keys.encode())
        return self.see(end)

    def leave(self):
        until = time.time() + 30
        while time.time() < until:
            # One that is typed while the terminal changes its mode may be lost, as any key may be.
            try:
                os.write(self.screen, b"\x04")
            except OSError:
                pass
            for _ in range(10):
                ended, status = os.waitpid(self.process, os.WNOHANG)
                if ended:
                    return status
                if select.select([self.screen], [], [], 0.05)[0]:
                    try:
                        os.read(self.screen, 65536)
                    except OSError:
                        time.sleep(0.05)
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        self.fail("the session does not end")

    @again
    def test_what_is_typed_runs_and_the_end_of_input_leaves(self):
        self.open(self.write("arm.lua", ARM))
        self.assertIn("\n42\n", self.type("6 * 7\r"))
        self.assertIn('\n"ä→"\n', self.type("'ä→'\r"))
        self.assertIn("\n0.5\n", self.type('set("goal_control.translation.y", 0.5)\rget("goal_control.translation.y")\r', "0.5\r\nfid> "))
        self.assertEqual(self.leave(), 0)

    @again
    def test_ctrl_c_leaves_the_line_and_not_the_session(self):
        self.open()
        self.type("x = 41\r")
        self.type("half a form\x03")
        self.type("for i = 1, 2 do\r", "   > ")
        self.type("\x03")
        self.assertIn("\n42\n", self.type("x + 1\r"))
        self.assertEqual(self.leave(), 0)

    @again
    def test_ctrl_c_stops_a_form_that_runs_and_leaves_everything_as_it_was(self):
        self.open()
        self.type("x = { 1 }\r")
        os.write(self.screen, b"x[1] = 2 while true do end\r")
        self.see("end\r\n")
        time.sleep(0.3)
        self.assertIn("session:1: error: stopped", self.type("\x03"))
        self.assertIn("[1] = 1\n", self.type("x\r"))
        self.assertEqual(self.leave(), 0)

    @again
    def test_a_form_of_several_lines_is_recalled_as_a_whole(self):
        self.open()
        self.type("for i = 1, 2 do\r", "   > ")
        self.type("print(i)\r", "   > ")
        self.assertIn("\n1\n2\n", self.type("end\r"))
        os.write(self.screen, b"\x1b[A")
        self.see("end")
        self.assertIn("\n1\n2\n", self.type("\r"))
        self.assertEqual(self.leave(), 0)


if __name__ == "__main__":
    unittest.main()
