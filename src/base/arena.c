#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <string.h>

enum { ALIGNMENT = 16, SMALLEST_BLOCK = 4096, LARGEST_STEP = 1 << 20 };

struct fid_arena_block {
    alignas(ALIGNMENT) struct fid_arena_block *previous;
    size_t size; ///< bytes after this header
    size_t used;
};

static char *get_bytes(struct fid_arena_block *block) { return (char *)block + sizeof *block; }

static struct fid_arena_block *add_block(fid_arena *arena, size_t size) {
    // Each block is twice the last up to a step, so that many small requests need few allocations.
    size_t room = SMALLEST_BLOCK - sizeof(struct fid_arena_block);
    if (arena->last != NULL) {
        room = arena->last->size < LARGEST_STEP ? arena->last->size * 2 : LARGEST_STEP;
    }
    if (room < size) {
        room = size;
    }
    struct fid_arena_block *block = fid_memory_get(sizeof *block + room);
    if (block == NULL) {
        return NULL;
    }
    block->previous = arena->last;
    block->size = room;
    block->used = 0;
    arena->last = block;
    return block;
}

void *fid_arena_get(fid_arena *arena, size_t size) {
    if (size > SIZE_MAX / 2) {
        return NULL;
    }
    // An empty request takes a place too, so that its address is one that nothing else has.
    size_t rounded = size == 0 ? ALIGNMENT : (size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    struct fid_arena_block *block = arena->last;
    if (block == NULL || block->size - block->used < rounded) {
        block = add_block(arena, rounded);
        if (block == NULL) {
            return NULL;
        }
    }
    void *bytes = get_bytes(block) + block->used;
    memset(bytes, 0, rounded);
    block->used += rounded;
    arena->total += rounded;
    return bytes;
}

char *fid_arena_copy(fid_arena *arena, const char *text, size_t length) {
    if (length == SIZE_MAX) {
        return NULL;
    }
    char *copy = fid_arena_get(arena, length + 1);
    if (copy != NULL && length > 0) {
        memcpy(copy, text, length);
    }
    return copy;
}

fid_arena_mark fid_arena_get_mark(const fid_arena *arena) {
    fid_arena_mark mark = {arena->last, arena->last != NULL ? arena->last->used : 0, arena->total};
    return mark;
}

void fid_arena_release(fid_arena *arena, fid_arena_mark mark) {
    while (arena->last != mark.block) {
        struct fid_arena_block *block = arena->last;
        arena->last = block->previous;
        fid_memory_free(block);
    }
    if (mark.block != NULL) {
        mark.block->used = mark.used;
    }
    arena->total = mark.total;
}

void fid_arena_clear(fid_arena *arena) {
    fid_arena_mark start = {NULL, 0, 0};
    fid_arena_release(arena, start);
}
