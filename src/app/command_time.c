#include "app/command.h"
#include "app/formats.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/cost_text.h"

static const fid_option own[] = {
    {"poses", 0, "N", "poses to solve; 100 unless told"},
    {"threads", 0, "T", "threads for many poses; 2 unless told"},
    {"format", 0, "text|json[:FILE]", "how it is written, and where; text on standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static const char *const words[] = {"text", "json", NULL};
enum { FORMAT_TEXT, FORMAT_JSON };

static fid_code read_wishes(const fid_arguments *arguments, fid_cost *out, fid_formats *formats, fid_error *err) {
    int64_t poses = 100, threads = 2;
    fid_code code = fid_arguments_whole(arguments, "poses", 1, 100000, &poses, err);
    code = code ? code : fid_arguments_whole(arguments, "threads", 1, 64, &threads, err);
    code = code ? code : fid_formats_read(arguments, words, "json:costs.json", 1, formats, err);
    out->poses = (int32_t)poses;
    out->threads = (int32_t)threads;
    return code;
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0];
    fid_cost of = {0};
    fid_formats formats;
    fid_error err = {0};
    if (read_wishes(arguments, &of, &formats, &err)) {
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? fid_formats_check(&formats, &loaded) : status;
    status = status == FID_EXIT_FINE ? fid_posed_load(file, &loaded, arguments, &posed) : status;
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_code code = fid_cost_measure(loaded.rig, posed.program, &of, &err);
        if (!code) {
            (formats.at[0].kind == FORMAT_JSON ? fid_cost_add_json : fid_cost_add_text)(loaded.rig, &of, &text);
            code = text.failed ? fid_no_memory(&err) : FID_OK;
        }
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(file, &err);
        } else {
            status = fid_print_output(formats.at[0].file, &text);
        }
        fid_text_clear(&text);
    }
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option *const tables[] = {own, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_time = {
    "time",
    "FILE [--poses N] [--threads T] [--format text|json[:FILE]]",
    "tells what a solve costs, by kind of constraint",
    "    fid time hobrundle.json\n"
    "    fid time recipes/hobrundle.lua --poses 1000 --threads 4 --format json\n",
    tables,
    1,
    1,
    run,
};
