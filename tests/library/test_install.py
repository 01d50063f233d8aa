"""The library as others meet it: installed under a prefix that was moved afterwards, found with CMake and with pkg-config,
compiled as C and as C++, linked without Lua, and giving the matrices that the program prints."""
import json
import os
import random
import re
import shutil
import subprocess
import tempfile
import unittest

SOURCE, BUILD, CMAKE, CC = (os.environ[name] for name in ("FID_SOURCE", "FID_BUILD", "FID_CMAKE", "FID_CC"))
FLAGS = os.environ.get("FID_FLAGS", "").split()
EXAMPLE = os.path.join(SOURCE, "docs", "examples", "embed.c")
ARM = os.path.join(SOURCE, "tests", "golden", "skeleton_arm.json")
with open(os.path.join(SOURCE, "src", "fid.h"), encoding="utf-8") as header:
    HEADER = header.read()
STRICT = ["-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Wshadow", "-Werror"]


def run(*words, **more):
    return subprocess.run(words, capture_output=True, text=True, timeout=250, **more)


def find_cxx():
    """A C++ compiler of the family of the C compiler: only that links what is built with its sanitizers."""
    return shutil.which("clang++" if "clang" in os.path.basename(CC) else "g++")


class Installed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        first, cls.prefix = (os.path.join(cls.folder.name, name) for name in ("first", "a prefix"))
        done = run(CMAKE, "--install", BUILD, "--prefix", first)
        if done.returncode != 0:
            raise RuntimeError(done.stdout + done.stderr)
        os.rename(first, cls.prefix)
        cls.libraries = next(folder for folder, _, files in os.walk(cls.prefix) if "libfid.a" in files)
        cls.embed = os.path.join(cls.folder.name, "embed")
        cls.compile(cls.embed, EXAMPLE, *cls.ask("--cflags", "--libs"), "-Wl,-rpath," + cls.libraries)

    @classmethod
    def ask(cls, *options):
        """The words that pkg-config gives."""
        place = os.path.join(cls.libraries, "pkgconfig")
        found = run("pkg-config", *options, "fid", env=dict(os.environ, PKG_CONFIG_PATH=place))
        if found.returncode != 0:
            raise RuntimeError(found.stderr)
        # A space of a path stands behind a backslash.
        return [word.replace("\\ ", " ") for word in re.findall(r"(?:\\.|\S)+", found.stdout)]

    @classmethod
    def compile(cls, out, *words, compiler=CC, standard="c17"):
        done = run(compiler, f"-std={standard}", *STRICT, *FLAGS, "-o", out, *words)
        if done.returncode != 0:
            raise RuntimeError(done.stderr)

    def path(self, name):
        return os.path.join(self.folder.name, name)

    def works(self, program):
        """The example answers for the arm, and refuses what is wrong."""
        moved = run(program, ARM, "goal_control.translation.z=-0.8")
        self.assertEqual((moved.returncode, moved.stderr), (0, ""))
        lines = [line.split() for line in moved.stdout.splitlines()]
        self.assertEqual([line[0] for line in lines], ["goal_control", "arm_01_helper", "arm_02_helper"])
        # The law of cosines: sides 1, 1 and 1, so that the elbow stands at half the way and at sin 60 degrees.
        self.assertAlmostEqual(float(lines[2][15]), 0.5, 5)
        self.assertAlmostEqual(float(lines[2][14]), 0.75 ** 0.5, 5)
        wrong = run(program, ARM, "goal_contrl.translation.z=1")
        self.assertEqual((wrong.returncode, wrong.stdout), (1, ""))
        self.assertIn("did you mean 'goal_control'?", wrong.stderr)
        self.assertEqual(run(program, self.path("nowhere.json")).returncode, 1)

    def needed(self, program):
        """The shared libraries that a program names."""
        return " ".join(re.findall(r"\(NEEDED\).*\[(.*)\]", run("readelf", "-d", program).stdout))

    def test_everything_is_in_its_place(self):
        program = run(os.path.join(self.prefix, "bin", "fid"), "version")
        self.assertEqual(program.stdout, run(os.environ["FID"], "version").stdout)
        for name in ("include/fid.h", "share/fid/skeleton.schema.json", "share/doc/fid/README.md", "share/doc/fid/LICENSE",
                     "share/doc/fid/docs/embedding.md", "share/doc/fid/docs/examples/embed.c", "share/man/man1/fid.1",
                     "share/bash-completion/completions/fid", "share/zsh/site-functions/_fid", "share/fish/vendor_completions.d/fid.fish"):
            self.assertTrue(os.path.isfile(os.path.join(self.prefix, name)), name)
        self.assertEqual(os.listdir(os.path.join(self.prefix, "include")), ["fid.h"])
        number = re.search(r"#define FID_INTERFACE (\d+)", HEADER)[1]
        shared = os.path.join(self.libraries, "libfid.so")
        self.assertEqual(re.findall(r"\(SONAME\).*\[(.*)\]", run("readelf", "-d", shared).stdout), [f"libfid.so.{number}"])

    def test_a_project_finds_it_with_cmake(self):
        out = self.path("with-cmake")
        flags = " ".join(STRICT + FLAGS)
        for words in ((CMAKE, "-S", os.path.dirname(EXAMPLE), "-B", out, f"-DCMAKE_PREFIX_PATH={self.prefix}",
                       f"-DCMAKE_C_COMPILER={CC}", f"-DCMAKE_C_FLAGS={flags}"), (CMAKE, "--build", out)):
            done = run(*words)
            self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertIn("libfid", self.needed(os.path.join(out, "embed")))
        self.assertNotIn("libfid", self.needed(os.path.join(out, "embed_static")))
        for name in ("embed", "embed_static"):
            self.assertNotIn("lua", self.needed(os.path.join(out, name)))
            self.works(os.path.join(out, name))

    def test_a_project_that_wants_another_version_is_told(self):
        project = self.path("later")
        os.makedirs(project)
        with open(os.path.join(project, "CMakeLists.txt"), "w", encoding="utf-8") as file:
            file.write("cmake_minimum_required(VERSION 3.16)\nproject(later LANGUAGES NONE)\nfind_package(fid 0.2 REQUIRED)\n")
        done = run(CMAKE, "-S", project, "-B", os.path.join(project, "build"), f"-DCMAKE_PREFIX_PATH={self.prefix}")
        self.assertNotEqual(done.returncode, 0)
        self.assertIn('version "0.2"', done.stderr)

    def test_a_compiler_finds_it_with_pkg_config(self):
        self.assertIn("libfid", self.needed(self.embed))
        self.assertNotIn("lua", self.needed(self.embed))
        self.works(self.embed)

    def test_it_links_statically_and_without_lua(self):
        words = ["-Wl,-Bstatic,-lfid,-Bdynamic" if word == "-lfid" else word
                 for word in self.ask("--static", "--cflags", "--libs")]
        self.assertFalse([word for word in words if "lua" in word])
        out = self.path("static")
        self.compile(out, EXAMPLE, *words)
        self.assertNotIn("libfid", self.needed(out))
        self.assertNotIn("lua", self.needed(out))
        self.works(out)

    def test_the_header_is_also_of_cpp(self):
        cxx = find_cxx()
        if not cxx:
            self.skipTest("no C++ compiler")
        text = self.path("header.cpp")
        with open(text, "w", encoding="utf-8") as file:
            file.write('''#include <fid.h>
#include <cstdio>
int main() {
    fid_skeleton *skeleton = nullptr;
    char message[256];
    fid_status status = fid_skeleton_load("nowhere.json", &skeleton, message, sizeof message);
    std::printf("%s %d %s\\n", fid_status_name(status), skeleton == nullptr, fid_version());
    return fid_interface() == FID_INTERFACE ? 0 : 1;
}
''')
        for standard in ("c++11", "c++20"):
            out = self.path("header-" + standard)
            self.compile(out, text, *self.ask("--cflags", "--libs"), "-Wl,-rpath," + self.libraries, compiler=cxx,
                         standard=standard)
            done = run(out)
            self.assertEqual((done.returncode, done.stdout.split()[:2]), (0, ["file", "1"]), done.stderr)

    def test_it_is_built_where_there_is_no_lua(self):
        out = self.path("library-alone")
        done = run(CMAKE, "-G", "Ninja", "-S", SOURCE, "-B", out, "-DFID_PROGRAM=OFF", f"-DCMAKE_C_COMPILER={CC}",
                   "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON")
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(out, "compile_commands.json"), encoding="utf-8") as file:
            commands = [(os.path.relpath(entry["file"], SOURCE), entry["command"]) for entry in json.load(file)]
        self.assertIn("src/library/pose.c", [file for file, _ in commands])
        for file, command in commands:
            self.assertFalse(file.startswith(("src/script/", "src/app/", "tests/")), file)
            self.assertNotIn("lua", command)

    def test_only_what_the_header_declares_is_seen_from_outside(self):
        declared = set(re.findall(r"\b(fid_\w+)\(", re.sub(r"///.*", "", HEADER)))
        shown = run("nm", "-D", "--defined-only", os.path.join(self.libraries, "libfid.so")).stdout.split("\n")
        seen = {line.split()[-1] for line in shown if line and not re.search(r" _{1,2}\w+$", line)}
        if not FLAGS:  # sanitizers and the counting of lines add their own
            self.assertEqual(seen, declared)
        self.assertEqual({name for name in seen if name.startswith("fid_")}, declared)

    def test_the_static_form_holds_names_of_its_own_alone_and_nothing_of_lua(self):
        shown = run("nm", "-g", os.path.join(self.libraries, "libfid.a")).stdout.split("\n")
        words = [line.split() for line in shown]
        own = {word[-1] for word in words if len(word) == 3 and word[1] in "TDBRVW"}
        taken = {word[-1] for word in words if len(word) == 2 and word[0] == "U"}
        self.assertGreater(len(own), 100)
        self.assertEqual({name for name in own if not name.startswith(("fid_", "_"))}, set())
        self.assertEqual({name for name in taken if re.match(r"luaL?_", name)}, set())

    def poses(self, skeleton, count):
        """Options that pose a rig at random, always in the same way, within the ranges of its channels."""
        with open(skeleton, encoding="utf-8") as file:
            channels = [channel for channel in json.load(file)["channels"] if channel["animatable"]]
        source = random.Random(42)
        yield []
        for _ in range(count):
            words = []
            for channel in source.sample(channels, min(40, len(channels))):
                size = 40 if ".rotation." in channel["name"] else 0.3
                value = channel["default"] + source.uniform(-size, size)
                low, high = channel["min"], channel["max"]
                value = max(value, low) if low is not None else value
                value = min(value, high) if high is not None else value
                if "choices" in channel and channel["choices"]:
                    value = float(round(value))
                words.append(f"{channel['name']}={value:.6g}")
            yield words

    def test_rigs_that_the_program_saved_give_the_matrices_that_it_prints(self):
        compared = 0
        for recipe in sorted(os.listdir(os.path.join(SOURCE, "recipes"))):
            if not recipe.endswith(".lua"):
                continue
            skeleton = self.path(recipe + ".json")
            built = run(os.environ["FID"], "build", os.path.join(SOURCE, "recipes", recipe), "-o", skeleton)
            self.assertEqual(built.returncode, 0, built.stderr)
            for words in self.poses(skeleton, 24):
                options = [part for word in words for part in ("--set", word)]
                printed = run(os.environ["FID"], "pose", skeleton, "--quiet", *options)
                given = run(self.embed, skeleton, *words)
                self.assertEqual((printed.returncode, given.returncode), (0, 0), printed.stderr + given.stderr)
                expected = [[bone["name"], *bone["matrix"]] for bone in json.loads(printed.stdout)["bones"]]
                # The conversion that the header tells: rounded to nine digits.
                lines = [line.split() for line in given.stdout.splitlines()]
                self.assertEqual([[line[0], *map(float, line[1:])] for line in lines], expected)
                compared += len(lines)
        self.assertGreater(compared, 2000)

    def test_the_page_shows_the_example_as_it_is(self):
        with open(os.path.join(SOURCE, "docs", "embedding.md"), encoding="utf-8") as file:
            shown = re.search(r"```c\n(.*?)```", file.read(), re.S)[1]
        with open(EXAMPLE, encoding="utf-8") as file:
            self.assertEqual(shown, file.read())


if __name__ == "__main__":
    unittest.main()
