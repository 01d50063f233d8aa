#include "rig/entry.h"

#include "math/bend.h"
#include "math/spline.h"

#include <stdio.h>
#include <string.h>

static bool has_length(fid_vec3 v) { return fid_vec3_length(v) > 0.0f; }

/// True where an amount is, or may become, other than `usual`.
static bool differs(const fid_amount *amount, float usual) {
    return amount->channel.kind != FID_CHANNEL_NONE || amount->value != usual;
}

static fid_code check_aim(const fid_aim *aim, fid_error *err) {
    if (!fid_handle_is_null(aim->up.handle) && aim->up_vector.given) {
        return fid_fail(err, FID_INVALID, "'up' and 'up_vector' contradict each other: give one of them");
    }
    if (aim->up_vector.given && !has_length(aim->up_vector.vector)) {
        return fid_fail(err, FID_RANGE, "'up_vector' has no length: give a direction");
    }
    return FID_OK;
}

static fid_code check_follow(const fid_follow *follow, fid_error *err) {
    if (follow->space == FID_SPACE_RIG) {
        return differs(&follow->gain, 1.0f)
                   ? fid_fail(err, FID_INVALID,
                              "'gain' scales what departs in own space: give space = \"own\", or leave it out")
                   : FID_OK;
    }
    for (int32_t i = 0; i < follow->sources.count; i++) {
        if (follow->sources.at[i].source.kind != FID_SOURCE_BONE) {
            return fid_fail(err, FID_INVALID, "'space': only bones depart in their own space: give Bones as sources");
        }
    }
    if (follow->path != FID_ARC || follow->offset != FID_OFFSET_REST) {
        return fid_fail(err, FID_INVALID, "'space': own space knows no 'path' and no 'offset': leave them out");
    }
    return FID_OK;
}

static fid_code check_end(const fid_ik *ik, const fid_chain *chain, fid_error *err) {
    const char *key = differs(&ik->reach, 1.0f)            ? "reach"
                      : differs(&ik->length, 1.0f)         ? "length"
                      : differs(&ik->match_rotation, 0.0f) ? "match_rotation"
                                                           : NULL;
    if (key != NULL && !chain->with_end) {
        return fid_fail(err, FID_INVALID, "'%s' needs a chain with an end bone: make it with_end = true", key);
    }
    return FID_OK;
}

static fid_code check_solved(const fid_rig *rig, const fid_chain *chain, fid_error *err) {
    for (int32_t i = 0; i < fid_chain_segments(chain); i++) {
        char entry[FID_ENTRY_SIZE];
        fid_entry_slot(chain->bones[i].handle.slot, entry);
        int32_t other = fid_entry_find(rig, FID_ENTRY_SOLVED, entry);
        const fid_bone *bone = fid_rig_bone(rig, chain->bones[i], err);
        if (bone == NULL) {
            return FID_STALE;
        }
        if (other >= 0) {
            char made_at[FID_ENTRY_SIZE];
            fid_rig_made_at(rig, rig->constraints.at[other].def.origin, made_at);
            return fid_fail(err, FID_INVALID, "bone '%s' is turned by '%s'%s already: one ik or spline for a chain",
                            bone->name, rig->constraints.at[other].address, made_at);
        }
    }
    return FID_OK;
}

static fid_code check_ik(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    const fid_chain *chain = fid_rig_chain(rig, def->chain, err);
    const fid_ik *ik = &def->as.ik;
    if (chain == NULL) {
        return FID_STALE;
    }
    int32_t segments = fid_chain_segments(chain);
    if (segments < 2) {
        return fid_fail(err, FID_INVALID, "ik needs a chain of two segments or more");
    }
    if (segments > FID_BEND_SEGMENTS) {
        return fid_fail(err, FID_LIMIT, "ik takes a chain of %d segments at most, not %d", FID_BEND_SEGMENTS,
                        (int)segments);
    }
    if (ik->pole.kind != FID_SOURCE_NONE && differs(&ik->swivel, 0.0f)) {
        return fid_fail(err, FID_INVALID, "'pole' and 'swivel' contradict each other: give one of them");
    }
    if (ik->swivel_gain != 1.0f && ik->swivel_gain != -1.0f) {
        return fid_fail(err, FID_RANGE, "'swivel_gain' must be 1 or -1");
    }
    if (ik->bend_shares.count != 0 && ik->bend_shares.count != segments - 1) {
        return fid_fail(err, FID_INVALID,
                        "'bend_shares' has %d numbers; it takes one for each joint that bends, here %d",
                        (int)ik->bend_shares.count, (int)segments - 1);
    }
    if (ik->bend_limits.count != 0 && ik->bend_limits.count != segments - 1) {
        return fid_fail(err, FID_INVALID, "'bend_limits' has %d pairs; it takes one for each joint that bends, here %d",
                        (int)ik->bend_limits.count, (int)segments - 1);
    }
    if (ik->bend_axis.given && !has_length(ik->bend_axis.vector)) {
        return fid_fail(err, FID_RANGE, "'bend_axis' has no length: give a direction");
    }
    fid_code code = check_end(ik, chain, err);
    return code == FID_OK ? check_solved(rig, chain, err) : code;
}

