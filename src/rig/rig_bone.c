#include "rig/entry.h"

#include "math/scalar.h"

#include <stdio.h>
#include <string.h>

static float plus_zero(float value) { return value + 0.0f; }

/// The rest frame as it is written: a unit quaternion with w >= 0, no -0. What is so already keeps its bits, so that
/// reading and writing cannot drift.
static fid_frame make_canonical(fid_frame frame) {
    fid_quat q = frame.q;
    double square = (double)q.x * q.x + (double)q.y * q.y + (double)q.z * q.z + (double)q.w * q.w;
    if (square < 1.0 - 1e-6 || square > 1.0 + 1e-6) {
        q = fid_quat_normalize(q);
    }
    return (fid_frame){
        {plus_zero(frame.t.x), plus_zero(frame.t.y), plus_zero(frame.t.z)}, fid_quat_canonical(q), {1, 1, 1}};
}

static fid_code check_ranges(const fid_bone_def *def, fid_error *err) {
    static const char *const keys[] = {"translation_range", "rotation_range", "scale_range"};
    const fid_axis_range *ranges[] = {&def->translation_range, &def->rotation_range, &def->scale_range};
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        float rest = fid_axis_rest((fid_axis)i);
        const fid_axis_range *range = ranges[i / 3];
        if (!(range->lo[i % 3] <= rest && rest <= range->hi[i % 3])) {
            return fid_fail(err, FID_RANGE, "'%s': the range of %c must contain the rest value %d", keys[i / 3],
                            "xyz"[i % 3], (int)rest);
        }
    }
    if (def->placement && (def->scale_range.lo[1] > -FID_UNLIMITED || def->scale_range.hi[1] < FID_UNLIMITED ||
                           def->scale_range.lo[2] > -FID_UNLIMITED || def->scale_range.hi[2] < FID_UNLIMITED)) {
        return fid_fail(err, FID_INVALID, "'scale_range': the placement bone has one scale, whose range is that of x");
    }
    return FID_OK;
}

/// Rules of the one bone that places the character; makes "scale" its one channel.
static fid_code settle_placement(const fid_rig *rig, fid_bone_def *def, fid_error *err) {
    if (!def->placement) {
        return FID_OK;
    }
    const fid_bone *other = fid_rig_bone(rig, rig->placement, NULL);
    if (other != NULL) {
        char made_at[FID_ENTRY_SIZE];
        fid_rig_made_at(rig, other->def.origin, made_at);
        return fid_fail(err, FID_INVALID, "'placement': bone '%s'%s places the character already", other->name,
                        made_at);
    }
    if (!fid_handle_is_null(def->parent.handle)) {
        return fid_fail(err, FID_INVALID, "'placement': the bone that places the character may not have a parent");
    }
    if ((def->channels & FID_MASK_SCALE) == FID_MASK_SCALE) {
        def->channels = (def->channels & ~(uint32_t)FID_MASK_SCALE) | 1u << FID_SCALE_X;
    }
    if ((def->channels & (1u << FID_SCALE_Y | 1u << FID_SCALE_Z)) != 0) {
        return fid_fail(err, FID_INVALID, "'channels': the placement bone has one scale: write \"scale\"");
    }
    return FID_OK;
}

static bool is_within(fid_vec3 point, double reach) {
    return fid_vec3_is_finite(point) && fabs((double)point.x) <= reach && fabs((double)point.y) <= reach &&
           fabs((double)point.z) <= reach;
}

/// Derived values: the index of the parent and the frame in rig space.
static fid_code settle_rest(const fid_rig *rig, fid_bone *bone, fid_error *err) {
    bone->def.rest = make_canonical(bone->def.rest);
    bone->parent = fid_rig_bone_index(rig, bone->def.parent);
    bone->rest = bone->def.rest;
    if (bone->parent >= 0) {
        bone->rest = fid_frame_compose(rig->bones.at[bone->parent].rest, bone->def.rest);
        bone->rest.q = fid_quat_normalize(bone->rest.q);
        bone->rest.s = (fid_vec3){1, 1, 1};
    }
    double reach = 1e4 * (double)rig->height;
    if (!is_within(bone->rest.t, reach) || !is_within(bone->def.rest.t, 2.0 * reach) ||
        !((double)bone->def.length <= 2.0 * reach)) {
        return fid_fail(err, FID_RANGE, "bone '%s' lies or reaches farther than 10000 heights from the origin",
                        bone->name);
    }
    return FID_OK;
}

