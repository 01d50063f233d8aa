#include "format/difference.h"

#include "base/map.h"
#include "format/json_read.h"
#include "format/json_write.h"

#include <math.h>
#include <string.h>

/// A list of the file, and by what its elements are the same.
typedef struct list_kind {
    const char *key;
    const char *by[2];
    bool is_ordered; ///< what comes later among its like acts later
} list_kind;

enum { MODULES, BONES, LISTS = 10 };

static const list_kind lists[LISTS] = {
    [MODULES] = {"modules", {"name", NULL}, false},
    [BONES] = {"bones", {"address", NULL}, false},
    {"channels", {"name", NULL}, false},
    {"constraints", {"address", NULL}, true},
    {"drives", {"to", NULL}, true},
    {"pose_layers", {"address", NULL}, true},
    {"matches", {"slider", "value"}, false},
    {"moved", {"from", NULL}, false},
    {"display_sets", {"name", NULL}, false},
    {"outlines", {"name", NULL}, false},
};

/// Names of bones have at most 64 bytes.
enum { LONGEST_NAME = 80 };

typedef struct comparison {
    fid_json_reader before, after;
    double tolerance;
    fid_map renamed;               ///< bones that are called otherwise: name before, index in `names`
    FID_ARRAY(const char *) names; ///< after
    fid_difference *out;
    fid_arena *arena; ///< of `out`
    bool failed;
} comparison;

static const char *keep(comparison *at, fid_text *text) {
    const char *copy = text->failed ? NULL : fid_arena_copy(at->arena, text->at ? text->at : "", (size_t)text->count);
    at->failed |= copy == NULL;
    fid_text_clear(text);
    return copy ? copy : "";
}

static void write_value(fid_json_writer *writer, const fid_json_node *node) {
    // Documents are at most FID_JSON_DEPTH deep.
    switch (fid_json_kind_of(node)) {
    case FID_JSON_NULL:
        fid_json_null(writer);
        return;
    case FID_JSON_BOOLEAN:
        fid_json_boolean(writer, fid_json_is_true(node));
        return;
    case FID_JSON_NUMBER:
        fid_json_double(writer, fid_json_value(node));
        return;
    case FID_JSON_TEXT:
        fid_json_text(writer, fid_json_string(node));
        return;
    case FID_JSON_LIST:
    case FID_JSON_OBJECT:
        break;
    }
    bool is_object = fid_json_kind_of(node) == FID_JSON_OBJECT;
    (is_object ? fid_json_begin_object : fid_json_begin_list)(writer);
    for (const fid_json_node *inner = fid_json_first(node); inner; inner = fid_json_next(inner)) {
        if (is_object) {
            fid_json_key(writer, fid_json_key_of(inner));
        }
        write_value(writer, inner);
    }
    (is_object ? fid_json_end_object : fid_json_end_list)(writer);
}

static const char *value_text(comparison *at, const fid_json_node *node) {
    if (!node) {
        return NULL;
    }
    fid_text text = {0};
    fid_json_writer writer = fid_json_writer_new(&text);
    write_value(&writer, node);
    return keep(at, &text);
}

/// The name that a bone or channel of before has after, where its bone is called otherwise.
static const char *follow(comparison *at, const char *name) {
    size_t length = strcspn(name, ".");
    char bone[LONGEST_NAME] = "";
    if (length >= sizeof bone) {
        return name;
    }
    memcpy(bone, name, length);
    int32_t index = fid_map_find(&at->renamed, bone);
    if (index < 0) {
        return name;
    }
    fid_text text = {0};
    fid_text_addf(&text, "%s%s", at->names.at[index], name + length);
    return keep(at, &text);
}

