#include "app/command.h"
#include "app/load.h"
#include "app/print.h"

static int run(const fid_arguments *arguments) {
    (void)arguments;
    fid_text text = {0};
    fid_text_add(&text, "fid " FID_VERSION "\n");
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static const fid_option *const tables[] = {fid_common_options, NULL};

const fid_command fid_command_version = {
    "version", "", "prints the version", "    fid version\n", tables, 0, 0, run,
};
