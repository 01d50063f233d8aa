#include "rig/naming.h"

#include "rig/template.h"

#include <stdio.h>
#include <string.h>

const char *const fid_side_names[] = {"left", "right", "center", NULL};
const char *const fid_role_names[] = {"deform", "helper", "control", NULL};

fid_naming fid_naming_default(void) {
    return (fid_naming){
        .template_text = "{id}_{part}_{index}_{side}_{role}",
        .index = "%02d",
        .sides = {"left", "right", ""},
        .roles = {"deform", "helper", "control"},
    };
}

static bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
static bool is_digit(char c) { return c >= '0' && c <= '9'; }
static bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }

size_t fid_name_word_length(const char *text) {
    size_t length = 0;
    if (is_lower(text[0])) {
        while (is_lower(text[length]) || is_digit(text[length])) {
            length++;
        }
    }
    return length;
}

bool fid_name_is_key(const char *text) {
    if (text == NULL || !is_lower(text[0])) {
        return false;
    }
    size_t length = 0;
    while (is_lower(text[length]) || is_digit(text[length]) || text[length] == '_') {
        length++;
    }
    return text[length] == '\0' && length < FID_NAME_SIZE;
}

bool fid_name_exchange_sides(const char *key, char out[FID_NAME_SIZE]) {
    bool found = false;
    size_t length = 0;
    for (const char *at = key; *at != '\0' && length < FID_NAME_SIZE;) {
        size_t word = strcspn(at, "_"), whole = word + (at[word] == '_');
        bool left = word == 4 && strncmp(at, "left", 4) == 0, right = word == 5 && strncmp(at, "right", 5) == 0;
        length += (size_t)snprintf(out + length, FID_NAME_SIZE - length, "%.*s%s", left || right ? 0 : (int)word, at,
                                   left    ? "right"
                                   : right ? "left"
                                           : "");
        if (whole > word && length < FID_NAME_SIZE) {
            length += (size_t)snprintf(out + length, FID_NAME_SIZE - length, "_");
        }
        found |= left || right;
        at += whole;
    }
    found &= length < FID_NAME_SIZE;
    out[0] = found ? out[0] : '\0';
    return found;
}

static bool is_word_of(const char words[3][16], const char *text, size_t length) {
    for (int i = 0; i < 3; i++) {
        if (strlen(words[i]) == length && memcmp(words[i], text, length) == 0) {
            return true;
        }
    }
    return false;
}

/// True for the words that names or addresses have for sides and roles.
static bool is_reserved(const fid_naming *naming, const char *text, size_t length) {
    for (int i = 0; i < 3; i++) {
        if ((strlen(fid_side_names[i]) == length && memcmp(fid_side_names[i], text, length) == 0) ||
            (strlen(fid_role_names[i]) == length && memcmp(fid_role_names[i], text, length) == 0)) {
            return true;
        }
    }
    return is_word_of(naming->sides, text, length) || is_word_of(naming->roles, text, length);
}

static fid_code check_word(const fid_naming *naming, const char *key, const char *text, size_t length, fid_error *err) {
    if (length == 0) {
        return fid_fail(err, FID_INVALID, "'%s' must be small letters and digits and begin with a letter", key);
    }
    if (is_reserved(naming, text, length)) {
        return fid_fail(err, FID_INVALID, "'%s' may not be '%.*s', which is a word for a side or role; choose another",
                        key, (int)length, text);
    }
    return FID_OK;
}

static fid_code check_id(const fid_naming *naming, const char *id, fid_error *err) {
    if (strlen(id) >= FID_WORD_SIZE) {
        return fid_fail(err, FID_RANGE, "'id' is longer than %d bytes", FID_WORD_SIZE - 1);
    }
    for (const char *at = id;; at++) {
        size_t length = fid_name_word_length(at);
        fid_code code = check_word(naming, "id", at, length, err);
        if (code != FID_OK) {
            return code;
        }
        at += length;
        if (*at == '\0') {
            return FID_OK;
        }
        if (*at != '.') {
            return fid_fail(err, FID_INVALID,
                            "'id' is '%s', but must be small letters and digits, nested ones "
                            "joined by '.'",
                            id);
        }
    }
}

