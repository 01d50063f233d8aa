#ifndef FID_RIG_ORIGIN_H
#define FID_RIG_ORIGIN_H

#include "base/report.h"

/// Where an element was written. Files are relative to the recipe's folder, or `fid:modules/NAME/module.lua`.
typedef struct fid_origin {
    const char *file;
    int32_t line;
    const char *module;   ///< "stretch_leg 1.0.0", or NULL: the recipe itself
    const char *instance; ///< "leg1 (left)", or NULL
    int32_t used_at;      ///< index of the origin of the line that used the instance, or -1
} fid_origin;

/// A module that took part.
typedef struct fid_module_mark {
    const char *name;
    const char *version;
    const char *sha256; ///< of its module.lua, 64 hexadecimal digits
} fid_module_mark;

#endif
