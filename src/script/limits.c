#include "script/limits.h"

fid_limits fid_limits_default(void) {
    return (fid_limits){.max_memory = (size_t)512 * 1024 * 1024, .max_seconds = 60.0, .max_instructions = 2000000000};
}

fid_code fid_limits_complete(fid_limits *limits, fid_error *err) {
    fid_limits usual = fid_limits_default();
    fid_limits asked = *limits;
    if (asked.max_memory == 0) {
        asked.max_memory = usual.max_memory;
    }
    if (asked.max_seconds == 0.0) {
        asked.max_seconds = usual.max_seconds;
    }
    if (asked.max_instructions == 0) {
        asked.max_instructions = usual.max_instructions;
    }
    if (asked.max_memory < (size_t)1024 * 1024 || asked.max_memory > (size_t)PTRDIFF_MAX / 2) {
        return fid_fail(err, FID_RANGE, "--max-memory must be 1 MiB or more");
    }
    // Written so that a value that is no number is refused, too.
    if (!(asked.max_seconds >= 0.001 && asked.max_seconds <= 1e6)) {
        return fid_fail(err, FID_RANGE, "--max-seconds must be from 0.001 to 1000000");
    }
    if (asked.max_instructions < 1000 || asked.max_instructions > INT64_MAX / 2) {
        return fid_fail(err, FID_RANGE, "--max-instructions must be 1000 or more");
    }
    *limits = asked;
    return FID_OK;
}
