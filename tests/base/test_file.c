// For RTLD_NEXT, and for the declaration of syscall.
#ifndef _GNU_SOURCE
#define _GNU_SOURCE
#endif

#include "base/file.h"
#include "scratch.h"
#include "support/memory_fail.h"

#include <dlfcn.h>
#include <errno.h>
#include <limits.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/un.h>

enum { MEGABYTE = 1 << 20 };

// These stand in front of the C library's own, so that a test decides what the system does.

static int read_error;       // the next read fails with it
static bool reads_are_short; // each read gives one byte
static bool is_kernel_old;   // openat2 does not exist

ssize_t read(int file, void *bytes, size_t count) {
    if (read_error != 0) {
        errno = read_error;
        read_error = 0;
        return -1;
    }
    struct iovec part = {bytes, reads_are_short && count > 1 ? 1 : count};
    return readv(file, &part, 1);
}

long syscall(long number, ...) {
    static long (*next)(long, ...);
    if (number != SYS_openat2 || is_kernel_old) {
        errno = ENOSYS;
        return -1;
    }
    if (next == NULL) {
        void *found = dlsym(RTLD_NEXT, "syscall");
        memcpy(&next, &found, sizeof next);
    }
    va_list args;
    va_start(args, number);
    int folder = va_arg(args, int);
    const char *path = va_arg(args, const char *);
    void *how = va_arg(args, void *);
    size_t size = va_arg(args, size_t);
    va_end(args);
    return next(number, folder, path, how, size);
}

static void check_read(const char *path, size_t max_bytes, const char *bytes, size_t count) {
    fid_text text = {0};
    fid_error err = {0};
    fid_code code = fid_file_read(path, max_bytes, &text, &err);
    if (code != FID_OK) {
        fail_msg("%s: %s", path, err.message);
    }
    assert_int_equal(text.count, count);
    assert_memory_equal(text.at, bytes, count);
    assert_int_equal(text.at[count], '\0');
    fid_text_clear(&text);
}

static void check_refused(const char *path, size_t max_bytes, fid_code expected, const char *reason) {
    fid_text text = {0};
    fid_error err = {0};
    fid_code code = fid_file_read(path, max_bytes, &text, &err);
    assert_int_equal(code, expected);
    assert_int_equal(err.code, expected);
    assert_text_contains(err.message, reason);
    assert_text_contains(err.message, path);
    assert_string_equal(err.subject, path);
    assert_null(text.at);
    assert_int_equal(text.count, 0);
    assert_int_equal(fid_file_read(path, max_bytes, &text, NULL), expected);
}

static void a_file_is_read_whole(void **state) {
    (void)state;
    static char large[300001];
    for (size_t i = 0; i < sizeof large; i++) {
        large[i] = (char)(i * 7 + i / 251);
    }
    scratch_put("empty", "", 0);
    scratch_put("nul", "a\0b", 3);
    scratch_put("large", large, sizeof large);
    check_read("empty", MEGABYTE, "", 0);
    check_read("empty", 0, "", 0);
    check_read("nul", MEGABYTE, "a\0b", 3);
    check_read("large", SIZE_MAX, large, sizeof large);
}

static void a_file_may_be_as_large_as_the_limit_and_no_larger(void **state) {
    (void)state;
    scratch_put("five", "12345", 5);
    check_read("five", 5, "12345", 5);
    check_refused("five", 4, FID_LIMIT, "at most 4 bytes");
    check_refused("five", 0, FID_LIMIT, "at most 0 bytes");
}

static void files_without_a_size_are_read_too(void **state) {
    (void)state;
    // The files the kernel makes up claim to be empty.
    struct stat status;
    if (stat("/proc/self/status", &status) != 0 || status.st_size != 0) {
        skip();
    }
    fid_text text = {0};
    fid_error err = {0};
    assert_int_equal(fid_file_read("/proc/self/status", MEGABYTE, &text, &err), FID_OK);
    assert_text_contains(text.at, "Pid:");
    fid_text_clear(&text);
    check_refused("/proc/self/status", 100, FID_LIMIT, "too large");
}

