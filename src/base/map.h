#ifndef FID_BASE_MAP_H
#define FID_BASE_MAP_H

#include "base/array.h"

/// From text to a number: open addressing, the keys are borrowed (they live as long as the map or are removed before).
/// Zero-initialise to begin.
typedef struct fid_map {
    const char **keys;
    int32_t *values;
    int32_t capacity; ///< a power of two, or 0
    int32_t count;
    int32_t used; ///< with removed places
} fid_map;

/// The value of `key`, or -1.
int32_t fid_map_find(const fid_map *map, const char *key);

/// Sets `key` to `value` (0 or more), replacing what was there; false if there is no memory.
FID_NODISCARD bool fid_map_set(fid_map *map, const char *key, int32_t value);

void fid_map_remove(fid_map *map, const char *key);
void fid_map_clear(fid_map *map);

#endif
