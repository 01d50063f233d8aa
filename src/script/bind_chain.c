#include "script/bind_chain.h"

#include "script/bind_bone.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/fields.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/schemas.h"
#include "script/scope.h"
#include "script/value.h"

#include <stdio.h>
#include <string.h>

typedef struct chain_object {
    fid_chain_id chain;
    bool with_end;
    int32_t count;
    fid_bone_id bones[];
} chain_object;

enum { MAX_POINTS = 4096, MAX_PARTS = 64 };

static void push_row(lua_State *L, fid_rig *rig, fid_chain_id id, const fid_bone_id *bones, int32_t count,
                     bool with_end) {
    size_t size = sizeof(chain_object) + (size_t)count * sizeof *bones;
    fid_box_push(L, rig);
    chain_object *object = fid_object_new(L, FID_OBJECT_CHAIN, size, lua_gettop(L), 0);
    object->chain = id;
    object->with_end = with_end;
    object->count = count;
    memcpy(object->bones, bones, (size_t)count * sizeof *bones);
    lua_remove(L, -2);
}

void fid_chain_push(lua_State *L, fid_rig *rig, fid_chain_id id) {
    fid_error err;
    const fid_chain *chain = fid_rig_chain(rig, id, &err);
    if (chain == NULL) {
        fid_raise(L, &err);
    }
    push_row(L, rig, id, chain->bones, chain->count, chain->with_end);
}

void fid_chain_push_row(lua_State *L, fid_rig *rig, const fid_bone_id *bones, int32_t count, bool with_end) {
    push_row(L, rig, (fid_chain_id){{0, 0}}, bones, count, with_end);
}

bool fid_chain_get(lua_State *L, int index, fid_row *row) {
    const chain_object *object = fid_object_test(L, index, FID_OBJECT_CHAIN);
    if (object == NULL) {
        return false;
    }
    fid_error err;
    fid_rig *rig = fid_object_rig(L, index);
    for (int32_t i = 0; i < object->count; i++) {
        if (fid_rig_bone(rig, object->bones[i], &err) == NULL) {
            fid_raise(L, &err);
        }
    }
    *row = (fid_row){rig, object->chain, object->with_end, object->count, object->bones};
    return true;
}

static fid_row need_row(lua_State *L, const char *call) {
    fid_row row;
    fid_object_need(L, 1, FID_OBJECT_CHAIN, call);
    fid_chain_get(L, 1, &row);
    fid_host_charge(L, row.count);
    return row;
}

/// How many joints it has: the bases, and the tip of the last bone where no end bone stands there.
static int32_t count_points(const fid_row *row) { return row->with_end ? row->count : row->count + 1; }

/// Joint `i` as the running code sees it.
static fid_vec3 get_point(lua_State *L, const fid_row *row, int32_t i) {
    const fid_bone *bone = fid_rig_bone(row->rig, row->at[i < row->count ? i : row->count - 1], NULL);
    fid_vec3 own = {0, 0, i < row->count ? 0 : bone->def.length};
    return fid_point_reflect(L, fid_frame_point(bone->rest, own));
}

static double measure(lua_State *L, const fid_row *row) {
    double length = 0;
    for (int32_t i = 1; i < count_points(row); i++) {
        length += (double)fid_vec3_distance(get_point(L, row, i - 1), get_point(L, row, i));
    }
    return length;
}