static bool is_same(comparison *at, const fid_json_node *a, const fid_json_node *b) {
    fid_json_kind kind = fid_json_kind_of(a);
    if (kind != fid_json_kind_of(b)) {
        return false;
    }
    if (kind == FID_JSON_NUMBER) {
        return fabs(fid_json_value(a) - fid_json_value(b)) <= at->tolerance;
    }
    if (kind == FID_JSON_BOOLEAN) {
        return fid_json_is_true(a) == fid_json_is_true(b);
    }
    if (kind == FID_JSON_TEXT) {
        const char *before = fid_json_string(a), *after = fid_json_string(b);
        return strcmp(before, after) == 0 || strcmp(follow(at, before), after) == 0;
    }
    const fid_json_node *x = fid_json_first(a), *y = fid_json_first(b);
    for (; x && y; x = fid_json_next(x), y = fid_json_next(y)) {
        bool has_keys = kind == FID_JSON_OBJECT;
        if ((has_keys && strcmp(fid_json_key_of(x), fid_json_key_of(y)) != 0) || !is_same(at, x, y)) {
            return false;
        }
    }
    return !x && !y;
}

static void add_change(comparison *at, fid_change change) { at->failed |= !fid_array_push(&at->out->changes, change); }

/// What `find_changes` needs to know of where it is.
typedef struct element {
    const char *list, *address;
    bool is_posed; ///< animators pose it
} element;

static bool is_text(const fid_json_node *node, const char *wanted) {
    const char *text = node ? fid_json_string(node) : NULL;
    return text && strcmp(text, wanted) == 0;
}

/// Whether a range became smaller at this end: null is none.
static bool is_narrower(const char *field, const fid_json_node *before, const fid_json_node *after) {
    double sign = strcmp(field, "min") == 0 ? 1 : -1;
    bool is_open = fid_json_kind_of(before) == FID_JSON_NULL, is_bound = fid_json_kind_of(after) == FID_JSON_NUMBER;
    return is_bound && (is_open || sign * fid_json_value(after) > sign * fid_json_value(before));
}

static bool breaks(const element *of, const char *field, const fid_json_node *before, const fid_json_node *after) {
    if (!of->is_posed || !before || !after) {
        return false;
    }
    if (strcmp(of->list, "bones") == 0) {
        static const char *const fields[] = {"rest.translation", "rest.rotation", "rotation_order", "parent", "takes"};
        for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
            if (strcmp(field, fields[i]) == 0) {
                return true;
            }
        }
        return false;
    }
    return strcmp(field, "animatable") == 0 || strcmp(field, "default") == 0 || strcmp(field, "choices") == 0 ||
           ((strcmp(field, "min") == 0 || strcmp(field, "max") == 0) && is_narrower(field, before, after));
}

static void compare_value(comparison *at, const element *of, const char *field, const fid_json_node *before,
                          const fid_json_node *after);

/// Compares the members of two objects; `within` stands before their keys.
static void compare_members(comparison *at, const element *of, const char *within, const fid_json_node *before,
                            const fid_json_node *after) {
    for (int pass = 0; pass < 2; pass++) {
        const fid_json_node *mine = pass == 0 ? before : after, *other = pass == 0 ? after : before;
        for (const fid_json_node *one = fid_json_first(mine); one; one = fid_json_next(one)) {
            const char *key = fid_json_key_of(one);
            const fid_json_node *same = fid_json_find(other, key);
            if (strcmp(key, "origin") == 0 || (pass == 1 && same)) {
                continue;
            }
            fid_text field = {0};
            fid_text_addf(&field, "%s%s%s", within, within[0] ? "." : "", key);
            compare_value(at, of, keep(at, &field), pass == 0 ? one : same, pass == 0 ? same : one);
        }
    }
}

static void compare_value(comparison *at, const element *of, const char *field, const fid_json_node *before,
                          const fid_json_node *after) {
    bool are_objects =
        before && after && fid_json_kind_of(before) == FID_JSON_OBJECT && fid_json_kind_of(after) == FID_JSON_OBJECT;
    bool is_name = strcmp(field, "name") == 0 && before && after && strcmp(of->list, "bones") == 0 &&
                   strcmp(fid_json_string(before), fid_json_string(after)) != 0;
    if (are_objects) {
        compare_members(at, of, field, before, after);
    } else if (!before || !after || is_name || !is_same(at, before, after)) {
        add_change(at, (fid_change){FID_CHANGE_CHANGED, of->list, of->address, field, value_text(at, before),
                                    value_text(at, after), breaks(of, field, before, after)});
    }
}

