#ifndef FID_BASE_REPORT_H
#define FID_BASE_REPORT_H

#include "base/arena.h"
#include "base/array.h"

typedef enum fid_severity { FID_NOTE, FID_WARNING, FID_ERROR } fid_severity;

/// "note", "warning", "error".
const char *fid_severity_name(fid_severity severity);

/// One step of where an element was written, innermost first: the line, and how that code came to run. NULL where there
/// is none.
typedef struct fid_place {
    const char *file;
    int32_t line;         ///< 0: unknown
    const char *instance; ///< of the code at this line: "leg1 (left)"; NULL: the recipe itself
    const char *module;   ///< "stretch_leg 1.0.0"
} fid_place;

/// One result of a check. Strings belong to the report.
typedef struct fid_finding {
    const char *code; ///< "S204"
    fid_severity severity;
    const char *subject; ///< name of the bone, chain, channel, constraint; "" for the whole rig
    const char *message; ///< one line
    const char *hint;    ///< what to do, or NULL
    bool has_value;      ///< whether value and threshold mean something
    float value;
    float threshold;
    const fid_place *places; ///< innermost first
    int32_t place_count;
    const char *pose; ///< a fid-pose document that shows it, or NULL
} fid_finding;

/// Findings in the order in which they were added. Zero-initialise to begin. After a failed allocation `failed` stays
/// true.
typedef struct fid_report {
    FID_ARRAY(fid_finding) findings;
    fid_arena arena;
    int32_t count[3];    ///< by severity
    int32_t poses_tried; ///< by the rule that tried the rig in most
    bool failed;
} fid_report;

/// Adds a copy of `finding` and of all its strings and places; NULL for code, subject or message counts as "". Nothing
/// is added once `failed` is set.
void fid_report_add(fid_report *report, const fid_finding *finding);

void fid_report_clear(fid_report *report);

#endif
