#include "app/print.h"

#include "base/file.h"
#include "format/findings_text.h"
#include "script/path.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int fid_exit_status(fid_code code) {
    return code == FID_OK ? FID_EXIT_FINE : code == FID_IO ? FID_EXIT_FILE : FID_EXIT_UNUSABLE;
}

bool fid_print_has_color(FILE *stream) {
    const char *refused = getenv("NO_COLOR");
    return (!refused || !*refused) && isatty(fileno(stream));
}

void fid_print_add_plain(const char *text, fid_text *out) { fid_findings_add_plain(text, "", out); }

void fid_print_line(FILE *stream, const char *line) {
    fid_text text = {0};
    fid_findings_add_plain(line, "\t\n", &text);
    fid_text_add(&text, "\n");
    fputs(text.failed ? "\n" : text.at, stream);
    fid_text_clear(&text);
}

void fid_print_error(const char *file, const fid_error *err) {
    fid_text line = {0};
    fid_findings_add_error(file, err, fid_print_has_color(stderr), &line);
    fputs(line.at ? line.at : "fid: error: no memory\n", stderr);
    fid_text_clear(&line);
}

void fid_print_findings(const fid_report *report, const char *input, const char *folder, bool color, fid_text *out) {
    fid_findings_add_text(report, input, folder, fid_path_add_shown, color, out);
}

void fid_print_report(const fid_report *report, const char *input, const char *folder) {
    fid_text text = {0};
    fid_print_findings(report, input, folder, fid_print_has_color(stderr), &text);
    fputs(text.failed ? "fid: error: no memory for the messages\n" : text.at ? text.at : "", stderr);
    fid_text_clear(&text);
}

static bool is_standard(const fid_output *output) { return !output->path || strcmp(output->path, "-") == 0; }

static fid_code write_standard(const fid_output *output, fid_error *err) {
    size_t count = (size_t)output->bytes.count;
    const char *content = output->bytes.at ? output->bytes.at : "";
    if (fwrite(content, 1, count, stdout) != count || fflush(stdout) != 0) {
        return fid_fail(err, FID_IO, "standard output cannot be written: %s", strerror(errno));
    }
    return FID_OK;
}

int fid_print_outputs(const fid_output *outputs, int32_t count) {
    fid_file_pending pending[FID_OUTPUTS_MOST];
    fid_error err = {0};
    const char *file = NULL;
    fid_code code = count <= FID_OUTPUTS_MOST
                        ? FID_OK
                        : fid_fail(&err, FID_LIMIT, "at most %d outputs are written at once", (int)FID_OUTPUTS_MOST);
    int32_t ready = 0;
    // Files are written beside their places first: whatever is refused is refused before anything is in place.
    for (; ready < count && !code; ready++) {
        pending[ready].folder = -1;
        if (!is_standard(&outputs[ready])) {
            const fid_text *bytes = &outputs[ready].bytes;
            file = outputs[ready].path;
            code = fid_file_prepare(file, bytes->at ? bytes->at : "", (size_t)bytes->count, &pending[ready], &err);
        }
    }
    for (int32_t i = 0; i < count && !code; i++) {
        if (is_standard(&outputs[i])) {
            file = NULL;
            code = write_standard(&outputs[i], &err);
        }
    }
    for (int32_t i = 0; i < ready; i++) {
        if (code) {
            fid_file_abandon(&pending[i]);
        } else if (pending[i].folder >= 0) {
            file = outputs[i].path;
            code = fid_file_place(&pending[i], &err);
        }
    }
    if (code) {
        fid_print_error(file, &err);
    }
    return fid_exit_status(code);
}

int fid_print_output(const char *path, const fid_text *bytes) {
    const fid_output output = {path, *bytes};
    return fid_print_outputs(&output, 1);
}
