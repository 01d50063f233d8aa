#include "fuzz/target.h"
#include "library/attack.h"

/// The input is a skeleton file that an embedding program loads.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    uint32_t random = fuzz_seed(data, size);
    fuzz_hold(attack_library((const char *)data, size, &random));
    return 0;
}
