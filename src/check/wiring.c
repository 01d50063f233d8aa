#include "check/rules.h"
#include "math/scalar.h"
#include "solve/solve.h"

#include <string.h>

/// What refers to what: one pass over all elements, so that no rule searches.
typedef struct wiring {
    fid_check *check;
    bool *listened;    ///< by bone: something depends on it
    bool *slider_read; ///< by slider
    bool *moved;       ///< by bone: something of its own moves it
    int32_t acted;     ///< the bone that the element at hand acts on, or -1
} wiring;

static void note_channel(wiring *of, fid_channel channel) {
    if (channel.kind == FID_CHANNEL_BONE) {
        of->listened[channel.owner.slot] = true;
    } else if (channel.kind == FID_CHANNEL_SLIDER) {
        of->slider_read[channel.owner.slot] = true;
        // What a bone reads of its own sliders makes nobody else depend on it.
        int32_t on = (int32_t)of->check->rig->sliders.at[channel.owner.slot].def.on.handle.slot;
        of->listened[on] |= on != of->acted;
    }
}

static void note(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    wiring *of = user;
    int32_t index = fid_rig_bone_index(of->check->rig, bone);
    if (strcmp(role, "bone") == 0 || strcmp(role, "chain") == 0 || strcmp(role, "to") == 0) {
        return; // what is acted on
    }
    if (index >= 0) {
        of->listened[index] = true;
    }
    note_channel(of, channel);
}

static void note_moved(wiring *of) {
    const fid_rig *rig = of->check->rig;
    const fid_program *program = of->check->program;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        const fid_program_bone *at = &program->bones[i];
        bool own = bone->def.placement || bone->def.channels != 0 || at->before + at->layers + at->after > 0 ||
                   (at->flags & (FID_DRIVEN_TRANSLATION | FID_DRIVEN_ROTATION | FID_DRIVEN_SCALE)) != 0;
        of->moved[i] = own;
        if (bone->parent >= 0) {
            of->listened[bone->parent] = true;
        }
    }
}

static bool wiring_make(wiring *of, fid_check *check) {
    const fid_rig *rig = check->rig;
    size_t bones = (size_t)rig->bones.count, sliders = (size_t)rig->sliders.count;
    of->check = check;
    of->listened = fid_memory_get_zero(2 * bones + sliders + 1, sizeof *of->listened);
    if (!of->listened) {
        check->failed = true;
        return false;
    }
    of->moved = of->listened + bones;
    of->slider_read = of->moved + bones;
    note_moved(of);
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint_def *def = &rig->constraints.at[i].def;
        of->acted = fid_rig_bone_index(rig, def->bone);
        fid_schema_references(fid_constraint_schemas[def->kind], def, rig, note, of);
    }
    of->acted = -1;
    for (int32_t i = 0; i < rig->drives.count; i++) {
        fid_schema_references(&fid_drive_schema, &rig->drives.at[i].def, rig, note, of);
    }
    for (int32_t i = 0; i < rig->layers.count; i++) {
        note_channel(of, rig->layers.at[i].def.by);
    }
    return true;
}

void fid_check_loose(fid_check *check) {
    const fid_rig *rig = check->rig;
    wiring of;
    if (!wiring_make(&of, check)) {
        return;
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        // Parents stand before their children: what moves a parent moves the child.
        of.moved[i] |= bone->parent >= 0 && of.moved[bone->parent] && rig->bones.at[i].def.takes != 0;
        if (bone->def.role == FID_CONTROL && !of.listened[i] && !bone->def.placement) {
            fid_check_add(check, "S208", bone->name, bone->def.origin, "nothing depends on control '%s'", bone->name);
        }
        if (bone->def.role == FID_DEFORM && !of.moved[i]) {
            fid_check_add(check, "S208", bone->name, bone->def.origin, "nothing moves deform bone '%s'", bone->name);
        }
    }
    fid_memory_free(of.listened);
}

