#ifndef FID_FORMAT_SCHEMA_WRITE_H
#define FID_FORMAT_SCHEMA_WRITE_H

#include "base/text.h"

/// Appends the JSON Schema (draft 2020-12) of the skeleton file, made from the descriptors of the fields, with a final
/// newline. What a schema cannot say (references, order, names that follow from addresses) is left to the reader. A
/// failed allocation shows in `out->failed`.
void fid_schema_document(fid_text *out);

/// Appends the tables of the fields that the page for importers has, as Markdown: one for each kind of element, made
/// from the same descriptors.
void fid_schema_tables(fid_text *out);

#endif
