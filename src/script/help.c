#include "script/help.h"

#include "base/number.h"
#include "rig/rig.h"
#include "script/bind_object.h"
#include "script/fields.h"
#include "script/raise.h"
#include "script/schemas.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

/// An argument that is no field of a record.
typedef struct argument {
    const char *key, *type, *doc;
} argument;

enum { SCHEMAS = 2, ARGUMENTS = 3 };

/// What is told of a call.
typedef struct call {
    const char *name, *shown, *doc;
    const fid_schema *schemas[SCHEMAS];
    argument arguments[ARGUMENTS];
    const char *only; ///< keys of the second schema that are taken, each between spaces; NULL: all
    const char *without;
} call_text;

static const call_text calls[] = {
    {"rig",
     "fid.rig{}",
     "Begins a rig; gives a Rig",
     {&fid_rig_schema},
     {{"naming", "table", "How names are rendered: {template, index, sides, roles}"}},
     NULL,
     NULL},
    {"bone", "rig:bone{}", "Makes a bone; gives a Bone", {&fid_bone_schema, &fid_place_schema}, {{0}}, NULL, NULL},
    {"control",
     "rig:control{}",
     "Makes a bone that animators pose, along the axes of the rig unless told; gives a Bone",
     {&fid_bone_schema, &fid_place_schema},
     {{0}},
     NULL,
     " role "},
    {"chain",
     "rig:chain{}",
     "Makes bones in a row, from point to point; gives a Chain",
     {&fid_bone_schema, &fid_chain_schema},
     {{"points", "list of points, m", "The joints, base first; required"}},
     NULL,
     " index placement "},
    {"span_chain",
     "rig:span_chain{}",
     "Makes bones that hang each from one bone of a chain and span to the next; gives a Chain",
     {&fid_bone_schema, NULL},
     {{"along", "Chain", "The chain that they lie along; required"},
      {"keep_volume", "number or Channel, 0 to 1, default 1", "How much of its volume each keeps"},
      {"shortest, longest", "numbers, defaults 0.01 and 100", "The range of the ratio of length to that at rest"}},
     NULL,
     " index placement parent "},
    {"follow", "rig:follow{}", "Takes over another bone's motion; gives a Constraint", {NULL}, {{0}}, NULL, NULL},
    {"aim", "rig:aim{}", "Points at something; gives a Constraint", {NULL}, {{0}}, NULL, NULL},
    {"span", "rig:span{}", "Points and lengthens, keeping volume; gives a Constraint", {NULL}, {{0}}, NULL, NULL},
    {"ik",
     "rig:ik{}",
     "Turns the bones of a chain so that its end meets a goal; gives a Constraint",
     {NULL},
     {{0}},
     NULL,
     NULL},
    {"limit", "rig:limit{}", "Keeps values of the pose in a range; gives a Constraint", {NULL}, {{0}}, NULL, NULL},
    {"twist",
     "rig:twist{}",
     "Shares another bone's turn about its aim axis; gives a Constraint",
     {NULL},
     {{0}},
     NULL,
     NULL},
    {"spaces",
     "rig:spaces{}",
     "Switches what a bone rides on by a slider 'space'; gives a Constraint",
     {NULL},
     {{0}},
     NULL,
     NULL},
    {"slider",
     "rig:slider{}",
     "Makes a channel of its own on a bone; gives a Channel",
     {&fid_slider_schema},
     {{0}},
     NULL,
     NULL},
    {"pose_layer",
     "rig:pose_layer{}",
     "Blends poses of several bones in by a channel; gives a Layer",
     {&fid_layer_schema},
     {{0}},
     NULL,
     NULL},
    {"drive", "rig:drive{}", "Computes a channel from another; gives a Drive", {&fid_drive_schema}, {{0}}, NULL, NULL},
    {"display_set",
     "rig:display_set{}",
     "Makes a set of bones shown and colored together; gives a Set",
     {&fid_set_schema},
     {{0}},
     NULL,
     NULL},
    {"bones",
     "rig:bones{}",
     "Gives the bones that fit, in the order in which they were made",
     {&fid_bones_schema},
     {{0}},
     NULL,
     NULL},
    {"check", "rig:check{}", "Tries the rules and gives a list of findings", {&fid_check_schema}, {{0}}, NULL, NULL},
    {"find", "rig:find(name)", "Gives the bone with that name or address, or nil", {NULL}, {{0}}, NULL, NULL},
    {"pose",
     "rig:pose{}",
     "Makes a pose of a table or of the path of a pose file; gives a Pose",
     {NULL},
     {{"[bone or name]", "table",
       "translation, rotation (degrees) or quaternion, scale, and sliders by their names; of a constraint weight"}},
     NULL,
     NULL},
    {"solve",
     "rig:solve(pose)",
     "Solves a pose; gives a Solved with base tip matrix rotation quaternion scale channel "
     "report and notes",
     {NULL},
     {{0}},
     NULL,
     NULL},
    {"copy",
     "chain:copy{}",
     "Makes bones in the same places; gives a Chain",
     {&fid_bone_schema},
     {{"under", "Bone or \"each\"", "What the copies hang from; \"each\": every copy from its original"}},
     " part role takes level tags channels display_set outline ",
     NULL},
};

enum { CALLS = sizeof calls / sizeof calls[0] };

