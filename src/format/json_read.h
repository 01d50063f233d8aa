#ifndef FID_FORMAT_JSON_READ_H
#define FID_FORMAT_JSON_READ_H

#include "base/report.h"

/// One value of a document. Belongs to its reader.
typedef struct cJSON fid_json_node;

typedef enum fid_json_kind {
    FID_JSON_NULL,
    FID_JSON_BOOLEAN,
    FID_JSON_NUMBER,
    FID_JSON_TEXT,
    FID_JSON_LIST,
    FID_JSON_OBJECT,
} fid_json_kind;

/// Reads one document and says where in it something is wrong. Every function below that fails adds exactly one finding
/// to the report, with severity error; a caller stops at the first.
typedef struct fid_json_reader {
    const char *file; ///< as messages name it; borrowed
    fid_json_node *root;
    fid_report *report;
    fid_arena arena; ///< of the lists and texts that are read out of the document; gone with the reader
} fid_json_reader;

/// Checks and parses the `count` bytes at `text` (format/json_scan.h). A fault is reported with the file and the line.
/// Always to be ended with fid_json_close.
/// @return FID_OK, FID_SYNTAX, FID_LIMIT, FID_RANGE, FID_NO_MEMORY
FID_NODISCARD fid_code fid_json_open(fid_json_reader *reader, const char *text, size_t count, const char *file,
                                     fid_report *report);
void fid_json_close(fid_json_reader *reader);

/// Reports an error about `node` (NULL: the whole document) and returns `code`. The finding's subject is the path of
/// the node ("/bones/2/parent", RFC 6901 with long keys cut), its one place the file with line 0. `rule` is the code of
/// the finding, "" if it is none of a rule.
FID_PRINTF(5, 6)
fid_code fid_json_fail(fid_json_reader *reader, const fid_json_node *node, fid_code code, const char *rule,
                       const char *format, ...);

/// As fid_json_fail with the message of `err`. Where `node` is an object with a member named as the error's subject,
/// the error is about that member.
fid_code fid_json_fail_with(fid_json_reader *reader, const fid_json_node *node, const char *rule, const fid_error *err);

/// Adds a note about `node`, which is no error.
FID_PRINTF(3, 4) void fid_json_note(fid_json_reader *reader, const fid_json_node *node, const char *format, ...);

/// Adds a warning about `node`, which is no error.
FID_PRINTF(3, 4) void fid_json_warn(fid_json_reader *reader, const fid_json_node *node, const char *format, ...);

/// Reports that memory has run out.
fid_code fid_json_no_memory(fid_json_reader *reader);

fid_json_kind fid_json_kind_of(const fid_json_node *node);

/// "a text", "null" ...
const char *fid_json_kind_name(fid_json_kind kind);

/// The key of a member of an object.
const char *fid_json_key_of(const fid_json_node *node);

/// The first element of an object or list, and the one after `node`; NULL where there is none.
const fid_json_node *fid_json_first(const fid_json_node *node);
const fid_json_node *fid_json_next(const fid_json_node *node);

/// Number of elements; walks them.
int32_t fid_json_count(const fid_json_node *node);

/// The value of a boolean, and of a number as it stands; of a text, NULL for all others.
bool fid_json_is_true(const fid_json_node *node);
double fid_json_value(const fid_json_node *node);
const char *fid_json_string(const fid_json_node *node);

/// The member of an object by its key, or NULL. Walks the members.
const fid_json_node *fid_json_find(const fid_json_node *object, const char *key);

/// Puts the members of the object `node` into `out`, in the order of `keys` (both `count` long). Other keys (the
/// message has the nearest right one) and keys that stand twice are refused, and missing ones unless their bit in
/// `optional` is set (then NULL); `count` is at most 64.
FID_NODISCARD fid_code fid_json_members(fid_json_reader *reader, const fid_json_node *node, const char *const *keys,
                                        int32_t count, uint64_t optional, const fid_json_node **out);

/// Refuses a node that is of another kind.
FID_NODISCARD fid_code fid_json_expect(fid_json_reader *reader, const fid_json_node *node, fid_json_kind kind);

FID_NODISCARD fid_code fid_json_read_boolean(fid_json_reader *reader, const fid_json_node *node, bool *out);

/// A number that is finite in single precision.
FID_NODISCARD fid_code fid_json_read_number(fid_json_reader *reader, const fid_json_node *node, float *out);

/// A whole number from `min` to `max`.
FID_NODISCARD fid_code fid_json_read_integer(fid_json_reader *reader, const fid_json_node *node, int32_t min,
                                             int32_t max, int32_t *out);

/// A text, owned by the reader.
FID_NODISCARD fid_code fid_json_read_text(fid_json_reader *reader, const fid_json_node *node, const char **out);

/// A text, or null (NULL).
FID_NODISCARD fid_code fid_json_read_maybe_text(fid_json_reader *reader, const fid_json_node *node, const char **out);

/// A list of exactly `count` numbers.
FID_NODISCARD fid_code fid_json_read_numbers(fid_json_reader *reader, const fid_json_node *node, int32_t count,
                                             float *out);

/// One of the words of a NULL-terminated list, as its index.
FID_NODISCARD fid_code fid_json_read_choice(fid_json_reader *reader, const fid_json_node *node,
                                            const char *const *choices, int32_t *out);

/// A text that is exactly `wanted`, or a number that is exactly `version`: what a document says about itself.
FID_NODISCARD fid_code fid_json_read_fixed(fid_json_reader *reader, const fid_json_node *node, const char *wanted);

/// Checks that the document is an object whose `format` is `format` and whose `version` is `version`.
FID_NODISCARD fid_code fid_json_read_header(fid_json_reader *reader, const char *format, int32_t version);

#endif
