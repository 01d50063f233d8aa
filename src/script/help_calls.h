#ifndef FID_SCRIPT_HELP_CALLS_H
#define FID_SCRIPT_HELP_CALLS_H

#include "rig/field.h"

enum { FID_HELP_SCHEMAS = 2, FID_HELP_ARGUMENTS = 9 };

/// An argument, attribute or method that is no field of a record.
typedef struct fid_help_argument {
    const char *key, *type, *doc;
} fid_help_argument;

/// What is told of a call, or of what a call gives.
typedef struct fid_help_entry {
    const char *name;  ///< without "rig:", "fid." and "chain:"
    const char *shown; ///< as it is written in a script
    const char *doc;
    fid_help_argument arguments[FID_HELP_ARGUMENTS];
    const fid_schema *schemas[FID_HELP_SCHEMAS];
    const char *only;    ///< keys of the schemas that are taken, each between spaces; NULL: all
    const char *without; ///< keys of the schemas that are not taken
    const char
        *defaults; ///< " role=helper level= ": defaults other than in the schema; nothing: none, and not required
} fid_help_entry;

/// All entries, of which a constraint has the name of its kind.
extern const fid_help_entry fid_help_entries[];
extern const int fid_help_entry_count;

#endif
