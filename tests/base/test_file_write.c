// For the declaration of syscall.
#ifndef _GNU_SOURCE
#define _GNU_SOURCE
#endif

#include "base/file.h"
#include "scratch.h"
#include "support/memory_fail.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <time.h>

enum { LARGE = 200000 };

#define TEMPORARY ".fid-tmp-"

// These stand in front of the C library's own, so that a test decides what the system does. Each fails once with its
// error where that is set.

static int open_error;
static int write_error;
static int writes_before_error; // so many writes succeed first
static bool writes_are_short;
static int fsync_error;
static int close_error;
static int rename_error;
static int chmod_error;

static bool fails(int *error) {
    if (*error == 0) {
        return false;
    }
    errno = *error;
    *error = 0;
    return true;
}

int openat(int folder, const char *path, int flags, ...) {
    if ((flags & O_CREAT) != 0 && fails(&open_error)) {
        return -1;
    }
    mode_t mode = 0;
    if ((flags & O_CREAT) != 0) {
        va_list list;
        va_start(list, flags);
        mode = va_arg(list, mode_t);
        va_end(list);
    }
    return (int)syscall(SYS_openat, folder, path, flags, mode);
}

ssize_t write(int file, const void *bytes, size_t count) {
    if (writes_before_error > 0) {
        writes_before_error--;
    } else if (fails(&write_error)) {
        return -1;
    }
    char copy[1000];
    size_t part = writes_are_short && count > sizeof copy ? sizeof copy : count;
    struct iovec vector = {(void *)(uintptr_t)bytes, part};
    return writev(file, &vector, 1);
}

int fsync(int file) { return fails(&fsync_error) ? -1 : (int)syscall(SYS_fsync, file); }

int close(int file) {
    int result = (int)syscall(SYS_close, file);
    return fails(&close_error) ? -1 : result;
}

int renameat(int old_folder, const char *old_path, int new_folder, const char *new_path) {
    return fails(&rename_error) ? -1 : (int)syscall(SYS_renameat2, old_folder, old_path, new_folder, new_path, 0);
}

int fchmod(int file, mode_t mode) { return fails(&chmod_error) ? -1 : (int)syscall(SYS_fchmod, file, mode); }

static void check_written(const char *path, const char *bytes, size_t count) {
    fid_error err = {0};
    fid_code code = fid_file_write(path, bytes, count, &err);
    if (code != FID_OK) {
        fail_msg("%s: %s", path, err.message);
    }
    assert_true(scratch_holds(path, bytes, count));
    assert_int_equal(scratch_count(".", TEMPORARY), 0);
}

static void check_refused(const char *path, const char *reason) {
    fid_error err = {0};
    assert_int_equal(fid_file_write(path, "new", 3, &err), FID_IO);
    assert_int_equal(err.code, FID_IO);
    assert_text_contains(err.message, reason);
    assert_text_contains(err.message, path);
    assert_string_equal(err.subject, path);
    assert_int_equal(scratch_count(".", TEMPORARY), 0);
    assert_int_equal(fid_file_write(path, "new", 3, NULL), FID_IO);
}

static void a_file_is_made_and_replaced(void **state) {
    (void)state;
    static char large[LARGE];
    for (size_t i = 0; i < sizeof large; i++) {
        large[i] = (char)(i * 11 + i / 253);
    }
    check_written("rig", "old", 3);
    check_written("rig", large, sizeof large);
    check_written("rig", "a\0b", 3);
    assert_int_equal(fid_file_write("rig", NULL, 0, NULL), FID_OK);
    assert_true(scratch_holds("rig", "", 0));
    assert_int_equal(mkdir("folder", 0777), 0);
    check_written("folder/rig", "inside", 6);
    check_written("./folder//rig", "again", 5);
    assert_int_equal(scratch_count("folder", TEMPORARY), 0);
    char path[4096];
    assert_non_null(getcwd(path, sizeof path - 10));
    strcat(path, "/whole");
    check_written(path, "absolute", 8);
}

