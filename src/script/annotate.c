#include "script/annotate.h"

#include "rig/rig.h"
#include "script/help.h"
#include "script/help_calls.h"

#include <stdio.h>
#include <string.h>

/// Longest word that is looked at by itself.
enum { WORD_SIZE = 64 };

/// Words of help that are a type by themselves, as singular.
static const struct {
    const char *word, *type;
} words[] = {
    {"number", "number"},
    {"whole number", "integer"},
    {"text", "string"},
    {"path", "string"},
    {"true", "boolean"},
    {"false", "boolean"},
    {"nil", "nil"},
    {"table", "table"},
    {"point", "fid.Vec"},
    {"direction", "fid.Vec"},
    {"frame", "fid.Frame"},
    {"source", "fid.Source"},
    {"outline", "fid.Outline"},
    {"table of declarations", "table"},
    {"operator", "any"},
};

static bool is_word(char letter) { return (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z'); }

/// What ends a word: "points" is as "point", "Bones" as "Bone".
static size_t singular(const char *text, size_t length) {
    return length > 2 && text[length - 1] == 's' ? length - 1 : length;
}

static void add_type(fid_text *out, const char *text, size_t length);

/// The type of one alternative, without "or".
static void add_one(fid_text *out, const char *text, size_t length) {
    static const char *const articles[] = {"a ", "an ", "the "};
    for (size_t i = 0; i < sizeof articles / sizeof *articles; i++) {
        size_t article = strlen(articles[i]);
        if (length > article && strncmp(text, articles[i], article) == 0) {
            text += article;
            length -= article;
            break;
        }
    }
    static const char list[] = "list of ";
    size_t head = sizeof list - 1;
    if (length > head && strncmp(text, list, head) == 0) {
        fid_text_add(out, "(");
        // "list of {name, source}", "list of two": what they hold is told in words.
        add_type(out, text + head, length - head);
        fid_text_add(out, ")[]");
        return;
    }
    if (text[0] == '"') {
        fid_text_add_bytes(out, text, length);
        return;
    }
    if (length >= 8 && strncmp(text, "function", 8) == 0) {
        fid_text_add(out, "function");
        return;
    }
    // "point {x, y, z}": what stands in braces says it again.
    size_t brace = 0;
    while (brace < length && text[brace] != '{') {
        brace++;
    }
    length = brace > 0 && brace < length ? brace - 1 : length;
    size_t one = singular(text, length);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        size_t word = strlen(words[i].word);
        if ((word == length || word == one) && strncmp(text, words[i].word, word) == 0) {
            fid_text_add(out, words[i].type);
            return;
        }
    }
    if (text[0] >= 'A' && text[0] <= 'Z') {
        size_t end = 0;
        while (end < length && is_word(text[end])) {
            end++;
        }
        fid_text_addf(out, "fid.%.*s", (int)singular(text, end), text);
        return;
    }
    fid_text_add(out, "any");
}

/// The type that words of help tell: "Bone or nil", "list of Bones", "number".
static void add_type(fid_text *out, const char *text, size_t length) {
    for (size_t from = 0;;) {
        size_t at = from;
        while (at < length && (at + 4 > length || strncmp(text + at, " or ", 4) != 0)) {
            at++;
        }
        add_one(out, text + from, at - from);
        if (at >= length) {
            return;
        }
        fid_text_add(out, "|");
        from = at + 4;
    }
}

/// "one of x, y, z, default y": the words as they are written.
static void add_choices(fid_text *out, const char *text) {
    const char *between = "";
    while (*text) {
        size_t length = strcspn(text, ",");
        if (strncmp(text, "default ", 8) == 0 || strncmp(text, "required", 8) == 0) {
            return;
        }
        fid_text_addf(out, "%s\"%.*s\"", between, (int)length, text);
        between = "|";
        text += length + strspn(text + length, ", ");
    }
}

/// The type that a row of help tells: all before its unit, range and default.
static void add_told_type(fid_text *out, const char *told) {
    static const char one_of[] = "one of ";
    told += strncmp(told, "gives ", 6) == 0 ? 6 : 0;
    if (strncmp(told, one_of, sizeof one_of - 1) == 0) {
        add_choices(out, told + sizeof one_of - 1);
        return;
    }
    size_t length = 0;
    int depth = 0;
    for (; told[length] && (depth > 0 || (told[length] != ',' && told[length] != ';' && told[length] != ':'));
         length++) {
        depth += told[length] == '{' || told[length] == '(' ? 1 : told[length] == '}' || told[length] == ')' ? -1 : 0;
    }
    add_type(out, told, length);
}

static void add_field_type(fid_text *out, const fid_field *field) {
    switch (field->type) {
    case FID_TYPE_BOOLEAN:
        fid_text_add(out, "boolean");
        break;
    case FID_TYPE_NUMBER:
        fid_text_add(out, "number");
        break;
    case FID_TYPE_CHOICE:
        for (int i = 0; field->choices[i] != NULL; i++) {
            fid_text_addf(out, "%s\"%s\"", i > 0 ? "|" : "", field->choices[i]);
        }
        break;
    case FID_TYPE_TEXT:
    case FID_TYPE_COLOR:
        fid_text_add(out, "string");
        break;
    case FID_TYPE_WORDS:
    case FID_TYPE_AXES:
        fid_text_add(out, "string[]");
        break;
    case FID_TYPE_TAKES:
        fid_text_add(out, "(\"translation\"|\"rotation\"|\"scale\")[]|\"all\"");
        break;
    case FID_TYPE_INDEX:
        fid_text_add(out, "integer|integer[]");
        break;
    case FID_TYPE_VECTOR:
    case FID_TYPE_MAYBE_VECTOR:
        fid_text_add(out, "fid.Vec|number[]");
        break;
    case FID_TYPE_FRAME:
        fid_text_add(out, "fid.Frame");
        break;
    case FID_TYPE_BONE:
        fid_text_add(out, "fid.Bone");
        break;
    case FID_TYPE_BONES:
        fid_text_add(out, "fid.Bone[]");
        break;
    case FID_TYPE_CHAIN:
        fid_text_add(out, "fid.Chain");
        break;
    case FID_TYPE_SET:
        fid_text_add(out, "fid.Set|string");
        break;
    case FID_TYPE_OUTLINE:
        fid_text_add(out, "fid.Outline|\"circle\"|\"square\"|\"box\"|\"arrow\"");
        break;
    case FID_TYPE_CHANNEL:
        fid_text_add(out, "fid.Channel");
        break;
    case FID_TYPE_AMOUNT:
        fid_text_add(out, "number|fid.Channel");
        break;
    case FID_TYPE_SOURCE:
        fid_text_add(out, "fid.Source");
        break;
    case FID_TYPE_FACTORS:
        fid_text_add(out, "fid.Channel|table");
        break;
    case FID_TYPE_NUMBERS:
        fid_text_add(out, "number[]");
        break;
    case FID_TYPE_BOUNDS:
        fid_text_add(out, "number[][]");
        break;
    case FID_TYPE_CURVE:
        fid_text_add(out, "fid.Curve|table");
        break;
    case FID_TYPE_AXIS_RANGE:
        fid_text_add(out, "{ x?: number[], y?: number[], z?: number[] }");
        break;
    case FID_TYPE_SOURCES:
    case FID_TYPE_SPACES:
    case FID_TYPE_POSES:
    case FID_TYPE_STEPS:
    case FID_TYPE_STROKES:
        fid_text_add(out, "table[]");
        break;
    }
}

/// What stands behind a type: unit, range, default and doc, as help says them.
static void add_field(fid_text *out, const fid_help_entry *call, const fid_schema *schema, const fid_field *field) {
    fid_text details = {0};
    fid_help_add_details(&details, call, field);
    const char *optional = fid_help_is_required(call, field) ? "" : "?";
    const char *told = details.at ? details.at : "";
    char vector[WORD_SIZE];
    snprintf(vector, sizeof vector, "%s_vector", field->key);
    if (field->type == FID_TYPE_SOURCES) {
        fid_text_addf(out, "---@field source? fid.Source %s%s\n", field->doc, told);
        fid_text_addf(out, "---@field sources? table[] list of {source, share}; %s%s\n", field->doc, told);
    } else {
        fid_text_addf(out, "---@field %s%s ", field->key, optional);
        add_field_type(out, field);
        if (field->type == FID_TYPE_BONE && fid_schema_find(schema, vector)) {
            fid_text_add(out, "|fid.Vec|number[]");
        }
        fid_text_addf(out, " %s%s\n", field->doc, told);
    }
    out->failed |= details.failed;
    fid_text_clear(&details);
}

/// "fid.points.plane(points)" taken apart.
typedef struct call {
    const fid_help_entry *entry;
    char path[WORD_SIZE];       ///< "fid.points.plane", "Rig:follow"
    char class_name[WORD_SIZE]; ///< of its named arguments, or of what it gives and tells about itself
    const char *arguments;      ///< behind the bracket; "" where it takes named ones only
    bool is_named;              ///< takes {}, alone or as the last one
} call;

static call take_apart(const fid_help_entry *entry) {
    static const struct {
        const char *word, *type;
    } receivers[] = {{"rig:", "Rig:"}, {"chain:", "Chain:"}, {"constraint:", "Constraint:"}};
    call now = {.entry = entry, .is_named = strstr(entry->shown, "{}") != NULL};
    const char *rest = entry->shown;
    const char *receiver = "";
    for (size_t i = 0; i < sizeof receivers / sizeof *receivers; i++) {
        size_t length = strlen(receivers[i].word);
        if (strncmp(rest, receivers[i].word, length) == 0) {
            receiver = receivers[i].type;
            rest += length;
        }
    }
    size_t length = strcspn(rest, "{(");
    snprintf(now.path, sizeof now.path, "%s%.*s", receiver, (int)length, rest);
    now.arguments = rest[length] == '(' ? rest + length + 1 : "";
    snprintf(now.class_name, sizeof now.class_name, "%s", entry->name);
    for (char *at = now.class_name; *at; at++) {
        *at = *at == '.' ? '_' : *at;
    }
    return now;
}

/// The names in brackets, without the braces of named ones. Calls `each` for every one.
static void go_through(const char *arguments, void (*each)(void *user, const char *name, size_t length), void *user) {
    while (*arguments && *arguments != ')') {
        size_t length = strcspn(arguments, ",)");
        if (arguments[0] != '{') {
            each(user, arguments, length);
        }
        arguments += length + strspn(arguments + length, ", ");
    }
}

/// Whether a key of a row is a parameter in the brackets of the call.
typedef struct search {
    const char *key;
    size_t length;
    bool found;
} search;

static void compare(void *user, const char *name, size_t length) {
    search *of = user;
    of->found |= length == of->length && strncmp(name, of->key, length) == 0;
}

static bool is_parameter(const call *now, const char *key) {
    search of = {key, strlen(key), false};
    go_through(now->arguments, compare, &of);
    return of.found;
}

/// Types of parameters that no row tells about.
static const char *known_type(const char *name, size_t length) {
    static const struct {
        const char *name, *type;
    } known[] = {
        {"points", "(fid.Vec|number[])[]|fid.Chain"},
        {"pose", "fid.Pose|table|string"},
        {"path", "string"},
        {"name", "string"},
        {"module", "string"},
        {"naming", "table"},
        {"seed", "integer"},
        {"count", "integer"},
        {"parts", "integer"},
        {"n", "integer"},
        {"instance", "fid.Instance"},
        {"bone", "fid.Bone|string"},
        {"channel", "fid.Channel|string"},
        {"ik", "fid.Constraint"},
        {"v", "fid.Vec|number[]"},
        {"p", "fid.Vec|number[]"},
        {"g", "fid.Frame"},
        {"x", "number"},
        {"y", "number"},
        {"z", "number"},
        {"t", "number"},
        {"f", "number"},
        {"lo", "number"},
        {"hi", "number"},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strlen(known[i].name) == length && strncmp(name, known[i].name, length) == 0) {
            return known[i].type;
        }
    }
    return "any";
}

