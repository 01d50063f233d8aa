#include "rig/template.h"

#include <stdio.h>
#include <string.h>

/// A name that is being read: the fields found so far are in `out`.
typedef struct reading {
    const fid_naming *naming;
    fid_template shape;
    fid_name_parsed *out;
} reading;

static bool read_from(reading *r, int i, const char *at, bool any);

/// Keeps `length` bytes as the id (with '.' for '-') or part.
static void keep_word(reading *r, fid_name_key key, const char *at, size_t length) {
    char *word = key == FID_KEY_ID ? r->out->id : r->out->part;
    memcpy(word, at, length);
    word[length] = '\0';
    if (key == FID_KEY_ID) {
        for (char *c = word; *c != '\0'; c++) {
            if (*c == '-') {
                *c = '.';
            }
        }
        r->out->fields.id = word;
    } else {
        r->out->fields.part = word;
    }
}

/// Tries every id or part that begins at `at`, the longest first.
static bool read_word(reading *r, int i, const char *at) {
    fid_name_key key = r->shape.at[i].key;
    size_t length = fid_name_word_length(at);
    while (key == FID_KEY_ID && length > 0 && at[length] == '-') {
        size_t more = fid_name_word_length(at + length + 1);
        if (more == 0) {
            break;
        }
        length += 1 + more;
    }
    for (; length > 0; length--) {
        if (length < FID_WORD_SIZE && at[length - 1] != '-') {
            keep_word(r, key, at, length);
            if (read_from(r, i + 1, at + length, true)) {
                return true;
            }
        }
    }
    return false;
}

/// Reads `digits` digits at `at` that are written as the naming writes numbers.
static bool read_number(const reading *r, const char *at, int digits, int32_t *out) {
    int32_t value = 0;
    for (int i = 0; i < digits; i++) {
        if (at[i] < '0' || at[i] > '9') {
            return false;
        }
        value = value * 10 + (at[i] - '0');
    }
    char text[FID_INDEX_SIZE];
    int length = fid_name_write_index(r->naming, value, text);
    *out = value;
    return length == digits && memcmp(text, at, (size_t)digits) == 0;
}

/// Tries every index that begins at `at`: pairs first, long numbers first.
static bool read_index(reading *r, int i, const char *at) {
    fid_name_fields *fields = &r->out->fields;
    for (int first = 4; first > 0; first--) {
        int32_t a, b;
        if (!read_number(r, at, first, &a)) {
            continue;
        }
        for (int second = 4; second > 0 && at[first] == '-'; second--) {
            if (read_number(r, at + first + 1, second, &b)) {
                fields->index_count = 2;
                fields->index[0] = a;
                fields->index[1] = b;
                if (read_from(r, i + 1, at + first + 1 + second, true)) {
                    return true;
                }
            }
        }
        fields->index_count = 1;
        fields->index[0] = a;
        fields->index[1] = 0;
        if (read_from(r, i + 1, at + first, true)) {
            return true;
        }
    }
    fields->index_count = 0;
    fields->index[0] = 0;
    return false;
}

static void keep_choice(reading *r, fid_name_key key, int choice) {
    if (key == FID_KEY_SIDE) {
        r->out->fields.side = (fid_side)choice;
    } else {
        r->out->fields.role = (fid_role)choice;
    }
}

/// Tries every word of a side or role that `at` begins with.
static bool read_choice(reading *r, int i, const char *at) {
    fid_name_key key = r->shape.at[i].key;
    for (int k = 0; k < 3; k++) {
        const char *word = key == FID_KEY_SIDE ? r->naming->sides[k] : r->naming->roles[k];
        size_t length = strlen(word);
        if (length > 0 && strncmp(at, word, length) == 0) {
            keep_choice(r, key, k);
            if (read_from(r, i + 1, at + length, true)) {
                return true;
            }
        }
    }
    return false;
}

/// Leaves field `i` empty, where it may be.
static bool read_empty(reading *r, int i, const char *at, bool any) {
    fid_name_key key = r->shape.at[i].key;
    switch (key) {
    case FID_KEY_PART:
        return false;
    case FID_KEY_ID:
        r->out->fields.id = NULL;
        return read_from(r, i + 1, at, any);
    case FID_KEY_INDEX:
        r->out->fields.index_count = 0;
        return read_from(r, i + 1, at, any);
    case FID_KEY_SIDE:
    case FID_KEY_ROLE:
        for (int k = 0; k < 3; k++) {
            if ((key == FID_KEY_SIDE ? r->naming->sides : r->naming->roles)[k][0] == '\0') {
                keep_choice(r, key, k);
                return read_from(r, i + 1, at, any);
            }
        }
        return false;
    }
    return false;
}

/// Reads from field `i` on; `any`: some field before had text. Depth is the number of fields, names are short.
static bool read_from(reading *r, int i, const char *at, bool any) {
    if (i == r->shape.count) {
        return strcmp(at, r->shape.after) == 0 && fid_name_fields_check(r->naming, &r->out->fields, NULL) == FID_OK;
    }
    const fid_template_field *field = &r->shape.at[i];
    bool matches = strncmp(at, field->before, field->length) == 0;
    if (i == 0) {
        if (!matches) {
            return false;
        }
        at += field->length;
    }
    if (i == 0 || !any || matches) {
        const char *begin = i > 0 && any ? at + field->length : at;
        bool found = false;
        switch (field->key) {
        case FID_KEY_ID:
        case FID_KEY_PART:
            found = read_word(r, i, begin);
            break;
        case FID_KEY_INDEX:
            found = read_index(r, i, begin);
            break;
        case FID_KEY_SIDE:
        case FID_KEY_ROLE:
            found = read_choice(r, i, begin);
            break;
        }
        if (found) {
            return true;
        }
    }
    return read_empty(r, i, at, any);
}