static fid_code no_place(const fid_naming *naming, const char *key, fid_error *err) {
    return fid_fail(err, FID_INVALID, "the naming template '%s' has no place for '%s': put {%s} into it",
                    naming->template_text, key, key);
}

fid_code fid_name_fields_check(const fid_naming *naming, const fid_name_fields *fields, fid_error *err) {
    if (fields->part == NULL) {
        return fid_fail(err, FID_INVALID, "'part' is missing");
    }
    size_t length = fid_name_word_length(fields->part);
    if (fields->part[length] != '\0') {
        return fid_fail(err, FID_INVALID,
                        "'part' is '%s', but must be small letters and digits and begin with a "
                        "letter",
                        fields->part);
    }
    fid_code code = check_word(naming, "part", fields->part, length, err);
    if (code == FID_OK && length >= FID_WORD_SIZE) {
        code = fid_fail(err, FID_RANGE, "'part' is longer than %d bytes", FID_WORD_SIZE - 1);
    }
    if (code == FID_OK && fields->id != NULL) {
        code = check_id(naming, fields->id, err);
    }
    if (code != FID_OK) {
        return code;
    }
    if (fields->index_count < 0 || fields->index_count > 2) {
        return fid_fail(err, FID_INVALID, "'index' must be one number or two");
    }
    for (int i = 0; i < fields->index_count; i++) {
        if (fields->index[i] < 0 || fields->index[i] > 9999) {
            return fid_fail(err, FID_RANGE, "'index' is %d, but must be 0 to 9999", (int)fields->index[i]);
        }
    }
    if ((unsigned)fields->side > FID_CENTER || (unsigned)fields->role > FID_CONTROL) {
        return fid_fail(err, FID_INVALID, "'side' or 'role' is not one of their words");
    }
    // What the name does not carry could not be read back from it.
    if (fields->id != NULL && strstr(naming->template_text, "{id}") == NULL) {
        return no_place(naming, "id", err);
    }
    if (fields->index_count > 0 && strstr(naming->template_text, "{index}") == NULL) {
        return no_place(naming, "index", err);
    }
    if (fields->side != FID_CENTER && strstr(naming->template_text, "{side}") == NULL) {
        return no_place(naming, "side", err);
    }
    if (fields->role != FID_DEFORM && strstr(naming->template_text, "{role}") == NULL) {
        return no_place(naming, "role", err);
    }
    return FID_OK;
}

int fid_name_write_index(const fid_naming *naming, int32_t index, char out[FID_INDEX_SIZE]) {
    int length = naming->index[1] == '0' ? naming->index[2] - '0' : 1;
    for (int32_t least = 10, digits = 2; least <= index && digits <= 4; least *= 10, digits++) {
        length = length < digits ? digits : length;
    }
    out[length] = '\0';
    for (int i = length - 1; i >= 0; i--, index /= 10) {
        out[i] = (char)('0' + index % 10);
    }
    return length;
}

static void copy_word(char *out, size_t size, const char *word) {
    size_t length = strlen(word);
    length = length < size ? length : size - 1;
    memcpy(out, word, length);
    out[length] = '\0';
}

/// Writes the text of one field into the `size` bytes at `out`; "" where it is empty.
static void write_field(const fid_naming *naming, const fid_name_fields *fields, fid_name_key key,
                        char out[FID_NAME_SIZE]) {
    const size_t size = FID_NAME_SIZE;
    out[0] = '\0';
    switch (key) {
    case FID_KEY_ID:
        copy_word(out, size, fields->id != NULL ? fields->id : "");
        for (char *c = out; *c != '\0'; c++) {
            if (*c == '.') {
                *c = '-';
            }
        }
        break;
    case FID_KEY_PART:
        copy_word(out, size, fields->part);
        break;
    case FID_KEY_INDEX:
        for (int i = 0, used = 0; i < fields->index_count; i++) {
            if (i > 0) {
                out[used++] = '-';
            }
            used += fid_name_write_index(naming, fields->index[i], out + used);
        }
        break;
    case FID_KEY_SIDE:
        copy_word(out, size, naming->sides[fields->side]);
        break;
    case FID_KEY_ROLE:
        copy_word(out, size, naming->roles[fields->role]);
        break;
    }
}

