#include "format/json_read.h"

#include "base/number.h"
#include "base/text.h"
#include "format/json_scan.h"

#include <cjson/cJSON.h>

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <threads.h>

enum { PATH_KEY_BYTES = 64 };

static void *get_memory(size_t size) { return fid_memory_get(size); }

static void set_hooks(void) {
    cJSON_Hooks hooks = {get_memory, fid_memory_free};
    cJSON_InitHooks(&hooks);
}

static fid_code add_finding(fid_json_reader *reader, fid_severity severity, const char *rule, const char *subject,
                            int32_t line, const fid_error *err) {
    fid_place place = {.file = reader->file, .line = line};
    fid_finding finding = {
        .code = rule,
        .severity = severity,
        .subject = subject,
        .message = err->message,
        .places = &place,
        .place_count = 1,
    };
    fid_report_add(reader->report, &finding);
    return err->code;
}

fid_code fid_json_open(fid_json_reader *reader, const char *text, size_t count, const char *file, fid_report *report) {
    static once_flag hooks_are_set = ONCE_FLAG_INIT;
    // The hooks are those of the whole process: a program that embeds this one may have set its own.
    if (fid_memory_is_set()) {
        call_once(&hooks_are_set, set_hooks);
    }
    *reader = (fid_json_reader){.file = file, .report = report};
    fid_error err;
    int32_t line;
    fid_code code = fid_json_scan(text, count, &line, &err);
    if (code != FID_OK) {
        return add_finding(reader, FID_ERROR, "", "", line, &err);
    }
    reader->root = cJSON_ParseWithLength(text, count);
    // The scan admits only what the parser reads, so that memory is all that can be missing.
    return reader->root != NULL ? FID_OK : fid_json_no_memory(reader);
}

void fid_json_close(fid_json_reader *reader) {
    cJSON_Delete(reader->root);
    reader->root = NULL;
    fid_arena_clear(&reader->arena);
}

static void add_key(fid_text *path, const char *key) {
    size_t count = strlen(key);
    size_t at = 0;
    while (at < count && at < PATH_KEY_BYTES) {
        size_t length = (size_t)fid_text_character_length(key + at, count - at);
        if (key[at] == '~' || key[at] == '/') {
            fid_text_add(path, key[at] == '~' ? "~0" : "~1");
        } else {
            fid_text_add_bytes(path, key + at, length);
        }
        at += length;
    }
    fid_text_add(path, at < count ? "..." : "");
}

/// Adds the path from `node` to `target` beneath it; false where it is not there. Paths are looked for only when
/// something is wrong, so that reading pays nothing for them. The scan has bounded the depth.
static bool add_path(const cJSON *node, const cJSON *target, fid_text *path) {
    if (node == target) {
        return true;
    }
    int32_t length = path->count;
    int32_t index = 0;
    for (const cJSON *child = node->child; child != NULL; child = child->next, index++) {
        fid_text_add(path, "/");
        if (child->string != NULL) {
            add_key(path, child->string);
        } else {
            fid_text_addf(path, "%d", (int)index);
        }
        if (add_path(child, target, path)) {
            return true;
        }
        path->count = length;
    }
    return false;
}

static fid_code report_at(fid_json_reader *reader, const cJSON *node, fid_severity severity, const char *rule,
                          const fid_error *err) {
    fid_text path = {0};
    if (node != NULL && reader->root != NULL && node != reader->root) {
        add_path(reader->root, node, &path);
    }
    if (path.failed) {
        reader->report->failed = true;
    }
    // A round through a message takes away what must not be printed.
    fid_error clean;
    fid_code code = fid_fail(&clean, err->code, "%.*s", (int)path.count, path.at != NULL ? path.at : "");
    fid_text_clear(&path);
    add_finding(reader, severity, rule, clean.message[0] != '\0' ? clean.message : "/", 0, err);
    return code;
}

fid_code fid_json_fail(fid_json_reader *reader, const fid_json_node *node, fid_code code, const char *rule,
                       const char *format, ...) {
    fid_error err;
    va_list args;
    va_start(args, format);
    (void)fid_fail_with(&err, code, format, args);
    va_end(args);
    return report_at(reader, node, FID_ERROR, rule, &err);
}

fid_code fid_json_fail_with(fid_json_reader *reader, const fid_json_node *node, const char *rule,
                            const fid_error *err) {
    const cJSON *about = node != NULL && cJSON_IsObject(node) ? fid_json_find(node, err->subject) : NULL;
    return report_at(reader, about != NULL ? about : node, FID_ERROR, rule, err);
}