static fid_code check_spline(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    const fid_chain *chain = fid_rig_chain(rig, def->chain, err);
    const fid_bones *through = &def->as.spline.through;
    if (chain == NULL) {
        return FID_STALE;
    }
    if (chain->count < 2) {
        return fid_fail(err, FID_INVALID, "spline needs a chain of two bones or more");
    }
    if (fid_chain_segments(chain) > FID_BEND_SEGMENTS) {
        return fid_fail(err, FID_LIMIT, "spline takes a chain of %d segments at most, not %d", FID_BEND_SEGMENTS,
                        (int)fid_chain_segments(chain));
    }
    if (through->count < 2) {
        return fid_fail(err, FID_INVALID, "'through' needs two controls or more");
    }
    if (through->count > FID_SPLINE_POINTS) {
        return fid_fail(err, FID_LIMIT, "'through' takes %d controls at most, not %d", FID_SPLINE_POINTS,
                        (int)through->count);
    }
    for (int32_t i = 0; i < through->count; i++) {
        for (int32_t k = 0; k < i; k++) {
            if (through->at[i].handle.slot == through->at[k].handle.slot) {
                return fid_fail(err, FID_INVALID, "'through' has bone '%s' twice: name each control once",
                                fid_rig_bone(rig, through->at[i], NULL)->name);
            }
        }
    }
    return check_solved(rig, chain, err);
}

static bool is_open(const fid_axis_range *range) {
    for (int i = 0; i < 3; i++) {
        if (range->lo[i] > -FID_UNLIMITED || range->hi[i] < FID_UNLIMITED) {
            return false;
        }
    }
    return true;
}

static fid_code check_limit(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    static const int middles[] = {1, 2, 0, 2, 0, 1}; // by fid_order: the middle letter of its name
    const fid_limit *limit = &def->as.limit;
    const fid_bone *bone = fid_rig_bone(rig, def->bone, err);
    if (bone == NULL) {
        return FID_STALE;
    }
    bool swings = limit->swing < 180.0f || limit->twist.count > 0;
    if (is_open(&limit->translation) && is_open(&limit->rotation) && is_open(&limit->scale) && !swings) {
        return fid_fail(err, FID_INVALID, "a limit needs 'translation', 'rotation', 'scale', 'swing' or 'twist'");
    }
    if (swings && !is_open(&limit->rotation)) {
        return fid_fail(err, FID_INVALID, "'rotation' and 'swing' or 'twist' contradict each other: give one of them");
    }
    if (limit->twist.count != 0 && (limit->twist.count != 2 || limit->twist.at[0] > limit->twist.at[1])) {
        return fid_fail(err, FID_RANGE, "'twist' must be two numbers {lo, hi}, the smaller one first");
    }
    int middle = middles[bone->def.rotation_order];
    float lo = limit->rotation.lo[middle], hi = limit->rotation.hi[middle];
    if ((lo > -FID_UNLIMITED && (lo < -90.0f || lo > 90.0f)) || (hi < FID_UNLIMITED && (hi > 90.0f || hi < -90.0f))) {
        return fid_fail(err, FID_RANGE,
                        "'rotation': the range of %c, the middle angle of the order %s, must be within -90 to 90 deg",
                        "xyz"[middle], fid_order_names[bone->def.rotation_order]);
    }
    for (int i = 0; i < 3; i++) {
        if ((limit->scale.lo[i] > -FID_UNLIMITED && limit->scale.lo[i] < 1e-3f) || limit->scale.hi[i] < 1e-3f) {
            return fid_fail(err, FID_RANGE, "'scale': the range of %c must be at least 0.001", "xyz"[i]);
        }
    }
    return FID_OK;
}

