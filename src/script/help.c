#include "script/help.h"

#include "base/number.h"
#include "rig/rig.h"
#include "script/bind_object.h"
#include "script/help_calls.h"
#include "script/help_examples.h"
#include "script/raise.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

/// Most names among which the nearest is looked for.
enum { MOST_NAMES = 128 };

static const char *type_name(fid_field_type type) {
    switch (type) {
    case FID_TYPE_BOOLEAN:
        return "true or false";
    case FID_TYPE_NUMBER:
        return "number";
    case FID_TYPE_CHOICE:
        return "one of";
    case FID_TYPE_TEXT:
        return "text";
    case FID_TYPE_COLOR:
        return "color, \"#E69F00\"";
    case FID_TYPE_WORDS:
        return "list of texts";
    case FID_TYPE_INDEX:
        return "number or list of two";
    case FID_TYPE_VECTOR:
    case FID_TYPE_MAYBE_VECTOR:
        return "direction {x, y, z}";
    case FID_TYPE_FRAME:
        return "frame";
    case FID_TYPE_BONE:
        return "Bone";
    case FID_TYPE_BONES:
        return "list of Bones";
    case FID_TYPE_CHAIN:
        return "Chain";
    case FID_TYPE_SET:
        return "Set or name";
    case FID_TYPE_OUTLINE:
        return "outline, or \"circle\", \"square\", \"box\", \"arrow\"";
    case FID_TYPE_CHANNEL:
        return "Channel";
    case FID_TYPE_AMOUNT:
        return "number or Channel";
    case FID_TYPE_SOURCE:
        return "Bone, bone:point(f), {between = {a, b, f}}, \"rig\" or \"world\"";
    case FID_TYPE_SOURCES:
        return "source, or list of {source, share}";
    case FID_TYPE_FACTORS:
        return "Channel, {distance = {a, b}}, {angle = {bone, \"+z\", bone, \"+x\"}}, {twist = bone}, or list of these";
    case FID_TYPE_SPACES:
        return "list of {name, source, offset, meet = bone}";
    case FID_TYPE_AXES:
        return "list such as {\"translation\", \"rotation.x\"}";
    case FID_TYPE_TAKES:
        return "list of groups, or \"all\"";
    case FID_TYPE_AXIS_RANGE:
        return "{x = {lo, hi}, y = ..., z = ...}";
    case FID_TYPE_NUMBERS:
        return "list of numbers";
    case FID_TYPE_POSES:
        return "list of {at = value, pose = {[bone] = {translation, rotation or quaternion, scale}}}";
    case FID_TYPE_STEPS:
        return "list of {bone, like = bone}, {bone, neutral = true}, {pole or swivel, plane_of = ik, like = bone}";
    case FID_TYPE_BOUNDS:
        return "list of {lo, hi}";
    case FID_TYPE_CURVE:
        return "fid.curve{}, list of {x, y}, or {power = p}";
    case FID_TYPE_STROKES:
        return "lines";
    }
    return "";
}

static bool is_number(fid_field_type type) {
    return type == FID_TYPE_NUMBER || type == FID_TYPE_AMOUNT || type == FID_TYPE_NUMBERS || type == FID_TYPE_BOUNDS;
}

static void add_range(fid_text *out, const fid_field *field) {
    bool low = field->min > -FID_UNLIMITED, high = field->max < FID_UNLIMITED;
    if (!is_number(field->type) || (!low && !high)) {
        return;
    }
    fid_text_add(out, ", ");
    if (low) {
        fid_text_add(out, field->flags & FID_FIELD_ABOVE_MIN ? "above " : high ? "" : "from ");
        fid_text_add_number(out, field->min);
    }
    if (high) {
        fid_text_add(out, low ? " to " : "up to ");
        fid_text_add_number(out, field->max);
    }
}

static void add_axes(fid_text *out, uint32_t mask) {
    static const char *const names[] = {"translation", "rotation", "scale"};
    const char *before = ", default ";
    for (int i = 0; i < 3; i++) {
        if ((mask & 7u << 3 * i) != 0) {
            fid_text_add(out, before);
            fid_text_add(out, names[i]);
            before = " and ";
        }
    }
}

