#ifndef FID_TESTS_BASE_SCRATCH_H
#define FID_TESTS_BASE_SCRATCH_H

#include "support/assert.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

static char scratch_folder[] = "files-XXXXXX";

/// Makes an empty folder beneath the current one and enters it. For cmocka's group setup.
static inline int scratch_enter(void **state) {
    (void)state;
    return mkdtemp(scratch_folder) != NULL && chmod(scratch_folder, 0777) == 0 ? chdir(scratch_folder) : -1;
}

/// Leaves the folder and removes it.
static inline int scratch_leave(void **state) {
    (void)state;
    char command[sizeof scratch_folder + 16];
    snprintf(command, sizeof command, "rm -rf ./%s", scratch_folder);
    return chdir("..") == 0 ? system(command) : -1;
}

/// Makes a file of that content, with nothing of what is tested.
static inline void scratch_put(const char *path, const char *bytes, size_t count) {
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, count, file), count);
    assert_int_equal(fclose(file), 0);
}

/// Whether the file at `path` holds these bytes and no others.
static inline bool scratch_holds(const char *path, const char *bytes, size_t count) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return false;
    }
    char *found = malloc(count + 1);
    size_t length = found != NULL ? fread(found, 1, count + 1, file) : 0;
    bool same = found != NULL && length == count && memcmp(found, bytes, count) == 0;
    free(found);
    fclose(file);
    return same;
}

/// How many names in the folder begin with `start`.
static inline int scratch_count(const char *folder, const char *start) {
    int count = 0;
    DIR *list = opendir(folder);
    assert_non_null(list);
    struct dirent *entry;
    while ((entry = readdir(list)) != NULL) {
        count += strncmp(entry->d_name, start, strlen(start)) == 0 ? 1 : 0;
    }
    closedir(list);
    return count;
}

#endif
