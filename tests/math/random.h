#ifndef FID_TESTS_MATH_RANDOM_H
#define FID_TESTS_MATH_RANDOM_H

#include "math/frame.h"
#include "support/assert.h"

#include <stdint.h>

/// Random values for property tests: Marsaglia's xorshift (G. Marsaglia, "Xorshift RNGs", J. Stat. Softw. 8(14), 2003).
typedef struct random_source {
    uint64_t state;
} random_source;

/// Starts with a seed other than 0 and prints it.
static inline random_source random_begin(uint64_t seed) {
    print_message("seed %llu\n", (unsigned long long)seed);
    return (random_source){seed};
}

/// Between `low` and `high`.
static inline double random_between(random_source *source, double low, double high) {
    source->state ^= source->state << 13;
    source->state ^= source->state >> 7;
    source->state ^= source->state << 17;
    return low + (high - low) * ((double)(source->state >> 11) / 9007199254740992.0);
}

static inline fid_vec3 random_vec3(random_source *source, double size) {
    float x = (float)random_between(source, -size, size);
    float y = (float)random_between(source, -size, size);
    float z = (float)random_between(source, -size, size);
    return (fid_vec3){x, y, z};
}

/// A unit quaternion, evenly distributed (by rejection from the ball).
static inline fid_quat random_quat(random_source *source) {
    for (;;) {
        double x = random_between(source, -1.0, 1.0), y = random_between(source, -1.0, 1.0);
        double z = random_between(source, -1.0, 1.0), w = random_between(source, -1.0, 1.0);
        double length = sqrt(x * x + y * y + z * z + w * w);
        if (length > 0.1 && length <= 1.0) {
            return (fid_quat){(float)(x / length), (float)(y / length), (float)(z / length), (float)(w / length)};
        }
    }
}

/// Translations up to 2, scales from 0.25 to 4.
static inline fid_frame random_frame(random_source *source) {
    fid_vec3 t = random_vec3(source, 2.0);
    fid_quat q = random_quat(source);
    float x = (float)random_between(source, 0.25, 4.0);
    float y = (float)random_between(source, 0.25, 4.0);
    float z = (float)random_between(source, 0.25, 4.0);
    return (fid_frame){t, q, {x, y, z}};
}

#endif