static void a_replaced_file_keeps_its_permissions(void **state) {
    (void)state;
    struct stat status;
    scratch_put("mode", "old", 3);
    assert_int_equal(chmod("mode", 0640), 0);
    check_written("mode", "new", 3);
    assert_int_equal(stat("mode", &status), 0);
    assert_int_equal(status.st_mode & 07777, 0640);
    mode_t mask = umask(027);
    check_written("fresh", "new", 3);
    umask(mask);
    assert_int_equal(stat("fresh", &status), 0);
    assert_int_equal(status.st_mode & 07777, 0640);
}

static void a_link_stays_and_what_it_leads_to_is_replaced(void **state) {
    (void)state;
    struct stat status;
    assert_int_equal(mkdir("store", 0777), 0);
    scratch_put("store/real", "old", 3);
    assert_int_equal(symlink("store/real", "link"), 0);
    check_written("link", "new", 3);
    assert_true(scratch_holds("store/real", "new", 3));
    assert_int_equal(lstat("link", &status), 0);
    assert_true(S_ISLNK(status.st_mode));
    assert_int_equal(symlink("nowhere", "dangling"), 0);
    check_refused("dangling", "does not exist");
    assert_int_equal(symlink("store", "to_folder"), 0);
    check_refused("to_folder", "it is a folder");
    assert_int_equal(symlink("loop", "loop"), 0);
    check_refused("loop", "links");
}

static void what_is_no_file_is_refused_and_stays(void **state) {
    (void)state;
    struct stat status;
    assert_int_equal(mkdir("place", 0777), 0);
    assert_int_equal(mkfifo("pipe", 0666), 0);
    scratch_put("plain", "old", 3);
    check_refused("place", "it is a folder");
    check_refused("place/", "it is a folder");
    check_refused("place/.", "it is a folder");
    check_refused("..", "it is a folder");
    check_refused("new/", "it is a folder");
    check_refused("pipe", "it is a pipe");
    check_refused("/dev/null", "it is a device");
    check_refused("plain/inner", "not a folder");
    check_refused("missing/inner", "its folder does not exist");
    check_refused("", "does not exist");
    assert_int_equal(stat("place", &status), 0);
    assert_true(S_ISDIR(status.st_mode));
    assert_int_equal(stat("pipe", &status), 0);
    assert_true(S_ISFIFO(status.st_mode));
    assert_true(scratch_holds("plain", "old", 3));
    char name[300];
    memset(name, 'n', sizeof name - 1);
    name[sizeof name - 1] = '\0';
    fid_error err = {0};
    assert_int_equal(fid_file_write(name, "new", 3, &err), FID_IO);
    assert_text_contains(err.message, "too long");
}

/// Without the rights of root, which would make nothing protected.
static void protected_files_and_folders_are_refused(void **state) {
    (void)state;
    scratch_put("protected", "old", 3);
    assert_int_equal(chmod("protected", 0444), 0);
    assert_int_equal(mkdir("closed", 0777), 0);
    scratch_put("closed/rig", "old", 3);
    assert_int_equal(chmod("closed/rig", 0666), 0);
    assert_int_equal(chmod("closed", 0555), 0);
    bool is_root = geteuid() == 0;
    if (is_root && seteuid(65534) != 0) {
        skip();
    }
    fid_error file_error = {0};
    fid_error folder_error = {0};
    fid_error new_error = {0};
    fid_code file_code = fid_file_write("protected", "new", 3, &file_error);
    fid_code folder_code = fid_file_write("closed/rig", "new", 3, &folder_error);
    fid_code new_code = fid_file_write("closed/fresh", "new", 3, &new_error);
    if (is_root) {
        assert_int_equal(seteuid(0), 0);
    }
    assert_int_equal(chmod("closed", 0777), 0);
    assert_int_equal(file_code, FID_IO);
    assert_text_contains(file_error.message, "permission denied");
    assert_int_equal(folder_code, FID_IO);
    assert_text_contains(folder_error.message, "permission denied");
    assert_int_equal(new_code, FID_IO);
    assert_text_contains(new_error.message, "permission denied");
    assert_true(scratch_holds("protected", "old", 3));
    assert_true(scratch_holds("closed/rig", "old", 3));
    assert_int_equal(scratch_count("closed", ""), 3); // ".", ".." and the file
}

