#include "base/array.h"

#include <string.h>

enum { SMALLEST_CAPACITY = 8 };

bool fid_array_grow(void **at, int32_t *capacity, int32_t count, int32_t more, size_t element_size) {
    if (more < 0 || more > INT32_MAX - count) {
        return false;
    }
    int32_t needed = count + more;
    if (needed <= *capacity) {
        return true;
    }
    int32_t grown = *capacity > INT32_MAX / 2 ? INT32_MAX : *capacity * 2;
    if (grown < SMALLEST_CAPACITY) {
        grown = SMALLEST_CAPACITY;
    }
    if (grown < needed) {
        grown = needed;
    }
    if ((size_t)grown > SIZE_MAX / element_size) {
        return false;
    }
    // The pointer is really a T *, not a void *: reading it as bytes keeps to the aliasing rules.
    void *block;
    memcpy(&block, at, sizeof block);
    block = fid_memory_resize(block, (size_t)grown * element_size);
    if (block == NULL) {
        return false;
    }
    memcpy(at, &block, sizeof block);
    *capacity = grown;
    return true;
}