/// The key by which an element is the same, of several with one key all but the first with a number behind it.
static const char *key_of(comparison *at, const list_kind *kind, const fid_json_node *node, bool follows,
                          const fid_map *taken) {
    fid_text key = {0};
    for (int i = 0; i < 2 && kind->by[i]; i++) {
        const fid_json_node *part = fid_json_find(node, kind->by[i]);
        const char *text = part ? fid_json_string(part) : NULL;
        fid_text_add(&key, i > 0 ? " = " : "");
        if (text) {
            fid_text_add(&key, follows ? follow(at, text) : text);
        } else if (part) {
            fid_text_add_number(&key, (float)fid_json_value(part));
        }
    }
    const char *plain = keep(at, &key), *whole = plain;
    for (int32_t n = 2; fid_map_find(taken, whole) >= 0; n++) {
        fid_text numbered = {0};
        fid_text_addf(&numbered, "%s, %d", plain, (int)n);
        whole = keep(at, &numbered);
        if (at->failed) {
            break;
        }
    }
    return whole;
}

typedef struct item {
    const fid_json_node *node;
    const char *key;
} item;

typedef struct item_list {
    FID_ARRAY(item) items;
    fid_map keys;
} item_list;

static void read_list(comparison *at, const list_kind *kind, const fid_json_node *root, bool follows, item_list *out) {
    const fid_json_node *list = fid_json_find(root, kind->key);
    for (const fid_json_node *one = list ? fid_json_first(list) : NULL; one && !at->failed; one = fid_json_next(one)) {
        item next = {one, key_of(at, kind, one, follows, &out->keys)};
        at->failed |= !fid_array_push(&out->items, next) || !fid_map_set(&out->keys, next.key, out->items.count - 1);
    }
}

static void clear_list(item_list *list) {
    fid_map_clear(&list->keys);
    fid_array_clear(&list->items);
}

/// Whether somebody poses what an element of this list stands for.
static bool is_posed(const char *list, const fid_json_node *node) {
    if (strcmp(list, "bones") == 0) {
        return is_text(fid_json_find(node, "role"), "control");
    }
    const fid_json_node *animatable = strcmp(list, "channels") == 0 ? fid_json_find(node, "animatable") : NULL;
    return animatable && fid_json_is_true(animatable);
}

/// The address of the bone whose name, or the name of whose channel, that is.
static const char *address_of(const fid_json_node *root, const char *bone) {
    const fid_json_node *bones = fid_json_find(root, "bones");
    for (const fid_json_node *one = bones ? fid_json_first(bones) : NULL; one; one = fid_json_next(one)) {
        const fid_json_node *name = fid_json_find(one, "name");
        if (name && strncmp(fid_json_string(name), bone, strcspn(bone, ".")) == 0 &&
            strlen(fid_json_string(name)) == strcspn(bone, ".")) {
            return fid_json_string(fid_json_find(one, "address"));
        }
    }
    return NULL;
}

/// Whether the second skeleton says what became of a removed bone or channel: old poses follow.
static bool has_moved(comparison *at, const char *list, const fid_json_node *node) {
    const fid_json_node *moved = fid_json_find(at->after.root, "moved");
    const fid_json_node *by = fid_json_find(node, strcmp(list, "bones") == 0 ? "address" : "name");
    const char *name = by ? fid_json_string(by) : NULL, *address = NULL;
    if (!moved || !name) {
        return false;
    }
    const char *point = strchr(name, '.');
    address = strcmp(list, "bones") == 0 ? name : address_of(at->before.root, name);
    for (const fid_json_node *one = fid_json_first(moved); one && address; one = fid_json_next(one)) {
        const char *from = fid_json_string(fid_json_find(one, "from"));
        size_t length = strlen(address);
        if (from && strncmp(from, address, length) == 0 &&
            (from[length] == '\0' || (point && strcmp(from + length, point) == 0))) {
            return true;
        }
    }
    return false;
}