static void check_failure(int *which, int error, const char *reason) {
    static char large[LARGE];
    scratch_put("kept", "old", 3);
    fid_error err = {0};
    *which = error;
    fid_code code = fid_file_write("kept", large, sizeof large, &err);
    assert_int_equal(*which, 0); // it happened
    assert_int_equal(code, FID_IO);
    assert_text_contains(err.message, reason);
    assert_text_contains(err.message, "kept");
    assert_true(scratch_holds("kept", "old", 3));
    assert_int_equal(scratch_count(".", TEMPORARY), 0);
    check_written("kept", "new", 3);
}

static void the_old_file_stays_where_a_step_fails(void **state) {
    (void)state;
    check_failure(&open_error, EROFS, "read-only");
    check_failure(&open_error, EMFILE, "too many files");
    check_failure(&open_error, ENOSPC, "full");
    check_failure(&write_error, ENOSPC, "full");
    check_failure(&write_error, EDQUOT, "quota");
    check_failure(&write_error, EFBIG, "larger");
    check_failure(&write_error, EIO, "reports an error");
    check_failure(&fsync_error, EIO, "reports an error");
    check_failure(&close_error, EDQUOT, "quota");
    check_failure(&rename_error, EPERM, "permission denied");
    check_failure(&rename_error, EISDIR, "folder");
    check_failure(&rename_error, EXDEV, "system error");
    check_failure(&chmod_error, EPERM, "permission denied");
    // Only the first error counts.
    close_error = ENOSPC;
    check_failure(&write_error, EIO, "reports an error");
}

static void a_disk_that_fills_up_midway_leaves_the_old_file(void **state) {
    (void)state;
    writes_are_short = true;
    writes_before_error = 50;
    check_failure(&write_error, ENOSPC, "full");
    writes_are_short = false;
}

static void short_and_interrupted_writes_go_on(void **state) {
    (void)state;
    static char large[LARGE];
    memset(large, 'x', sizeof large);
    writes_are_short = true;
    writes_before_error = 3;
    write_error = EINTR;
    check_written("slow", large, sizeof large);
    assert_int_equal(write_error, 0);
    writes_are_short = false;
}

static void a_temporary_name_that_is_taken_is_passed_over(void **state) {
    (void)state;
    open_error = EEXIST;
    check_written("passed", "new", 3);
    assert_int_equal(open_error, 0);
}

static bool write_bone(void *user) {
    fid_error err = {0};
    fid_code code = fid_file_write(user, "new", 3, &err);
    return code == FID_OK;
}

static void a_failed_allocation_is_told(void **state) {
    (void)state;
    char path[] = "bone";
    memory_fail_every(write_bone, path);
    scratch_put(path, "old", 3);
    memory_fail fail;
    fid_error err = {0};
    memory_fail_begin(&fail, 1);
    fid_code code = fid_file_write(path, "new", 3, &err);
    memory_fail_end();
    assert_int_equal(code, FID_NO_MEMORY);
    assert_string_equal(err.subject, path);
    assert_true(scratch_holds(path, "old", 3));
}

