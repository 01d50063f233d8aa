#include "app/build.h"
#include "app/build_watch.h"
#include "app/command.h"
#include "app/print.h"
#include "app/variants.h"

static const fid_option own[] = {
    {"output", 'o', "FILE", "where to write the skeleton; standard output unless told"},
    {"watch", 'w', NULL, "builds again whenever something that the recipe reads has changed, until Ctrl-C"},
    {"variants", 0, "TABLE", "builds each row of a table (.csv or .json) of names and parameters"},
    {"out-dir", 0, "FOLDER", "where NAME.json of each variant goes, and results.csv"},
    {"jobs", 'j', "N", "variants built at once; one for each processor unless told"},
    {"poses", 0, "N", "random poses in which each variant is checked; 500 unless told"},
    {"part", 0, "PART/PARTS", "only that part of the table, as in 3/12: each part may run on another machine"},
    {NULL, 0, NULL, NULL},
};

/// What makes sense with --variants only.
static fid_code refuse_alone(const fid_arguments *arguments, fid_error *err) {
    static const char *const names[] = {"out-dir", "jobs", "poses", "part", NULL};
    for (const char *const *name = names; *name; name++) {
        if (fid_arguments_last(arguments, *name)) {
            return fid_fail(err, FID_INVALID, "--%s goes with --variants", *name);
        }
    }
    return FID_OK;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    if (fid_arguments_last(arguments, "variants")) {
        return fid_variants_run(file, arguments);
    }
    fid_error err = {0};
    const char *to = fid_arguments_last(arguments, "output");
    if (refuse_alone(arguments, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    if (fid_arguments_last(arguments, "watch")) {
        return fid_build_watch(file, arguments, to);
    }
    fid_loaded loaded;
    fid_text skeleton = {0};
    int status = fid_build(file, arguments, to, &loaded, &skeleton);
    status = status == FID_EXIT_FINE ? fid_print_output(to, &skeleton) : status;
    fid_text_clear(&skeleton);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_build = {
    "build",
    "RECIPE [-o FILE] [--param NAME=VALUE]... [--watch] [--variants TABLE --out-dir FOLDER [--jobs N]]",
    "runs a recipe and writes the skeleton",
    "    fid build recipes/hobrundle.lua -o hobrundle.json\n"
    "    fid build post.lua --param height=1.8 > post.json\n"
    "    fid build post.lua -o post.json --watch\n"
    "    fid build post.lua --variants posts.csv --out-dir posts\n",
    tables,
    1,
    1,
    run,
};
