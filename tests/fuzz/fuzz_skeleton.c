#include "fuzz/target.h"

/// The input is a skeleton file.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_hold(attack_skeleton((const char *)data, size, fuzz_seed(data, size), NULL));
    return 0;
}
