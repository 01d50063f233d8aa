#ifndef FID_SCRIPT_HELP_CALLS_H
#define FID_SCRIPT_HELP_CALLS_H

#include "base/text.h"
#include "rig/field.h"

enum { FID_HELP_SCHEMAS = 2, FID_HELP_ARGUMENTS = 16 };

/// An argument, attribute or method that is no field of a record. Several keys stand in one row, with spaces between
/// them; a method has its arguments in brackets, "at(t)", and a type that begins with "gives". A type is words that
/// annotations are made of, too (script/annotate.h): "point {x, y, z}, m", "list of Bones", "one of x, y, default y".
typedef struct fid_help_argument {
    const char *key, *type, *doc;
} fid_help_argument;

/// What is told of a call, or of what a call gives.
typedef struct fid_help_entry {
    const char *name;  ///< without "rig:", "fid." and "chain:"
    const char *shown; ///< as it is written in a script
    const char *doc;
    const char *gives; ///< what it returns, or NULL: "a Bone or nil"
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

/// The tables of fields that a call takes, one after the other; NULL beyond the last.
const fid_schema *fid_help_schema(const fid_help_entry *call, int index);

/// Whether the call takes a field of its tables, and whether it must be given.
bool fid_help_is_taken(const fid_help_entry *call, const fid_field *field);
bool fid_help_is_required(const fid_help_entry *call, const fid_field *field);

/// Adds what help says behind the type of a field: ", m, from 0 to 1, default 1".
void fid_help_add_details(fid_text *out, const fid_help_entry *call, const fid_field *field);

#endif
