#ifndef FID_SCRIPT_LIMITS_H
#define FID_SCRIPT_LIMITS_H

#include "base/error.h"

#include <stdint.h>

/// What one run of scripts may use. Zero means the default.
typedef struct fid_limits {
    size_t max_memory;        ///< bytes held by scripts and by what they made; 1 MiB or more; default 512 MiB
    double max_seconds;       ///< of wall clock, for each run; 0.001 to 1e6; default 60
    int64_t max_instructions; ///< steps of the script machine, for each run; 1000 or more; default 2e9
} fid_limits;

/// The longest text that a script may make, in bytes.
enum { FID_LIMIT_TEXT = 16 * 1024 * 1024 };
/// The longest file of Lua that is read, in bytes.
enum { FID_LIMIT_SOURCE = 4 * 1024 * 1024 };
/// How deeply tables may be nested where a walker reads them.
enum { FID_LIMIT_NESTING = 64 };
/// How deeply modules may use one another.
enum { FID_LIMIT_INSTANCES = 32 };
/// How many places an error or an element keeps.
enum { FID_LIMIT_PLACES = 16 };

/// All three defaults.
fid_limits fid_limits_default(void);

/// Replaces zeros of `*limits` by the defaults and checks the rest.
/// @return FID_OK or FID_RANGE; the message names the option of the command line
FID_NODISCARD fid_code fid_limits_complete(fid_limits *limits, fid_error *err);

#endif
