#include "base/inputs.h"

#include "base/file.h"

#include <string.h>

fid_code fid_inputs_add(fid_inputs *inputs, const char *folder, const char *path, fid_error *err) {
    fid_text joined = {0};
    fid_text_add(&joined, folder ? folder : "");
    fid_text_add(&joined, folder ? "/" : "");
    fid_text_add(&joined, path);
    bool is_known = false;
    for (int32_t i = 0; i < inputs->paths.count && !joined.failed && !is_known; i++) {
        is_known = strcmp(inputs->paths.at[i], joined.at) == 0;
    }
    if (joined.failed || (!is_known && !fid_array_push(&inputs->paths, joined.at))) {
        fid_text_clear(&joined);
        return fid_no_memory(err);
    }
    if (is_known) {
        fid_text_clear(&joined);
    }
    return FID_OK;
}

bool fid_inputs_has(const fid_inputs *inputs, const char *path) {
    for (int32_t i = 0; i < inputs->paths.count; i++) {
        if (fid_file_is_same(path, inputs->paths.at[i])) {
            return true;
        }
    }
    return false;
}

void fid_inputs_clear(fid_inputs *inputs) {
    for (int32_t i = 0; i < inputs->paths.count; i++) {
        fid_memory_free(inputs->paths.at[i]);
    }
    fid_array_clear(&inputs->paths);
}
