#ifndef FID_APP_PRINT_H
#define FID_APP_PRINT_H

#include "base/report.h"
#include "base/text.h"

#include <stdio.h>

/// Exit statuses.
enum { FID_EXIT_FINE = 0, FID_EXIT_FINDINGS = 1, FID_EXIT_UNUSABLE = 2, FID_EXIT_FILE = 3 };

/// 3 for FID_IO, 2 for every other code but FID_OK.
int fid_exit_status(fid_code code);

/// Prints one error that belongs to no line: "fid: error: text" or "FILE: error: text".
void fid_print_error(const char *file, const fid_error *err);

/// Adds the findings as text: `file:line: severity: text [CODE]`, the trail from the module to the recipe, what to do.
/// `input` stands for the place of findings that have none. `folder` is put before the files of origins (NULL: they
/// stand as they are). `color`: severities are colored for a terminal.
void fid_print_findings(const fid_report *report, const char *input, const char *folder, bool color, fid_text *out);

/// As fid_print_findings, to stderr.
void fid_print_report(const fid_report *report, const char *input, const char *folder);

/// Adds a text whose control characters, and bytes that are no UTF-8, become question marks: names of files and keys
/// may hold anything, a terminal sees text only.
void fid_print_add_plain(const char *text, fid_text *out);

/// Prints a line of a script in the same way; tabs and ends of lines stay.
void fid_print_line(FILE *stream, const char *line);

/// True where colors may be used on the stream: a terminal, and no NO_COLOR in the environment.
bool fid_print_has_color(FILE *stream);

/// What goes to stdout (path NULL or "-") or to a file.
typedef struct fid_output {
    const char *path;
    fid_text bytes;
} fid_output;

/// Writes them all, each whole, or none where one cannot be written. Prints its errors; returns an exit status.
enum { FID_OUTPUTS_MOST = 17 };
int fid_print_outputs(const fid_output *outputs, int32_t count);

/// Writes one.
int fid_print_output(const char *path, const fid_text *bytes);

#endif
