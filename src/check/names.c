#include "check/rules.h"

#include <string.h>

/// Characters that every loader takes in a name.
static bool is_plain(const char *name) {
    return strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == strlen(name);
}

void fid_check_names(fid_check *check) {
    const fid_rig *rig = check->rig;
    fid_map seen = {0};
    for (int32_t i = 0; i < rig->bones.count && !check->failed; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        fid_name_fields fields = fid_bone_fields(&bone->def);
        char rendered[FID_NAME_SIZE] = "";
        fid_error err = {0};
        int32_t other = fid_map_find(&seen, bone->name);
        if (other >= 0) {
            fid_check_add(check, "N101", bone->name, bone->def.origin, "two bones are called '%s': '%s' and '%s'",
                          bone->name, rig->bones.at[other].address, bone->address);
        } else if (!is_plain(bone->name) || strlen(bone->name) > 64) {
            fid_check_add(check, "N101", bone->name, bone->def.origin,
                          "the name '%s' has other characters than letters, digits, '_' and '-', or more than 64 bytes",
                          bone->name);
        } else if (fid_name_render(&rig->naming, &fields, rendered, &err) != FID_OK ||
                   strcmp(rendered, bone->name) != 0) {
            fid_check_add(check, "N101", bone->name, bone->def.origin,
                          "the name '%s' is not what the naming renders for '%s' ('%s')", bone->name, bone->address,
                          rendered);
        }
        check->failed |= !fid_map_set(&seen, bone->name, i);
    }
    fid_map_clear(&seen);
}