typedef struct writing {
    fid_text *out;
    const call *now;
} writing;

static void add_parameter(void *user, const char *name, size_t length) {
    const writing *to = user;
    fid_text_addf(to->out, "---@param %.*s ", (int)length, name);
    for (int i = 0; to->now && i < FID_HELP_ARGUMENTS && to->now->entry->arguments[i].key; i++) {
        const fid_help_argument *row = &to->now->entry->arguments[i];
        if (strlen(row->key) == length && strncmp(row->key, name, length) == 0) {
            add_told_type(to->out, row->type);
            fid_text_addf(to->out, " %s\n", row->doc);
            return;
        }
    }
    fid_text_addf(to->out, "%s\n", known_type(name, length));
}

static void add_name(void *user, const char *name, size_t length) {
    fid_text *out = user;
    fid_text_addf(out, "%.*s, ", (int)length, name);
}

/// Ends "function a:b(" with what go_through gave.
static void end_names(fid_text *out, const char *last) {
    fid_text_add(out, last);
    if (!last[0] && out->count > 2 && strcmp(out->at + out->count - 2, ", ") == 0) {
        out->count -= 2;
        out->at[out->count] = '\0';
    }
    fid_text_add(out, ") end\n\n");
}

/// The methods of a row: "base(bone) tip(bone)".
static void add_methods(fid_text *out, const char *type, const fid_help_argument *row) {
    for (const char *at = row->key; *at;) {
        size_t name = strcspn(at, "({");
        size_t whole = strcspn(at, ")}") + 1;
        bool is_told_elsewhere = at[name] == '{';
        if (!is_told_elsewhere) {
            writing to = {out, NULL};
            fid_text_addf(out, "---%s\n", row->doc);
            go_through(at + name + 1, add_parameter, &to);
            fid_text_add(out, "---@return ");
            add_told_type(out, row->type);
            fid_text_addf(out, "\nfunction %s:%.*s(", type, (int)name, at);
            go_through(at + name + 1, add_name, out);
            end_names(out, "");
        }
        at += whole + strspn(at + whole, " ");
    }
}

