#include "format/moved_read.h"

#include <string.h>

fid_code fid_format_read_moved(fid_json_reader *reader, const fid_json_node *node, fid_rig *rig) {
    static const char *const keys[] = {"from", "to"};
    const fid_json_node *members[2];
    const char *from = "", *to = "";
    fid_error err;
    fid_code code = fid_json_members(reader, node, keys, 2, 0, members);
    code = code == FID_OK ? fid_json_read_text(reader, members[0], &from) : code;
    code = code == FID_OK ? fid_json_read_text(reader, members[1], &to) : code;
    if (code != FID_OK) {
        return code;
    }
    // Names of bones, which files have, hold no point; what has one is a slider.
    fid_bone_id bone = {{0, 0}};
    fid_slider_id slider = {{0, 0}};
    if (strchr(to, '.') == NULL) {
        bone = fid_rig_find_bone(rig, to);
        code = fid_handle_is_null(bone.handle) ? fid_rig_no_bone(rig, to, &err) : FID_OK;
    } else {
        fid_channel channel = {.kind = FID_CHANNEL_NONE};
        code = fid_rig_find_channel(rig, to, &channel, &err);
        if (code == FID_OK && channel.kind != FID_CHANNEL_SLIDER) {
            code = fid_fail(&err, FID_INVALID, "'%.160s' is no bone and no slider", to);
        }
        slider = (fid_slider_id){channel.owner};
        bone = code == FID_OK ? fid_rig_slider(rig, slider, NULL)->def.on : bone;
    }
    if (code != FID_OK) {
        (void)fid_json_fail_with(reader, members[1], "S201", &err);
        return code;
    }
    code = fid_rig_add_moved(rig, from, bone, slider, &err);
    if (code != FID_OK) {
        (void)fid_json_fail_with(reader, members[0], "", &err);
    }
    return code;
}