static fid_code check_free(const fid_rig *rig, const fid_bone *bone, fid_error *err) {
    int32_t other = fid_map_find(&rig->names, bone->name);
    other = other >= 0 ? other : fid_map_find(&rig->names, bone->address);
    if (other < 0) {
        return FID_OK;
    }
    char first[FID_ENTRY_SIZE], second[FID_ENTRY_SIZE];
    fid_rig_made_at(rig, rig->bones.at[other].def.origin, first);
    fid_rig_made_at(rig, bone->def.origin, second);
    return fid_fail(err, FID_NAME_TAKEN, "name '%s' is taken by the bone%s; it cannot be given to the one%s",
                    bone->name, first, second[0] != '\0' ? second : " here");
}

/// Puts a control without a display set into the one of its level and side.
static fid_code settle_set(fid_rig *rig, fid_bone_def *def, fid_error *err) {
    static const char *const colors[] = {"#E69F00", "#56B4E9", "#009E73"}; // palette of Okabe and Ito, 2008
    if (def->role != FID_CONTROL || !fid_handle_is_null(def->display_set.handle)) {
        return FID_OK;
    }
    char name[FID_NAME_SIZE];
    snprintf(name, sizeof name, "%s_%s", fid_level_names[def->level], fid_side_names[def->side]);
    def->display_set = fid_rig_find_set(rig, name);
    if (!fid_handle_is_null(def->display_set.handle)) {
        return FID_OK;
    }
    fid_set_def set = fid_set_default();
    set.name = name;
    set.color = colors[def->side];
    set.origin = def->origin;
    return fid_rig_append_set(rig, &set, &def->display_set, err);
}

