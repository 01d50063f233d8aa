#ifndef FID_APP_PARCEL_H
#define FID_APP_PARCEL_H

#include "base/report.h"
#include "base/text.h"

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

#endif
