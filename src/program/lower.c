#include "program/lower.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void fid_lowering_report(fid_lowering *lowering, const char *code, fid_severity severity, const char *subject,
                         int32_t origin, const char *hint, const char *format, ...) {
    char message[FID_ERROR_MESSAGE_SIZE];
    fid_place places[16];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(message, sizeof message, format, args);
    va_end(args);
    fid_finding finding = {
        .code = code,
        .severity = severity,
        .subject = subject,
        .message = message,
        .hint = hint,
        .places = places,
        .place_count = fid_rig_places(lowering->rig, origin, places, 16),
    };
    fid_report_add(lowering->report, &finding);
    lowering->failed = lowering->failed || lowering->report->failed;
}

void fid_lowering_measured(fid_lowering *lowering, double value, double threshold) {
    if (!lowering->failed) {
        fid_finding *last = &lowering->report->findings.at[lowering->report->findings.count - 1];
        last->has_value = true;
        last->value = (float)value;
        last->threshold = (float)threshold;
    }
}

int32_t fid_lowering_channel(const fid_lowering *lowering, fid_channel channel) {
    fid_program numbering = {.bone_count = lowering->rig->bones.count, .slider_count = lowering->rig->sliders.count};
    return fid_program_channel(&numbering, channel);
}

fid_input fid_lower_amount(const fid_lowering *lowering, fid_amount amount, float lo, float hi) {
    return (fid_input){fid_lowering_channel(lowering, amount.channel), amount.value, lo, hi};
}

fid_input fid_lower_weight(const fid_lowering *lowering, int32_t index) {
    fid_amount weight = lowering->rig->constraints.at[index].def.weight;
    if (weight.channel.kind == FID_CHANNEL_NONE) {
        fid_channel own = {FID_CHANNEL_WEIGHT, 0, fid_rig_constraint_at(lowering->rig, index).handle};
        weight.channel = own;
    }
    return fid_lower_amount(lowering, weight, 0, 1);
}

fid_program_source fid_lower_source(const fid_lowering *lowering, const fid_source *source) {
    const fid_rig *rig = lowering->rig;
    fid_program_source out = {.kind = source->kind, .a = -1, .b = -1, .f = source->f, .rest = FID_FRAME_IDENTITY};
    if (source->kind == FID_SOURCE_NONE) {
        return out;
    }
    out.a = fid_rig_bone_index(rig, source->a.bone);
    out.b = fid_rig_bone_index(rig, source->b.bone);
    if (out.a >= 0) {
        out.along_a = source->a.along * rig->bones.at[out.a].def.length;
    }
    if (out.b >= 0) {
        out.along_b = source->b.along * rig->bones.at[out.b].def.length;
    }
    out.rest = fid_frame_rigid(fid_rig_source_rest(rig, source));
    return out;
}

static void add_op(fid_lowering *lowering, int32_t bone, int32_t apply, fid_op_kind kind, int32_t index,
                   int32_t constraint) {
    fid_phase phase = apply == FID_AFTER ? FID_PHASE_AFTER : FID_PHASE_BEFORE;
    fid_lowered_op op = {bone, phase, {(int32_t)kind, index, -1, constraint}};
    lowering->failed |= !fid_array_push(&lowering->ops, op);
}

static void lower_follow(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_constraint_def *def = &lowering->rig->constraints.at[index].def;
    const fid_follow *follow = &def->as.follow;
    fid_frame rest = lowering->rig->bones.at[bone].rest;
    fid_program_follow out = {.weight = fid_lower_weight(lowering, index),
                              .straight = follow->path == FID_STRAIGHT,
                              .own = follow->space == FID_SPACE_OWN,
                              .gain = fid_lower_amount(lowering, follow->gain, -FID_UNLIMITED, FID_UNLIMITED),
                              .first = lowering->follow_sources.count,
                              .count = follow->sources.count,
                              .channels = follow->channels};
    for (int32_t i = 0; i < follow->sources.count; i++) {
        fid_follow_source one = {
            .source = fid_lower_source(lowering, &follow->sources.at[i].source),
            .share = fid_lower_amount(lowering, follow->sources.at[i].share, 0, 1),
            .relation = FID_FRAME_IDENTITY,
        };
        if (follow->offset == FID_OFFSET_REST) {
            one.relation = fid_frame_relation(one.source.rest, rest);
            one.back = fid_frame_relation(rest, one.source.rest).t;
        }
        if (out.own) {
            fid_lower_departure(lowering, one.source.a);
        }
        lowering->failed |= !fid_array_push(&lowering->follow_sources, one);
    }
    add_op(lowering, bone, def->apply, FID_OP_FOLLOW, lowering->follows.count, index);
    lowering->failed |= !fid_array_push(&lowering->follows, out);
}