static fid_code append_bone(fid_rig *rig, const fid_bone_def *def, fid_bone_id *out, fid_error *err) {
    char name[FID_NAME_SIZE], address[FID_ADDRESS_SIZE];
    fid_bone bone = {.def = *def, .name = name, .address = address};
    fid_code code = fid_schema_check(&fid_bone_schema, def, rig, err);
    if (code == FID_OK) {
        fid_name_fields fields = fid_bone_fields(def);
        code = fid_name_render(&rig->naming, &fields, name, err);
        if (code == FID_OK) {
            fid_address_render(&fields, address);
        }
    }
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    code = code == FID_OK ? check_free(rig, &bone, err) : code;
    code = code == FID_OK ? settle_placement(rig, &bone.def, err) : code;
    code = code == FID_OK ? check_ranges(&bone.def, err) : code;
    code = code == FID_OK ? settle_rest(rig, &bone, err) : code;
    code = code == FID_OK ? settle_set(rig, &bone.def, err) : code;
    code = code == FID_OK ? fid_schema_copy(&fid_bone_schema, &bone.def, &rig->arena, err) : code;
    if (code != FID_OK) {
        return code;
    }
    bone.name = fid_arena_copy(&rig->arena, name, strlen(name));
    bone.address = fid_arena_copy(&rig->arena, address, strlen(address));
    if (bone.name == NULL || bone.address == NULL || !fid_array_reserve(&rig->bones, 1) ||
        !fid_pool_add(&rig->bone_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    int32_t index = rig->bones.count++;
    rig->bones.at[index] = bone;
    if (!fid_map_set(&rig->names, bone.name, index) || !fid_map_set(&rig->names, bone.address, index)) {
        return fid_no_memory(err);
    }
    if (bone.def.placement) {
        rig->placement = *out;
    }
    return FID_OK;
}

fid_code fid_rig_add_bone(fid_rig *rig, const fid_bone_def *def, fid_bone_id *out, fid_error *err) {
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_bone_id id;
    fid_code code = append_bone(rig, def, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}

/// Notes the chain; its bones are there.
static fid_code append_chain(fid_rig *rig, const fid_bone_id *bones, fid_chain chain, fid_chain_id *out,
                             fid_error *err) {
    fid_bone_id *own = fid_arena_get(&rig->arena, (size_t)chain.count * sizeof *own);
    const fid_bone_def *first = &rig->bones.at[fid_rig_bone_index(rig, bones[0])].def;
    bool center = first->side == FID_CENTER;
    char address[FID_ADDRESS_SIZE];
    snprintf(address, sizeof address, "%s%s%s%s%s", first->id != NULL ? first->id : "", first->id != NULL ? "/" : "",
             first->part, center ? "" : "/", center ? "" : fid_side_names[first->side]);
    chain.address = fid_arena_copy(&rig->arena, address, strlen(address));
    if (own == NULL || chain.address == NULL || !fid_array_reserve(&rig->chains, 1) ||
        !fid_pool_add(&rig->chain_pool, &out->handle)) {
        return fid_no_memory(err);
    }
    memcpy(own, bones, (size_t)chain.count * sizeof *own);
    chain.bones = own;
    rig->chains.at[rig->chains.count++] = chain;
    for (int32_t i = 0; i < chain.count; i++) {
        fid_bone *bone = &rig->bones.at[fid_rig_bone_index(rig, own[i])];
        if (fid_handle_is_null(bone->chain.handle)) {
            bone->chain = *out;
        }
    }
    return FID_OK;
}

static fid_code check_chain(const fid_rig *rig, const fid_chain_def *def, fid_error *err) {
    if (def->points == NULL || def->count < 2) {
        return fid_fail(err, FID_INVALID, "'points': a chain needs two points or more");
    }
    if (def->count > 9999) {
        return fid_fail(err, FID_LIMIT, "'points': a chain may have 9999 points at most, not %d", (int)def->count);
    }
    if ((unsigned)def->parenting > FID_FAN) {
        return fid_fail(err, FID_UNKNOWN, "'parenting' must be linked or fan");
    }
    if (def->bone.index[0] != 0 || def->bone.placement) {
        return fid_fail(err, FID_INVALID, "'%s' cannot be given for a chain",
                        def->bone.placement ? "placement" : "index");
    }
    if (def->hint != FID_HINT_NONE && !fid_vec3_is_finite(def->hint_vector)) {
        return fid_fail(err, FID_RANGE, "'%s' is not finite", def->hint == FID_HINT_UP ? "up" : "across");
    }
    for (int32_t i = 0; i < def->count; i++) {
        if (!fid_vec3_is_finite(def->points[i])) {
            return fid_fail(err, FID_RANGE, "'points': point %d is not finite", (int)i + 1);
        }
        if (i > 0 && !(fid_vec3_distance(def->points[i - 1], def->points[i]) >= 1e-4f * rig->height)) {
            return fid_fail(err, FID_RANGE,
                            "'points': points %d and %d are closer than 1/10000 of the height to each other [S202]",
                            (int)i, (int)i + 1);
        }
    }
    return FID_OK;
}

/// The rest frame in rig space of segment `i`.
static fid_code aim_segment(const fid_chain_def *def, int32_t i, bool bends, fid_vec3 normal, fid_frame *out,
                            fid_error *err) {
    *out = FID_FRAME_IDENTITY;
    out->t = def->points[i];
    fid_vec3 aim = fid_vec3_sub(def->points[i + 1], def->points[i]);
    if (def->hint != FID_HINT_NONE) {
        if (!fid_frame_aim(aim, def->hint, def->hint_vector, &out->q)) {
            return fid_fail(err, FID_RANGE, "'%s' has no length or lies along segment %d: give another direction",
                            def->hint == FID_HINT_UP ? "up" : "across", (int)i + 1);
        }
        return FID_OK;
    }
    // A segment along the normal of the bend, in a chain that is far from plane, has no better hint than the usual.
    if (!(bends && fid_frame_aim(aim, FID_HINT_ACROSS, normal, &out->q)) &&
        !fid_frame_aim(aim, FID_HINT_NONE, normal, &out->q)) {
        return fid_fail(err, FID_RANGE, "'points': segment %d has no direction", (int)i + 1);
    }
    return FID_OK;
}

static fid_code append_bones(fid_rig *rig, const fid_chain_def *def, fid_bone_id *bones, int32_t count,
                             fid_error *err) {
    fid_vec3 normal = {1, 0, 0};
    bool bends = fid_points_bend_normal(def->points, def->count, FID_STRAIGHT_DEGREES, &normal);
    fid_bone_def bone = def->bone;
    fid_frame frame = FID_FRAME_IDENTITY;
    for (int32_t i = 0; i < count; i++) {
        if (i < def->count - 1) {
            fid_code code = aim_segment(def, i, bends, normal, &frame, err);
            if (code != FID_OK) {
                return code;
            }
            bone.length = fid_vec3_distance(def->points[i], def->points[i + 1]);
        } else {
            frame.t = def->points[i];
            bone.length *= 0.25f;
        }
        if (i > 0 && def->parenting == FID_LINKED) {
            bone.parent = bones[i - 1];
        }
        const fid_bone *parent = fid_rig_bone(rig, bone.parent, NULL);
        bone.rest = parent != NULL ? fid_frame_relation(parent->rest, frame) : frame;
        bone.index[0] = 1;
        bone.index[1] = i + 1;
        fid_code code = append_bone(rig, &bone, &bones[i], err);
        if (code != FID_OK) {
            return code;
        }
    }
    return FID_OK;
}

fid_code fid_rig_add_chain(fid_rig *rig, const fid_chain_def *def, fid_chain_id *out, fid_error *err) {
    fid_code code = check_chain(rig, def, err);
    if (code != FID_OK) {
        return code;
    }
    int32_t count = def->with_end ? def->count : def->count - 1;
    fid_bone_id *bones = fid_memory_get_zero((size_t)count, sizeof *bones);
    if (bones == NULL) {
        return fid_no_memory(err);
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_chain_id id;
    code = append_bones(rig, def, bones, count, err);
    if (code == FID_OK) {
        fid_chain chain = {
            .count = count, .with_end = def->with_end, .parenting = def->parenting, .origin = def->bone.origin};
        code = append_chain(rig, bones, chain, &id, err);
    }
    fid_memory_free(bones);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}

/// FID_INVALID where a bone is listed twice; handles of living bones.
static fid_code check_distinct(const fid_rig *rig, const fid_bone_id *bones, int32_t count, fid_error *err) {
    fid_map seen = {0};
    fid_code code = FID_OK;
    for (int32_t i = 0; code == FID_OK && i < count; i++) {
        const char *name = rig->bones.at[fid_rig_bone_index(rig, bones[i])].name;
        if (fid_map_find(&seen, name) >= 0) {
            code = fid_fail(err, FID_INVALID, "bone '%s' stands twice in the chain", name);
        } else if (!fid_map_set(&seen, name, i)) {
            code = fid_no_memory(err);
        }
    }
    fid_map_clear(&seen);
    return code;
}

static fid_code find_parenting(const fid_rig *rig, const fid_bone_id *bones, int32_t count, int32_t *out,
                               fid_error *err) {
    bool linked = true, fan = true;
    const fid_bone *first = &rig->bones.at[fid_rig_bone_index(rig, bones[0])];
    for (int32_t i = 1; i < count; i++) {
        const fid_bone *bone = &rig->bones.at[fid_rig_bone_index(rig, bones[i])];
        linked = linked && bone->parent == fid_rig_bone_index(rig, bones[i - 1]);
        fan = fan && bone->parent == first->parent;
        if (!linked && !fan) {
            return fid_fail(err, FID_INVALID,
                            "bone '%s' hangs neither from the bone before it nor from the parent of the first: its "
                            "chain is neither linked nor fan",
                            bone->name);
        }
    }
    *out = linked ? FID_LINKED : FID_FAN;
    return FID_OK;
}

fid_code fid_rig_bind_chain(fid_rig *rig, const fid_bone_id *bones, int32_t count, bool with_end, int32_t origin,
                            fid_chain_id *out, fid_error *err) {
    if (bones == NULL || count < 1 || (with_end && count < 2)) {
        return fid_fail(err, FID_INVALID,
                        with_end ? "a chain with an end bone needs two bones or more" : "a chain needs a bone");
    }
    fid_code code = fid_rig_check_origin(rig, origin, err);
    for (int32_t i = 0; code == FID_OK && i < count; i++) {
        if (fid_rig_bone(rig, bones[i], err) == NULL) {
            code = FID_STALE;
        }
    }
    fid_chain chain = {.count = count, .with_end = with_end, .origin = origin};
    code = code == FID_OK ? check_distinct(rig, bones, count, err) : code;
    code = code == FID_OK ? find_parenting(rig, bones, count, &chain.parenting, err) : code;
    if (code != FID_OK) {
        return code;
    }
    fid_rig_mark mark = fid_rig_get_mark(rig);
    fid_chain_id id;
    code = append_chain(rig, bones, chain, &id, err);
    if (code != FID_OK) {
        fid_rig_cut(rig, &mark);
        return code;
    }
    *out = id;
    rig->edits++;
    return FID_OK;
}
