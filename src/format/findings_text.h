#ifndef FID_FORMAT_FINDINGS_TEXT_H
#define FID_FORMAT_FINDINGS_TEXT_H

#include "base/report.h"
#include "base/text.h"

/// Adds a text whose control characters but those in `allowed`, and bytes that are no UTF-8, become question marks.
void fid_findings_add_plain(const char *text, const char *allowed, fid_text *out);

/// Adds one error that belongs to no line: "fid: error: text" or "FILE: error: text", and the end of the line.
void fid_findings_add_error(const char *file, const fid_error *err, bool color, fid_text *out);

/// Adds the file of an origin, which is relative to `folder` where that is not NULL.
typedef void (*fid_findings_file)(const char *file, const char *folder, fid_text *out);

/// Adds the findings as text: `file:line: severity: text [CODE]`, the trail from the module to the recipe, what to do.
/// `input` stands for the place of findings that have none. `add_file` gets each file and `folder` (NULL: files stand
/// as they are). `color`: severities are colored for a terminal.
void fid_findings_add_text(const fid_report *report, const char *input, const char *folder, fid_findings_file add_file,
                           bool color, fid_text *out);

#endif