static void short_and_interrupted_reads_go_on(void **state) {
    (void)state;
    scratch_put("bone", "shinbone", 8);
    reads_are_short = true;
    read_error = EINTR;
    check_read("bone", 8, "shinbone", 8);
    read_error = 0;
    reads_are_short = false;
}

static void a_failing_disk_is_told(void **state) {
    (void)state;
    scratch_put("bone", "shinbone", 8);
    fid_text text = {0};
    fid_error err = {0};
    read_error = EIO;
    fid_code code = fid_file_read("bone", 8, &text, &err);
    assert_int_equal(read_error, 0);
    assert_int_equal(code, FID_IO);
    assert_text_contains(err.message, "the disk reports an error");
    assert_null(text.at);
    read_error = ECONNRESET; // nothing a file is known for
    code = fid_file_read("bone", 8, &text, &err);
    assert_int_equal(code, FID_IO);
    assert_text_contains(err.message, "system error");
    assert_null(text.at);
}

static void what_is_no_file_is_refused_by_its_kind(void **state) {
    (void)state;
    assert_int_equal(mkdir("folder", 0777), 0);
    assert_int_equal(mkfifo("pipe", 0666), 0); // nobody writes: waiting would be forever
    scratch_put("file", "", 0);
    check_refused("missing", MEGABYTE, FID_IO, "does not exist");
    check_refused("folder", MEGABYTE, FID_IO, "it is a folder");
    check_refused("pipe", MEGABYTE, FID_IO, "it is a pipe");
    check_refused("/dev/null", MEGABYTE, FID_IO, "it is a device");
    check_refused("file/inner", MEGABYTE, FID_IO, "not a folder");
    check_refused("", MEGABYTE, FID_IO, "does not exist");
    int listener = socket(AF_UNIX, SOCK_STREAM, 0);
    struct sockaddr_un address = {.sun_family = AF_UNIX, .sun_path = "socket"};
    assert_int_equal(bind(listener, (struct sockaddr *)&address, sizeof address), 0);
    check_refused("socket", MEGABYTE, FID_IO, "socket");
    close(listener);
    assert_int_equal(symlink("loop", "loop"), 0);
    check_refused("loop", MEGABYTE, FID_IO, "links");
    char name[NAME_MAX + 2];
    memset(name, 'n', sizeof name - 1);
    name[sizeof name - 1] = '\0';
    fid_text text = {0};
    fid_error err = {0};
    assert_int_equal(fid_file_read(name, MEGABYTE, &text, &err), FID_IO);
    assert_text_contains(err.message, "too long");
}

static bool read_bone(void *user) {
    fid_text text = {0};
    fid_error err = {0};
    fid_code code = fid_file_read(user, MEGABYTE, &text, &err);
    bool empty = text.at == NULL;
    fid_text_clear(&text);
    return code == FID_OK || code != FID_NO_MEMORY || !empty;
}

static void a_failed_allocation_is_told(void **state) {
    (void)state;
    char path[] = "bone";
    scratch_put(path, "shinbone", 8);
    memory_fail_every(read_bone, path);
    reads_are_short = true; // the text has to grow
    memory_fail_every(read_bone, path);
    reads_are_short = false;
}

/// Files and links for the tests of reading beneath a folder.
static void make_tree(void) {
    static bool is_made;
    if (is_made) {
        return;
    }
    is_made = true;
    assert_int_equal(mkdir("tree", 0777), 0);
    assert_int_equal(mkdir("tree/meshes", 0777), 0);
    assert_int_equal(mkdir("tree/meshes/deep", 0777), 0);
    assert_int_equal(mkdir("beside", 0777), 0);
    scratch_put("secret", "secret", 6);
    scratch_put("beside/secret", "secret", 6);
    scratch_put("tree/top", "top", 3);
    scratch_put("tree/..top", "dots", 4);
    scratch_put("tree/meshes/body", "body", 4);
    scratch_put("tree/meshes/deep/eye", "eye", 3);
    assert_int_equal(mkfifo("tree/pipe", 0666), 0);
    assert_int_equal(symlink("../secret", "tree/out"), 0);
    assert_int_equal(symlink("../beside", "tree/aside"), 0);
    assert_int_equal(symlink("top", "tree/link"), 0);
    assert_int_equal(symlink("meshes", "tree/linked"), 0);
    assert_int_equal(symlink("/proc/self/root", "tree/root"), 0);
    assert_int_equal(symlink("tree", "entry"), 0);
}