/// The direction from the bone to its source at rest, in the bone's own rest axes, and the distance; reports and is
/// false where they lie on each other.
static bool rest_direction(fid_lowering *lowering, int32_t index, int32_t bone, const fid_program_source *source,
                           fid_vec3 *direction, float *distance) {
    const fid_rig *rig = lowering->rig;
    const fid_constraint *constraint = &rig->constraints.at[index];
    fid_vec3 way = fid_vec3_sub(source->rest.t, rig->bones.at[bone].rest.t);
    *distance = fid_vec3_length(way);
    if (*distance < 1e-4f * rig->height) {
        fid_lowering_report(lowering, "S202", FID_ERROR, rig->bones.at[bone].name, constraint->def.origin,
                            "move the source away from the base of the bone, or aim with offset \"none\"",
                            "the source of '%s' rests on the base of bone '%s': there is no direction to it",
                            constraint->address, rig->bones.at[bone].name);
        return false;
    }
    way = fid_quat_rotate(fid_quat_inverse(rig->bones.at[bone].rest.q), way);
    *direction = fid_vec3_normalize(way, (fid_vec3){0, 0, 1});
    return true;
}

fid_vec3 fid_lower_axis(int32_t axis) {
    static const fid_vec3 axes[] = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
    return axes[axis];
}

static void lower_aim(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_rig *rig = lowering->rig;
    const fid_constraint *constraint = &rig->constraints.at[index];
    const fid_aim *aim = &constraint->def.as.aim;
    fid_frame rest = rig->bones.at[bone].rest;
    fid_program_aim out = {.weight = fid_lower_weight(lowering, index),
                           .source = fid_lower_source(lowering, &aim->source),
                           .up_bone = fid_rig_bone_index(rig, aim->up),
                           .up_vector = aim->up_vector.vector,
                           .relation = FID_QUAT_IDENTITY};
    out.has_up = out.up_bone >= 0 || aim->up_vector.given;
    bool keeps_rest = aim->offset == FID_OFFSET_REST;
    float distance;
    if (keeps_rest && !rest_direction(lowering, index, bone, &out.source, &out.direction, &distance)) {
        return;
    }
    if (!keeps_rest) {
        out.direction = fid_lower_axis(aim->axis);
    }
    if (out.has_up) {
        fid_quat now = FID_QUAT_IDENTITY;
        fid_vec3 forward, up;
        if (keeps_rest) {
            forward = fid_vec3_sub(out.source.rest.t, rest.t);
            up = out.up_bone >= 0 ? fid_vec3_sub(rig->bones.at[out.up_bone].rest.t, rest.t) : out.up_vector;
        } else {
            // The bone's own axis aims; +Y points up, or +Z where the axis is +-Y.
            forward = out.direction;
            up = out.direction.y != 0 ? (fid_vec3){0, 0, 1} : (fid_vec3){0, 1, 0};
        }
        if (!fid_frame_aim(forward, FID_HINT_UP, up, &now)) {
            fid_lowering_report(lowering, "S202", FID_ERROR, rig->bones.at[bone].name, constraint->def.origin,
                                "choose another up for the aim",
                                "the up of '%s' lies along the direction to its source at rest", constraint->address);
            return;
        }
        out.relation = keeps_rest ? fid_quat_mul(fid_quat_inverse(now), rest.q) : fid_quat_inverse(now);
    }
    add_op(lowering, bone, constraint->def.apply, FID_OP_AIM, lowering->aims.count, index);
    lowering->failed |= !fid_array_push(&lowering->aims, out);
}

static void lower_span(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_constraint_def *def = &lowering->rig->constraints.at[index].def;
    const fid_span *span = &def->as.span;
    fid_program_span out = {.weight = fid_lower_weight(lowering, index),
                            .source = fid_lower_source(lowering, &span->source),
                            .keep_volume = fid_lower_amount(lowering, span->keep_volume, 0, 1),
                            .shortest = span->shortest,
                            .longest = span->longest};
    if (!rest_direction(lowering, index, bone, &out.source, &out.direction, &out.distance)) {
        return;
    }
    add_op(lowering, bone, def->apply, FID_OP_SPAN, lowering->spans.count, index);
    lowering->failed |= !fid_array_push(&lowering->spans, out);
}