static bool is_method(const fid_help_argument *row) { return strncmp(row->type, "gives ", 6) == 0; }

/// The fields of a row: "min max".
static void add_row_fields(fid_text *out, const fid_help_argument *row) {
    if (strncmp(row->key, "channel[", 8) == 0) {
        fid_text_addf(out, "---@field channel table<string, fid.Channel> %s\n", row->doc);
        return;
    }
    bool is_required = strstr(row->type, "required") != NULL;
    for (const char *at = row->key; *at;) {
        size_t length = strcspn(at, " ");
        bool is_name = is_word(at[0]);
        if (is_name && !(length == 2 && strncmp(at, "or", 2) == 0)) {
            fid_text_addf(out, "---@field %.*s%s ", (int)length, at,
                          is_required || !strstr(row->type, "default") ? "" : "?");
            add_told_type(out, row->type);
            fid_text_addf(out, " %s\n", row->doc);
        }
        at += length + strspn(at + length, " ");
    }
}

static void add_operators(fid_text *out, const char *type, const fid_help_argument *row) {
    static const struct {
        char sign;
        const char *name;
    } operators[] = {{'+', "add"}, {'-', "sub"}, {'*', "mul"}, {'/', "div"}};
    for (size_t i = 0; i < sizeof operators / sizeof *operators; i++) {
        if (strchr(row->key, operators[i].sign)) {
            fid_text_addf(out, "---@operator %s(any): %s\n", operators[i].name, type);
        }
    }
}