static int list_points(lua_State *L) {
    lua_settop(L, 1);
    fid_row row = need_row(L, "chain:points()");
    int32_t count = count_points(&row);
    lua_createtable(L, count, 0);
    for (int32_t i = 0; i < count; i++) {
        fid_vec_push(L, fid_vec3d_from(get_point(L, &row, i)));
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

static int find_at(lua_State *L) {
    lua_settop(L, 2);
    fid_row row = need_row(L, "chain:at()");
    double t = lua_type(L, 2) == LUA_TNUMBER ? lua_tonumber(L, 2) : -1;
    if (!(t >= 0 && t <= 1)) {
        fid_raisef(L, FID_RANGE, NULL, "chain:at() takes a number from 0 (its base) to 1 (its end)");
    }
    double left = t * measure(L, &row);
    int32_t last = count_points(&row) - 1;
    for (int32_t i = 0; i < last; i++) {
        fid_vec3d a = fid_vec3d_from(get_point(L, &row, i));
        fid_vec3d step = fid_vec3d_sub(fid_vec3d_from(get_point(L, &row, i + 1)), a);
        double length = fid_vec3d_length(step);
        if (left <= length && length > 0) {
            fid_vec_push(L, fid_vec3d_add(a, fid_vec3d_scale(step, left / length)));
            return 1;
        }
        left -= length;
    }
    fid_vec_push(L, fid_vec3d_from(get_point(L, &row, last)));
    return 1;
}

/// Gives the part of its length at which it is nearest to a point, and that place.
static int find_nearest(lua_State *L) {
    lua_settop(L, 2);
    fid_row row = need_row(L, "chain:nearest()");
    fid_vec3d point = fid_vec3d_from(fid_vec_need(L, 2, "the point of chain:nearest()"));
    double whole = measure(L, &row), before = 0, best = 0, best_distance = HUGE_VAL;
    fid_vec3d place = fid_vec3d_from(get_point(L, &row, 0));
    for (int32_t i = 1; i < count_points(&row); i++) {
        fid_vec3d a = fid_vec3d_from(get_point(L, &row, i - 1));
        fid_vec3d step = fid_vec3d_sub(fid_vec3d_from(get_point(L, &row, i)), a);
        double length = fid_vec3d_length(step);
        double f = length > 0 ? fid_vec3d_dot(fid_vec3d_sub(point, a), step) / (length * length) : 0;
        f = f > 0 ? (f < 1 ? f : 1) : 0;
        fid_vec3d here = fid_vec3d_add(a, fid_vec3d_scale(step, f));
        double distance = fid_vec3d_length(fid_vec3d_sub(point, here));
        if (distance < best_distance) {
            best_distance = distance;
            best = before + f * length;
            place = here;
        }
        before += length;
    }
    lua_pushnumber(L, whole > 0 ? best / whole : 0);
    fid_vec_push(L, place);
    return 2;
}

/// The joints with every segment cut into n equal parts.
static int split(lua_State *L) {
    lua_settop(L, 2);
    fid_row row = need_row(L, "chain:split()");
    int is_whole = 0;
    lua_Integer parts = lua_type(L, 2) == LUA_TNUMBER ? lua_tointegerx(L, 2, &is_whole) : 0;
    if (!is_whole || parts < 1 || parts > MAX_PARTS) {
        fid_raisef(L, FID_RANGE, NULL, "chain:split() takes a whole number from 1 to %d", (int)MAX_PARTS);
    }
    int32_t last = count_points(&row) - 1;
    fid_host_charge(L, last * parts);
    lua_createtable(L, 0, 0);
    lua_Integer count = 0;
    for (int32_t i = 0; i < last; i++) {
        fid_vec3d a = fid_vec3d_from(get_point(L, &row, i));
        fid_vec3d step = fid_vec3d_sub(fid_vec3d_from(get_point(L, &row, i + 1)), a);
        for (lua_Integer k = 0; k < parts; k++) {
            fid_vec_push(L, fid_vec3d_add(a, fid_vec3d_scale(step, (double)k / (double)parts)));
            lua_rawseti(L, -2, ++count);
        }
    }
    fid_vec_push(L, fid_vec3d_from(get_point(L, &row, last)));
    lua_rawseti(L, -2, ++count);
    return 1;
}

static bool has(lua_State *L, int table, const char *key) {
    bool is_there = lua_getfield(L, table, key) != LUA_TNIL;
    lua_pop(L, 1);
    return is_there;
}

static void refuse_keys(lua_State *L, const char *call, const char *const *keys) {
    for (; *keys != NULL; keys++) {
        if (has(L, 2, *keys)) {
            fid_raisef(L, FID_UNKNOWN, *keys, "%s has no argument '%s': its bones are numbered from 1", call, *keys);
        }
    }
}

/// The points of the argument `points`, in the rig.
static const fid_vec3 *read_points(lua_State *L, const char *call, fid_arena *arena, int32_t *count) {
    if (lua_getfield(L, 2, "points") != LUA_TTABLE) {
        fid_raisef(L, FID_INVALID, "points", "%s needs 'points': a list of points, base first, not %s", call,
                   fid_object_describe(L, -1));
    }
    char list[64];
    snprintf(list, sizeof list, "%s: 'points'", call);
    size_t length = (size_t)fid_value_check_list(L, -1, list, MAX_POINTS);
    if (length < 2) {
        fid_raisef(L, FID_RANGE, "points", "%s: 'points' has %d points; it takes 2 to %d", call, (int)length,
                   (int)MAX_POINTS);
    }
    fid_vec3 *points = fid_arena_get(arena, length * sizeof *points);
    if (points == NULL) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    for (size_t i = 0; i < length; i++) {
        char what[96];
        snprintf(what, sizeof what, "%s: 'points' [%d]", call, (int)i + 1);
        lua_rawgeti(L, -1, (lua_Integer)i + 1);
        points[i] = fid_point_reflect(L, fid_vec_need(L, -1, what));
        lua_pop(L, 1);
    }
    lua_pop(L, 1);
    *count = (int32_t)length;
    return points;
}

/// What a chain takes beside what its bones take.
typedef struct chain_shape {
    bool with_end;
    int32_t parenting;
    fid_maybe_vector up, across;
} chain_shape;

#define SHAPE(member) offsetof(chain_shape, member)
static const fid_field shape_fields[] = {
    {"with_end", FID_TYPE_BOOLEAN, 0, SHAPE(with_end), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Whether a bone stands at the last point, too"},
    {"parenting", FID_TYPE_CHOICE, 0, SHAPE(parenting), "", 0, 0, FID_LINKED, fid_parenting_names, FID_REFLECT_NONE,
     "Whether each hangs from the one before, or all from the parent"},
    {"up", FID_TYPE_MAYBE_VECTOR, 0, SHAPE(up), "", 0, 0, 0, NULL, FID_REFLECT_POINT,
     "The direction towards which the up axes turn"},
    {"across", FID_TYPE_MAYBE_VECTOR, 0, SHAPE(across), "", 0, 0, 0, NULL, FID_REFLECT_AXIAL,
     "The direction towards which the across axes turn; the normal of its bend unless told"},
};

const fid_schema fid_chain_schema = {"chain", "Makes bones in a row, from point to point", sizeof(chain_shape),
                                     shape_fields, sizeof shape_fields / sizeof shape_fields[0]};

/// The usual extent of the outlines of a chain of controls: half the length of a bone.
static float usual_extent(const fid_vec3 *points, int32_t count) {
    double length = 0;
    for (int32_t i = 1; i < count; i++) {
        length += (double)fid_vec3_distance(points[i - 1], points[i]);
    }
    return (float)(0.5 * length / (double)(count - 1));
}

static int make_chain(lua_State *L) {
    static const char call[] = "rig:chain{}";
    static const char *const extra[] = {"points", NULL};
    static const char *const refused[] = {"index", "placement", NULL};
    fid_rig *rig = fid_rig_begin(L, call);
    chain_shape shape;
    fid_schema_defaults(&fid_chain_schema, &shape);
    fid_chain_def def = {.bone = fid_bone_default()};
    fid_fields_target targets[] = {{&fid_bone_schema, &def.bone}, {&fid_chain_schema, &shape}};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, targets, 2, extra);
    refuse_keys(L, call, refused);
    def.points = read_points(L, call, arena, &def.count);
    fid_host_charge(L, (int64_t)1000 * def.count);
    fid_error err;
    if (fid_scope_now(L)->mirrored) {
        fid_object_check(L, call, fid_schema_mirror(&fid_chain_schema, &shape, arena, &err), &err);
    }
    if (shape.up.given && shape.across.given) {
        fid_raisef(L, FID_INVALID, "up", "%s: 'up' and 'across' contradict each other: give one of them", call);
    }
    def.with_end = shape.with_end;
    def.parenting = shape.parenting;
    def.hint = shape.up.given ? FID_HINT_UP : shape.across.given ? FID_HINT_ACROSS : FID_HINT_NONE;
    def.hint_vector = shape.up.given ? shape.up.vector : shape.across.vector;
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_bone_complete(L, 2, call, rig, FID_HELPER, arena, &def.bone);
    const char *usual = def.bone.role == FID_CONTROL ? "circle" : NULL;
    def.bone.outline = fid_bone_outline(L, 2, call, rig, arena, usual_extent(def.points, def.count), usual);
    fid_chain_id id;
    fid_code code = fid_rig_add_chain(rig, &def, &id, &err);
    fid_arena_clear(arena);
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_chain_push(L, rig, id);
    return 1;
}

/// A schema of some fields of another one, none of them required.
static fid_schema pick_fields(const fid_schema *from, const char *const *keys, fid_field *fields) {
    fid_schema out = {from->name, from->doc, from->size, fields, 0};
    for (; *keys != NULL; keys++) {
        fields[out.count] = *fid_schema_find(from, *keys);
        fields[out.count++].flags &= ~(uint32_t)FID_FIELD_REQUIRED;
    }
    return out;
}

static const char *const span_keys[] = {"keep_volume", "shortest", "longest", "weight", NULL};
enum { SPAN_KEYS = 4, COPY_KEYS = 7 };

/// Adds one bone of a span chain and its constraint.
static fid_code add_span(lua_State *L, const fid_row *along, int32_t i, fid_bone_def def, fid_constraint_def span,
                         fid_bone_id *out, fid_error *err) {
    fid_rig *rig = along->rig;
    const fid_bone *base = fid_rig_bone(rig, along->at[i], NULL);
    fid_vec3 end = fid_point_reflect(L, get_point(L, along, i + 1));
    def.parent = along->at[i];
    def.rest = FID_FRAME_IDENTITY;
    def.length = fid_vec3_distance(base->rest.t, end);
    def.index[0] = 1;
    def.index[1] = i + 1;
    fid_code code = fid_rig_add_bone(rig, &def, out, err);
    if (code != FID_OK) {
        return code;
    }
    bool at_bone = i + 1 < along->count;
    span.bone = *out;
    span.origin = def.origin;
    span.as.span.source.kind = at_bone ? FID_SOURCE_BONE : FID_SOURCE_POINT;
    span.as.span.source.a = at_bone ? (fid_spot){along->at[i + 1], 0} : (fid_spot){along->at[i], 1};
    fid_constraint_id constraint;
    return fid_rig_add_constraint(rig, &span, &constraint, err);
}

static int make_span_chain(lua_State *L) {
    static const char call[] = "rig:span_chain{}";
    static const char *const extra[] = {"along", NULL};
    static const char *const refused[] = {"index", "placement", "parent", NULL};
    fid_rig *rig = fid_rig_begin(L, call);
    fid_field span_fields[SPAN_KEYS];
    fid_schema span_schema = pick_fields(fid_constraint_schemas[FID_CONSTRAINT_SPAN], span_keys, span_fields);
    fid_bone_def def = fid_bone_default();
    fid_constraint_def span = fid_constraint_default(FID_CONSTRAINT_SPAN);
    fid_fields_target targets[] = {{&fid_bone_schema, &def}, {&span_schema, &span}};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, targets, 2, extra);
    for (const char *const *key = refused; *key != NULL; key++) {
        if (has(L, 2, *key)) {
            fid_raisef(L, FID_UNKNOWN, *key, "%s has no argument '%s': it follows from 'along'", call, *key);
        }
    }
    fid_row along;
    lua_getfield(L, 2, "along");
    if (!fid_chain_get(L, -1, &along)) {
        fid_raisef(L, FID_INVALID, "along", "%s needs 'along': a Chain, not %s", call, fid_object_describe(L, -1));
    }
    if (along.rig != rig) {
        fid_raisef(L, FID_INVALID, "along", "%s: 'along' belongs to another rig", call);
    }
    int32_t count = count_points(&along) - 1;
    fid_bone_id *bones = count > 0 ? fid_arena_get(arena, (size_t)count * sizeof *bones) : NULL;
    fid_error err;
    if (bones == NULL) {
        fid_fail(&err, count > 0 ? FID_NO_MEMORY : FID_RANGE, "%s: 'along' needs two joints or more", call);
        fid_raise(L, &err);
    }
    fid_host_charge(L, (int64_t)2000 * count);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_bone_complete(L, 2, call, rig, FID_DEFORM, arena, &def);
    const fid_bone *first = fid_rig_bone(rig, along.at[0], NULL);
    def.outline = fid_bone_outline(L, 2, call, rig, arena, first->def.length, NULL);
    fid_code code = FID_OK;
    for (int32_t i = 0; code == FID_OK && i < count; i++) {
        code = add_span(L, &along, i, def, span, &bones[i], &err);
    }
    fid_rig_finish(L, call, rig, &mark, code, &err);
    fid_chain_push_row(L, rig, bones, count, false);
    fid_arena_clear(arena);
    return 1;
}

/// Where a copy hangs.
typedef struct copy_place {
    fid_bone_id under; ///< null: where the original hangs
    bool each;         ///< from its original
} copy_place;

static copy_place read_under(lua_State *L, const char *call, const fid_rig *rig) {
    copy_place out = {{{0, 0}}, false};
    int type = lua_getfield(L, 2, "under");
    fid_rig *owner = NULL;
    if (type == LUA_TSTRING && strcmp(lua_tostring(L, -1), "each") == 0) {
        out.each = true;
    } else if (type != LUA_TNIL && !fid_bone_get(L, -1, &owner, &out.under)) {
        fid_raisef(L, FID_INVALID, "under", "%s: 'under' is %s; it takes a Bone or \"each\"", call,
                   fid_object_describe(L, -1));
    }
    if (owner != NULL && owner != rig) {
        fid_raisef(L, FID_INVALID, "under", "%s: 'under' belongs to another rig", call);
    }
    lua_pop(L, 1);
    return out;
}

/// The parent of copy `i`: the copy of the original's parent where that is in the chain.
static fid_bone_id copy_parent(const fid_row *row, int32_t i, const copy_place *place, const fid_bone_id *copies) {
    const fid_bone *bone = fid_rig_bone(row->rig, row->at[i], NULL);
    if (place->each) {
        return row->at[i];
    }
    for (int32_t k = 0; k < i; k++) {
        if (row->at[k].handle.slot == bone->def.parent.handle.slot && !fid_handle_is_null(bone->def.parent.handle)) {
            return copies[k];
        }
    }
    return fid_handle_is_null(place->under.handle) ? bone->def.parent : place->under;
}

static int copy(lua_State *L) {
    static const char call[] = "chain:copy{}";
    static const char *const keys[] = {"part", "role", "takes", "level", "tags", "channels", "display_set", NULL};
    static const char *const extra[] = {"under", "outline", NULL};
    lua_settop(L, 2);
    fid_row row = need_row(L, call);
    fid_rig *rig = row.rig;
    fid_field fields[COPY_KEYS];
    fid_schema schema = pick_fields(&fid_bone_schema, keys, fields);
    fid_bone_def given = fid_bone_default();
    fid_fields_target target = {&schema, &given};
    fid_arena *arena = fid_fields_push_arena(L);
    fid_fields_read(L, 2, call, rig, arena, &target, 1, extra);
    copy_place place = read_under(L, call, rig);
    bool takes = has(L, 2, "takes"), level = has(L, 2, "level"), tags = has(L, 2, "tags");
    bool channels = has(L, 2, "channels"), role = has(L, 2, "role"), set = has(L, 2, "display_set");
    fid_bone_id *copies = fid_arena_get(arena, (size_t)row.count * sizeof *copies);
    fid_error err;
    if (copies == NULL) {
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    fid_host_charge(L, (int64_t)1000 * row.count);
    fid_rig_mark mark = fid_rig_get_mark(rig);
    int32_t origin = fid_scope_origin(L, rig);
    int32_t new_role = role ? given.role : fid_rig_bone(rig, row.at[0], NULL)->def.role;
    float extent = 0.5f * fid_rig_bone(rig, row.at[0], NULL)->def.length;
    fid_outline_id outline =
        fid_bone_outline(L, 2, call, rig, arena, extent, new_role == FID_CONTROL ? "circle" : NULL);
    fid_code code = FID_OK;
    for (int32_t i = 0; code == FID_OK && i < row.count; i++) {
        const fid_bone *original = fid_rig_bone(rig, row.at[i], NULL);
        fid_bone_def def = original->def;
        fid_frame rest = original->rest;
        def.part = given.part != NULL ? given.part : def.part;
        def.role = role ? given.role : def.role;
        def.takes = takes ? given.takes : def.takes;
        def.level = level ? given.level : def.level;
        def.tags = tags ? given.tags : def.tags;
        def.channels = channels ? given.channels : fid_bone_channels(def.role, false);
        def.display_set = set ? given.display_set : (fid_set_id){{0, 0}};
        def.outline = outline;
        def.placement = false;
        def.origin = origin;
        def.parent = copy_parent(&row, i, &place, copies);
        const fid_bone *parent = fid_rig_bone(rig, def.parent, NULL);
        def.rest = parent != NULL ? fid_frame_relation(parent->rest, rest) : rest;
        code = fid_rig_add_bone(rig, &def, &copies[i], &err);
    }
    fid_chain_id id = {{0, 0}};
    if (code == FID_OK && !place.each) {
        // Where the copies are no chain of the rig, they are a row in scripts only.
        fid_rig_mark before = fid_rig_get_mark(rig);
        if (fid_rig_bind_chain(rig, copies, row.count, row.with_end, origin, &id, &err) != FID_OK) {
            fid_rig_rollback(rig, &before);
            id = (fid_chain_id){{0, 0}};
        }
    }
    fid_rig_finish(L, call, rig, &mark, code, &err);
    push_row(L, rig, id, copies, row.count, row.with_end);
    fid_arena_clear(arena);
    return 1;
}

enum { CHAIN_FIRST, CHAIN_LAST, CHAIN_LENGTH, CHAIN_ADDRESS, CHAIN_WITH_END };
static const char *const attributes[] = {"first", "last", "length", "address", "with_end", NULL};

static void get_attribute(lua_State *L, int attribute) {
    fid_row row = need_row(L, "a chain");
    switch (attribute) {
    case CHAIN_FIRST:
        fid_bone_push(L, row.rig, row.at[0]);
        break;
    case CHAIN_LAST:
        fid_bone_push(L, row.rig, row.at[row.count - 1]);
        break;
    case CHAIN_LENGTH:
        lua_pushnumber(L, measure(L, &row));
        break;
    case CHAIN_ADDRESS: {
        const fid_chain *chain = fid_rig_chain(row.rig, row.chain, NULL);
        lua_pushstring(L, chain != NULL ? chain->address : NULL);
        break;
    }
    default:
        lua_pushboolean(L, row.with_end);
        break;
    }
}

/// chain[i]: nil beyond its ends, so that ipairs ends there.
static void push_item(lua_State *L) {
    if (lua_type(L, 2) != LUA_TNUMBER) {
        return;
    }
    const chain_object *object = lua_touserdata(L, 1);
    int is_whole = 0;
    lua_Integer i = lua_tointegerx(L, 2, &is_whole);
    if (is_whole && i >= 1 && i <= object->count) {
        fid_error err;
        fid_rig *rig = fid_object_rig(L, 1);
        if (fid_rig_bone(rig, object->bones[i - 1], &err) == NULL) {
            fid_raise(L, &err);
        }
        fid_bone_push(L, rig, object->bones[i - 1]);
    } else {
        lua_pushnil(L);
    }
}

static int count_bones(lua_State *L) {
    const chain_object *object = fid_object_need(L, 1, FID_OBJECT_CHAIN, "#");
    lua_pushinteger(L, object->count);
    return 1;
}

static int is_equal(lua_State *L) {
    const chain_object *a = fid_object_test(L, 1, FID_OBJECT_CHAIN), *b = fid_object_test(L, 2, FID_OBJECT_CHAIN);
    bool equal = a != NULL && b != NULL && fid_object_box(L, 1) == fid_object_box(L, 2) && a->count == b->count &&
                 a->with_end == b->with_end;
    lua_pushboolean(L, equal && memcmp(a->bones, b->bones, (size_t)a->count * sizeof a->bones[0]) == 0);
    return 1;
}

static int show(lua_State *L) {
    const chain_object *object = fid_object_need(L, 1, FID_OBJECT_CHAIN, "tostring");
    lua_pushfstring(L, "chain of %d bones", (int)object->count);
    return 1;
}

static const luaL_Reg methods[] = {{"points", list_points}, {"at", find_at}, {"nearest", find_nearest},
                                   {"split", split},        {"copy", copy},  {NULL, NULL}};
static const luaL_Reg meta[] = {{"__len", count_bones}, {"__eq", is_equal}, {"__tostring", show}, {NULL, NULL}};
static const fid_object_class chain_class = {.kind = FID_OBJECT_CHAIN,
                                             .name = "Chain",
                                             .attributes = attributes,
                                             .get = get_attribute,
                                             .item = push_item,
                                             .methods = methods,
                                             .meta = meta};

void fid_chain_open(lua_State *L) {
    static const luaL_Reg rig_methods[] = {{"chain", make_chain}, {"span_chain", make_span_chain}, {NULL, NULL}};
    fid_object_add_class(L, &chain_class);
    fid_rig_add_methods(L, rig_methods);
}
