#include "app/command.h"
#include "app/load.h"
#include "app/print.h"

#include <string.h>

static const fid_option own[] = {
    {"to", 0, "skeleton", "what to hand over: the neutral skeleton file"},
    {"output", 'o', "FILE", "where to write it; standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static int refuse(const char *target) {
    static const char *const words[] = {"skeleton"};
    fid_error err = {0};
    if (!target) {
        fid_fail(&err, FID_INVALID, "export needs --to: skeleton");
    } else {
        const char *near = fid_text_nearest(target, words, 1);
        fid_fail(&err, FID_UNKNOWN, "--to takes skeleton, not '%.32s'%s%s%s", target, near ? "; did you mean '" : "",
                 near ? near : "", near ? "'?" : "");
    }
    fid_print_error(NULL, &err);
    return FID_EXIT_UNUSABLE;
}

static int run(const fid_arguments *arguments) {
    const char *target = fid_arguments_last(arguments, "to");
    if (!target || strcmp(target, "skeleton") != 0) {
        return refuse(target);
    }
    // Handing over the skeleton is what build does, also from a skeleton file.
    return fid_command_build.run(arguments);
}

static const fid_option *const tables[] = {own, fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_export = {
    "export",
    "FILE --to skeleton [-o FILE]",
    "hands a rig over in another form",
    "    fid export recipes/hobrundle.lua --to skeleton -o hobrundle.json\n",
    tables,
    1,
    1,
    run,
};
