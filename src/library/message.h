#ifndef FID_LIBRARY_MESSAGE_H
#define FID_LIBRARY_MESSAGE_H

#include "base/report.h"
#include "base/text.h"
#include "fid.h"

/// The status that a code becomes at the door of the library.
fid_status fid_status_of(fid_code code);

/// Where a caller wants to read what is wrong. `at` may be NULL.
typedef struct fid_message {
    char *at;
    size_t size;
} fid_message;

/// The message of a caller, emptied.
fid_message fid_message_begin(char *at, size_t size);

/// Writes one error ("FILE: error: text") and gives the status of its code. `file` as for fid_findings_add_error.
fid_status fid_message_error(fid_message message, const char *file, const fid_error *err);

/// Writes all findings of the report and, where none of them is the error that `code` stands for, `err`. Gives the
/// status of `code`, or FID_STATUS_NO_MEMORY where there is something to say on success and no memory for it.
fid_status fid_message_report(fid_message message, const char *file, fid_code code, const fid_report *report,
                              const fid_error *err);

/// Writes that an argument cannot be used ("text: 'no bone 7'"); gives FID_STATUS_INVALID.
FID_PRINTF(2, 3) fid_status fid_message_invalid(fid_message message, const char *format, ...);

#endif