static void add_place(comparison *at, const element *of, int32_t was, int32_t is) {
    fid_text from = {0}, to = {0};
    fid_text_addf(&from, "%d", (int)was + 1);
    fid_text_addf(&to, "%d", (int)is + 1);
    const char *before = keep(at, &from);
    add_change(at, (fid_change){FID_CHANGE_CHANGED, of->list, of->address, "place", before, keep(at, &to), false});
}

static void compare_list(comparison *at, const list_kind *kind) {
    item_list before = {0}, after = {0};
    read_list(at, kind, at->before.root, true, &before);
    read_list(at, kind, at->after.root, false, &after);
    for (int32_t i = 0; i < before.items.count && !at->failed; i++) {
        const item *old = &before.items.at[i];
        if (fid_map_find(&after.keys, old->key) < 0) {
            bool is_broken = is_posed(kind->key, old->node) && !has_moved(at, kind->key, old->node);
            add_change(at, (fid_change){FID_CHANGE_REMOVED, kind->key, old->key, NULL, value_text(at, old->node), NULL,
                                        is_broken});
        }
    }
    int32_t last = -1;
    for (int32_t i = 0; i < after.items.count && !at->failed; i++) {
        const item *new = &after.items.at[i];
        int32_t was = fid_map_find(&before.keys, new->key);
        if (was < 0) {
            add_change(
                at, (fid_change){FID_CHANGE_ADDED, kind->key, new->key, NULL, NULL, value_text(at, new->node), false});
            continue;
        }
        const fid_json_node *old = before.items.at[was].node;
        element of = {kind->key, new->key, is_posed(kind->key, old)};
        compare_members(at, &of, "", old, new->node);
        if (kind->is_ordered && was < last) {
            add_place(at, &of, was, i);
        }
        last = was > last ? was : last;
    }
    clear_list(&before);
    clear_list(&after);
}

/// Notes the bones that are the same by address and called otherwise.
static void find_renamed(comparison *at) {
    item_list before = {0}, after = {0};
    read_list(at, &lists[BONES], at->before.root, false, &before);
    read_list(at, &lists[BONES], at->after.root, false, &after);
    for (int32_t i = 0; i < after.items.count && !at->failed; i++) {
        int32_t was = fid_map_find(&before.keys, after.items.at[i].key);
        if (was >= 0) {
            const char *from = fid_json_string(fid_json_find(before.items.at[was].node, "name"));
            const char *to = fid_json_string(fid_json_find(after.items.at[i].node, "name"));
            if (strcmp(from, to) != 0) {
                at->failed |= !fid_array_push(&at->names, to) || !fid_map_set(&at->renamed, from, at->names.count - 1);
            }
        }
    }
    clear_list(&before);
    clear_list(&after);
}

/// What stands beside the lists: name, height, naming, thresholds, placement.
static void compare_rig(comparison *at) {
    static const char *const keys[] = {"name", "height", "placement", "naming", "thresholds"};
    const element of = {"rig", "", false};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const fid_json_node *before = fid_json_find(at->before.root, keys[i]);
        const fid_json_node *after = fid_json_find(at->after.root, keys[i]);
        if (before || after) {
            compare_value(at, &of, keys[i], before, after);
        }
    }
}

fid_code fid_difference_find(const char *before, const char *after, double tolerance, fid_difference *out,
                             fid_error *err) {
    fid_report report = {0};
    comparison at = {.tolerance = tolerance, .out = out, .arena = &out->arena};
    fid_code code = fid_json_open(&at.before, before, strlen(before), "the first", &report);
    fid_code second = fid_json_open(&at.after, after, strlen(after), "the second", &report);
    code = code == FID_OK ? second : code;
    if (code == FID_OK) {
        find_renamed(&at);
        compare_rig(&at);
        for (int i = 0; i < LISTS; i++) {
            compare_list(&at, &lists[i]);
        }
        code = at.failed ? fid_no_memory(err) : FID_OK;
    } else {
        fid_fail(err, code, "%s", report.findings.count > 0 ? report.findings.at[0].message : "out of memory");
    }
    fid_map_clear(&at.renamed);
    fid_array_clear(&at.names);
    fid_json_close(&at.before);
    fid_json_close(&at.after);
    fid_report_clear(&report);
    return code;
}

