#ifndef FID_APP_PARCEL_H
#define FID_APP_PARCEL_H

#include "app/apart.h"
#include "base/report.h"

/// What one process of the program hands to another (app/apart.h): numbers, texts, reports, read in the order in which
/// they were added.

void fid_parcel_add_number(fid_text *out, int32_t number);
void fid_parcel_add_text(fid_text *out, const char *text); ///< NULL is kept
void fid_parcel_add_report(fid_text *out, const fid_report *report);

/// A parcel that is read. Begin with the bytes; `is_broken` once more was asked for than is there.
typedef struct fid_parcel {
    const char *at;
    size_t left;
    bool is_broken;
} fid_parcel;

int32_t fid_parcel_read_number(fid_parcel *parcel);
/// The text belongs to the parcel's bytes.
const char *fid_parcel_read_text(fid_parcel *parcel);
/// Adds the findings to a report.
void fid_parcel_read_report(fid_parcel *parcel, fid_report *out);

/// Begins what a part of work hands back: how its run ended, and its findings.
void fid_parcel_add_run(fid_text *out, fid_code code, const fid_report *report);

/// Takes that, prints what the part printed, and gives the code; the rest of the parcel is what else was added. Of a
/// part that did not come to its end the reason is the finding, an error laid at `file` unless it names one itself, and
/// the code FID_LIMIT.
fid_code fid_parcel_read_run(const fid_apart_end *end, const char *file, fid_parcel *parcel, fid_report *out);

#endif
