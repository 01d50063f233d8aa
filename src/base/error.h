#ifndef FID_BASE_ERROR_H
#define FID_BASE_ERROR_H

#include <stdarg.h>
#include <stddef.h>

#if defined(__GNUC__)
#define FID_NODISCARD __attribute__((warn_unused_result))
#define FID_PRINTF(format_at, args_at) __attribute__((format(printf, format_at, args_at)))
#else
#define FID_NODISCARD
#define FID_PRINTF(format_at, args_at)
#endif

/// What every function that can fail returns. FID_OK is zero.
typedef enum fid_code {
    FID_OK = 0,
    FID_NO_MEMORY,  ///< an allocation failed
    FID_INVALID,    ///< a value of the wrong kind, or a combination that makes no sense
    FID_RANGE,      ///< a number outside its range, or not finite
    FID_UNKNOWN,    ///< a name, key or choice that does not exist
    FID_NAME_TAKEN, ///< a name or address that another element has
    FID_STALE,      ///< a handle of an element that is gone
    FID_LOCKED,     ///< a channel that may not be posed
    FID_SYNTAX,     ///< text that cannot be read
    FID_LIMIT,      ///< too large, too deep, too many
    FID_IO,         ///< a file is missing, unreadable or not writable
    FID_UNSOUND,    ///< a report has errors; the report tells
} fid_code;

enum { FID_ERROR_MESSAGE_SIZE = 512, FID_ERROR_SUBJECT_SIZE = 96 };

/// One error, on the caller's stack. `message` is one line of plain text without a trailing full stop: what is wrong,
/// then what would be right. `subject` names the element, key or path it is about ("" if none). Both are cut at their
/// size on a character boundary.
typedef struct fid_error {
    fid_code code;
    char subject[FID_ERROR_SUBJECT_SIZE];
    char message[FID_ERROR_MESSAGE_SIZE];
} fid_error;

/// Fills `*err` (which may be NULL) and returns `code`, so that a caller writes `return fid_fail(err, FID_RANGE, ...)`.
/// Control characters in the result are replaced by '?', invalid UTF-8 too. The subject is emptied. The arguments may
/// point into `*err`.
FID_PRINTF(3, 4) fid_code fid_fail(fid_error *err, fid_code code, const char *format, ...);

/// As fid_fail, with the arguments as a list.
FID_PRINTF(3, 0) fid_code fid_fail_with(fid_error *err, fid_code code, const char *format, va_list args);

/// Sets the subject of an error; no effect where `err` is NULL or already has a subject.
void fid_error_about(fid_error *err, const char *subject);

/// Fills `*err` with the message for a failed allocation; returns FID_NO_MEMORY.
fid_code fid_no_memory(fid_error *err);

#endif