/// Adds `length` bytes to the name of `*used` bytes; false where it gets too long.
static bool add_bytes(char out[FID_NAME_SIZE], size_t *used, const char *bytes, size_t length) {
    if (length >= FID_NAME_SIZE - *used) {
        return false;
    }
    memcpy(out + *used, bytes, length);
    *used += length;
    out[*used] = '\0';
    return true;
}

/// Renders checked fields; false where the name is too long.
static bool render(const fid_naming *naming, const fid_template *shape, const fid_name_fields *fields,
                   char out[FID_NAME_SIZE]) {
    size_t used = 0;
    bool any = false;
    out[0] = '\0';
    for (int i = 0; i < shape->count; i++) {
        char text[FID_NAME_SIZE];
        write_field(naming, fields, shape->at[i].key, text);
        // Text before the first field stays; text between fields stays where both sides of it have something.
        if ((i == 0 || (any && text[0] != '\0')) && !add_bytes(out, &used, shape->at[i].before, shape->at[i].length)) {
            return false;
        }
        if (!add_bytes(out, &used, text, strlen(text))) {
            return false;
        }
        any = any || text[0] != '\0';
    }
    return add_bytes(out, &used, shape->after, strlen(shape->after));
}

static bool is_same_fields(const fid_name_fields *a, const fid_name_fields *b) {
    if (strcmp(a->id != NULL ? a->id : "", b->id != NULL ? b->id : "") != 0 || strcmp(a->part, b->part) != 0 ||
        a->index_count != b->index_count || a->side != b->side || a->role != b->role) {
        return false;
    }
    for (int i = 0; i < a->index_count; i++) {
        if (a->index[i] != b->index[i]) {
            return false;
        }
    }
    return true;
}

fid_code fid_name_render(const fid_naming *naming, const fid_name_fields *fields, char out[FID_NAME_SIZE],
                         fid_error *err) {
    fid_template shape;
    fid_code code = fid_template_read(naming->template_text, &shape, err);
    if (code == FID_OK) {
        code = fid_name_fields_check(naming, fields, err);
    }
    if (code != FID_OK) {
        return code;
    }
    if (!render(naming, &shape, fields, out)) {
        return fid_fail(err, FID_RANGE, "the name '%s...' is longer than %d bytes: shorten the id or part", out,
                        FID_NAME_SIZE - 1);
    }
    // Text of the template can look like a field; then this one name is refused rather than misread later.
    fid_name_parsed back;
    if (fid_name_parse(naming, out, &back, NULL) != FID_OK || !is_same_fields(&back.fields, fields)) {
        return fid_fail(err, FID_INVALID, "the name '%s' could not be read back with the naming template '%s'", out,
                        naming->template_text);
    }
    return FID_OK;
}

static fid_code check_words(const char *kind, const char *const *keys, const char words[3][16], fid_error *err) {
    int empty = 0;
    for (int i = 0; i < 3; i++) {
        const char *word = words[i];
        if (memchr(word, '\0', 16) == NULL) {
            return fid_fail(err, FID_INVALID, "the word for %s '%s' is longer than 15 bytes", kind, keys[i]);
        }
        bool letters = false;
        for (const char *c = word; *c != '\0'; c++) {
            if (!is_lower(*c) && !is_upper(*c) && !is_digit(*c)) {
                return fid_fail(err, FID_INVALID, "the word '%s' for %s '%s' must be letters and digits", word, kind,
                                keys[i]);
            }
            letters = letters || !is_digit(*c);
        }
        if (word[0] != '\0' && !letters) {
            return fid_fail(err, FID_INVALID, "the word '%s' for %s '%s' needs a letter, else it looks like an index",
                            word, kind, keys[i]);
        }
        empty += word[0] == '\0';
    }
    if (empty > 1) {
        return fid_fail(err, FID_INVALID, "only one word for a %s may be empty", kind);
    }
    return FID_OK;
}