/// True where constraints, layers, drives or animators can make a bone depart, in one of the axes of `mask`, from where
/// it is carried. What constraints and layers move is not looked at axis by axis.
static bool can_depart(const fid_check *check, int32_t bone, uint32_t mask) {
    const fid_program_bone *at = &check->program->bones[bone];
    uint32_t driven = (at->flags & FID_DRIVEN_TRANSLATION ? (uint32_t)FID_MASK_TRANSLATION : 0) |
                      (at->flags & FID_DRIVEN_ROTATION ? (uint32_t)FID_MASK_ROTATION : 0) |
                      (at->flags & FID_DRIVEN_SCALE ? (uint32_t)FID_MASK_SCALE : 0);
    return ((check->rig->bones.at[bone].def.channels | driven) & mask) != 0 || at->before + at->layers + at->after > 0;
}

static void check_departure(fid_check *check, const char *listener, int32_t origin, int32_t bone, uint32_t mask) {
    if (bone >= 0 && !can_depart(check, bone, mask)) {
        fid_check_add(check, "C302", listener, origin,
                      "'%s' listens to how bone '%s' departs, but nothing ever moves that bone by itself in what is "
                      "listened to",
                      listener, check->rig->bones.at[bone].name);
    }
}

/// As check_departure for the twists that a drive measures; it goes by the name of its channel.
static void check_measured(fid_check *check, const fid_drive_def *def) {
    fid_text name = {0};
    fid_rig_add_channel_name(check->rig, def->to, &name);
    check->failed |= name.failed;
    for (int32_t i = 0; i < def->from.count && !name.failed; i++) {
        if (def->from.at[i].kind == FID_FACTOR_TWIST) {
            check_departure(check, name.at, def->origin, fid_rig_bone_index(check->rig, def->from.at[i].a.a.bone),
                            FID_MASK_ROTATION);
        }
    }
    fid_text_clear(&name);
}

void fid_check_departures(fid_check *check) {
    const fid_rig *rig = check->rig;
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        const fid_constraint_def *def = &constraint->def;
        if (def->kind == FID_CONSTRAINT_TWIST) {
            check_departure(check, constraint->address, def->origin, fid_rig_bone_index(rig, def->as.twist.source),
                            FID_MASK_ROTATION);
        }
        for (int32_t j = 0; def->kind == FID_CONSTRAINT_FOLLOW && def->as.follow.space == FID_SPACE_OWN &&
                            j < def->as.follow.sources.count;
             j++) {
            check_departure(check, constraint->address, def->origin,
                            fid_rig_bone_index(rig, def->as.follow.sources.at[j].source.a.bone),
                            def->as.follow.channels);
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        check_measured(check, &rig->drives.at[i].def);
    }
}

static bool is_same_spot(fid_spot a, fid_spot b) {
    return a.bone.handle.slot == b.bone.handle.slot && a.along == b.along;
}

/// True for a measure that gives one value in every pose: of a point and itself, of two axes of one bone.
static bool is_constant(const fid_factor *factor) {
    const fid_source *a = &factor->a, *b = &factor->b;
    bool same_kind = a->kind == b->kind, plain = a->kind == FID_SOURCE_RIG || a->kind == FID_SOURCE_WORLD;
    if (factor->kind == FID_FACTOR_ANGLE) {
        return same_kind && (plain || a->a.bone.handle.slot == b->a.bone.handle.slot);
    }
    return factor->kind == FID_FACTOR_DISTANCE && same_kind &&
           (plain || (is_same_spot(a->a, b->a) &&
                      (a->kind != FID_SOURCE_BETWEEN || (is_same_spot(a->b, b->b) && a->f == b->f))));
}

