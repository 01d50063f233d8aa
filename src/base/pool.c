#include "base/pool.h"

bool fid_pool_add(fid_pool *pool, fid_handle *out) {
    if (pool->count == pool->generations.count && !fid_array_push(&pool->generations, 1u)) {
        return false;
    }
    *out = (fid_handle){(uint32_t)pool->count, pool->generations.at[pool->count]};
    pool->count++;
    return true;
}

int32_t fid_pool_index(const fid_pool *pool, fid_handle handle) {
    if (handle.generation == 0 || handle.slot >= (uint32_t)pool->count) {
        return -1;
    }
    return pool->generations.at[handle.slot] == handle.generation ? (int32_t)handle.slot : -1;
}

fid_handle fid_pool_handle(const fid_pool *pool, int32_t slot) {
    if (slot < 0 || slot >= pool->count) {
        return (fid_handle){0, 0};
    }
    return (fid_handle){(uint32_t)slot, pool->generations.at[slot]};
}

void fid_pool_cut(fid_pool *pool, int32_t count) {
    for (int32_t i = count; i < pool->count; i++) {
        // The last generation stays: four billion undone builds in one process are not a case.
        if (pool->generations.at[i] != UINT32_MAX) {
            pool->generations.at[i]++;
        }
    }
    if (count < pool->count) {
        pool->count = count;
    }
}

void fid_pool_clear(fid_pool *pool) {
    fid_array_clear(&pool->generations);
    pool->count = 0;
}