/// An object ("Bone"), or what a call gives and tells about in its own rows (fid.vec).
static void add_object(fid_text *out, const call *now, const char *type) {
    fid_text_addf(out, "---%s\n---@class fid.%s\n", now->entry->doc, type);
    char whole[WORD_SIZE];
    snprintf(whole, sizeof whole, "fid.%s", type);
    if (strcmp(type, "Chain") == 0) {
        fid_text_add(out, "---@field [integer] fid.Bone its bones, from 1 to #chain\n---@operator len: integer\n");
    }
    for (int i = 0; i < FID_HELP_ARGUMENTS && now->entry->arguments[i].key; i++) {
        const fid_help_argument *row = &now->entry->arguments[i];
        if (strcmp(row->type, "operators") == 0) {
            add_operators(out, whole, row);
        } else if (!is_method(row) && !is_parameter(now, row->key) && !now->is_named) {
            add_row_fields(out, row);
        }
    }
    fid_text_addf(out, "local %s = {}\n\n", type);
    for (int i = 0; i < FID_HELP_ARGUMENTS && now->entry->arguments[i].key; i++) {
        if (is_method(&now->entry->arguments[i])) {
            add_methods(out, type, &now->entry->arguments[i]);
        }
    }
}

static bool is_object(const fid_help_entry *entry) { return entry->shown[0] >= 'A' && entry->shown[0] <= 'Z'; }

/// What fid.vec and its like give, of which no entry tells but their own: its name.
static bool read_own_object(const fid_help_entry *entry, char out[WORD_SIZE]) {
    static const char *const own[] = {"Vec", "Frame", "Curve", "Random"};
    for (size_t i = 0; i < sizeof own / sizeof *own; i++) {
        if (entry->gives && strcmp(entry->gives + strcspn(entry->gives, " ") + 1, own[i]) == 0) {
            snprintf(out, WORD_SIZE, "%s", own[i]);
            return true;
        }
    }
    return false;
}

