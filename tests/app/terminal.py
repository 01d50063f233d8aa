"""A session on a terminal of its own."""
import fcntl
import os
import pty
import re
import select
import signal
import struct
import termios
import time

from support import FID, Case


class Terminal(Case):
    def end(self):
        try:
            os.kill(self.process, signal.SIGKILL)
            os.waitpid(self.process, 0)
        except OSError:
            pass

    def open(self, *words, size=(24, 80), screen=None, env=None, program=None, prompt="fid> "):
        """Begins a session; `screen` is told all that the terminal gets."""
        self.drawn = screen
        self.process, self.screen = pty.fork()
        if self.process == 0:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
            os.chdir(self.folder.name)
            os.environ.update(TERM="xterm", NO_COLOR="1", LC_ALL="C.UTF-8", XDG_STATE_HOME=self.path("state"))
            os.environ.update(env or {})
            program = program or [FID, "repl", *words]
            os.execv(program[0], program)
        self.addCleanup(os.close, self.screen)
        self.addCleanup(self.end)
        self.begun = self.see(prompt)

    def see(self, end, seconds=10):
        """What the terminal shows until it ends with a text."""
        shown, until = b"", time.time() + seconds
        while not shown.decode(errors="replace").endswith(end) and time.time() < until:
            if select.select([self.screen], [], [], 0.1)[0]:
                try:
                    now = os.read(self.screen, 65536)
                except OSError:
                    break
                shown += now
                if self.drawn:
                    self.drawn.take(now)
        text = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", shown.decode())
        self.assertTrue(text.endswith(end), repr(text))
        return text.replace("\r", "")

    def type(self, keys, end="fid> "):
        os.write(self.screen, keys.encode())
        return self.see(end) if end else None

    def wait(self, holds, seconds=10):
        """Until what is drawn on the screen is as it should be."""
        until = time.time() + seconds
        while not holds() and time.time() < until:
            if select.select([self.screen], [], [], 0.1)[0]:
                self.drawn.take(os.read(self.screen, 65536))
        self.assertTrue(holds(), self.drawn.text())

    def leave(self, seconds=30):
        os.write(self.screen, b"\x04")
        until = time.time() + seconds
        while time.time() < until:
            ended, status = os.waitpid(self.process, os.WNOHANG)
            if ended:
                return os.waitstatus_to_exitcode(status)
            if select.select([self.screen], [], [], 0.05)[0]:
                try:
                    os.read(self.screen, 65536)
                except OSError:
                    time.sleep(0.05)
        self.end()
        self.fail("the session does not end")

    def resize(self, rows, columns):
        fcntl.ioctl(self.screen, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
