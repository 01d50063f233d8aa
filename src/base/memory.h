#ifndef FID_BASE_MEMORY_H
#define FID_BASE_MEMORY_H

#include "base/error.h"

#include <stdbool.h>

/// The one function through which everything is allocated: `size` 0 frees `block` and returns NULL; else like realloc.
/// Never called with `size` 0 and `block` NULL.
typedef void *(*fid_memory_function)(void *user, void *block, size_t size);

/// Replaces the allocation function of the process (NULL: back to the C library's). Not safe while other threads
/// allocate. For tests and for programs that embed the solver.
void fid_memory_set(fid_memory_function function, void *user);

/// Whether the allocation function is another than the C library's.
bool fid_memory_is_set(void);

/// Bytes of undefined content, aligned for any standard type and to 16 bytes; NULL if there are none, or if `size` is
/// 0.
FID_NODISCARD void *fid_memory_get(size_t size);

/// `count` times `size` zero bytes; NULL on overflow, lack of memory, or 0 bytes.
FID_NODISCARD void *fid_memory_get_zero(size_t count, size_t size);

/// As realloc; on failure, and for `size` 0, NULL and `block` is untouched.
FID_NODISCARD void *fid_memory_resize(void *block, size_t size);

/// Frees; NULL is fine.
void fid_memory_free(void *block);

#endif
