#ifndef FID_SCRIPT_EMBEDDED_H
#define FID_SCRIPT_EMBEDDED_H

#include <stddef.h>

/// A Lua file of the product's own that is part of the program.
struct fid_embedded {
    const char *path;           ///< from the top of the source tree, as "modules/stretch_leg/module.lua"
    const unsigned char *bytes; ///< the file's content, followed by a zero that `size` does not count
    size_t size;                ///< in bytes
};

/// The files of `lua/` and `modules/`, in the order of strcmp on `path`. One more entry follows whose `path` is NULL.
extern const struct fid_embedded fid_embedded_files[];

/// The number of files, without the closing entry; may be 0.
extern const size_t fid_embedded_count;

#endif