void fid_json_note(fid_json_reader *reader, const fid_json_node *node, const char *format, ...) {
    fid_error err;
    va_list args;
    va_start(args, format);
    (void)fid_fail_with(&err, FID_RANGE, format, args);
    va_end(args);
    (void)report_at(reader, node, FID_NOTE, "", &err);
}

void fid_json_warn(fid_json_reader *reader, const fid_json_node *node, const char *format, ...) {
    fid_error err;
    va_list args;
    va_start(args, format);
    (void)fid_fail_with(&err, FID_UNKNOWN, format, args);
    va_end(args);
    (void)report_at(reader, node, FID_WARNING, "", &err);
}

fid_code fid_json_no_memory(fid_json_reader *reader) {
    fid_error err;
    fid_no_memory(&err);
    return add_finding(reader, FID_ERROR, "", "", 0, &err);
}

fid_json_kind fid_json_kind_of(const fid_json_node *node) {
    if (cJSON_IsBool(node)) {
        return FID_JSON_BOOLEAN;
    }
    if (cJSON_IsNumber(node)) {
        return FID_JSON_NUMBER;
    }
    if (cJSON_IsString(node)) {
        return FID_JSON_TEXT;
    }
    if (cJSON_IsArray(node)) {
        return FID_JSON_LIST;
    }
    return cJSON_IsObject(node) ? FID_JSON_OBJECT : FID_JSON_NULL;
}

const char *fid_json_kind_name(fid_json_kind kind) {
    static const char *const names[] = {"null", "true or false", "a number", "a text", "a list", "an object"};
    return names[kind];
}

const char *fid_json_key_of(const fid_json_node *node) { return node->string; }

const fid_json_node *fid_json_first(const fid_json_node *node) { return node->child; }

const fid_json_node *fid_json_next(const fid_json_node *node) { return node->next; }

int32_t fid_json_count(const fid_json_node *node) {
    int32_t count = 0;
    for (const cJSON *child = node->child; child != NULL; child = child->next) {
        count++;
    }
    return count;
}

bool fid_json_is_true(const fid_json_node *node) { return cJSON_IsTrue(node) != 0; }

double fid_json_value(const fid_json_node *node) { return node->valuedouble; }

const char *fid_json_string(const fid_json_node *node) { return cJSON_IsString(node) ? node->valuestring : NULL; }

const fid_json_node *fid_json_find(const fid_json_node *object, const char *key) {
    for (const cJSON *child = object->child; child != NULL; child = child->next) {
        if (child->string != NULL && strcmp(child->string, key) == 0) {
            return child;
        }
    }
    return NULL;
}

static int32_t find_word(const char *const *words, int32_t count, const char *word) {
    for (int32_t i = 0; i < count; i++) {
        if (strcmp(words[i], word) == 0) {
            return i;
        }
    }
    return -1;
}

static fid_code fail_unknown(fid_json_reader *reader, const cJSON *node, const char *kind, const char *word,
                             const char *const *words, int32_t count) {
    const char *near = fid_text_nearest(word, words, count);
    if (near != NULL) {
        return fid_json_fail(reader, node, FID_UNKNOWN, "", "no %s '%.64s'; did you mean '%s'?", kind, word, near);
    }
    return fid_json_fail(reader, node, FID_UNKNOWN, "", "no %s '%.64s'", kind, word);
}

fid_code fid_json_members(fid_json_reader *reader, const fid_json_node *node, const char *const *keys, int32_t count,
                          uint64_t optional, const fid_json_node **out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_OBJECT);
    if (code != FID_OK) {
        return code;
    }
    for (int32_t i = 0; i < count; i++) {
        out[i] = NULL;
    }
    for (const cJSON *child = node->child; child != NULL; child = child->next) {
        int32_t i = find_word(keys, count, child->string);
        if (i < 0) {
            return fail_unknown(reader, child, "key", child->string, keys, count);
        }
        if (out[i] != NULL) {
            return fid_json_fail(reader, child, FID_INVALID, "", "key '%s' stands here twice", keys[i]);
        }
        out[i] = child;
    }
    for (int32_t i = 0; i < count; i++) {
        if (out[i] == NULL && (optional >> i & 1) == 0) {
            return fid_json_fail(reader, node, FID_INVALID, "", "key '%s' is missing", keys[i]);
        }
    }
    return FID_OK;
}

fid_code fid_json_expect(fid_json_reader *reader, const fid_json_node *node, fid_json_kind kind) {
    fid_json_kind is = fid_json_kind_of(node);
    if (is == kind) {
        return FID_OK;
    }
    return fid_json_fail(reader, node, FID_INVALID, "", "must be %s, not %s", fid_json_kind_name(kind),
                         fid_json_kind_name(is));
}