/// " role=helper level=everyday ": what stands behind `key`, or NULL.
static const char *find_default(const char *defaults, const char *key, size_t *length) {
    char wanted[48];
    snprintf(wanted, sizeof wanted, " %s=", key);
    const char *at = defaults != NULL ? strstr(defaults, wanted) : NULL;
    if (at == NULL) {
        return NULL;
    }
    at += strlen(wanted);
    *length = strcspn(at, " ");
    return at;
}

bool fid_help_is_required(const fid_help_entry *call, const fid_field *field) {
    size_t length = 0;
    return find_default(call->defaults, field->key, &length) == NULL && field->flags & FID_FIELD_REQUIRED &&
           field->number == 0;
}

static void add_default(fid_text *out, const fid_help_entry *call, const fid_field *field) {
    size_t length = 0;
    const char *told = find_default(call->defaults, field->key, &length);
    if (told != NULL) {
        if (length > 0) {
            fid_text_addf(out, ", default %.*s", (int)length, told);
        }
    } else if (fid_help_is_required(call, field)) {
        fid_text_add(out, ", required");
    } else if (field->type == FID_TYPE_NUMBER || field->type == FID_TYPE_AMOUNT) {
        fid_text_add(out, ", default ");
        fid_text_add_number(out, field->number);
    } else if (field->type == FID_TYPE_BOOLEAN) {
        fid_text_add(out, field->number != 0 ? ", default true" : ", default false");
    } else if (field->type == FID_TYPE_CHOICE) {
        fid_text_add(out, ", default ");
        fid_text_add(out, field->choices[(int)field->number]);
    } else if (field->type == FID_TYPE_AXES || field->type == FID_TYPE_TAKES) {
        add_axes(out, (uint32_t)field->number);
    }
}

void fid_help_add_details(fid_text *out, const fid_help_entry *call, const fid_field *field) {
    if (field->unit != NULL && field->unit[0] != '\0') {
        fid_text_add(out, ", ");
        fid_text_add(out, field->unit);
    }
    add_range(out, field);
    add_default(out, call, field);
}

static void add_field(fid_text *out, const fid_help_entry *call, const fid_schema *schema, const fid_field *field) {
    char vector[64];
    snprintf(vector, sizeof vector, "%s_vector", field->key);
    bool or_vector = field->type == FID_TYPE_BONE && fid_schema_find(schema, vector) != NULL;
    fid_text_add(out, "  ");
    fid_text_add(out, field->type == FID_TYPE_SOURCES ? "source or sources" : field->key);
    fid_text_add(out, ": ");
    bool is_point = field->type == FID_TYPE_MAYBE_VECTOR && field->unit != NULL && field->unit[0] != '\0';
    fid_text_add(out, or_vector  ? "Bone or direction {x, y, z}"
                      : is_point ? "point {x, y, z}"
                                 : type_name(field->type));
    for (int i = 0; field->type == FID_TYPE_CHOICE && field->choices[i] != NULL; i++) {
        fid_text_add(out, i > 0 ? ", " : " ");
        fid_text_add(out, field->choices[i]);
    }
    fid_help_add_details(out, call, field);
    fid_text_add(out, "\n      ");
    fid_text_add(out, field->doc);
    fid_text_add(out, "\n");
}

/// Whether `key` stands in `words`, where each stands between spaces.
static bool is_among(const char *words, const char *key) {
    size_t length = strlen(key);
    for (const char *at = words; at != NULL && (at = strstr(at, key)) != NULL; at++) {
        if (at > words && at[-1] == ' ' && at[length] == ' ') {
            return true;
        }
    }
    return false;
}

bool fid_help_is_taken(const fid_help_entry *call, const fid_field *field) {
    return (field->flags & FID_FIELD_FILE) == 0 && !is_among(call->without, field->key) &&
           (call->only == NULL || is_among(call->only, field->key));
}

/// The schema of a kind of constraint by its name, or NULL.
static const fid_schema *find_constraint(const char *name) {
    for (int i = 0; i < FID_CONSTRAINT_KINDS; i++) {
        if (strcmp(fid_constraint_schemas[i]->name, name) == 0) {
            return fid_constraint_schemas[i];
        }
    }
    return NULL;
}

