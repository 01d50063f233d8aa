#ifndef FID_TESTS_FUZZ_TARGET_H
#define FID_TESTS_FUZZ_TARGET_H

#include "support/attack.h"

#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/// Stops with what does not hold; NULL is fine.
static inline void fuzz_hold(const char *wrong) {
    if (wrong != NULL) {
        fprintf(stderr, "not so: %s\n", wrong);
        abort();
    }
}

/// A number that belongs to the input, never 0, so that the same input gives the same run.
/// FNV-1a: G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, "The FNV Non-Cryptographic Hash Algorithm".
static inline uint32_t fuzz_seed(const uint8_t *data, size_t size) {
    uint32_t hash = 2166136261u;
    for (size_t i = 0; i < size; i++) {
        hash = (hash ^ data[i]) * 16777619u;
    }
    return hash | 1u;
}

#endif
