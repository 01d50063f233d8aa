#!/usr/bin/env python3
"""fid modules add and lock: folders and archives come into a project whole or not at all, hostile ones never, and what has changed since is said."""
import bz2
import gzip
import hashlib
import io
import json
import lzma
import os
import stat
import subprocess
import tarfile
import unittest
import zipfile

from support import HEAD, POST, SOURCE, Case, run

RECIPE = HEAD + 'rig:use("post", { id = "a" })\nreturn rig\n'
FILES = {"module.lua": POST, "README.md": "# post\n", "parts/top.lua": "return 1\n"}
CAN_READ = "ok       libarchive" in run("doctor").stdout


def digest(files):
    """By the definition on the page: lines as of the program sha256sum, in the order of the bytes of the paths."""
    lines = "".join(f"{hashlib.sha256(text.encode()).hexdigest()}  {path}\n" for path, text in sorted(files.items(), key=lambda item: item[0].encode()))
    return hashlib.sha256(lines.encode()).hexdigest()


def tar(files, form=tarfile.PAX_FORMAT):
    """The bytes of a tar archive of names and texts, or of names and TarInfos."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w", format=form) as archive:
        for name, text in files.items() if isinstance(files, dict) else files:
            info = text if isinstance(text, tarfile.TarInfo) else tarfile.TarInfo(name)
            data = b"" if isinstance(text, tarfile.TarInfo) else text if isinstance(text, bytes) else text.encode()
            info.size = len(data)
            archive.addfile(info, io.BytesIO(data))
    return out.getvalue()


def zipped(files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items() if isinstance(files, dict) else files:
            archive.writestr(name, text)
    return out.getvalue()


def below(folder, files=None):
    return {f"{folder}/{path}": text for path, text in (files or FILES).items()}


def special(name, kind, target=""):
    info = tarfile.TarInfo(name)
    info.type, info.linkname = kind, target
    return info


class Project(Case):
    def setUp(self):
        super().setUp()
        self.work = self.path("work")
        os.makedirs(os.path.join(self.work, "modules"))
        os.makedirs(os.path.join(self.work, "recipes"))
        self.recipe = self.write("work/recipes/arm.lua", RECIPE)

    def modules(self, *words, **more):
        return run("modules", *words, cwd=more.pop("cwd", self.work), **more)

    def files_of(self, folder):
        found = {}
        for root, _, names in os.walk(folder):
            for name in names:
                found[os.path.relpath(os.path.join(root, name), folder)] = self.read(os.path.join(root, name))
        return found

    def state(self):
        return self.files_of(self.work)

    def put_folder(self, name="source", files=None):
        for path, text in (files or FILES).items():
            self.write(f"{name}/{path}", text)
        return self.path(name)

    def lock(self):
        return json.loads(self.read(os.path.join(self.work, "fid.lock")))


class Folders(Project):
    def test_a_folder_is_copied_and_locked(self):
        source = self.put_folder()
        self.write("source/.hidden/x", "no")
        self.write("source/.swp", "no")
        result = self.modules("add", source)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        self.assertEqual(result.stdout, f"post 1.0.0 is in modules/post: 3 files, sha256 {digest(FILES)}\n")
        self.assertEqual(self.files_of(os.path.join(self.work, "modules")), below("post"))
        lock = self.lock()
        self.assertEqual((lock["format"], lock["version"], len(lock["modules"])), ("fid-lock", 1, 1))
        post = lock["modules"][0]
        self.assertEqual((post["name"], post["version"], post["sha256"]), ("post", "1.0.0", digest(FILES)))
        self.assertEqual(post["files"], [{"path": path, "sha256": hashlib.sha256(FILES[path].encode()).hexdigest()} for path in sorted(FILES)])
        # As the page says that it is had without the program.
        page = self.read(os.path.join(SOURCE, "docs", "recipes-and-modules.md"))
        command = next(line for line in page.splitlines() if line.startswith("    find . "))
        outside = subprocess.run(["sh", "-c", command], cwd=os.path.join(self.work, "modules", "post"), capture_output=True, text=True, check=True)
        self.assertEqual(outside.stdout.split()[0], post["sha256"])
        built = run("build", self.recipe, "--locked")
        self.assertEqual((built.returncode, built.stderr), (0, ""))
        self.assertEqual(self.modules("add", source, "--replace", "--quiet").stdout, "")

    def test_the_nearest_project_above_takes_it_else_one_is_begun(self):
        source = self.put_folder()
        self.assertIn("is in ../modules/post", self.modules("add", source, cwd=os.path.join(self.work, "recipes")).stdout)
        self.assertTrue(os.path.exists(os.path.join(self.work, "fid.lock")))
        os.makedirs(self.path("new"))
        self.assertIn("is in modules/post", self.modules("add", source, cwd=self.path("new")).stdout)
        self.assertEqual(sorted(os.listdir(self.path("new"))), ["fid.lock", "modules"])

    def test_its_place_is_its_name_whatever_its_folder_was_called(self):
        self.assertIn("is in modules/post", self.modules("add", self.put_folder("post-1.0.0")).stdout)

    def test_one_that_is_there_is_replaced_only_when_told(self):
        self.modules("add", self.put_folder())
        before = self.state()
        newer = self.put_folder("newer", {"module.lua": POST.replace("1.0.0", "1.1.0")})
        self.refused(self.modules("add", newer), 2, "there is a module 'post' in modules/post already; --replace puts this one, version 1.1.0, in its place")
        self.assertEqual(self.state(), before)
        self.assertEqual(self.modules("add", newer, "--replace").returncode, 0)
        self.assertEqual(os.listdir(os.path.join(self.work, "modules")), ["post"])
        self.assertEqual(os.listdir(os.path.join(self.work, "modules", "post")), ["module.lua"])
        self.assertEqual([module["version"] for module in self.lock()["modules"]], ["1.1.0"])

    def test_a_module_that_does_not_run_is_not_taken_and_its_own_file_is_named(self):
        before = self.state()
        source = self.put_folder("source", {"module.lua": POST.replace("return fid", "\nreturn fd")})
        self.refused(self.modules("add", source), 2, f"{source}/module.lua:3: error: there is no 'fd'")
        self.write("source/module.lua", "return 3")
        self.refused(self.modules("add", source), 2, f"{source}/module.lua: error: {source}/module.lua must return fid.module{{}}")
        self.write("source/module.lua", POST.replace('"post"', '"Post"'))
        self.refused(self.modules("add", source), 2, "'Post' is no name")
        self.assertEqual(self.state(), before)

    def test_what_it_needs_and_is_not_there_is_told(self):
        source = self.put_folder("source", {"module.lua": POST.replace("params = {}", 'params = {}, needs = { "stump ^1.0" }')})
        result = self.modules("add", source)
        self.assertEqual(result.returncode, 0)
        self.assertIn("modules/post/module.lua: warning: post 1.0.0 needs 'stump ^1.0': there is no module 'stump'", result.stderr)

    def test_what_is_no_file_in_a_folder_is_refused(self):
        source = self.put_folder()
        before = self.state()
        os.symlink("/etc/passwd", os.path.join(source, "stolen"))
        self.refused(self.modules("add", source), 2, "stolen' is a link; a module holds files and folders only")
        os.remove(os.path.join(source, "stolen"))
        os.mkfifo(os.path.join(source, "pipe"))
        self.refused(self.modules("add", source), 2, "pipe' is a pipe")
        os.remove(os.path.join(source, "pipe"))
        self.write("source/a*b", "")
        self.refused(self.modules("add", source), 2, "characters that not every file system takes")
        os.remove(os.path.join(source, "a*b"))
        self.write("source/readme.MD", "")
        self.refused(self.modules("add", source), 2, "'README.md' and 'readme.MD' differ by upper and lower case only")
        self.refused(self.modules("add", self.path("nothing")), 3, "there is no folder or archive")
        self.assertEqual(self.state(), before)

    def test_too_much_is_refused(self):
        source = self.put_folder()
        with open(os.path.join(source, "large"), "wb") as file:
            file.truncate((16 << 20) + 1)
        self.refused(self.modules("add", source), 2, "too large")
        os.remove(os.path.join(source, "large"))
        for i in range(1001):
            self.write(f"source/many/{i}", "")
        self.refused(self.modules("add", source), 2, "more than 1000 files")
        self.write("deep/a/b/c/d/e/f/g/h/i.lua", "")
        self.write("deep/module.lua", POST)
        self.refused(self.modules("add", self.path("deep")), 2, "more than 8 folders deep")

    def test_a_link_in_its_place_is_not_replaced(self):
        os.makedirs(self.path("elsewhere"))
        os.symlink(self.path("elsewhere"), os.path.join(self.work, "modules", "post"))
        self.refused(self.modules("add", self.put_folder(), "--replace"), 2, "'modules/post' is no folder of a module and is not replaced")
        self.assertEqual(os.listdir(self.path("elsewhere")), [])

    @unittest.skipIf(os.geteuid() == 0, "root may write everywhere")
    def test_a_project_that_cannot_be_written_stays_as_it_was(self):
        os.chmod(os.path.join(self.work, "modules"), stat.S_IRUSR | stat.S_IXUSR)
        self.refused(self.modules("add", self.put_folder()), 3, "permission denied")
        os.chmod(os.path.join(self.work, "modules"), 0o755)

    def test_a_lock_that_cannot_be_written_takes_the_module_back(self):
        source = self.put_folder()
        os.makedirs(os.path.join(self.work, "fid.lock"))
        result = self.modules("add", source)
        self.assertEqual(result.returncode, 3)
        self.assertEqual(os.listdir(os.path.join(self.work, "modules")), [])

    def test_a_lock_that_cannot_be_read_is_not_written_over(self):
        self.write("work/fid.lock", '{"format": "fid-lock", "version": 2, "modules": []}')
        before = self.state()
        self.refused(self.modules("add", self.put_folder()), 2, "fid.lock: /version: ")
        self.assertEqual(self.state(), before)


@unittest.skipUnless(CAN_READ, "archives are left out of this program")
class Archives(Project):
    def add(self, data, name="post.tar"):
        path = self.write(name, data)
        return self.modules("add", path, "--replace")

    def refused_archive(self, data, *parts, name="post.tar", status=2):
        before = self.state()
        result = self.add(data, name)
        self.refused(result, status, *parts)
        self.assertEqual(self.state(), before)
        self.assertEqual(os.listdir(os.path.join(self.work, "modules")), [])
        # Nothing beside the project, either.
        self.assertEqual(sorted(os.listdir(self.folder.name)), sorted([name, "work"]))
        os.remove(self.path(name))

    def test_all_kinds_give_the_same_module(self):
        plain = tar(below("post-1.0.0"))
        kinds = {"post.tar": plain, "post.tar.gz": gzip.compress(plain), "post.tar.bz2": bz2.compress(plain), "post.tar.xz": lzma.compress(plain), "post.zip": zipped(below("post")),
                 "flat.tar": tar(FILES), "ustar.tar": tar(below("./post"), tarfile.USTAR_FORMAT), "gnu.tgz": gzip.compress(tar(below("post"), tarfile.GNU_FORMAT)), "flat.zip": zipped(FILES)}
        for name, data in kinds.items():
            result = self.add(data, name)
            self.assertEqual((name, result.returncode, result.stderr), (name, 0, ""))
            self.assertEqual(self.files_of(os.path.join(self.work, "modules")), below("post"))
            self.assertEqual(self.lock()["modules"][0]["sha256"], digest(FILES))

    def test_hidden_files_of_an_archive_are_passed_over(self):
        result = self.add(tar({**below("post"), "post/.git/config": "x", "__MACOSX/post/._module.lua": "x", "._post": "x"}))
        self.assertEqual(result.returncode, 0, result.stderr)
        self.assertEqual(self.files_of(os.path.join(self.work, "modules")), below("post"))

    def test_paths_that_leave_the_folder_are_refused(self):
        for path, part in (("../evil.lua", "the path '../evil.lua' in it leaves its folder with '..'"), ("post/../../evil.lua", "leaves its folder with '..'"), ("post/..", "leaves its folder"),
                           ("/tmp/evil.lua", "the path '/tmp/evil.lua' in it is absolute"), ("post//evil.lua", "has an empty part"), ("post/./evil.lua", "has an empty part"),
                           ("post\\..\\evil.lua", "has a backslash"), ("C:evil.lua", "characters that not every file system takes"), ("post/evil\nname", "not every file system takes"),
                           ("post/\u202eevil", ""), ("post/evil.", "ends in a point or space"), ("post/" + "x" * 200, "too long"), ("/".join("abcdefghij"), "more than 8 folders deep")):
            for name, make in (("post.tar", tar), ("post.zip", zipped)):
                # The library for zip takes "\" for "/", and "a//b" is its own to tidy up.
                if name == "post.zip" and "\\" in path:
                    part = ".."
                self.refused_archive(make({**below("post"), path: "return 1"}), f"the archive '{self.path(name)}' is not taken: ", part, name=name)

    def test_links_and_devices_are_refused(self):
        for info, part in ((special("post/passwd", tarfile.SYMTYPE, "/etc/passwd"), "'post/passwd' in it is a link"), (special("post/up", tarfile.SYMTYPE, ".."), "is a link"),
                           (special("post/hard", tarfile.LNKTYPE, "post/module.lua"), "'post/hard' in it is a link"), (special("post/out", tarfile.LNKTYPE, "../../secret"), "is a link"),
                           (special("post/pipe", tarfile.FIFOTYPE), "is a pipe"), (special("post/null", tarfile.CHRTYPE), "is a device"), (special("post/disk", tarfile.BLKTYPE), "is a device")):
            self.refused_archive(tar([*below("post").items(), (info.name, info)]), part + "; a module holds files and folders only; pack the folder of the module alone, with plain files")
        # A link first, then a file through it.
        self.refused_archive(tar([("post/out", special("post/out", tarfile.SYMTYPE, "..")), *below("post").items(), ("post/out/evil.lua", "return 1")]), "'post/out' in it is a link")
        link = zipfile.ZipInfo("post/link")
        link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
        self.refused_archive(zipped([*below("post").items(), (link, "/etc/passwd")]), "is a link", name="post.zip")

    def test_paths_twice_or_alike_are_refused(self):
        self.refused_archive(tar([*below("post").items(), ("post/module.lua", "return 1")]), "the paths 'module.lua' and 'module.lua' are the same")
        self.refused_archive(tar({**below("post"), "post/Module.lua": ""}), "'Module.lua' and 'module.lua' differ by upper and lower case only")
        self.refused_archive(tar({**below("post"), "post/Parts/other.lua": ""}), "'Parts/other.lua' and 'parts/top.lua' differ by upper and lower case only")
        self.refused_archive(tar({**below("post"), "post/parts": ""}), "'parts' and 'parts/top.lua' are a file and a folder of one name")
        self.refused_archive(tar({**below("post"), "post/parts/TOP.LUA/x": ""}), "are a file and a folder of one name")

    def test_bombs_are_refused_before_they_fill_the_disk(self):
        zeros = bytes(17 << 20)
        self.refused_archive(gzip.compress(tar({**below("post"), "post/zeros": zeros})), "'post/zeros' makes it too large: a module has at most 64 MB, a file of it 16", name="post.tgz")
        self.refused_archive(zipped({**below("post"), "post/zeros": zeros}), "too large", name="post.zip")
        self.refused_archive(gzip.compress(tar({**below("post"), **{f"post/{i}": zeros[:15 << 20] for i in range(5)}})), "too large", name="post.tgz")
        # Files that would be passed over count, too.
        self.refused_archive(gzip.compress(tar({**below("post"), **{f"post/.{i}": zeros[:15 << 20] for i in range(5)}})), "too large", name="post.tgz")
        self.refused_archive(tar({**below("post"), **{f"post/{i}": "" for i in range(1001)}}), "more than 1000 files")
        self.refused_archive(tar([(f"d{i}", special(f"d{i}", tarfile.DIRTYPE)) for i in range(4001)]), "more than 4000 entries")
        # A size in the header that is not there.
        lying = bytearray(tar({"post/module.lua": POST}))
        lying[124:136] = b"77777777777\0"
        lying[148:156] = b" " * 8
        lying[148:156] = b"%06o\0 " % sum(lying[:512])
        self.refused_archive(bytes(lying), "is not taken: ")

    def test_what_is_no_archive_of_a_module_is_refused(self):
        self.refused_archive(b"", "is not taken: ")
        self.refused_archive(b"not an archive at all, but some text " * 40, "cannot be read as an archive")
        self.refused_archive(gzip.compress(tar(below("post")))[:-60], "cannot be read as an archive", name="post.tgz")
        self.refused_archive(zipped(below("post"))[:200], "is not taken: ", name="post.zip")
        self.refused_archive(tar({"post/readme": ""}), "there is no module.lua")
        self.refused_archive(tar({**below("post"), **below("tail")}), "there is no module.lua, at the top of the archive or in its one folder")
        self.refused_archive(tar(below("deep/post")), "there is no module.lua")

    def test_every_cut_of_an_archive_is_refused_or_whole(self):
        files = {"module.lua": POST}
        for name, whole in (("post.tgz", gzip.compress(tar(below("post", files)))), ("post.zip", zipped(below("post", files)))):
            for length in range(0, len(whole), 7):
                result = self.add(whole[:length], name)
                self.assertIn(result.returncode, (0, 2), result.stderr)
                self.assertIn(self.files_of(os.path.join(self.work, "modules")), ({}, below("post", files)))
                if result.returncode:
                    self.assertEqual(result.stderr.count("error:"), 1, result.stderr)


class Locks(Project):
    def setUp(self):
        super().setUp()
        self.modules("add", self.put_folder())

    def change(self):
        self.write("work/modules/post/module.lua", POST + "-- changed\n")
        self.write("work/modules/post/extra.lua", "")
        os.remove(os.path.join(self.work, "modules/post/README.md"))

    def test_a_build_says_what_has_changed(self):
        self.change()
        result = run("build", self.recipe, "-o", self.path("rig.json"))
        self.assertEqual(result.returncode, 0)
        self.assertIn("arm.lua:3: warning: module 'post' is not as in ", result.stderr)
        self.assertIn("fid.lock: README.md missing, extra.lua added, module.lua changed\n    to mend: if that is meant, 'fid modules lock' takes it as it is now\n", result.stderr)
        self.assertEqual(run("build", self.recipe, "-o", self.path("rig.json"), "--quiet").stderr, "")

    def test_locked_refuses_a_difference_on_every_command_that_takes_a_recipe(self):
        commands = (("build", self.recipe), ("check", self.recipe), ("pose", self.recipe), ("export", self.recipe, "--to", "svg"), ("show", self.recipe), ("time", self.recipe, "--poses", "1"))
        for command in commands:
            self.assertEqual(run(*command, "--locked").returncode, 0, command)
        self.change()
        for command in commands:
            self.refused(run(*command, "--locked"), 2, "arm.lua:3: error: module 'post' is not as in ", "module.lua changed")
        asked = run("repl", self.recipe, "--locked", input="rig.height")
        self.assertEqual(asked.returncode, 2)
        self.assertIn("is not as in", asked.stderr)

    def test_lock_takes_the_modules_as_they_are(self):
        self.change()
        self.write("work/modules/pole/module.lua", POST.replace('"post"', '"pole"', 1))
        result = self.modules("lock")
        self.assertEqual((result.returncode, result.stdout, result.stderr), (0, "fid.lock: 2 modules\n", ""))
        self.assertEqual([module["name"] for module in self.lock()["modules"]], ["pole", "post"])
        self.assertEqual(run("build", self.recipe, "--locked").returncode, 0)
        first = self.read(os.path.join(self.work, "fid.lock"))
        self.modules("lock", cwd=os.path.join(self.work, "recipes"))
        self.assertEqual(self.read(os.path.join(self.work, "fid.lock")), first)
        # Those that are gone are forgotten; those that are not named stay as they were.
        self.write("work/modules/pole/more.lua", "")
        os.remove(os.path.join(self.work, "modules/post/module.lua"))
        self.modules("lock", "pole")
        self.assertEqual([len(module["files"]) for module in self.lock()["modules"]], [2, 3])
        self.modules("lock")
        self.assertEqual([module["name"] for module in self.lock()["modules"]], ["pole"])

    def test_lock_refuses_what_it_cannot_take(self):
        before = self.read(os.path.join(self.work, "fid.lock"))
        self.refused(self.modules("lock", "pots"), 2, "there is no module 'pots' in modules")
        self.write("work/modules/pole/module.lua", POST)
        self.refused(self.modules("lock"), 2, "modules/pole/module.lua is called 'post', not as its folder")
        self.write("work/modules/pole/module.lua", "return 3")
        self.refused(self.modules("lock"), 2, "modules/pole/module.lua must return fid.module{}")
        self.assertEqual(self.read(os.path.join(self.work, "fid.lock")), before)
        os.makedirs(self.path("bare"))
        self.refused(self.modules("lock", cwd=self.path("bare")), 3, "there is no folder 'modules' here or above")

    def test_a_module_that_is_in_no_lock_is_told_of(self):
        self.write("work/modules/pole/module.lua", POST.replace('"post"', '"pole"', 1))
        recipe = self.write("work/recipes/pole.lua", RECIPE.replace("post", "pole"))
        self.assertIn("warning: module 'pole' is not in ", run("build", recipe).stderr)
        self.refused(run("build", recipe, "--locked"), 2, "module 'pole' is not in ")
        # Without a lock, or from FID_PATH, there is nothing to say, but with --locked.
        shared = self.put_folder("shared/post")
        bare = self.write("bare/arm.lua", RECIPE)
        there = {"FID_PATH": os.path.dirname(shared)}
        self.assertEqual(run("build", bare, env=there).stderr, "")
        self.refused(run("build", bare, "--locked", env=there), 2, f"module 'post' of {shared} is in no fid.lock")
        # Those of the program belong to its version.
        leg = self.write("bare/leg.lua", HEAD + 'rig:use("stretch_leg", { id = "a", guides = { {0, 1, 0}, {0, 0.5, 0.2}, {0, 0, 0} } })\nreturn rig\n')
        self.assertEqual(run("build", leg, "--locked").returncode, 0)

    def test_a_link_among_the_files_is_a_difference(self):
        os.symlink("/etc/passwd", os.path.join(self.work, "modules/post/stolen.lua"))
        self.assertIn("stolen.lua' is a link", run("build", self.recipe).stderr)
        self.refused(run("build", self.recipe, "--locked"), 2, "stolen.lua' is a link")

    def test_a_lock_is_read_strictly(self):
        lock = self.lock()
        text = json.dumps(lock)
        module = lock["modules"][0]
        cases = ((text[:-1], "fid.lock:1: "), (text.replace('"fid-lock"', '"fid-look"'), "/format"), (text.replace('"version": 1,', '"version": 1, "more": 1,', 1), "more"),
                 (text.replace(module["sha256"], "0" * 64, 1), "the sha256 of 'post' is not that of its list of files"), (text.replace(module["sha256"], "0" * 63), "64 hexadecimal digits"),
                 (json.dumps({**lock, "modules": [module, module]}), "'post' stands here twice"), (json.dumps({**lock, "modules": [{**module, "files": module["files"][::-1]}]}), "in the order of names"),
                 (json.dumps({**lock, "modules": {}}), "/modules"), ("", "fid.lock"))
        for content, part in cases:
            self.write("work/fid.lock", content)
            self.refused(run("build", self.recipe), 2, "arm.lua:3: error: ", part)

    def test_check_warns_of_a_difference(self):
        self.change()
        result = self.modules("check", "post")
        self.assertIn("modules/post/module.lua: warning: module 'post' is not as in fid.lock: README.md missing", result.stdout)

    def test_the_lock_is_no_place_for_an_output(self):
        lock = os.path.join(self.work, "fid.lock")
        before = self.read(lock)
        self.refused(run("build", self.recipe, "-o", lock), 2, "is an input of this command")
        self.assertEqual(self.read(lock), before)


if __name__ == "__main__":
    unittest.main()
