#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "format/pose_write.h"
#include "format/solved_write.h"

#include <string.h>

static const fid_option own[] = {
    {"bones", 0, "PATTERN", "only bones whose name or address matches: * stands for any text, ? for one character"},
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

static int write_pose(const char *path, const fid_loaded *loaded, const fid_posed *posed) {
    fid_text text = {0};
    fid_error err = {0};
    fid_code code = fid_pose_write(loaded->rig, posed->pose, &text, &err);
    int status = fid_exit_status(code);
    if (code) {
        fid_print_error(NULL, &err);
    } else {
        status = fid_print_output(path, &text);
    }
    fid_text_clear(&text);
    return status;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    const char *write_to = fid_arguments_last(arguments, "write-pose");
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? check_outputs(&loaded, arguments) : status;
    const char *pattern = fid_arguments_last(arguments, "bones");
    status = status == FID_EXIT_FINE ? check_pattern(loaded.rig, pattern) : status;
    if (status == FID_EXIT_FINE) {
        status = fid_load_pose(file, &loaded, arguments, &posed);
    }
    if (status == FID_EXIT_FINE && write_to) {
        status = write_pose(write_to, &loaded, &posed);
    }
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_error err = {0};
        fid_code code = fid_solved_write(loaded.rig, posed.pose, pattern, &text, &err);
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(file, &err);
        } else {
            status = fid_print_output(fid_arguments_last(arguments, "output"), &text);
        }
        fid_text_clear(&text);
    }
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {fid_pose_options, own, fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_pose = {
    "pose",
    "FILE [--pose P.json] [--set CHANNEL=VALUE]... [--bones PATTERN] [--write-pose FILE] [-o FILE]",
    "solves one pose and prints matrices as JSON",
    "    fid pose hobrundle.json --set leg1_foot_left_control.translation.y=0.3\n"
    "    fid pose hobrundle.json --pose step.json --bones 'leg1_*' -o step-solved.json\n",
    tables,
    1,
    1,
    run,
};