fid_code fid_json_read_boolean(fid_json_reader *reader, const fid_json_node *node, bool *out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_BOOLEAN);
    if (code == FID_OK) {
        *out = cJSON_IsTrue(node) != 0;
    }
    return code;
}

fid_code fid_json_read_number(fid_json_reader *reader, const fid_json_node *node, float *out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_NUMBER);
    if (code != FID_OK) {
        return code;
    }
    if (fabs(node->valuedouble) > (double)FLT_MAX) {
        return fid_json_fail(reader, node, FID_RANGE, "", "the number is too large");
    }
    *out = (float)node->valuedouble;
    return FID_OK;
}

fid_code fid_json_read_integer(fid_json_reader *reader, const fid_json_node *node, int32_t min, int32_t max,
                               int32_t *out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_NUMBER);
    if (code != FID_OK) {
        return code;
    }
    double value = node->valuedouble;
    if (!(value >= (double)min && value <= (double)max) || floor(value) != value) {
        return fid_json_fail(reader, node, FID_RANGE, "", "must be a whole number from %d to %d", (int)min, (int)max);
    }
    *out = (int32_t)value;
    return FID_OK;
}

fid_code fid_json_read_text(fid_json_reader *reader, const fid_json_node *node, const char **out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_TEXT);
    if (code == FID_OK) {
        *out = node->valuestring;
    }
    return code;
}

fid_code fid_json_read_maybe_text(fid_json_reader *reader, const fid_json_node *node, const char **out) {
    if (cJSON_IsNull(node)) {
        *out = NULL;
        return FID_OK;
    }
    if (!cJSON_IsString(node)) {
        return fid_json_fail(reader, node, FID_INVALID, "", "must be a text or null, not %s",
                             fid_json_kind_name(fid_json_kind_of(node)));
    }
    *out = node->valuestring;
    return FID_OK;
}

fid_code fid_json_read_numbers(fid_json_reader *reader, const fid_json_node *node, int32_t count, float *out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    int32_t is = fid_json_count(node);
    if (is != count) {
        return fid_json_fail(reader, node, FID_INVALID, "", "must be a list of %d numbers, not of %d", (int)count,
                             (int)is);
    }
    for (const cJSON *child = node->child; child != NULL && code == FID_OK; child = child->next) {
        code = fid_json_read_number(reader, child, out++);
    }
    return code;
}

fid_code fid_json_read_choice(fid_json_reader *reader, const fid_json_node *node, const char *const *choices,
                              int32_t *out) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_TEXT);
    if (code != FID_OK) {
        return code;
    }
    int32_t count = 0;
    while (choices[count] != NULL) {
        count++;
    }
    int32_t i = find_word(choices, count, node->valuestring);
    if (i < 0) {
        return fail_unknown(reader, node, "choice", node->valuestring, choices, count);
    }
    *out = i;
    return FID_OK;
}

fid_code fid_json_read_fixed(fid_json_reader *reader, const fid_json_node *node, const char *wanted) {
    fid_code code = fid_json_expect(reader, node, FID_JSON_TEXT);
    if (code == FID_OK && strcmp(node->valuestring, wanted) != 0) {
        return fid_json_fail(reader, node, FID_INVALID, "", "must be '%s', not '%.64s'", wanted, node->valuestring);
    }
    return code;
}

fid_code fid_json_read_header(fid_json_reader *reader, const char *format, int32_t version) {
    fid_code code = fid_json_expect(reader, reader->root, FID_JSON_OBJECT);
    if (code != FID_OK) {
        return code;
    }
    const cJSON *node = fid_json_find(reader->root, "format");
    if (node == NULL) {
        return fid_json_fail(reader, NULL, FID_INVALID, "", "key 'format' is missing; it must be '%s'", format);
    }
    code = fid_json_read_fixed(reader, node, format);
    if (code != FID_OK) {
        return code;
    }
    node = fid_json_find(reader->root, "version");
    if (node == NULL) {
        return fid_json_fail(reader, NULL, FID_INVALID, "", "key 'version' is missing; it must be %d", (int)version);
    }
    code = fid_json_expect(reader, node, FID_JSON_NUMBER);
    if (code == FID_OK && node->valuedouble != (double)version) {
        return fid_json_fail(reader, node, FID_INVALID, "", "this version of %s cannot be read; %d can", format,
                             (int)version);
    }
    return code;
}