static void check_beneath(const char *folder, const char *path, const char *content) {
    for (int old = 0; old < 2; old++) {
        is_kernel_old = old == 1;
        fid_text text = {0};
        fid_error err = {0};
        fid_code code = fid_file_read_beneath(folder, path, MEGABYTE, &text, &err);
        is_kernel_old = false;
        if (code != FID_OK) {
            fail_msg("%s in %s: %s", path, folder, err.message);
        }
        assert_string_equal(text.at, content);
        fid_text_clear(&text);
    }
}

static void check_not_beneath(const char *path, const char *reason) {
    for (int old = 0; old < 2; old++) {
        is_kernel_old = old == 1;
        fid_text text = {0};
        fid_error err = {0};
        fid_code code = fid_file_read_beneath("tree", path, MEGABYTE, &text, &err);
        is_kernel_old = false;
        if (code != FID_IO) {
            fail_msg("%s is read", path);
        }
        assert_text_contains(err.message, reason);
        assert_null(text.at);
        assert_int_equal(strncmp(err.subject, path, sizeof err.subject - 1), 0);
    }
}

static void files_beneath_a_folder_are_read(void **state) {
    (void)state;
    make_tree();
    check_beneath("tree", "top", "top");
    check_beneath("tree", "..top", "dots");
    check_beneath("tree", "meshes/body", "body");
    check_beneath("tree", "meshes//deep///eye", "eye");
    check_beneath("tree", "./meshes/./body", "body");
    check_beneath("tree/meshes", "deep/eye", "eye");
    check_beneath(".", "tree/top", "top");
    check_beneath("tree/meshes/..", "top", "top"); // the folder itself comes from the user, who may write it in any way
    check_beneath("entry", "top", "top");
}

static void paths_that_leave_the_folder_are_refused(void **state) {
    (void)state;
    make_tree();
    check_not_beneath("../secret", "'..' is not allowed");
    check_not_beneath("meshes/../top", "'..' is not allowed");
    check_not_beneath("meshes/../../secret", "'..' is not allowed");
    check_not_beneath("meshes//..", "'..' is not allowed");
    check_not_beneath("..", "'..' is not allowed");
    check_not_beneath("/etc/passwd", "relative");
    check_not_beneath("//etc/passwd", "relative");
    check_not_beneath("", "empty");
}

static void links_beneath_the_folder_are_refused(void **state) {
    (void)state;
    make_tree();
    check_not_beneath("out", "links");
    check_not_beneath("link", "links");
    check_not_beneath("aside/secret", "");
    check_not_beneath("linked/body", "");
    check_not_beneath("root/etc/passwd", "");
}

static void what_is_no_file_beneath_the_folder_is_refused(void **state) {
    (void)state;
    make_tree();
    check_not_beneath("missing", "does not exist");
    check_not_beneath("missing/file", "does not exist");
    check_not_beneath("meshes", "folder");
    check_not_beneath(".", "folder");
    check_not_beneath("pipe", "it is a pipe");
    check_not_beneath("top/inner", "not a folder");
    check_not_beneath("top/", "not a folder");
    char path[NAME_MAX + 20];
    memset(path, 'n', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    check_not_beneath(path, "too long");
    memcpy(path, "meshes/", 7);
    check_not_beneath(path, "too long");
}

static void a_folder_that_cannot_be_opened_is_told(void **state) {
    (void)state;
    make_tree();
    fid_text text = {0};
    fid_error err = {0};
    assert_int_equal(fid_file_read_beneath("absent", "top", MEGABYTE, &text, &err), FID_IO);
    assert_text_contains(err.message, "absent");
    assert_text_contains(err.message, "does not exist");
    assert_int_equal(fid_file_read_beneath("secret", "top", MEGABYTE, &text, &err), FID_IO);
    assert_text_contains(err.message, "not a folder");
    assert_int_equal(fid_file_read_beneath("tree", "top", 2, &text, &err), FID_LIMIT);
    assert_null(text.at);
}

static void reading_leaves_no_file_open(void **state) {
    (void)state;
    make_tree();
    int before = dup(0);
    close(before);
    for (int old = 0; old < 2; old++) {
        static const char *const paths[] = {"top", "meshes/deep/eye", "missing", "meshes", "pipe",
                                            "out", "aside/secret",    "top/"};
        for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
            is_kernel_old = old == 1;
            fid_text text = {0};
            (void)!fid_file_read_beneath("tree", paths[i], MEGABYTE, &text, NULL);
            fid_text_clear(&text);
            (void)!fid_file_read_beneath("tree", "top", 1, &text, NULL);
            is_kernel_old = false;
        }
    }
    int after = dup(0);
    close(after);
    assert_int_equal(after, before); // the lowest free number
}