fid_code fid_name_parse(const fid_naming *naming, const char *name, fid_name_parsed *out, fid_error *err) {
    memset(out, 0, sizeof *out);
    out->fields.side = FID_CENTER;
    reading r = {.naming = naming, .out = out};
    fid_code code = fid_template_read(naming->template_text, &r.shape, err);
    if (code != FID_OK) {
        return code;
    }
    if (memchr(name, '\0', FID_NAME_SIZE) == NULL) {
        return fid_fail(err, FID_SYNTAX, "a name has at most %d bytes", FID_NAME_SIZE - 1);
    }
    if (!read_from(&r, 0, name, false)) {
        return fid_fail(err, FID_SYNTAX, "'%s' is no name of the template '%s'", name, naming->template_text);
    }
    return FID_OK;
}

void fid_address_render(const fid_name_fields *fields, char out[FID_ADDRESS_SIZE]) {
    char index[32] = "";
    if (fields->index_count == 1) {
        snprintf(index, sizeof index, "/%d", (int)fields->index[0]);
    } else if (fields->index_count == 2) {
        snprintf(index, sizeof index, "/%d.%d", (int)fields->index[0], (int)fields->index[1]);
    }
    bool center = fields->side == FID_CENTER;
    snprintf(out, FID_ADDRESS_SIZE, "%s%s%s%s%s%s/%s", fields->id != NULL ? fields->id : "",
             fields->id != NULL ? "/" : "", fields->part, index, center ? "" : "/",
             center ? "" : fid_side_names[fields->side], fid_role_names[fields->role]);
}

/// The index of the `length` bytes at `text` among three words, or -1.
static int find_word(const char *const *words, const char *text, size_t length) {
    for (int i = 0; i < 3; i++) {
        if (strlen(words[i]) == length && memcmp(words[i], text, length) == 0) {
            return i;
        }
    }
    return -1;
}

/// Reads "2" or "2.3", without leading zeros.
static bool read_address_index(const char *text, size_t length, fid_name_fields *fields) {
    size_t at = 0;
    fields->index_count = 0;
    while (fields->index_count < 2) {
        size_t begin = at;
        int32_t value = 0;
        while (at < length && at - begin < 4 && text[at] >= '0' && text[at] <= '9') {
            value = value * 10 + (text[at++] - '0');
        }
        if (at == begin || (text[begin] == '0' && at - begin > 1)) {
            return false;
        }
        fields->index[fields->index_count++] = value;
        if (at == length) {
            return true;
        }
        if (text[at++] != '.') {
            return false;
        }
    }
    return false;
}

fid_code fid_address_parse(const char *address, fid_name_parsed *out, fid_error *err) {
    const char *at[5];
    size_t length[5];
    int count = 0;
    memset(out, 0, sizeof *out);
    out->fields.side = FID_CENTER;
    fid_naming naming = fid_naming_default();
    if (memchr(address, '\0', FID_ADDRESS_SIZE) == NULL) {
        return fid_fail(err, FID_SYNTAX, "an address has at most %d bytes", FID_ADDRESS_SIZE - 1);
    }
    for (const char *p = address; count < 5; p++) {
        at[count] = p;
        length[count] = strcspn(p, "/");
        p += length[count++];
        if (*p == '\0') {
            break;
        }
    }
    if (at[count - 1][length[count - 1]] != '\0') {
        return fid_fail(err, FID_SYNTAX, "'%s' is no address: it has more than five parts", address);
    }
    int role = count > 1 ? find_word(fid_role_names, at[count - 1], length[count - 1]) : -1;
    if (role < 0) {
        return fid_fail(err, FID_SYNTAX, "'%s' is no address: it must end in /deform, /helper or /control", address);
    }
    out->fields.role = (fid_role)role;
    count--;
    int side = find_word(fid_side_names, at[count - 1], length[count - 1]);
    if (side >= 0 && side != FID_CENTER && count > 1) {
        out->fields.side = (fid_side)side;
        count--;
    }
    if (count > 1 && at[count - 1][0] >= '0' && at[count - 1][0] <= '9') {
        if (!read_address_index(at[count - 1], length[count - 1], &out->fields)) {
            return fid_fail(err, FID_SYNTAX, "'%s' is no address: its index must be like 2 or 2.3", address);
        }
        count--;
    }
    if (count > 2 || length[count - 1] >= FID_WORD_SIZE || (count == 2 && length[0] >= FID_WORD_SIZE)) {
        return fid_fail(err, FID_SYNTAX, "'%s' is no address: it must be like id/part/2/left/control", address);
    }
    memcpy(out->part, at[count - 1], length[count - 1]);
    out->fields.part = out->part;
    if (count == 2) {
        memcpy(out->id, at[0], length[0]);
        out->fields.id = out->id;
    }
    fid_error inner;
    if (fid_name_fields_check(&naming, &out->fields, &inner) != FID_OK) {
        return fid_fail(err, FID_SYNTAX, "'%s' is no address: %s", address, inner.message);
    }
    return FID_OK;
}
