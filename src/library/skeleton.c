#include "library/skeleton.h"

#include "base/file.h"
#include "format/skeleton_read.h"
#include "library/message.h"

fid_code fid_skeleton_read_file(const char *path, fid_text *text, fid_error *err) {
    return path != NULL ? fid_file_read(path, FID_FILE_MOST, text, err)
                        : fid_fail(err, FID_INVALID, "the path is NULL");
}

void fid_skeleton_free(fid_skeleton *skeleton) {
    if (skeleton != NULL) {
        fid_program_free(skeleton->program);
        fid_rig_free(skeleton->rig);
        fid_arena_clear(&skeleton->arena);
        fid_memory_free(skeleton);
    }
}

fid_status fid_skeleton_load_text(const char *text, size_t size, const char *name, fid_skeleton **out, char *message,
                                  size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    fid_error err = {0};
    fid_report report = {0};
    if (out == NULL) {
        return fid_message_invalid(to, "'out' is NULL: there is no place for the skeleton");
    }
    *out = NULL;
    if (text == NULL && size > 0) {
        return fid_message_invalid(to, "the text is NULL");
    }
    name = name != NULL ? name : "skeleton";
    fid_skeleton *skeleton = fid_memory_get_zero(1, sizeof *skeleton);
    if (skeleton == NULL) {
        (void)fid_no_memory(&err);
        return fid_message_error(to, name, &err);
    }
    fid_code code = fid_skeleton_read(text != NULL ? text : "", size, name, &skeleton->rig, &report);
    code = code ? code : fid_program_compile(skeleton->rig, &report, &skeleton->program, &err);
    code = code ? code : fid_skeleton_list_channels(skeleton, &err);
    fid_status status = fid_message_report(to, name, code, &report, &err);
    fid_report_clear(&report);
    if (status == FID_STATUS_OK) {
        *out = skeleton;
    } else {
        fid_skeleton_free(skeleton);
    }
    return status;
}

fid_status fid_skeleton_load(const char *path, fid_skeleton **out, char *message, size_t message_size) {
    fid_message to = fid_message_begin(message, message_size);
    fid_error err;
    fid_text text = {0};
    if (out != NULL) {
        *out = NULL;
    }
    fid_code code = fid_skeleton_read_file(path, &text, &err);
    fid_status status = code == FID_OK
                            ? fid_skeleton_load_text(text.at, (size_t)text.count, path, out, message, message_size)
                            : fid_message_error(to, path, &err);
    fid_text_clear(&text);
    return status;
}

const char *fid_skeleton_name(const fid_skeleton *skeleton) { return skeleton != NULL ? skeleton->rig->name : ""; }

float fid_skeleton_height(const fid_skeleton *skeleton) { return skeleton != NULL ? skeleton->rig->height : 0; }

int32_t fid_skeleton_placement(const fid_skeleton *skeleton) {
    return skeleton != NULL ? skeleton->program->placement : FID_NO_INDEX;
}
