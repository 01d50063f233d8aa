#include "app/command.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/pose_write.h"
#include "format/solved_write.h"
#include "solve/solve.h"

#include <string.h>

static const fid_option own[] = {
    {"bones", 0, "PATTERN", "only bones whose name or address matches: * stands for any text, ? for one character"},
    {"match", 'm', "SLIDER=CHOICE",
     "switches a slider and poses what it switches so that it stays where it is; in order with --set, may be given "
     "several times"},
    {"mirror", 0, NULL, "solves the mirror image of the pose: left and right change places"},
    {"write-pose", 0, "FILE", "writes the channel values as a pose file, too"},
    {"output", 'o', "FILE", "where to write the matrices; standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static bool matches_any(const fid_rig *rig, const char *pattern) {
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        if (fid_text_matches(bone->name, pattern) || fid_text_matches(bone->address, pattern)) {
            return true;
        }
    }
    return false;
}

/// A pattern that matches nothing is most likely misspelled: a name gets the nearest one.
static int check_pattern(const fid_rig *rig, const char *pattern) {
    if (!pattern || matches_any(rig, pattern)) {
        return FID_EXIT_FINE;
    }
    fid_error err = {0}, nearest = {0};
    bool wild = strpbrk(pattern, "*?") != NULL;
    if (!wild) {
        (void)fid_rig_no_bone(rig, pattern, &nearest);
    }
    fid_fail(&err, FID_UNKNOWN, "--bones %.64s: %s", pattern,
             wild ? "matches the name or address of no bone" : nearest.message);
    fid_print_error(NULL, &err);
    return FID_EXIT_UNUSABLE;
}

/// Whether the outputs can be written without harm to the inputs or each other.
static int check_outputs(const fid_loaded *loaded, const fid_arguments *arguments) {
    const char *to = fid_arguments_last(arguments, "output"), *pose_to = fid_arguments_last(arguments, "write-pose");
    fid_error err = {0};
    int status = fid_load_check_output(to, loaded);
    status = status == FID_EXIT_FINE ? fid_load_check_output(pose_to, loaded) : status;
    if (status == FID_EXIT_FINE && pose_to && fid_load_is_same_output(to, pose_to)) {
        fid_fail(&err, FID_INVALID, "--write-pose and the matrices would both go to %s",
                 strcmp(pose_to, "-") == 0 ? "standard output" : pose_to);
        fid_print_error(NULL, &err);
        status = FID_EXIT_UNUSABLE;
    }
    return status;
}

/// Puts the mirror image in the place of the pose, where --mirror asks for it.
static int mirror(const fid_loaded *loaded, const fid_arguments *arguments, fid_posed *posed) {
    fid_error err = {0};
    fid_pose *image = NULL;
    if (!fid_arguments_last(arguments, "mirror")) {
        return FID_EXIT_FINE;
    }
    if (fid_pose_new(posed->program, &image, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    int32_t lost = fid_pose_mirror(loaded->rig, posed->pose, image);
    if (lost > 0 && !fid_arguments_last(arguments, "quiet")) {
        fprintf(stderr, "fid: note: --mirror: %d of the values that were posed found no channel on the other side\n",
                (int)lost);
    }
    fid_solve(posed->program, image);
    fid_pose_free(posed->pose);
    posed->pose = image;
    return FID_EXIT_FINE;
}

/// Writes the matrices, and the pose where it is asked for: both or none.
static int write_outputs(const fid_arguments *arguments, const fid_loaded *loaded, const fid_posed *posed) {
    const char *pose_to = fid_arguments_last(arguments, "write-pose");
    fid_output outputs[2] = {{fid_arguments_last(arguments, "output"), {0}}, {pose_to, {0}}};
    fid_error err = {0};
    fid_code code =
        fid_solved_write(loaded->rig, posed->pose, fid_arguments_last(arguments, "bones"), &outputs[0].bytes, &err);
    code = code || !pose_to ? code : fid_pose_write(loaded->rig, posed->pose, &outputs[1].bytes, &err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(arguments->words.at[0], &err);
    } else {
        status = fid_print_outputs(outputs, pose_to ? 2 : 1);
    }
    fid_text_clear(&outputs[0].bytes);
    fid_text_clear(&outputs[1].bytes);
    return status;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? check_outputs(&loaded, arguments) : status;
    status = status == FID_EXIT_FINE ? check_pattern(loaded.rig, fid_arguments_last(arguments, "bones")) : status;
    status = status == FID_EXIT_FINE ? fid_posed_load(file, &loaded, arguments, &posed) : status;
    status = status == FID_EXIT_FINE ? mirror(&loaded, arguments, &posed) : status;
    status = status == FID_EXIT_FINE ? write_outputs(arguments, &loaded, &posed) : status;
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {fid_pose_options,   own, fid_param_options, fid_script_options,
                                           fid_common_options, NULL};

const fid_command fid_command_pose = {
    "pose",
    "FILE [--pose P.json] [--set CHANNEL=VALUE]... [--match SLIDER=CHOICE]... [--mirror] [--bones PATTERN] "
    "[--write-pose FILE] [-o FILE]",
    "solves one pose and prints matrices as JSON",
    "    fid pose hobrundle.json --set leg1_foot_left_control.translation.y=0.3\n"
    "    fid pose hobrundle.json --pose step.json --bones 'leg1_*' -o step-solved.json\n"
    "    fid pose hobrundle.json --pose step.json --match leg1_foot_left_control.space=world --write-pose kept.json\n",
    tables,
    1,
    1,
    run,
};
