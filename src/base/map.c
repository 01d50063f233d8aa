#include "base/map.h"

#include <string.h>

enum { SMALLEST_CAPACITY = 16, LARGEST_CAPACITY = 1 << 30 };

/// Stands in the place of a removed key: a search goes on past it.
static const char removed[] = "";

/// The hash of Fowler, Noll and Vo in its form 1a with 32 bits.
static uint32_t hash_text(const char *text) {
    uint32_t hash = 2166136261u;
    for (; *text != '\0'; text++) {
        hash = (hash ^ (unsigned char)*text) * 16777619u;
    }
    return hash;
}

/// The place of `key`, or -1.
static int32_t find_place(const fid_map *map, const char *key) {
    if (map->capacity == 0) {
        return -1;
    }
    uint32_t mask = (uint32_t)map->capacity - 1;
    for (uint32_t i = hash_text(key) & mask; map->keys[i] != NULL; i = (i + 1) & mask) {
        if (map->keys[i] != removed && strcmp(map->keys[i], key) == 0) {
            return (int32_t)i;
        }
    }
    return -1;
}

/// Puts a key that is not there yet into a map with room.
static void put(fid_map *map, const char *key, int32_t value) {
    uint32_t mask = (uint32_t)map->capacity - 1;
    uint32_t i = hash_text(key) & mask;
    while (map->keys[i] != NULL) {
        i = (i + 1) & mask;
    }
    map->keys[i] = key;
    map->values[i] = value;
    map->count++;
    map->used++;
}

/// A map of the same content with at least twice as many places as keys, and no removed ones.
static bool rebuild(fid_map *map) {
    int32_t capacity = SMALLEST_CAPACITY;
    while (capacity / 2 <= map->count) {
        if (capacity == LARGEST_CAPACITY) {
            return false;
        }
        capacity *= 2;
    }
    fid_map fresh = {.capacity = capacity};
    fresh.keys = fid_memory_get_zero((size_t)capacity, sizeof *fresh.keys);
    fresh.values = fid_memory_get_zero((size_t)capacity, sizeof *fresh.values);
    if (fresh.keys == NULL || fresh.values == NULL) {
        fid_map_clear(&fresh);
        return false;
    }
    for (int32_t i = 0; i < map->capacity; i++) {
        if (map->keys[i] != NULL && map->keys[i] != removed) {
            put(&fresh, map->keys[i], map->values[i]);
        }
    }
    fid_map_clear(map);
    *map = fresh;
    return true;
}

int32_t fid_map_find(const fid_map *map, const char *key) {
    int32_t place = find_place(map, key);
    return place < 0 ? -1 : map->values[place];
}

bool fid_map_set(fid_map *map, const char *key, int32_t value) {
    int32_t place = find_place(map, key);
    if (place >= 0) {
        map->values[place] = value;
        return true;
    }
    // At least a quarter of the places stays empty, so that every search ends.
    if (map->used >= map->capacity / 4 * 3 && !rebuild(map)) {
        return false;
    }
    put(map, key, value);
    return true;
}

void fid_map_remove(fid_map *map, const char *key) {
    int32_t place = find_place(map, key);
    if (place >= 0) {
        map->keys[place] = removed;
        map->count--;
    }
}

void fid_map_clear(fid_map *map) {
    fid_memory_free(map->keys);
    fid_memory_free(map->values);
    memset(map, 0, sizeof *map);
}
