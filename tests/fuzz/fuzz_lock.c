#include "fuzz/target.h"

#include "format/lock.h"

#include <string.h>

/// The input is the lock of a project: what is read can be written, and what is written reads back as the same bytes.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fid_lock lock = {0}, again = {0};
    fid_report report = {0};
    fid_text first = {0}, second = {0};
    fid_error err;
    if (fid_lock_read((const char *)data, size, "fid.lock", &lock, &report) == FID_OK) {
        fuzz_hold(fid_lock_write(&lock, &first, &err) == FID_OK ? NULL : "what was read can be written");
        fuzz_hold(fid_lock_read(first.at, (size_t)first.count, "fid.lock", &again, &report) == FID_OK
                      ? NULL
                      : "what was written can be read");
        fuzz_hold(fid_lock_write(&again, &second, &err) == FID_OK ? NULL : "what was read again can be written");
        fuzz_hold(first.count == second.count && memcmp(first.at, second.at, (size_t)first.count) == 0
                      ? NULL
                      : "both have the same bytes");
    } else {
        fuzz_hold(report.findings.count == 1 ? NULL : "a refusal is one finding");
    }
    fid_text_clear(&first);
    fid_text_clear(&second);
    fid_report_clear(&report);
    fid_lock_clear(&lock);
    fid_lock_clear(&again);
    return 0;
}