static void lower_limit(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_limit *limit = &lowering->rig->constraints.at[index].def.as.limit;
    bool twists = limit->twist.count == 2;
    fid_program_limit out = {.translation = limit->translation,
                             .rotation = limit->rotation,
                             .scale = limit->scale,
                             .swings = limit->swing < 180 || twists,
                             .swing = limit->swing,
                             .twist = {twists ? limit->twist.at[0] : -180, twists ? limit->twist.at[1] : 180}};
    const fid_axis_range *ranges[3] = {&limit->translation, &limit->rotation, &limit->scale};
    for (uint32_t i = 0; i < FID_AXIS_COUNT; i++) {
        const fid_axis_range *range = ranges[i / 3];
        if (range->lo[i % 3] > -FID_UNLIMITED || range->hi[i % 3] < FID_UNLIMITED) {
            out.channels |= 1u << i;
        }
    }
    add_op(lowering, bone, FID_AFTER, FID_OP_LIMIT, lowering->limits.count, index);
    lowering->failed |= !fid_array_push(&lowering->limits, out);
}

static void lower_twist(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_constraint_def *def = &lowering->rig->constraints.at[index].def;
    const fid_twist *twist = &def->as.twist;
    fid_program_twist out = {fid_lower_weight(lowering, index),
                             fid_lower_amount(lowering, twist->gain, -FID_UNLIMITED, FID_UNLIMITED),
                             fid_rig_bone_index(lowering->rig, twist->source), twist->center};
    fid_lower_departure(lowering, out.source);
    add_op(lowering, bone, def->apply, FID_OP_TWIST, lowering->twists.count, index);
    lowering->failed |= !fid_array_push(&lowering->twists, out);
}

static fid_program_space lower_space(const fid_lowering *lowering, const fid_space *space, int32_t bone) {
    const fid_rig *rig = lowering->rig;
    fid_amount share = {0, space->by};
    int32_t grip = fid_rig_bone_index(rig, space->meet);
    fid_program_space out = {.source = fid_lower_source(lowering, &space->source),
                             .relation = FID_FRAME_IDENTITY,
                             .share = fid_lower_amount(lowering, share, 0, 1)};
    if (space->has_frame) {
        out.relation = fid_frame_rigid(space->frame);
    } else if (space->at_rest) {
        out.relation = fid_frame_relation(out.source.rest, rig->bones.at[bone].rest);
    }
    if (grip >= 0) {
        fid_frame held = fid_frame_relation(rig->bones.at[bone].rest, rig->bones.at[grip].rest);
        out.relation.q = fid_quat_mul(out.relation.q, fid_quat_inverse(held.q));
        out.grip = held.t;
        out.has_grip = true;
    }
    fid_vec3 way = fid_vec3_sub(fid_quat_rotate(out.relation.q, out.grip), out.relation.t);
    out.back = fid_quat_rotate(fid_quat_inverse(out.relation.q), way);
    return out;
}

static void lower_spaces(fid_lowering *lowering, int32_t index, int32_t bone) {
    const fid_spaces *spaces = &lowering->rig->constraints.at[index].def.as.spaces;
    fid_program_spaces out = {fid_lowering_channel(lowering, spaces->by), lowering->space_choices.count,
                              spaces->among.count};
    for (int32_t i = 0; i < spaces->among.count; i++) {
        fid_program_space one = lower_space(lowering, &spaces->among.at[i], bone);
        lowering->failed |= !fid_array_push(&lowering->space_choices, one);
    }
    add_op(lowering, bone, FID_BEFORE, FID_OP_SPACES, lowering->spaces.count, index);
    lowering->failed |= !fid_array_push(&lowering->spaces, out);
}

void fid_lower_departure(fid_lowering *lowering, int32_t bone) {
    if (lowering->departure_of[bone] < 0) {
        lowering->departure_of[bone] = lowering->departure_count++;
    }
}

void fid_lower_constraint(fid_lowering *lowering, int32_t index) {
    const fid_constraint_def *def = &lowering->rig->constraints.at[index].def;
    int32_t bone = fid_rig_bone_index(lowering->rig, def->bone);
    switch (def->kind) {
    case FID_CONSTRAINT_FOLLOW:
        lower_follow(lowering, index, bone);
        break;
    case FID_CONSTRAINT_AIM:
        lower_aim(lowering, index, bone);
        break;
    case FID_CONSTRAINT_SPAN:
        lower_span(lowering, index, bone);
        break;
    case FID_CONSTRAINT_IK:
        fid_lower_ik(lowering, index);
        break;
    case FID_CONSTRAINT_LIMIT:
        lower_limit(lowering, index, bone);
        break;
    case FID_CONSTRAINT_SPACES:
        lower_spaces(lowering, index, bone);
        break;
    case FID_CONSTRAINT_SPLINE:
        fid_lower_spline(lowering, index);
        break;
    case FID_CONSTRAINT_TWIST:
        lower_twist(lowering, index, bone);
        break;
    case FID_CONSTRAINT_KINDS:
        break;
    }
}