/// Whether a spread of names reads back: what fails here fails for every rig.
static fid_code check_samples(const fid_naming *naming, const fid_template *shape, fid_error *err) {
    static const char *const ids[] = {NULL, "qa", "qb3", "qc.qd4"};
    static const char *const parts[] = {"qe", "qf5"};
    static const int32_t indexes[][3] = {{0, 0, 0}, {1, 7, 0}, {1, 12, 0}, {2, 1, 2}};
    bool has[FID_KEY_COUNT] = {false};
    for (int i = 0; i < shape->count; i++) {
        has[shape->at[i].key] = true;
    }
    for (int i = 0; i < 4 * 2 * 4 * 3 * 3; i++) {
        const int32_t *index = indexes[i / 8 % 4];
        fid_name_fields fields = {.id = ids[i % 4],
                                  .part = parts[i / 4 % 2],
                                  .index = {index[1], index[2]},
                                  .index_count = index[0],
                                  .side = (fid_side)(i / 32 % 3),
                                  .role = (fid_role)(i / 96)};
        if ((fields.id != NULL && !has[FID_KEY_ID]) || (fields.index_count > 0 && !has[FID_KEY_INDEX]) ||
            (fields.side != FID_CENTER && !has[FID_KEY_SIDE]) || (fields.role != FID_DEFORM && !has[FID_KEY_ROLE])) {
            continue;
        }
        char name[FID_NAME_SIZE];
        fid_name_parsed back;
        if (!render(naming, shape, &fields, name)) {
            return fid_fail(err, FID_INVALID, "the naming template '%s' leaves no room for the fields within %d bytes",
                            naming->template_text, FID_NAME_SIZE - 1);
        }
        if (fid_name_parse(naming, name, &back, NULL) != FID_OK || !is_same_fields(&back.fields, &fields)) {
            return fid_fail(err, FID_INVALID,
                            "names of the template '%s' could not be read back ('%s'): put '_' between the fields",
                            naming->template_text, name);
        }
    }
    return FID_OK;
}

fid_code fid_naming_check(const fid_naming *naming, fid_error *err) {
    static const char *const formats[] = {"%d", "%02d", "%03d", "%04d"};
    if (memchr(naming->template_text, '\0', sizeof naming->template_text) == NULL) {
        return fid_fail(err, FID_INVALID, "the naming template is longer than %d bytes",
                        (int)sizeof naming->template_text - 1);
    }
    fid_template shape;
    fid_code code = fid_template_read(naming->template_text, &shape, err);
    if (code != FID_OK) {
        return code;
    }
    bool known = false;
    if (memchr(naming->index, '\0', sizeof naming->index) != NULL) {
        for (int i = 0; i < 4; i++) {
            known = known || strcmp(naming->index, formats[i]) == 0;
        }
    }
    if (!known) {
        return fid_fail(err, FID_INVALID, "the naming index must be \"%%d\", \"%%02d\", \"%%03d\" or \"%%04d\"");
    }
    code = check_words("side", fid_side_names, naming->sides, err);
    if (code == FID_OK) {
        code = check_words("role", fid_role_names, naming->roles, err);
    }
    if (code != FID_OK) {
        return code;
    }
    for (int i = 0; i < 6; i++) {
        const char *word = i < 3 ? naming->sides[i] : naming->roles[i - 3];
        for (int j = i + 1; j < 6; j++) {
            const char *other = j < 3 ? naming->sides[j] : naming->roles[j - 3];
            if (word[0] != '\0' && strcmp(word, other) == 0) {
                return fid_fail(err, FID_INVALID,
                                "the naming has the word '%s' twice: words of sides and roles must "
                                "differ",
                                word);
            }
        }
    }
    return check_samples(naming, &shape, err);
}