/// The number of a process that is gone.
static long make_gone_process(void) {
    pid_t child = fork();
    if (child == 0) {
        _exit(0);
    }
    assert_true(child > 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    return (long)child;
}

static void temporaries_of_gone_processes_are_swept(void **state) {
    (void)state;
    static const char *const forms[] = {
        TEMPORARY "%ld-0",
        TEMPORARY "%ld-4294967295", // swept
        TEMPORARY "%ld-",
        TEMPORARY "%ld",
        TEMPORARY "%ld-1x",
        TEMPORARY "-%ld-1",
        TEMPORARY "0%ld-1",
        TEMPORARY " %ld-1",
        TEMPORARY "+%ld-1",
        "x" TEMPORARY "%ld-1",
        "fid-tmp-%ld-1",
        TEMPORARY "x%ld-1",
        TEMPORARY "%ld_1",
        TEMPORARY "9999999999999999999999%ld-1",
        TEMPORARY "99999999999%ld-1",
    };
    enum { FORM_COUNT = sizeof forms / sizeof forms[0], SWEPT = 2 };
    long gone = make_gone_process();
    char names[FORM_COUNT][96];
    assert_int_equal(mkdir("swept", 0777), 0);
    assert_int_equal(chdir("swept"), 0);
    for (int i = 0; i < FORM_COUNT; i++) {
        // Each form has one place for the number; it is put there by hand, since a format must be a literal.
        const char *place = strstr(forms[i], "%ld");
        snprintf(names[i], sizeof names[i], "%.*s%ld%s", (int)(place - forms[i]), forms[i], gone, place + 3);
        scratch_put(names[i], "stray", 5);
    }
    char living[64];
    snprintf(living, sizeof living, TEMPORARY "%ld-4000000000", (long)getpid());
    scratch_put(living, "busy", 4);
    char folder[64];
    snprintf(folder, sizeof folder, TEMPORARY "%ld-7", gone);
    assert_int_equal(mkdir(folder, 0777), 0);
    fid_error err = {0};
    fid_code code = fid_file_write("rig", "new", 3, &err);
    int kept = 0;
    for (int i = 0; i < FORM_COUNT; i++) {
        bool is_there = access(names[i], F_OK) == 0;
        if (is_there != (i >= SWEPT)) {
            print_error("%s is %s\n", names[i], is_there ? "there" : "gone");
        }
        kept += is_there ? 1 : 0;
    }
    bool is_living = access(living, F_OK) == 0;
    bool is_folder = access(folder, F_OK) == 0;
    assert_int_equal(chdir(".."), 0);
    assert_int_equal(code, FID_OK);
    assert_int_equal(kept, FORM_COUNT - SWEPT);
    assert_true(is_living);
    assert_true(is_folder);
}

/// Writes the shared file full of one letter over and over; does not return.
static void write_letters(char letter, int times) {
    static char large[LARGE];
    memset(large, letter, sizeof large);
    for (int i = 0; i < times; i++) {
        if (fid_file_write("shared/rig", large, sizeof large, NULL) != FID_OK) {
            _exit(1);
        }
    }
    _exit(0);
}

/// Whether the file is whole: all of it the same letter.
static bool is_whole(void) {
    static char large[LARGE];
    static const char letters[] = "abc";
    for (int i = 0; i < 3; i++) {
        memset(large, letters[i], sizeof large);
        if (scratch_holds("shared/rig", large, sizeof large)) {
            return true;
        }
    }
    return false;
}

static void start_shared(void) {
    static char large[LARGE];
    memset(large, 'c', sizeof large);
    assert_true(mkdir("shared", 0777) == 0 || errno == EEXIST);
    assert_int_equal(fid_file_write("shared/rig", large, sizeof large, NULL), FID_OK);
}

static void two_writers_at_once_leave_one_whole_file(void **state) {
    (void)state;
    start_shared();
    pid_t writers[2];
    for (int i = 0; i < 2; i++) {
        writers[i] = fork();
        assert_true(writers[i] >= 0);
        if (writers[i] == 0) {
            write_letters(i == 0 ? 'a' : 'b', 100);
        }
    }
    // A reader that keeps its file open sees one version, so whatever it reads is whole: three looks are one whole
    // read.
    int torn = 0;
    int looks = 0;
    int running = 2;
    int failed = 0;
    while (running > 0) {
        static char found[LARGE + 1];
        FILE *file = fopen("shared/rig", "rb");
        size_t length = file != NULL ? fread(found, 1, sizeof found, file) : 0;
        if (file != NULL) {
            fclose(file);
        }
        bool whole = length == LARGE;
        for (size_t i = 1; i < length && whole; i++) {
            whole = found[i] == found[0];
        }
        torn += whole ? 0 : 1;
        looks++;
        int status;
        while (running > 0 && waitpid(-1, &status, WNOHANG) > 0) {
            running--;
            failed += WIFEXITED(status) && WEXITSTATUS(status) == 0 ? 0 : 1;
        }
    }
    assert_int_equal(torn, 0);
    assert_int_equal(failed, 0);
    assert_true(looks > 0);
    assert_int_equal(scratch_count("shared", TEMPORARY), 0);
}

static void *write_in_thread(void *user) {
    static char large[LARGE]; // zeros
    for (int i = 0; i < 50; i++) {
        if (fid_file_write(user, large, sizeof large, NULL) != FID_OK) {
            return user;
        }
    }
    return NULL;
}

static void threads_do_not_share_temporaries(void **state) {
    (void)state;
    static char large[LARGE];
    char path[] = "threads";
    pthread_t threads[4];
    for (int i = 0; i < 4; i++) {
        assert_int_equal(pthread_create(&threads[i], NULL, write_in_thread, path), 0);
    }
    for (int i = 0; i < 4; i++) {
        void *failed = NULL;
        assert_int_equal(pthread_join(threads[i], &failed), 0);
        assert_null(failed);
    }
    assert_true(scratch_holds(path, large, sizeof large));
    assert_int_equal(scratch_count(".", TEMPORARY), 0);
}

static void a_killed_writer_leaves_the_file_whole_and_its_temporary_is_swept(void **state) {
    (void)state;
    start_shared();
    for (int i = 0; i < 100; i++) {
        pid_t writer = fork();
        assert_true(writer >= 0);
        if (writer == 0) {
            write_letters(i % 2 == 0 ? 'a' : 'b', 1000000);
        }
        struct timespec pause = {0, 200000 + (i * 37 % 100) * 30000};
        nanosleep(&pause, NULL);
        assert_int_equal(kill(writer, SIGKILL), 0);
        int status;
        assert_int_equal(waitpid(writer, &status, 0), writer);
        assert_true(WIFSIGNALED(status));
        assert_true(is_whole());
    }
    start_shared();
    assert_int_equal(scratch_count("shared", TEMPORARY), 0);
}

static void writing_leaves_no_file_open(void **state) {
    (void)state;
    int before = dup(0);
    close(before);
    (void)!fid_file_write("rig", "new", 3, NULL);
    (void)!fid_file_write("missing/rig", "new", 3, NULL);
    (void)!fid_file_write(".", "new", 3, NULL);
    (void)!fid_file_write("/dev/null", "new", 3, NULL);
    write_error = ENOSPC;
    (void)!fid_file_write("rig", "new", 3, NULL);
    rename_error = EIO;
    (void)!fid_file_write("rig", "new", 3, NULL);
    int after = dup(0);
    close(after);
    assert_int_equal(after, before); // the lowest free number
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_is_made_and_replaced),
        cmocka_unit_test(a_replaced_file_keeps_its_permissions),
        cmocka_unit_test(a_link_stays_and_what_it_leads_to_is_replaced),
        cmocka_unit_test(what_is_no_file_is_refused_and_stays),
        cmocka_unit_test(protected_files_and_folders_are_refused),
        cmocka_unit_test(the_old_file_stays_where_a_step_fails),
        cmocka_unit_test(a_disk_that_fills_up_midway_leaves_the_old_file),
        cmocka_unit_test(short_and_interrupted_writes_go_on),
        cmocka_unit_test(a_temporary_name_that_is_taken_is_passed_over),
        cmocka_unit_test(a_failed_allocation_is_told),
        cmocka_unit_test(temporaries_of_gone_processes_are_swept),
        cmocka_unit_test(two_writers_at_once_leave_one_whole_file),
        cmocka_unit_test(threads_do_not_share_temporaries),
        cmocka_unit_test(a_killed_writer_leaves_the_file_whole_and_its_temporary_is_swept),
        cmocka_unit_test(writing_leaves_no_file_open),
    };
    return cmocka_run_group_tests(tests, scratch_enter, scratch_leave);
}
