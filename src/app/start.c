#include "app/start.h"

#include "script/embedded.h"
#include "script/loader.h"

#include <stdio.h>
#include <string.h>

void fid_start_add(const char *file, const char *name, fid_text *out) {
    static const char mark[] = "NAME";
    enum { MARK = sizeof mark - 1 };
    char path[64];
    snprintf(path, sizeof path, "lua/start/%s", file);
    const struct fid_embedded *found = fid_loader_find_embedded(path);
    out->failed |= !found;
    const char *bytes = found ? (const char *)found->bytes : "";
    for (size_t at = 0; found && at < found->size;) {
        bool is_name = at + MARK <= found->size && strncmp(bytes + at, mark, MARK) == 0;
        fid_text_add_bytes(out, is_name ? name : bytes + at, is_name ? strlen(name) : 1);
        at += is_name ? MARK : 1;
    }
}