static void paths_to_the_same_file_are_the_same(void **state) {
    (void)state;
    make_tree();
    assert_int_equal(link("secret", "hard"), 0);
    assert_int_equal(symlink("secret", "soft"), 0);
    assert_true(fid_file_is_same("secret", "secret"));
    assert_true(fid_file_is_same("secret", "./tree/../secret"));
    assert_true(fid_file_is_same("secret", "hard"));
    assert_true(fid_file_is_same("soft", "secret"));
    assert_false(fid_file_is_same("secret", "beside/secret")); // same content only
    assert_false(fid_file_is_same("secret", "missing"));
    assert_false(fid_file_is_same("missing", "secret"));
    assert_false(fid_file_is_same("missing", "missing"));
    assert_false(fid_file_is_same("secret", "/dev/null"));
    // What is not there yet is one file where it would be written as one.
    assert_true(fid_file_is_same_place("missing", "./tree/../missing"));
    assert_true(fid_file_is_same_place("soft", "./secret"));
    assert_true(fid_file_is_same_place("secret", "hard"));
    assert_false(fid_file_is_same_place("missing", "beside/missing"));
    assert_false(fid_file_is_same_place("missing", "other"));
    assert_false(fid_file_is_same_place("secret", "beside/secret"));
    assert_false(fid_file_is_same_place("nowhere/missing", "nowhere/missing"));
}

static void check_folder(const char *path, const char *expected) {
    fid_text text = {0};
    fid_text_add(&text, "in ");
    fid_path_add_folder(&text, path);
    assert_false(text.failed);
    assert_string_equal(text.at + 3, expected);
    fid_text_clear(&text);
}

static void the_folder_of_a_path_is_what_comes_before_the_name(void **state) {
    (void)state;
    check_folder("a/b.lua", "a");
    check_folder("b.lua", ".");
    check_folder("", ".");
    check_folder("/b.lua", "/");
    check_folder("//b.lua", "/");
    check_folder("/a/b.lua", "/a");
    check_folder("../a/b.lua", "../a");
    check_folder("a//b.lua", "a");
    check_folder("a/b/c.lua", "a/b");
    check_folder("a/b/", "a/b");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_is_read_whole),
        cmocka_unit_test(a_file_may_be_as_large_as_the_limit_and_no_larger),
        cmocka_unit_test(files_without_a_size_are_read_too),
        cmocka_unit_test(short_and_interrupted_reads_go_on),
        cmocka_unit_test(a_failing_disk_is_told),
        cmocka_unit_test(what_is_no_file_is_refused_by_its_kind),
        cmocka_unit_test(a_failed_allocation_is_told),
        cmocka_unit_test(files_beneath_a_folder_are_read),
        cmocka_unit_test(paths_that_leave_the_folder_are_refused),
        cmocka_unit_test(links_beneath_the_folder_are_refused),
        cmocka_unit_test(what_is_no_file_beneath_the_folder_is_refused),
        cmocka_unit_test(a_folder_that_cannot_be_opened_is_told),
        cmocka_unit_test(reading_leaves_no_file_open),
        cmocka_unit_test(paths_to_the_same_file_are_the_same),
        cmocka_unit_test(the_folder_of_a_path_is_what_comes_before_the_name),
    };
    return cmocka_run_group_tests(tests, scratch_enter, scratch_leave);
}