/// Whether `bone` hangs from `from`, however deep.
static bool hangs_from(const fid_rig *rig, fid_bone_id bone, fid_bone_id from) {
    int32_t above = fid_rig_bone_index(rig, from), at = fid_rig_bone_index(rig, bone);
    do {
        at = rig->bones.at[at].parent;
    } while (at >= 0 && at != above);
    return at >= 0;
}

static fid_code check_grips(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    const fid_space_list *among = &def->as.spaces.among;
    for (int32_t i = 0; i < among->count; i++) {
        const fid_space *space = &among->at[i];
        if (fid_handle_is_null(space->meet.handle)) {
            continue;
        }
        if (!hangs_from(rig, space->meet, def->bone)) {
            return fid_fail(err, FID_INVALID,
                            "'among': 'meet' of space '%s' is bone '%s', which does not hang from '%s': give a "
                            "descendant of the bone that rides",
                            space->name, fid_rig_bone(rig, space->meet, NULL)->name,
                            fid_rig_bone(rig, def->bone, NULL)->name);
        }
        if (space->at_rest) {
            return fid_fail(err, FID_INVALID,
                            "'among': the offset \"rest\" and 'meet' of space '%s' contradict each other: a grip "
                            "lands on the source; leave the offset out, or give a frame",
                            space->name);
        }
    }
    return FID_OK;
}

/// Shares are given for all entries of mixed spaces, or made for all; others have none.
static fid_code check_shares(const fid_rig *rig, const fid_spaces *spaces, fid_error *err) {
    bool given = false;
    for (int32_t i = 0; i < spaces->among.count; i++) {
        given |= spaces->among.at[i].by.kind != FID_CHANNEL_NONE;
    }
    for (int32_t i = 0; i < spaces->among.count && given; i++) {
        const fid_space *space = &spaces->among.at[i];
        if (!spaces->mixed) {
            return fid_fail(err, FID_INVALID, "'among': space '%s' has 'by', a share of its own, but 'mixed' is false",
                            space->name);
        }
        const fid_slider *slider =
            space->by.kind == FID_CHANNEL_SLIDER ? fid_rig_slider(rig, (fid_slider_id){space->by.owner}, NULL) : NULL;
        if (slider == NULL || slider->def.choices.count > 0) {
            return fid_fail(err, FID_INVALID, "'among': 'by' of space '%s' must be a slider without choices",
                            space->name);
        }
        if (spaces->rest_choice != NULL) {
            return fid_fail(err, FID_INVALID, "'default' and 'by' contradict each other: the sliders have defaults");
        }
    }
    return spaces->mixed && spaces->by.kind != FID_CHANNEL_NONE
               ? fid_fail(err, FID_INVALID,
                          "'by' and 'mixed' contradict each other: each space has a slider of its own")
               : FID_OK;
}

static fid_code check_by(const fid_rig *rig, const fid_spaces *spaces, fid_error *err) {
    if (spaces->rest_choice != NULL) {
        return fid_fail(err, FID_INVALID, "'default' and 'by' contradict each other: the slider has its default");
    }
    if (spaces->by.kind != FID_CHANNEL_SLIDER) {
        return fid_fail(err, FID_INVALID, "'by' must be a slider");
    }
    const fid_slider *slider = fid_rig_slider(rig, (fid_slider_id){spaces->by.owner}, err);
    if (slider == NULL) {
        return FID_STALE;
    }
    if (slider->def.choices.count != spaces->among.count) {
        return fid_fail(err, FID_INVALID, "'by': slider '%s' has %d choices, but 'among' has %d", slider->def.name,
                        (int)slider->def.choices.count, (int)spaces->among.count);
    }
    for (int32_t i = 0; i < spaces->among.count; i++) {
        if (strcmp(slider->def.choices.at[i], spaces->among.at[i].name) != 0) {
            return fid_fail(err, FID_INVALID, "'by': choice %d of slider '%s' is '%.64s', but that of 'among' is '%s'",
                            (int)i + 1, slider->def.name, slider->def.choices.at[i], spaces->among.at[i].name);
        }
    }
    return FID_OK;
}

