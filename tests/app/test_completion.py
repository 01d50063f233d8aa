#!/usr/bin/env python3
"""What completes in the shells that are here, and the manual page: both know every command and option."""
import os
import re
import shutil
import subprocess
import unittest

from support import FID, Case, run

COMMANDS = re.findall(r"^    ([a-z]+)  ", run("help").stdout, re.M)
OPTIONS = {name: re.findall(r"--([a-z-]+)(?: |$)", "\n".join(line[:34] for line in run("help", name).stdout.splitlines() if line.startswith("    -"))) for name in COMMANDS}


class Completion(Case):
    def script(self, shell):
        done = run("completion", shell)
        self.assertEqual(done.returncode, 0, done.stderr)
        return self.write("completion." + shell, done.stdout)

    def bash(self, *words):
        """What bash would offer for the last of the words."""
        lines = ["source " + self.script("bash"), "COMP_WORDS=(" + " ".join(f"'{word}'" for word in ("fid",) + words) + ")",
                 f"COMP_CWORD={len(words)}", "_fid", 'printf "%s\\n" "${COMPREPLY[@]}"']
        done = subprocess.run(["bash", "--norc", "-c", "\n".join(lines)], capture_output=True, text=True, cwd=self.folder.name, timeout=60)
        self.assertEqual(done.stderr, "")
        return sorted(done.stdout.split())

    def test_bash_offers_commands_options_values_and_files(self):
        for name in ("a.lua", "a.json", "a.txt", "folder/b.lua"):
            self.write(name, "")
        self.assertEqual(self.bash(""), sorted(COMMANDS))
        self.assertEqual(self.bash("ch"), ["check"])
        for command in COMMANDS:
            self.assertEqual(self.bash(command, "-"), sorted("--" + option for option in OPTIONS[command]), command)
        self.assertEqual(self.bash("check", "x.lua", "--fail-on", "w"), ["warning"])
        self.assertEqual(self.bash("check", "--format", ""), ["json", "text"])
        self.assertEqual(self.bash("rule", "S20"), [f"S20{i}" for i in range(1, 10)])
        self.assertEqual(self.bash("help", "foll"), ["follow"])
        self.assertEqual(self.bash("completion", ""), ["bash", "fish", "zsh"])
        self.assertEqual(self.bash("build", "a"), ["a.json", "a.lua"])
        self.assertEqual(self.bash("build", ""), ["a.json", "a.lua", "folder"])
        self.assertEqual(self.bash("build", "a.lua", "--out-dir", "f"), ["folder"])
        self.assertEqual(self.bash("build", "a.lua", "-j", ""), [])
        self.assertEqual(self.bash("none", ""), [])

    @unittest.skipUnless(shutil.which("fish"), "fish is not installed")
    def test_fish_offers_commands_options_values_and_files(self):
        script = self.script("fish")
        self.write("a.lua", "")

        def offered(line):
            done = subprocess.run(["fish", "--no-config", "-c", f"source {script}; complete -C '{line}'"], capture_output=True, text=True, cwd=self.folder.name, timeout=60,
                                  env=dict(os.environ, HOME=self.folder.name))
            self.assertEqual(done.stderr, "")
            return sorted(line.split("\t")[0] for line in done.stdout.splitlines())
        self.assertEqual(offered("fid "), sorted(COMMANDS))
        for command in COMMANDS:
            self.assertEqual(offered(f"fid {command} --"), sorted("--" + option for option in OPTIONS[command]), command)
        self.assertEqual(offered("fid check --fail-on "), ["error", "note", "warning"])
        self.assertIn("a.lua", offered("fid build "))

    @unittest.skipUnless(shutil.which("zsh"), "zsh is not installed")
    def test_zsh_reads_its_script_which_knows_everything(self):
        script = self.script("zsh")
        done = subprocess.run(["zsh", "-f", "-n", script], capture_output=True, text=True, timeout=60)
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        text = self.read(script)
        for command in COMMANDS:
            part = text.split(f"\n    {command})\n")[1].split(" ;;\n")[0]
            self.assertEqual(sorted(set(re.findall(r"--([a-z-]+)\b", re.sub(r"\[[^\]]*\]", "", part)))), sorted(OPTIONS[command]), command)

    def test_another_shell_is_refused(self):
        self.refused(run("completion", "bahs"), 2, "there is no completion for 'bahs', but for bash, zsh and fish; did you mean 'bash'?")
        self.refused(run("completion"), 2, "a word is missing")


class Manual(Case):
    def test_the_page_knows_every_command_and_option(self):
        text = run("help", "--man").stdout.replace("\\-", "-")
        for command in COMMANDS:
            part = re.search(rf"^\.SS fid {command} .*?(?=^\.S[SH] )", text, re.M | re.S)[0]
            for option in OPTIONS[command]:
                self.assertRegex(text if option in ("help", "quiet") else part, rf"(?m)^(\\fB-\w\\fR, )?\\fB--{option}\\fR")

    @unittest.skipUnless(shutil.which("groff"), "groff is not installed")
    def test_the_page_is_set_without_a_warning(self):
        page = self.write("fid.1", run("help", "--man").stdout)
        done = subprocess.run(["groff", "-man", "-Tutf8", "-ww", page], capture_output=True, text=True, timeout=60, env=dict(os.environ, LC_ALL="C.UTF-8"))
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("EXIT STATUS", re.sub(".\x08", "", done.stdout))


if __name__ == "__main__":
    unittest.main()
