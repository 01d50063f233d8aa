#include "app/posed.h"

#include "app/print.h"
#include "base/file.h"
#include "base/number.h"
#include "check/reached.h"
#include "format/pose_read.h"
#include "solve/keep.h"

#include <string.h>

const fid_option fid_pose_options[] = {
    {"pose", 0, "P.json", "a pose file"},
    {"set", 's', "CHANNEL=VALUE",
     "one channel, as in foot_control.translation.y=0.3; may be given several times, acts after --pose"},
    {NULL, 0, NULL, NULL},
};

static int read_pose_file(const char *path, const fid_rig *rig, fid_pose *pose, bool quiet) {
    fid_error err = {0};
    fid_text text = {0};
    fid_report report = {0};
    fid_code code = fid_file_read(path, FID_FILE_MOST, &text, &err);
    if (code) {
        fid_print_error(path, &err);
    } else {
        code = fid_pose_read(text.at ? text.at : "", (size_t)text.count, path, rig, pose, &report);
        if (code || !quiet) {
            fid_print_report(&report, path, NULL);
        }
    }
    fid_report_clear(&report);
    fid_text_clear(&text);
    return fid_exit_status(code);
}

/// The value of an assignment: a number, or for a slider the name of a choice.
static fid_code read_value(const fid_rig *rig, fid_channel channel, const char *text, float *out, fid_error *err) {
    double value = 0;
    if (fid_number_read(text, strlen(text), &value)) {
        *out = (float)value;
        return FID_OK;
    }
    const fid_slider *slider =
        channel.kind == FID_CHANNEL_SLIDER ? fid_rig_slider(rig, (fid_slider_id){channel.owner}, NULL) : NULL;
    return slider && slider->def.choices.count > 0
               ? fid_slider_find_choice(&slider->def, text, out, err)
               : fid_fail(err, FID_INVALID, "'%.64s' is no finite number, such as 0.5 or -2e3", text);
}

static void tell_moved(const fid_rig *rig, const char *option, const char *name, fid_channel channel) {
    fid_text line = {0};
    fid_text_addf(&line, "fid: warning: --%s %s: is called '", option, name);
    fid_rig_add_channel_name(rig, channel, &line);
    fid_text_add(&line, "' now; write that");
    if (!line.failed) {
        fid_print_line(stderr, line.at);
    }
    fid_text_clear(&line);
}

/// The channel and value of an assignment, given to the option --`option` as `form` says.
static fid_code read_assignment(const fid_rig *rig, const char *option, const char *form, const char *text, bool quiet,
                                fid_channel *channel, float *value, fid_error *err) {
    const char *equals = strrchr(text, '=');
    char name[256];
    if (!equals || equals == text || (size_t)(equals - text) >= sizeof name) {
        return fid_fail(err, FID_INVALID, "--%s takes %s, not '%.64s'", option, form, text);
    }
    memcpy(name, text, (size_t)(equals - text));
    name[equals - text] = '\0';
    fid_error cause = {0};
    bool moved = false;
    fid_code code = fid_rig_follow_channel(rig, name, channel, &moved, err);
    if (!code && moved && !quiet) {
        tell_moved(rig, option, name, *channel);
    }
    if (!code) {
        code = read_value(rig, *channel, equals + 1, value, &cause);
        return code ? fid_fail(err, code, "--%s %s: %s", option, text, cause.message) : FID_OK;
    }
    return code;
}

/// Whether a drive gives the channel a value of its own, whatever it is posed to.
static bool is_replaced(const fid_rig *rig, fid_channel channel) {
    bool found = false;
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        found |= def->combine == FID_REPLACE && fid_channel_is(def->to, channel);
    }
    return found;
}

static fid_code set_channel(const fid_rig *rig, fid_pose *pose, const char *text, bool quiet, fid_error *err) {
    fid_channel channel;
    float value = 0;
    bool clamped = false;
    fid_error cause = {0};
    fid_code code = read_assignment(rig, "set", "CHANNEL=VALUE", text, quiet, &channel, &value, err);
    if (code) {
        return code;
    }
    code = fid_pose_set(pose, fid_program_channel(pose->program, channel), value, &clamped, &cause);
    if (code) {
        return fid_fail(err, code, "--set %s: %s", text, cause.message);
    }
    if (clamped && !quiet) {
        double kept = (double)pose->effective[fid_program_channel(pose->program, channel)];
        fprintf(stderr, "fid: note: --set %s: clamped to %g, the end of the channel's range\n", text, kept);
    }
    if (!quiet && is_replaced(rig, channel)) {
        fprintf(stderr, "fid: note: --set %s: a drive gives the channel another value\n", text);
    }
    return code;
}

