#ifndef FID_BASE_ARENA_H
#define FID_BASE_ARENA_H

#include "base/memory.h"

struct fid_arena_block;

/// Memory given out in order and taken back all at once, or back to a mark. Zero-initialise to begin; nothing is
/// allocated before first use.
typedef struct fid_arena {
    struct fid_arena_block *last;
    size_t total; ///< bytes given out so far, each request rounded up to 16
} fid_arena;

typedef struct fid_arena_mark {
    struct fid_arena_block *block;
    size_t used;
    size_t total;
} fid_arena_mark;

/// Zeroed bytes aligned to 16, valid until release; NULL if there is no memory. `size` 0 gives a valid address.
FID_NODISCARD void *fid_arena_get(fid_arena *arena, size_t size);

/// A copy of `length` bytes of `text` with a final NUL; NULL if there is no memory.
FID_NODISCARD char *fid_arena_copy(fid_arena *arena, const char *text, size_t length);

fid_arena_mark fid_arena_get_mark(const fid_arena *arena);

/// Takes back everything given out since `mark`.
void fid_arena_release(fid_arena *arena, fid_arena_mark mark);

/// Takes back everything and frees the blocks; the arena is as new.
void fid_arena_clear(fid_arena *arena);

#endif