/// The class of the named arguments.
static void add_arguments(fid_text *out, const call *now) {
    const fid_help_entry *entry = now->entry;
    fid_text_addf(out, "---@class fid.%s_arguments\n", now->class_name);
    for (int i = 0; i < FID_HELP_ARGUMENTS && entry->arguments[i].key; i++) {
        const fid_help_argument *row = &entry->arguments[i];
        if (strcmp(row->key, "...") == 0 || row->key[0] == '[') {
            fid_text_addf(out, "---@field [any] any %s\n", row->doc);
        } else if (!is_method(row) && strcmp(row->type, "operators") != 0 && !is_parameter(now, row->key)) {
            bool is_required = strstr(row->type, "required") != NULL;
            for (const char *at = row->key; *at;) {
                size_t length = strcspn(at, " ");
                if (!(length == 2 && strncmp(at, "or", 2) == 0)) {
                    fid_text_addf(out, "---@field %.*s%s ", (int)length, at, is_required ? "" : "?");
                    add_told_type(out, row->type);
                    fid_text_addf(out, " %s (%s)\n", row->doc, row->type);
                }
                at += length + strspn(at + length, " ");
            }
        }
    }
    for (int i = 0;; i++) {
        const fid_schema *schema = fid_help_schema(entry, i);
        if (!schema) {
            break;
        }
        for (int32_t j = 0; j < schema->count; j++) {
            if (fid_help_is_taken(entry, &schema->fields[j])) {
                add_field(out, entry, schema, &schema->fields[j]);
            }
        }
    }
    fid_text_add(out, "\n");
}

/// rig:use, in one way for each module: were any text taken, nothing in its table would be wrong.
static void add_use(fid_text *out, const call *now, const fid_module_info *modules, int32_t count) {
    for (int32_t i = 0; i < count; i++) {
        fid_text_add(out, modules[i].classes);
    }
    fid_text_addf(out, "---%s\n", now->entry->doc);
    for (int32_t i = 1; i < count; i++) {
        const char *name = modules[i].name;
        fid_text_addf(out, "---@overload fun(self: fid.Rig, module: %s, arguments: fid.modules.%s.arguments): ",
                      modules[i].requests, name);
        fid_text_addf(out, "fid.modules.%s\n", name);
    }
    fid_text_addf(out, "---@param module %s\n", modules[0].requests);
    fid_text_addf(out, "---@param arguments fid.modules.%s.arguments\n", modules[0].name);
    fid_text_addf(out, "---@return fid.modules.%s %s\n", modules[0].name, now->entry->gives);
    fid_text_addf(out, "function %s(module, arguments) end\n\n", now->path);
}

static void add_call(fid_text *out, const call *now) {
    const fid_help_entry *entry = now->entry;
    if (now->is_named) {
        add_arguments(out, now);
    }
    writing to = {out, now};
    fid_text_addf(out, "---%s\n", entry->doc);
    go_through(now->arguments, add_parameter, &to);
    if (now->is_named) {
        fid_text_addf(out, "---@param arguments fid.%s_arguments%s\n", now->class_name,
                      strcmp(entry->name, "pose") == 0 ? "|string" : "");
    }
    if (entry->gives) {
        fid_text_add(out, "---@return ");
        add_told_type(out, entry->gives);
        fid_text_addf(out, " %s\n", entry->gives);
    }
    fid_text_addf(out, "function %s(", now->path);
    go_through(now->arguments, add_name, out);
    end_names(out, now->is_named ? "arguments" : "");
}

void fid_annotate(fid_text *out, const fid_module_info *modules, int32_t count) {
    fid_text_add(out, "---@meta fid\n"
                      "-- What editors know of fid. Written by 'fid init'; never run.\n\n"
                      "---@alias fid.Source fid.Bone|fid.Vec|table|\"rig\"|\"world\"\n\n"
                      "---@class fid.Outline\n---@class fid.Set\n---@class fid.Layer\n---@class fid.Drive\n"
                      "---@class fid.Module\n---@class fid.Tests\n\n");
    for (int i = 0; i < fid_help_entry_count; i++) {
        call now = take_apart(&fid_help_entries[i]);
        char own[WORD_SIZE];
        if (is_object(now.entry)) {
            add_object(out, &now, now.entry->name);
        } else if (read_own_object(now.entry, own)) {
            add_object(out, &now, own);
        }
    }
    fid_text_add(out, "---@class fid\nlocal fid = { name = {}, points = {}, outline = {} }\n\n");
    for (int i = 0; i < fid_help_entry_count; i++) {
        call now = take_apart(&fid_help_entries[i]);
        if (strcmp(now.entry->name, "use") == 0 && count > 0) {
            add_arguments(out, &now);
            add_use(out, &now, modules, count);
        } else if (!is_object(now.entry)) {
            add_call(out, &now);
        }
    }
    fid_text_add(out, "return fid\n");
}