const fid_schema *fid_help_schema(const fid_help_entry *call, int index) {
    const fid_schema *constraint = find_constraint(call->name);
    if (constraint != NULL) {
        return index == 0 ? constraint : NULL;
    }
    return index < FID_HELP_SCHEMAS ? call->schemas[index] : NULL;
}

/// What it does and gives; "Gives the bone ..." says it all.
static void add_doc(fid_text *out, const fid_help_entry *call) {
    fid_text_add(out, call->doc);
    if (call->gives && strncmp(call->doc, "Gives", 5) != 0) {
        fid_text_addf(out, "; gives %s", call->gives);
    }
}

static void add_call(fid_text *out, const fid_help_entry *call) {
    fid_text_add(out, call->shown);
    fid_text_add(out, "  ");
    add_doc(out, call);
    fid_text_add(out, "\n");
    for (int i = 0; i < FID_HELP_ARGUMENTS && call->arguments[i].key != NULL; i++) {
        fid_text_addf(out, "  %s: %s\n      %s\n", call->arguments[i].key, call->arguments[i].type,
                      call->arguments[i].doc);
    }
    const fid_schema *schema;
    for (int i = 0; (schema = fid_help_schema(call, i)) != NULL; i++) {
        for (int32_t j = 0; j < schema->count; j++) {
            if (fid_help_is_taken(call, &schema->fields[j])) {
                add_field(out, call, schema, &schema->fields[j]);
            }
        }
    }
    fid_text_add(out, "  for example\n");
    fid_help_add_example(call->name, "      ", out);
}

/// "rig:follow{}" and "follow" alike.
static void bare_name(const char *name, char out[48]) {
    static const char *const prefixes[] = {"fid.", "rig:", "chain:", "constraint:"};
    for (int i = 0; i < 4; i++) {
        size_t length = strlen(prefixes[i]);
        if (strncmp(name, prefixes[i], length) == 0) {
            name += length;
            break;
        }
    }
    size_t length = strcspn(name, "{(");
    length = length < 47 ? length : 47;
    memcpy(out, name, length);
    out[length] = '\0';
}

const char *fid_help_name(int32_t index) {
    return index >= 0 && index < fid_help_entry_count ? fid_help_entries[index].name : NULL;
}

fid_code fid_help_call(const char *name, fid_text *out, fid_error *err) {
    if (name == NULL) {
        for (int i = 0; i < fid_help_entry_count; i++) {
            fid_text_addf(out, "%-32s ", fid_help_entries[i].shown);
            add_doc(out, &fid_help_entries[i]);
            fid_text_add(out, "\n");
        }
        return out->failed ? fid_no_memory(err) : FID_OK;
    }
    char bare[48] = "";
    bare_name(name, bare);
    const char *names[MOST_NAMES];
    int32_t count = 0;
    for (int i = 0; i < fid_help_entry_count; i++) {
        if (strcmp(fid_help_entries[i].name, bare) == 0) {
            add_call(out, &fid_help_entries[i]);
            return out->failed ? fid_no_memory(err) : FID_OK;
        }
        if (count < MOST_NAMES) {
            names[count++] = fid_help_entries[i].name;
        }
    }
    const char *near = fid_text_nearest(bare, names, count);
    return fid_fail(err, FID_UNKNOWN, "there is no call '%.40s'%s%s%s", bare, near != NULL ? "; did you mean '" : "",
                    near != NULL ? near : "", near != NULL ? "'?" : "");
}

/// fid.help(), fid.help("follow"): a text.
static int help(lua_State *L) {
    lua_settop(L, 1);
    if (!lua_isnil(L, 1) && lua_type(L, 1) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, NULL, "fid.help() takes the name of a call, not %s", fid_object_describe(L, 1));
    }
    fid_text text = {0};
    fid_error err;
    if (fid_help_call(lua_tostring(L, 1), &text, &err) != FID_OK) {
        fid_text_clear(&text);
        fid_raise(L, &err);
    }
    fid_object_push_text(L, &text);
    return 1;
}

void fid_help_open(lua_State *L) {
    lua_pushcfunction(L, help);
    lua_setfield(L, -2, "help");
}