fid_code fid_spaces_check(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    const fid_space_list *among = &def->as.spaces.among;
    fid_code code = check_grips(rig, def, err);
    for (int32_t i = 0; i < among->count && code == FID_OK; i++) {
        code = among->at[i].is_added ? fid_rig_check_origin(rig, among->at[i].origin, err) : FID_OK;
    }
    return code == FID_OK ? check_shares(rig, &def->as.spaces, err) : code;
}

static fid_code check_spaces(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    const fid_spaces *spaces = &def->as.spaces;
    const fid_bone *bone = fid_rig_bone(rig, def->bone, err);
    if (bone == NULL) {
        return FID_STALE;
    }
    char address[FID_ENTRY_SIZE];
    snprintf(address, sizeof address, "%.160s:%s", bone->address, fid_constraint_schemas[def->kind]->name);
    int32_t other = fid_entry_find(rig, FID_ENTRY_CONSTRAINT, address);
    if (other >= 0) {
        char made_at[FID_ENTRY_SIZE];
        fid_rig_made_at(rig, rig->constraints.at[other].def.origin, made_at);
        return fid_fail(err, FID_INVALID,
                        "bone '%s' has spaces%s already: put all of them into one, or add to those that are there",
                        bone->name, made_at);
    }
    fid_code code = fid_spaces_check(rig, def, err);
    return code != FID_OK ? code : spaces->by.kind != FID_CHANNEL_NONE ? check_by(rig, spaces, err) : FID_OK;
}

static fid_code check_apply(const fid_constraint_def *def, fid_error *err) {
    const char *name = fid_constraint_schemas[def->kind]->name;
    if (def->kind == FID_CONSTRAINT_LIMIT && def->apply != FID_AFTER) {
        return fid_fail(err, FID_INVALID, "'apply': a %s acts after the pose only: leave it out", name);
    }
    if ((fid_constraint_lays_chain(def->kind) || def->kind == FID_CONSTRAINT_SPACES) && def->apply != FID_BEFORE) {
        return fid_fail(err, FID_INVALID, "'apply': %s acts before the pose only: leave it out", name);
    }
    return FID_OK;
}

/// The bone that places the character obeys nothing.
static fid_code check_placement(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    int32_t placement = fid_rig_bone_index(rig, rig->placement);
    if (placement < 0) {
        return FID_OK;
    }
    bool found = fid_rig_bone_index(rig, def->bone) == placement;
    const fid_chain *chain = fid_constraint_lays_chain(def->kind) ? fid_rig_chain(rig, def->chain, NULL) : NULL;
    for (int32_t i = 0; chain != NULL && i < chain->count; i++) {
        found = found || fid_rig_bone_index(rig, chain->bones[i]) == placement;
    }
    return found ? fid_fail(err, FID_INVALID,
                            "bone '%s' places the character and may not have constraints: constrain a bone below it",
                            rig->bones.at[placement].name)
                 : FID_OK;
}

fid_code fid_constraint_check(const fid_rig *rig, const fid_constraint_def *def, fid_error *err) {
    if ((unsigned)def->kind >= FID_CONSTRAINT_KINDS) {
        return fid_fail(err, FID_INVALID, "no such kind of constraint");
    }
    fid_code code = fid_schema_check(fid_constraint_schemas[def->kind], def, rig, err);
    code = code == FID_OK ? fid_rig_check_origin(rig, def->origin, err) : code;
    code = code == FID_OK ? check_apply(def, err) : code;
    code = code == FID_OK ? check_placement(rig, def, err) : code;
    if (code != FID_OK) {
        return code;
    }
    switch (def->kind) {
    case FID_CONSTRAINT_FOLLOW:
        return check_follow(&def->as.follow, err);
    case FID_CONSTRAINT_AIM:
        return check_aim(&def->as.aim, err);
    case FID_CONSTRAINT_IK:
        return check_ik(rig, def, err);
    case FID_CONSTRAINT_LIMIT:
        return check_limit(rig, def, err);
    case FID_CONSTRAINT_SPACES:
        return check_spaces(rig, def, err);
    case FID_CONSTRAINT_SPLINE:
        return check_spline(rig, def, err);
    case FID_CONSTRAINT_SPAN:
    case FID_CONSTRAINT_TWIST:
    case FID_CONSTRAINT_KINDS:
        break;
    }
    return FID_OK;
}