/// Tells what a switch could not keep.
typedef struct telling {
    const fid_rig *rig;
    const char *text; ///< of the option
    bool quiet, failed;
} telling;

static void tell(void *user, int32_t bone, const fid_reached *reached) {
    telling *to = user;
    if (fid_reached_is_off(to->rig, reached) && !to->quiet) {
        fid_text line = {0};
        fid_text_addf(&line, "fid: note: --match %s: ", to->text);
        fid_reached_add(to->rig, bone, reached, &line);
        to->failed |= line.failed;
        if (!line.failed) {
            fid_print_line(stderr, line.at);
        }
        fid_text_clear(&line);
    }
}

/// Sets a slider and makes up for it.
static fid_code match_slider(const fid_rig *rig, fid_pose *pose, const char *text, bool quiet, fid_error *err) {
    const fid_program *program = pose->program;
    fid_channel channel;
    float value = 0;
    fid_error cause = {0};
    fid_code code = read_assignment(rig, "match", "SLIDER=CHOICE", text, quiet, &channel, &value, err);
    if (code) {
        return code;
    }
    const fid_slider *slider =
        channel.kind == FID_CHANNEL_SLIDER ? fid_rig_slider(rig, (fid_slider_id){channel.owner}, NULL) : NULL;
    code = slider ? fid_slider_check_value(&slider->def, value, &cause) : FID_OK;
    if (code) {
        return fid_fail(err, code, "--match %s: %s", text, cause.message);
    }
    fid_frame *before = fid_memory_get(((size_t)program->bone_count + 1) * sizeof *before);
    if (!before) {
        return fid_no_memory(err);
    }
    telling to = {rig, text, quiet, false};
    code = fid_pose_switch(program, pose, fid_program_channel(program, channel), value, before, tell, &to, &cause);
    if (code) {
        code = fid_fail(err, code, "--match %s: %s", text, cause.message);
    } else if (to.failed) {
        code = fid_no_memory(err);
    }
    fid_memory_free(before);
    return code;
}

int fid_posed_load(const char *file, const fid_loaded *loaded, const fid_arguments *arguments, fid_posed *out) {
    fid_error err = {0};
    fid_report report = {0};
    *out = (fid_posed){NULL, NULL};
    fid_code code = fid_program_compile(loaded->rig, &report, &out->program, &err);
    bool quiet = fid_arguments_last(arguments, "quiet") != NULL;
    if (code || !quiet) {
        fid_print_report(&report, file, loaded->has_folder ? loaded->folder : NULL);
    }
    fid_report_clear(&report);
    code = code ? code : fid_pose_new(out->program, &out->pose, &err);
    if (code) {
        if (code != FID_UNSOUND) {
            fid_print_error(file, &err);
        }
        return fid_exit_status(code);
    }
    const char *path = fid_arguments_last(arguments, "pose");
    int status = path ? read_pose_file(path, loaded->rig, out->pose, quiet) : FID_EXIT_FINE;
    for (int32_t i = 0; i < arguments->given.count && status == FID_EXIT_FINE; i++) {
        const fid_given *given = &arguments->given.at[i];
        code = strcmp(given->option->name, "set") == 0 ? set_channel(loaded->rig, out->pose, given->value, quiet, &err)
               : strcmp(given->option->name, "match") == 0
                   ? match_slider(loaded->rig, out->pose, given->value, quiet, &err)
                   : FID_OK;
        if (code) {
            fid_print_error(NULL, &err);
            status = fid_exit_status(code);
        }
    }
    fid_solve(out->program, out->pose);
    return status;
}

void fid_posed_clear(fid_posed *posed) {
    fid_pose_free(posed->pose);
    fid_program_free(posed->program);
    *posed = (fid_posed){NULL, NULL};
}
