#ifndef FID_FORMAT_DIFFERENCE_H
#define FID_FORMAT_DIFFERENCE_H

#include "base/arena.h"
#include "base/array.h"
#include "base/error.h"
#include "base/text.h"

/// What is different in two skeletons. Elements are the same by address (bones, constraints, pose layers) or name;
/// where they were written does not count, nor that a bone is called otherwise in what refers to it.

typedef enum fid_change_kind { FID_CHANGE_REMOVED, FID_CHANGE_ADDED, FID_CHANGE_CHANGED } fid_change_kind;

typedef struct fid_change {
    fid_change_kind kind;
    const char *list;    ///< key in the file: "bones"; "rig" for what stands outside of lists
    const char *address; ///< of the element; "" in "rig"
    const char *field;   ///< "rest.translation"; NULL where the whole element is added or removed
    const char *before;  ///< JSON, or NULL: not there
    const char *after;
    bool breaks; ///< animation made for the first plays otherwise, or not at all, on the second
} fid_change;

/// Zero-initialise to begin.
typedef struct fid_difference {
    FID_ARRAY(fid_change) changes;
    fid_arena arena;
} fid_difference;

/// Compares two skeleton documents, as fid_skeleton_write gives them. Numbers that differ by at most `tolerance` are
/// the same.
/// @return FID_OK, FID_SYNTAX, FID_LIMIT or FID_NO_MEMORY
FID_NODISCARD fid_code fid_difference_find(const char *before, const char *after, double tolerance, fid_difference *out,
                                           fid_error *err);

/// Adds it as text for people: long values are cut.
void fid_difference_add_text(const fid_difference *of, fid_text *out);

/// Adds it as a JSON document, {"format": "fid-difference", "version": 1, ...}.
void fid_difference_add_json(const fid_difference *of, fid_text *out);

void fid_difference_clear(fid_difference *of);

#endif
