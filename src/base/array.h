#ifndef FID_BASE_ARRAY_H
#define FID_BASE_ARRAY_H

#include "base/memory.h"

#include <stdbool.h>
#include <stdint.h>

/// A growing array of T: `struct name { T *at; int32_t count, capacity; }`. Zero-initialise to begin. At most INT32_MAX
/// elements.
#define FID_ARRAY(T)      \
    struct {              \
        T *at;            \
        int32_t count;    \
        int32_t capacity; \
    }

/// Makes room for `more` elements after the present ones; false if there is no memory (the array is unchanged).
#define fid_array_reserve(array, more) \
    fid_array_grow((void **)&(array)->at, &(array)->capacity, (array)->count, (more), sizeof *(array)->at)

/// Adds a copy of `value` at the end; false if there is no memory. `value` may name the array itself.
#define fid_array_push(array, value) \
    (fid_array_reserve(array, 1) && ((array)->at[(array)->count] = (value), (array)->count++, true))

/// Frees the storage; the array is as new.
#define fid_array_clear(array) \
    (fid_memory_free((array)->at), (array)->at = NULL, (array)->count = 0, (array)->capacity = 0)

/// Implementation of fid_array_reserve. Growth is geometric.
FID_NODISCARD bool fid_array_grow(void **at, int32_t *capacity, int32_t count, int32_t more, size_t element_size);

#endif
