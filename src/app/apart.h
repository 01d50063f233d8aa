#ifndef FID_APP_APART_H
#define FID_APP_APART_H

#include "base/text.h"

/// Work that is done in processes of its own, so that a part that breaks a limit, or ends its process, leaves the
/// others alone.

enum { FID_APART_MOST = 256 }; ///< at once

/// How one part came to its end. Lives during the call that hands it out.
typedef struct fid_apart_end {
    bool is_whole;     ///< the work returned, and `bytes` are what it handed back
    int status;        ///< else: the exit status of its process,
    int signal;        ///< or the signal that ended it; 0: none did
    double seconds;    ///< since its process was begun
    fid_text bytes;    ///< may hold any bytes
    fid_text messages; ///< what it printed to stderr, the first mebibyte of it; what is no UTF-8 may be in it
} fid_apart_end;

/// The parts, and what is called about them.
typedef struct fid_apart {
    int32_t count, at_once; ///< `at_once`: 1 to FID_APART_MOST
    void *user;
    /// In the process of the part: does the work, and adds what it hands back to `out`. What it prints to stderr is
    /// kept.
    void (*work)(void *user, int32_t index, fid_text *out);
    /// In the process that asked, when a part is over, in whatever order; or NULL.
    void (*over)(void *user, int32_t index, const fid_apart_end *end);
    /// In the process that asked, in the order of the parts.
    void (*done)(void *user, int32_t index, const fid_apart_end *end);
} fid_apart;

/// Does all parts. Parts that were begun are waited for in any case.
/// @return FID_OK, FID_IO (no process can be made, or no temporary file), FID_NO_MEMORY
FID_NODISCARD fid_code fid_apart_run(const fid_apart *apart, fid_error *err);

/// As many as there are processors.
int32_t fid_apart_processors(void);

/// Prints the messages of a part to stderr, but for the line that fid_apart_add_reason takes.
void fid_apart_print_messages(const fid_apart_end *end);

/// What a part that did not come to its end said last: of the line "FILE: error: TEXT" in its messages FILE, which may
/// be empty, and TEXT; else TEXT says how it ended. Appended, without control characters.
void fid_apart_add_reason(const fid_apart_end *end, fid_text *file, fid_text *out);

#endif
