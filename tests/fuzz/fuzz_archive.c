#include "fuzz/target.h"

#include "app/archive.h"

#include <unistd.h>

/// The input is an archive of a module: whatever comes out of it may stand below a folder, and is not too much.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char path[64];
    snprintf(path, sizeof path, "archive-%ld", (long)getpid());
    FILE *file = fopen(path, "wb");
    fuzz_hold(file != NULL && fwrite(data, 1, size, file) == size && fclose(file) == 0 ? NULL : "the input is there");
    fid_bundle bundle = {0};
    fid_error err;
    fid_code code = fid_archive_read(path, &bundle, &err);
    code = code == FID_OK ? fid_bundle_seal(&bundle, &err) : code;
    size_t total = 0;
    for (int32_t i = 0; i < bundle.files.count; i++) {
        fuzz_hold(fid_bundle_path_flaw(bundle.files.at[i].path) == NULL ? NULL : "every path may stand in a bundle");
        total += (size_t)bundle.files.at[i].bytes.count;
    }
    fuzz_hold(bundle.files.count <= FID_BUNDLE_FILES && total <= (size_t)FID_BUNDLE_BYTES ? NULL
                                                                                          : "it is not too much");
    fid_bundle_clear(&bundle);
    remove(path);
    return 0;
}
