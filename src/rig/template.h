#ifndef FID_RIG_TEMPLATE_H
#define FID_RIG_TEMPLATE_H

#include "rig/naming.h"

/// The fields that a naming template may hold.
typedef enum fid_name_key { FID_KEY_ID, FID_KEY_PART, FID_KEY_INDEX, FID_KEY_SIDE, FID_KEY_ROLE } fid_name_key;
enum { FID_KEY_COUNT = 5 };

/// One field of a template and the text before it.
typedef struct fid_template_field {
    const char *before; ///< within the template
    size_t length;      ///< of `before`
    fid_name_key key;
} fid_template_field;

/// A naming template taken apart. Points into the text that it was read from.
typedef struct fid_template {
    fid_template_field at[FID_KEY_COUNT];
    int count;
    const char *after; ///< text after the last field
} fid_template;

/// Takes a template apart. FID_INVALID where it has an unknown field, one twice, no {part}, or other characters.
FID_NODISCARD fid_code fid_template_read(const char *text, fid_template *out, fid_error *err);

enum { FID_INDEX_SIZE = 8 };

/// Writes one number, 0 to 9999, as the naming has it; returns its length.
int fid_name_write_index(const fid_naming *naming, int32_t index, char out[FID_INDEX_SIZE]);

/// How many bytes of `text` are a word [a-z][a-z0-9]*; 0 where it does not begin with one.
size_t fid_name_word_length(const char *text);

#endif