/// True where the range of the one slider that a drive reads lies beyond an end of its curve, which is held there.
static bool is_beyond_curve(const fid_rig *rig, const fid_drive_def *def) {
    if (def->from.count != 1 || def->from.at[0].kind != FID_FACTOR_CHANNEL || def->curve.count == 0) {
        return false;
    }
    fid_channel_info info = fid_rig_channel_info(rig, def->from.at[0].channel);
    return info.max <= def->curve.x[0] || info.min >= def->curve.x[def->curve.count - 1];
}

/// True where a later drive of the same channel replaces what this one gives.
static bool is_replaced(const fid_rig *rig, int32_t drive) {
    const fid_channel *to = &rig->drives.at[drive].def.to;
    for (int32_t i = drive + 1; i < rig->drives.count; i++) {
        const fid_drive_def *later = &rig->drives.at[i].def;
        if (later->combine == FID_REPLACE && fid_channel_is(later->to, *to)) {
            return true;
        }
    }
    return false;
}

/// True where a drive leaves its channel as it is whatever it reads.
static bool is_idle(const fid_drive_def *def) {
    bool zero = def->gain.channel.kind == FID_CHANNEL_NONE && def->gain.value == 0, flat = def->curve.count > 0;
    bool constant = true;
    for (int32_t i = 1; i < def->curve.count; i++) {
        flat &= def->curve.y[i] == def->curve.y[0];
    }
    for (int32_t i = 0; i < def->from.count; i++) {
        constant &= is_constant(&def->from.at[i]);
    }
    return zero || flat || constant;
}

/// Shares, of 0 to 1, that come from channels which can have other values: nothing happens beyond the ends.
static void check_shares(fid_check *check, const fid_constraint *constraint) {
    const fid_schema *schema = fid_constraint_schemas[constraint->def.kind];
    for (const fid_field *field = schema->fields; field < schema->fields + schema->count; field++) {
        if (field->type != FID_TYPE_AMOUNT || field->min != 0 || field->max != 1) {
            continue;
        }
        const fid_amount *amount = (const fid_amount *)(const void *)((const char *)&constraint->def + field->offset);
        if (amount->channel.kind == FID_CHANNEL_NONE) {
            continue;
        }
        fid_channel_info info = fid_rig_channel_info(check->rig, amount->channel);
        if (info.min < 0 || info.max > 1) {
            fid_check_add(check, "C303", constraint->address, constraint->def.origin,
                          "the %s of '%s' comes from a channel whose range leaves 0 to 1", field->key,
                          constraint->address);
        }
    }
}

void fid_check_effects(fid_check *check) {
    const fid_rig *rig = check->rig;
    wiring of;
    if (!wiring_make(&of, check)) {
        return;
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        check_shares(check, &rig->constraints.at[i]);
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        bool replaced = is_replaced(rig, i);
        if (replaced || is_idle(def) || is_beyond_curve(rig, def)) {
            fid_text name = {0};
            fid_rig_add_channel_name(rig, rig->drives.at[i].def.to, &name);
            check->failed |= name.failed;
            fid_check_add(check, "C303", name.at ? name.at : "", rig->drives.at[i].def.origin,
                          replaced ? "a later drive of '%s' replaces what this one gives"
                                   : "the drive of '%s' gives the same whatever it reads",
                          name.at ? name.at : "");
            fid_text_clear(&name);
        }
    }
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        const fid_slider_def *def = &rig->sliders.at[i].def;
        if (!of.slider_read[i]) {
            fid_check_add(check, "C303", def->name, def->origin, "nothing reads slider '%s' of bone '%s'", def->name,
                          rig->bones.at[def->on.handle.slot].name);
        }
    }
    fid_memory_free(of.listened);
}