void fid_difference_clear(fid_difference *of) {
    fid_array_clear(&of->changes);
    fid_arena_clear(&of->arena);
}

static const char *const kind_words[] = {"removed", "added", "changed"};

/// A value on one line; what is longer than people read at once is cut between characters.
static void add_value(const char *json, fid_text *out) {
    enum { MOST = 72 };
    size_t length = json ? strlen(json) : 0, cut = 0;
    while (json && cut < length && cut < MOST) {
        int32_t step = fid_text_character_length(json + cut, length - cut);
        cut += step > 0 ? (size_t)step : 1;
    }
    fid_text_add_bytes(out, json ? json : "nothing", json ? cut : strlen("nothing"));
    fid_text_add(out, cut < length ? "..." : "");
}

void fid_difference_add_text(const fid_difference *of, fid_text *out) {
    const fid_change *last = NULL;
    int32_t counts[3] = {0, 0, 0}, broken = 0;
    for (int32_t i = 0; i < of->changes.count; i++) {
        const fid_change *change = &of->changes.at[i];
        bool is_new_list = !last || strcmp(last->list, change->list) != 0;
        bool is_new = is_new_list || last->kind != FID_CHANGE_CHANGED || change->kind != FID_CHANGE_CHANGED ||
                      strcmp(last->address, change->address) != 0;
        if (is_new_list) {
            fid_text_addf(out, "%s:\n", change->list);
        }
        if (is_new) {
            counts[change->kind]++;
            fid_text_addf(out, "    %s%s%s", kind_words[change->kind], change->address[0] ? " " : "", change->address);
            fid_text_add(out, change->field || !change->breaks ? "\n" : " (breaks animation)\n");
        }
        if (change->field) {
            fid_text_addf(out, "        %s: ", change->field);
            add_value(change->before, out);
            fid_text_add(out, " -> ");
            add_value(change->after, out);
            fid_text_add(out, change->breaks ? " (breaks animation)\n" : "\n");
        }
        broken += change->breaks;
        last = change;
    }
    if (of->changes.count == 0) {
        fid_text_add(out, "no difference\n");
        return;
    }
    fid_text_addf(out, "%d added, %d removed, %d changed", (int)counts[FID_CHANGE_ADDED],
                  (int)counts[FID_CHANGE_REMOVED], (int)counts[FID_CHANGE_CHANGED]);
    if (broken > 0) {
        fid_text_addf(out, "; %d of this %s animation that was made before", (int)broken,
                      broken == 1 ? "breaks" : "break");
    }
    fid_text_add(out, "\n");
}

static void add_raw(fid_json_writer *writer, const char *key, const char *json) {
    fid_json_key(writer, key);
    if (json) {
        fid_json_raw(writer, json);
    } else {
        fid_json_null(writer);
    }
}

void fid_difference_add_json(const fid_difference *of, fid_text *out) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_text_member(&writer, "format", "fid-difference");
    fid_json_integer_member(&writer, "version", 1);
    fid_json_key(&writer, "differences");
    fid_json_begin_list(&writer);
    int32_t broken = 0;
    for (int32_t i = 0; i < of->changes.count; i++) {
        const fid_change *change = &of->changes.at[i];
        fid_json_line(&writer, 1);
        fid_json_begin_object(&writer);
        fid_json_text_member(&writer, "change", kind_words[change->kind]);
        fid_json_text_member(&writer, "list", change->list);
        fid_json_text_member(&writer, "address", change->address);
        fid_json_text_member(&writer, "field", change->field);
        add_raw(&writer, "before", change->before);
        add_raw(&writer, "after", change->after);
        fid_json_key(&writer, "breaks_animation");
        fid_json_boolean(&writer, change->breaks);
        fid_json_end_object(&writer);
        broken += change->breaks;
    }
    fid_json_end_list(&writer);
    fid_json_integer_member(&writer, "breaking", broken);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
}
