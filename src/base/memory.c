#include "base/memory.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static void *use_library(void *user, void *block, size_t size) {
    (void)user;
    if (size == 0) {
        free(block);
        return NULL;
    }
    return realloc(block, size);
}

static fid_memory_function current = use_library;
static void *current_user = NULL;

void fid_memory_set(fid_memory_function function, void *user) {
    current = function != NULL ? function : use_library;
    current_user = function != NULL ? user : NULL;
}

bool fid_memory_is_set(void) { return current != use_library; }

void *fid_memory_get(size_t size) { return fid_memory_resize(NULL, size); }

void *fid_memory_get_zero(size_t count, size_t size) {
    if (size == 0 || count > SIZE_MAX / size) {
        return NULL;
    }
    void *block = fid_memory_get(count * size);
    if (block != NULL) {
        memset(block, 0, count * size);
    }
    return block;
}

void *fid_memory_resize(void *block, size_t size) {
    if (size == 0) {
        return NULL;
    }
    return current(current_user, block, size);
}

void fid_memory_free(void *block) {
    if (block != NULL) {
        current(current_user, block, 0);
    }
}
