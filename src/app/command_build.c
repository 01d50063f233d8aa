#include "app/command.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/skeleton_write.h"

static const fid_option own[] = {
    {"output", 'o', "FILE", "where to write the skeleton; standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    fid_loaded loaded;
    const char *to = fid_arguments_last(arguments, "output");
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? fid_load_check_output(to, &loaded) : status;
    if (status == FID_EXIT_FINE) {
        // What does not compile is not written: nobody could solve it.
        fid_posed posed;
        status = fid_posed_load(file, &loaded, arguments, &posed);
        fid_posed_clear(&posed);
    }
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_error err = {0};
        fid_code code = fid_skeleton_write(loaded.rig, &text, &err);
        if (code) {
            fid_print_error(file, &err);
            status = fid_exit_status(code);
        } else {
            status = fid_print_output(to, &text);
        }
        fid_text_clear(&text);
    }
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_recipe_options_table, fid_common_options, NULL};

const fid_command fid_command_build = {
    "build",
    "RECIPE [-o FILE] [--param NAME=VALUE]...",
    "runs a recipe and writes the skeleton",
    "    fid build recipes/hobrundle.lua -o hobrundle.json\n"
    "    fid build post.lua --param height=1.8 > post.json\n",
    tables,
    1,
    1,
    run,
};