const char *const fid_help_names[CALLS + 1] = {
    "rig",   "bone",  "control", "chain",  "span_chain", "follow",     "aim",   "span",
    "ik",    "limit", "spaces",  "slider", "drive",      "pose_layer", "twist", "display_set",
    "bones", "check", "find",    "pose",   "solve",      "copy",       NULL,
};

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
        return "point or direction";
    case FID_TYPE_FRAME:
        return "frame";
    case FID_TYPE_BONE:
        return "Bone";
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
    case FID_TYPE_SPACES:
        return "list of {name, source, offset}";
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
    case FID_TYPE_BOUNDS:
        return "list of {lo, hi}";
    case FID_TYPE_CURVE:
        return "fid.curve{} or list of {x, y}";
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

static void add_default(fid_text *out, const fid_field *field) {
    if (field->flags & FID_FIELD_REQUIRED && field->number == 0) {
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

static void add_field(fid_text *out, const fid_schema *schema, const fid_field *field) {
    char vector[64];
    snprintf(vector, sizeof vector, "%s_vector", field->key);
    bool or_vector = field->type == FID_TYPE_BONE && fid_schema_find(schema, vector) != NULL;
    fid_text_add(out, "  ");
    fid_text_add(out, field->type == FID_TYPE_SOURCES ? "source or sources" : field->key);
    fid_text_add(out, ": ");
    fid_text_add(out, or_vector ? "Bone or direction" : type_name(field->type));
    for (int i = 0; field->type == FID_TYPE_CHOICE && field->choices[i] != NULL; i++) {
        fid_text_add(out, i > 0 ? ", " : " ");
        fid_text_add(out, field->choices[i]);
    }
    if (field->unit != NULL && field->unit[0] != '\0') {
        fid_text_add(out, ", ");
        fid_text_add(out, field->unit);
    }
    add_range(out, field);
    add_default(out, field);
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

static void add_schema(fid_text *out, const call_text *call, const fid_schema *schema) {
    for (int32_t i = 0; i < schema->count; i++) {
        const fid_field *field = &schema->fields[i];
        bool is_out = (field->flags & FID_FIELD_FILE) != 0 || is_among(call->without, field->key) ||
                      (call->only != NULL && !is_among(call->only, field->key));
        if (!is_out) {
            add_field(out, schema, field);
        }
    }
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

static void add_call(fid_text *out, const call_text *call) {
    fid_text_add(out, call->shown);
    fid_text_add(out, "  ");
    fid_text_add(out, call->doc);
    fid_text_add(out, "\n");
    for (int i = 0; i < ARGUMENTS && call->arguments[i].key != NULL; i++) {
        fid_text_addf(out, "  %s: %s\n      %s\n", call->arguments[i].key, call->arguments[i].type,
                      call->arguments[i].doc);
    }
    const fid_schema *constraint = find_constraint(call->name);
    if (constraint != NULL) {
        add_schema(out, call, constraint);
    }
    for (int i = 0; i < SCHEMAS && call->schemas[i] != NULL; i++) {
        add_schema(out, call, call->schemas[i]);
    }
}

/// "rig:follow{}" and "follow" alike.
static void bare_name(const char *name, char out[48]) {
    const char *from = strpbrk(name, ":.");
    from = from != NULL ? from + 1 : name;
    size_t length = strcspn(from, "{(");
    length = length < 47 ? length : 47;
    memcpy(out, from, length);
    out[length] = '\0';
}

fid_code fid_help_call(const char *name, fid_text *out, fid_error *err) {
    char bare[48] = "";
    if (name == NULL) {
        for (int i = 0; i < CALLS; i++) {
            fid_text_addf(out, "%-20s %s\n", calls[i].shown, calls[i].doc);
        }
        return out->failed ? fid_no_memory(err) : FID_OK;
    }
    bare_name(name, bare);
    for (int i = 0; i < CALLS; i++) {
        if (strcmp(calls[i].name, bare) == 0) {
            add_call(out, &calls[i]);
            return out->failed ? fid_no_memory(err) : FID_OK;
        }
    }
    const char *near = fid_text_nearest(bare, fid_help_names, CALLS);
    return fid_fail(err, FID_UNKNOWN, "there is no call '%.40s'%s%s%s", bare, near != NULL ? "; did you mean '" : "",
                    near != NULL ? near : "", near != NULL ? "'?" : "");
}

/// fid.help(), fid.help("follow"): a text.
static int help(lua_State *L) {
    lua_settop(L, 1);
    if (!lua_isnil(L, 1) && lua_type(L, 1) != LUA_TSTRING) {
        fid_raisef(L, FID_INVALID, NULL, "fid.help() takes the name of a call, not %s", fid_object_describe(L, 1));
    }
    fid_arena *arena = fid_fields_push_arena(L);
    fid_text text = {0};
    fid_error err;
    fid_code code = fid_help_call(lua_tostring(L, 1), &text, &err);
    if (code != FID_OK) {
        fid_text_clear(&text);
        fid_raise(L, &err);
    }
    const char *copy = fid_arena_copy(arena, text.at, (size_t)text.count);
    fid_text_clear(&text);
    if (copy == NULL) {
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    lua_pushstring(L, copy);
    fid_arena_clear(arena);
    return 1;
}

void fid_help_open(lua_State *L) {
    lua_pushcfunction(L, help);
    lua_setfield(L, -2, "help");
}