/// Axes that a constraint sets outright, whatever the pose says.
static uint32_t overwritten(const fid_constraint_def *def) {
    bool whole = def->weight.channel.kind == FID_CHANNEL_NONE && def->weight.value >= 1;
    if (def->apply != FID_AFTER || !whole) {
        return 0;
    }
    if (def->kind == FID_CONSTRAINT_FOLLOW && def->as.follow.space == FID_SPACE_RIG) {
        return def->as.follow.channels;
    }
    bool upright =
        def->kind == FID_CONSTRAINT_AIM && (def->as.aim.up_vector.given || !fid_handle_is_null(def->as.aim.up.handle));
    return upright ? FID_MASK_ROTATION : 0;
}

void fid_check_channels(fid_check *check) {
    const fid_rig *rig = check->rig;
    bool *has_slider = fid_memory_get_zero((size_t)rig->bones.count + 1, sizeof *has_slider);
    if (!has_slider) {
        check->failed = true;
        return;
    }
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        has_slider[rig->sliders.at[i].def.on.handle.slot] |= rig->sliders.at[i].def.animatable;
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        if (bone->def.role == FID_CONTROL && bone->def.channels == 0 && !has_slider[i]) {
            fid_check_add(check, "C304", bone->name, bone->def.origin, "control '%s' has no channel that may be posed",
                          bone->name);
        }
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        int32_t index = fid_rig_bone_index(rig, constraint->def.bone);
        uint32_t lost = index >= 0 ? overwritten(&constraint->def) & rig->bones.at[index].def.channels : 0;
        if (lost != 0) {
            fid_check_add(check, "C304", rig->bones.at[index].name, constraint->def.origin,
                          "'%s' acts after the pose and overwrites channels of bone '%s' that may be posed",
                          constraint->address, rig->bones.at[index].name);
        }
    }
    fid_memory_free(has_slider);
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        // A hidden slider is no animator's.
        bool is_hidden = def->to.kind == FID_CHANNEL_SLIDER && rig->sliders.at[def->to.owner.slot].def.hidden;
        if (def->combine == FID_REPLACE && !is_hidden && fid_rig_channel_info(rig, def->to).animatable) {
            fid_text name = {0};
            fid_rig_add_channel_name(rig, def->to, &name);
            check->failed |= name.failed;
            fid_check_add(check, "C304", name.at ? name.at : "", def->origin,
                          "a drive replaces the value of '%s', which may be posed", name.at ? name.at : "");
            fid_text_clear(&name);
        }
    }
    for (int32_t i = 0; i < rig->matches.count; i++) {
        const fid_match_def *match = &rig->matches.at[i];
        const fid_slider_def *slider = &fid_rig_slider(rig, (fid_slider_id){match->slider.owner}, NULL)->def;
        bool driven = fid_program_is_driven(check->program, fid_program_channel(check->program, match->slider));
        if (driven || !slider->animatable) {
            fid_check_add(check, "C304", slider->name, match->origin,
                          "slider '%s' of bone '%s' has a match at %g, but %s: nobody can switch it", slider->name,
                          rig->bones.at[fid_rig_bone_index(rig, slider->on)].name, (double)match->value,
                          driven ? "a drive gives it its value" : "may not be posed");
        }
    }
}

/// True for what does not move as a whole with its ancestors: chains of ik and splines, what rides on spaces, and what
/// hangs from them.
static bool moves_by_itself(const fid_program *program, int32_t bone, const bool *before) {
    const fid_program_bone *at = &program->bones[bone];
    bool own = at->parent >= 0 && before[at->parent];
    for (int32_t i = 0; i < at->before; i++) {
        int32_t kind = program->ops[at->first_op + i].kind;
        own |= kind == FID_OP_IK || kind == FID_OP_SPLINE || kind == FID_OP_CHAIN || kind == FID_OP_SPACES;
    }
    return own;
}

