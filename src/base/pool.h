#ifndef FID_BASE_POOL_H
#define FID_BASE_POOL_H

#include "base/array.h"

/// A reference to an element: its slot and how often that slot was given out. All zero is null; a handle of an element
/// that is gone never becomes valid again. Typed handles wrap it, one struct per kind of element.
typedef struct fid_handle {
    uint32_t slot;
    uint32_t generation;
} fid_handle;

/// Gives out slots 0, 1, 2, ... in order; elements go away from the end only (fid_pool_cut). The elements themselves
/// are kept by the owner in an array of the same order. Zero-initialise to begin.
typedef struct fid_pool {
    FID_ARRAY(uint32_t) generations; ///< of every slot that was ever given out
    int32_t count;                   ///< living elements
} fid_pool;

/// The next slot; false if there is no memory.
FID_NODISCARD bool fid_pool_add(fid_pool *pool, fid_handle *out);

/// The slot of a living handle, or -1 (null, stale, or never given out).
int32_t fid_pool_index(const fid_pool *pool, fid_handle handle);

/// The handle of the living element in `slot`; null where there is none.
fid_handle fid_pool_handle(const fid_pool *pool, int32_t slot);

/// Ends the life of every element from slot `count` on.
void fid_pool_cut(fid_pool *pool, int32_t count);

void fid_pool_clear(fid_pool *pool);

static inline bool fid_handle_is_null(fid_handle handle) { return handle.generation == 0; }

#endif
