#ifndef FID_RIG_MEMBER_H
#define FID_RIG_MEMBER_H

#include "rig/field.h"

/// The value of a field within a record of its schema.
static inline void *fid_member(const fid_field *field, void *record) { return (char *)record + field->offset; }
static inline const void *fid_member_of(const fid_field *field, const void *record) {
    return (const char *)record + field->offset;
}

#endif
