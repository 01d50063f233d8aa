#include "script/path.h"

#include "format/findings_text.h"
#include "script/raise.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool fid_path_join(fid_file_path *out, const char *folder, const char *name) {
    // Nothing is put before a name in the working folder.
    bool is_here = strcmp(folder, ".") == 0;
    bool has_slash = folder[0] != '\0' && folder[strlen(folder) - 1] == '/';
    int length =
        snprintf(out->at, sizeof out->at, "%s%s%s", is_here ? "" : folder, is_here || has_slash ? "" : "/", name);
    return length >= 0 && (size_t)length < sizeof out->at;
}

void fid_path_set(lua_State *L, fid_file_path *out, const char *folder, const char *name) {
    if (!fid_path_join(out, folder, name)) {
        fid_raisef(L, FID_LIMIT, NULL, "the path of '%.64s' is longer than %d bytes", name, FID_PATH_SIZE - 1);
    }
}

void fid_path_normalize(fid_file_path *in_out) {
    fid_file_path out;
    size_t length = 0;
    const char *at = in_out->at;
    bool is_absolute = at[0] == '/';
    if (is_absolute) {
        out.at[length++] = '/';
    }
    size_t floor = length; // what ".." does not take off
    while (*at != '\0') {
        size_t part = strcspn(at, "/");
        bool is_up = part == 2 && at[0] == '.' && at[1] == '.';
        if (is_up && length > floor) {
            while (length > floor && out.at[length - 1] != '/') {
                length--;
            }
            if (length > floor) {
                length--;
            }
        } else if (part > 0 && !(part == 1 && at[0] == '.') && !(is_up && is_absolute)) {
            if (length > 0 && out.at[length - 1] != '/') {
                out.at[length++] = '/';
            }
            memcpy(out.at + length, at, part);
            length += part;
            floor = is_up ? length : floor;
        }
        at += part;
        at += *at == '/';
    }
    if (length == 0) {
        out.at[length++] = '.';
    }
    out.at[length] = '\0';
    *in_out = out;
}

bool fid_path_step_up(fid_file_path *folder) {
    size_t length = strlen(folder->at);
    bool ends_in_up = strcmp(folder->at, "..") == 0 || (length > 3 && strcmp(folder->at + length - 3, "/..") == 0);
    if (strcmp(folder->at, "/") == 0 || length + 4 > sizeof folder->at) {
        return false;
    }
    if (strcmp(folder->at, ".") == 0) {
        strcpy(folder->at, "..");
    } else if (ends_in_up) {
        strcat(folder->at, "/..");
    } else {
        strcat(folder->at, "/..");
        fid_path_normalize(folder);
    }
    return true;
}

int fid_path_count_above(const char *folder) {
    fid_file_path whole;
    whole.at[0] = '\0';
    if (folder[0] != '/' && getcwd(whole.at, sizeof whole.at) == NULL) {
        return 0;
    }
    size_t length = strlen(whole.at);
    int added = snprintf(whole.at + length, sizeof whole.at - length, "/%s", folder);
    if (added < 0 || (size_t)added >= sizeof whole.at - length) {
        return 0;
    }
    fid_path_normalize(&whole);
    int count = 0;
    for (size_t i = 0; whole.at[i] != '\0'; i++) {
        count += whole.at[i] == '/' && whole.at[i + 1] != '\0';
    }
    return count;
}

bool fid_path_is_present(const char *file) {
    struct stat status;
    return stat(file, &status) == 0;
}

void fid_path_add_shown(const char *file, const char *folder, fid_text *out) {
    bool plain = !folder || strcmp(folder, ".") == 0 || file[0] == '/' || strncmp(file, "fid:", 4) == 0 ||
                 strcmp(file, "session") == 0;
    fid_file_path path = {""};
    if (!plain && snprintf(path.at, sizeof path.at, "%s/%s", folder, file) < (int)sizeof path.at) {
        fid_path_normalize(&path);
        fid_findings_add_plain(path.at, "", out);
    } else {
        fid_findings_add_plain(file, "", out);
    }
}