/// Moves one control and looks for descendants that go farther than it does.
static void try_control(fid_check *check, fid_pose *pose, int32_t control, const bool *by_itself, bool *told) {
    const fid_program *program = check->program;
    const fid_rig *rig = check->rig;
    float step = 0.1f * rig->height, most = 1 + rig->thresholds.c301_ratio;
    fid_pose_reset(pose);
    if (fid_pose_set(pose, control * FID_AXIS_COUNT + FID_TRANSLATION_X, step, NULL, NULL)) {
        return;
    }
    fid_solve(program, pose);
    float moved = fid_vec3_distance(pose->frames[control].t, program->rest[control].t);
    if (!(moved > 0.5f * step)) {
        return;
    }
    bool *below = told + rig->bones.count;
    memset(below, 0, (size_t)rig->bones.count);
    below[control] = true;
    for (int32_t i = control + 1; i < rig->bones.count; i++) {
        int32_t parent = rig->bones.at[i].parent;
        below[i] = parent >= 0 && below[parent];
        float ratio = fid_vec3_distance(pose->frames[i].t, program->rest[i].t) / moved;
        if (below[i] && !by_itself[i] && !told[i] && ratio > most) {
            told[i] = true;
            fid_check_detail detail = {FID_WARNING, true, ratio, most, pose, NULL};
            fid_check_add_detail(
                check, "C301", rig->bones.at[i].name, rig->bones.at[i].def.origin, &detail,
                "moving '%s' by 1 moves bone '%s', which hangs from it, by %.3g: the motion arrives twice",
                rig->bones.at[control].name, rig->bones.at[i].name, (double)ratio);
        }
    }
}

static bool hangs_from(const fid_rig *rig, int32_t bone, int32_t ancestor) {
    while (bone > ancestor) {
        bone = rig->bones.at[bone].parent;
    }
    return bone == ancestor;
}

/// The bones that a drive reads and from which its own hangs.
typedef struct candidates {
    const fid_rig *rig;
    bool *candidate;
    int32_t driven;
} candidates;

static void note_candidate(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    const candidates *into = user;
    int32_t from = channel.kind == FID_CHANNEL_BONE ? (int32_t)channel.owner.slot : fid_rig_bone_index(into->rig, bone);
    if (from >= 0 && strcmp(role, "from") == 0) {
        into->candidate[from] |= hangs_from(into->rig, into->driven, from);
    }
}

/// Bones that something below them follows in own space, or is driven by.
static void find_candidates(const fid_rig *rig, bool *candidate) {
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint_def *def = &rig->constraints.at[i].def;
        bool own = def->kind == FID_CONSTRAINT_FOLLOW && def->as.follow.space == FID_SPACE_OWN;
        for (int32_t j = 0; own && j < def->as.follow.sources.count; j++) {
            int32_t source = fid_rig_bone_index(rig, def->as.follow.sources.at[j].source.a.bone);
            candidate[source] |= hangs_from(rig, fid_rig_bone_index(rig, def->bone), source);
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        if (def->to.kind == FID_CHANNEL_BONE) {
            candidates into = {rig, candidate, (int32_t)def->to.owner.slot};
            fid_schema_references(&fid_drive_schema, def, rig, note_candidate, &into);
        }
    }
}

void fid_check_twice(fid_check *check) {
    const fid_rig *rig = check->rig;
    size_t bones = (size_t)rig->bones.count;
    fid_pose *pose = NULL;
    fid_error err;
    bool *by_itself = fid_memory_get_zero(4 * bones + 1, sizeof *by_itself);
    if (!by_itself || fid_pose_new(check->program, &pose, &err) != FID_OK) {
        fid_memory_free(by_itself);
        check->failed = true;
        return;
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        by_itself[i] = moves_by_itself(check->program, i, by_itself);
    }
    // A motion can arrive a second time only where what listens to a bone hangs from it, too.
    bool *candidate = by_itself + 3 * bones;
    find_candidates(rig, candidate);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (candidate[i] && rig->bones.at[i].def.channels & 1u << FID_TRANSLATION_X && i != check->program->placement) {
            try_control(check, pose, i, by_itself, by_itself + bones);
        }
    }
    fid_pose_free(pose);
    fid_memory_free(by_itself);
}
