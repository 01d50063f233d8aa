#include "app/print.h"

#include "base/file.h"
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

/// Colors for a terminal: errors orange, warnings yellow-ish, notes blue, of the palette of Okabe and Ito.
static void add_severity(fid_severity severity, bool color, fid_text *out) {
    static const char *const colors[] = {"\033[38;2;86;180;233m", "\033[38;2;230;159;0m", "\033[38;2;213;94;0m"};
    if (color) {
        fid_text_addf(out, "%s%s\033[0m", colors[severity], fid_severity_name(severity));
    } else {
        fid_text_add(out, fid_severity_name(severity));
    }
}

/// True for control characters, those of the second set, too.
static bool is_control(const char *at, int32_t length) {
    const unsigned char *c = (const unsigned char *)at;
    return c[0] < 32 || c[0] == 127 || (length == 2 && c[0] == 0xc2 && c[1] < 0xa0);
}

static void add_plain(const char *text, const char *allowed, fid_text *out) {
    size_t left = strlen(text);
    for (const char *at = text; left > 0;) {
        int32_t length = fid_text_character_length(at, left);
        bool plain = length > 0 && (!is_control(at, length) || strchr(allowed, *at));
        length = length > 0 ? length : 1;
        fid_text_add_bytes(out, plain ? at : "?", plain ? (size_t)length : 1);
        at += length;
        left -= (size_t)length;
    }
}

void fid_print_add_plain(const char *text, fid_text *out) { add_plain(text, "", out); }

void fid_print_line(FILE *stream, const char *line) {
    fid_text text = {0};
    add_plain(line, "\t\n", &text);
    fid_text_add(&text, "\n");
    fputs(text.failed ? "\n" : text.at, stream);
    fid_text_clear(&text);
}

void fid_print_error(const char *file, const fid_error *err) {
    fid_text line = {0};
    // Messages about files name the file themselves.
    bool named = file && strstr(err->message, file);
    fid_print_add_plain(file && !named ? file : "fid", &line);
    fid_text_add(&line, ": ");
    add_severity(FID_ERROR, fid_print_has_color(stderr), &line);
    fid_text_add(&line, ": ");
    fid_print_add_plain(err->message, &line);
    fid_text_add(&line, "\n");
    fputs(line.at ? line.at : "fid: error: no memory\n", stderr);
    fid_text_clear(&line);
}

void fid_print_add_file(const char *file, const char *folder, fid_text *out) {
    bool plain = !folder || strcmp(folder, ".") == 0 || file[0] == '/' || strncmp(file, "fid:", 4) == 0;
    fid_path path = {""};
    if (!plain && snprintf(path.at, sizeof path.at, "%s/%s", folder, file) < (int)sizeof path.at) {
        fid_path_normalize(&path);
        fid_print_add_plain(path.at, out);
    } else {
        fid_print_add_plain(file, out);
    }
}

static void add_finding(const fid_finding *finding, const char *input, const char *folder, bool color, fid_text *out) {
    const fid_place *first = finding->place_count > 0 ? &finding->places[0] : NULL;
    if (first && first->file) {
        fid_print_add_file(first->file, folder, out);
        if (first->line > 0) {
            fid_text_addf(out, ":%d", (int)first->line);
        }
    } else {
        fid_print_add_plain(input, out);
    }
    fid_text_add(out, ": ");
    // The path of an element of a file; a subject may also be the path of the file itself.
    bool in_file =
        first && first->line == 0 && first->file && finding->subject && strcmp(finding->subject, first->file) != 0;
    if (in_file && finding->subject[0] == '/') {
        fid_print_add_plain(finding->subject, out);
        fid_text_add(out, ": ");
    }
    add_severity(finding->severity, color, out);
    fid_text_add(out, ": ");
    fid_print_add_plain(finding->message, out);
    if (finding->code && finding->code[0]) {
        fid_text_addf(out, " [%s]", finding->code);
    }
    fid_text_add(out, "\n");
    for (int32_t i = 1; i < finding->place_count; i++) {
        const fid_place *inner = &finding->places[i - 1], *place = &finding->places[i];
        if (inner->instance || inner->module) {
            fid_text_addf(out, "    in %s of %s, used at ", inner->instance ? inner->instance : "an instance",
                          inner->module ? inner->module : "a module");
        } else {
            fid_text_add(out, "    read at ");
        }
        fid_print_add_file(place->file ? place->file : input, folder, out);
        fid_text_addf(out, ":%d\n", (int)place->line);
    }
    if (finding->hint) {
        fid_text_add(out, "    to mend: ");
        fid_print_add_plain(finding->hint, out);
        fid_text_add(out, "\n");
    }
}

void fid_print_findings(const fid_report *report, const char *input, const char *folder, bool color, fid_text *out) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        add_finding(&report->findings.at[i], input, folder, color, out);
    }
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
