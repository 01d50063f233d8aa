#ifndef FID_RIG_NAMING_H
#define FID_RIG_NAMING_H

#include "base/text.h"

typedef enum fid_side { FID_LEFT, FID_RIGHT, FID_CENTER } fid_side;
typedef enum fid_role { FID_DEFORM, FID_HELPER, FID_CONTROL } fid_role;

extern const char *const fid_side_names[]; ///< "left", "right", "center", NULL
extern const char *const fid_role_names[]; ///< "deform", "helper", "control", NULL

enum { FID_NAME_SIZE = 65, FID_ADDRESS_SIZE = 160, FID_WORD_SIZE = 48 };

/// The fields of which a bone's name and its address are made. Strings borrowed.
typedef struct fid_name_fields {
    const char *id;   ///< instance, or NULL; nested ones joined by '.': "outer.inner"; each word matches [a-z][a-z0-9]*
    const char *part; ///< [a-z][a-z0-9]*
    int32_t index[2]; ///< 0 to 9999; `index_count` of them
    int32_t index_count;
    fid_side side;
    fid_role role;
} fid_name_fields;

/// How names are rendered. Words of sides and roles may be empty, but only one of each three, and differ from each
/// other.
typedef struct fid_naming {
    char template_text[96]; ///< {id} {part} {index} {side} {role}, each at most once, `part` at least, any of
                            ///< [A-Za-z0-9_-] between
    char index[8];          ///< "%d", "%02d" ... "%04d"
    char sides[3][16];      ///< by fid_side; letters and digits
    char roles[3][16];      ///< by fid_role
} fid_naming;

/// The template of 50-lua-api: "{id}_{part}_{index}_{side}_{role}", "%02d", left, right, "", deform, helper, control.
fid_naming fid_naming_default(void);

/// Refuses a naming that cannot render or cannot be read back: letters, digits, '_' and '-' around fields that are
/// known, words of letters and digits (one letter at least) that differ, and a spread of names that reads back.
/// @return FID_OK, FID_INVALID
FID_NODISCARD fid_code fid_naming_check(const fid_naming *naming, fid_error *err);

/// Refuses fields that break the rules above, an id or part that is a word of a side or role (of the naming or of
/// addresses), and what the template has no place for: an id, an index, a side other than center, a role other than
/// deform.
/// @return FID_OK, FID_INVALID, FID_RANGE (an index outside 0 to 9999, a word over 47 bytes)
FID_NODISCARD fid_code fid_name_fields_check(const fid_naming *naming, const fid_name_fields *fields, fid_error *err);

/// Renders the name: an empty field takes the text before it with it (the first field: the text after it); an index {2,
/// 3} is `02-03`; a nested id `outer-inner`. FID_RANGE where it is longer than 64 bytes; FID_INVALID where it could not
/// be read back.
FID_NODISCARD fid_code fid_name_render(const fid_naming *naming, const fid_name_fields *fields, char out[FID_NAME_SIZE],
                                       fid_error *err);

/// Storage for fields that were read from text.
typedef struct fid_name_parsed {
    fid_name_fields fields; ///< points into this struct
    char id[FID_WORD_SIZE];
    char part[FID_WORD_SIZE];
} fid_name_parsed;

/// Reads a rendered name back; a single remaining word is the part. FID_SYNTAX where it was not rendered from this
/// naming (rendering the result must give `name` again).
FID_NODISCARD fid_code fid_name_parse(const fid_naming *naming, const char *name, fid_name_parsed *out, fid_error *err);

/// True where `text` matches [a-z][a-z0-9_]* and has at most 64 bytes: what sliders, sets, outlines, choices of spaces
/// and rigs are called. False for NULL.
bool fid_name_is_key(const char *text);

/// The key with its words left and right exchanged: "hand_left" becomes "hand_right". False, with `out` empty, where it
/// has no such word, or would be longer than 64 bytes.
bool fid_name_exchange_sides(const char *key, char out[FID_NAME_SIZE]);

/// The permanent address: "leg1/shin/2/left/control", empty fields left out, index {2, 3} is "2.3", center is left out.
void fid_address_render(const fid_name_fields *fields, char out[FID_ADDRESS_SIZE]);

/// Reads an address back. FID_SYNTAX where it is none.
FID_NODISCARD fid_code fid_address_parse(const char *address, fid_name_parsed *out, fid_error *err);

#endif
