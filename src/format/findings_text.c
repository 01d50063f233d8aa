#include "format/findings_text.h"

#include <string.h>

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

void fid_findings_add_plain(const char *text, const char *allowed, fid_text *out) {
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

static void add_plain(const char *text, fid_text *out) { fid_findings_add_plain(text, "", out); }

void fid_findings_add_error(const char *file, const fid_error *err, bool color, fid_text *out) {
    // Messages about files name the file themselves.
    bool named = file && strstr(err->message, file);
    add_plain(file && !named ? file : "fid", out);
    fid_text_add(out, ": ");
    add_severity(FID_ERROR, color, out);
    fid_text_add(out, ": ");
    add_plain(err->message, out);
    fid_text_add(out, "\n");
}

static void add_as_it_is(const char *file, const char *folder, fid_text *out) {
    (void)folder;
    add_plain(file, out);
}

static void add_finding(const fid_finding *finding, const char *input, const char *folder, fid_findings_file add_file,
                        bool color, fid_text *out) {
    const fid_place *first = finding->place_count > 0 ? &finding->places[0] : NULL;
    if (first && first->file) {
        add_file(first->file, folder, out);
        if (first->line > 0) {
            fid_text_addf(out, ":%d", (int)first->line);
        }
    } else {
        add_plain(input, out);
    }
    fid_text_add(out, ": ");
    // The path of an element of a file; a subject may also be the path of the file itself.
    bool in_file =
        first && first->line == 0 && first->file && finding->subject && strcmp(finding->subject, first->file) != 0;
    if (in_file && finding->subject[0] == '/') {
        add_plain(finding->subject, out);
        fid_text_add(out, ": ");
    }
    add_severity(finding->severity, color, out);
    fid_text_add(out, ": ");
    add_plain(finding->message, out);
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
        add_file(place->file ? place->file : input, folder, out);
        fid_text_addf(out, ":%d\n", (int)place->line);
    }
    if (finding->hint) {
        fid_text_add(out, "    to mend: ");
        add_plain(finding->hint, out);
        fid_text_add(out, "\n");
    }
}

void fid_findings_add_text(const fid_report *report, const char *input, const char *folder, fid_findings_file add_file,
                           bool color, fid_text *out) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        add_finding(&report->findings.at[i], input, folder, add_file ? add_file : add_as_it_is, color, out);
    }
}
