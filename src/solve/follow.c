#include "solve/context.h"

/// Takes only the axes of `channels` of the way from the frame to `to` (measured in the frame, angles in the bone's
/// order) over.
static void keep_axes(const fid_frame *to, uint32_t channels, fid_order order, fid_frame *frame) {
    const fid_quat was = frame->q;
    if ((channels & FID_MASK_TRANSLATION) == FID_MASK_TRANSLATION) {
        frame->t = to->t;
    } else if (channels & FID_MASK_TRANSLATION) {
        fid_vec3 way = fid_quat_rotate(fid_quat_inverse(was), fid_vec3_sub(to->t, frame->t));
        way = (fid_vec3){channels & 1u << FID_TRANSLATION_X ? way.x : 0, channels & 1u << FID_TRANSLATION_Y ? way.y : 0,
                         channels & 1u << FID_TRANSLATION_Z ? way.z : 0};
        frame->t = fid_vec3_add(frame->t, fid_quat_rotate(was, way));
    }
    if ((channels & FID_MASK_ROTATION) == FID_MASK_ROTATION) {
        frame->q = to->q;
    } else if (channels & FID_MASK_ROTATION) {
        fid_vec3 angles = fid_quat_to_euler(fid_quat_mul(fid_quat_inverse(was), to->q), order);
        angles =
            (fid_vec3){channels & 1u << FID_ROTATION_X ? angles.x : 0, channels & 1u << FID_ROTATION_Y ? angles.y : 0,
                       channels & 1u << FID_ROTATION_Z ? angles.z : 0};
        frame->q = fid_quat_renormalize(fid_quat_mul(was, fid_quat_from_euler(angles, order)));
    }
    if (channels & FID_MASK_SCALE) {
        frame->s = (fid_vec3){channels & 1u << FID_SCALE_X ? to->s.x : frame->s.x,
                              channels & 1u << FID_SCALE_Y ? to->s.y : frame->s.y,
                              channels & 1u << FID_SCALE_Z ? to->s.z : frame->s.z};
    }
}

static fid_wish wish_of(const fid_pose *pose, const fid_follow_source *one, const fid_frame *frame) {
    fid_frame source = fid_source_frame(pose, &one->source);
    fid_wish out;
    out.from = fid_vec3_add(frame->t, fid_quat_rotate(frame->q, one->back));
    out.desired.s = source.s;
    if (one->source.kind == FID_SOURCE_BETWEEN) {
        out.turn = FID_QUAT_IDENTITY;
        out.to = source.t;
        out.desired.q = frame->q;
        out.desired.t = fid_vec3_add(frame->t, fid_vec3_sub(out.to, out.from));
        return out;
    }
    out.desired.q = fid_quat_renormalize(fid_quat_mul(source.q, one->relation.q));
    out.desired.t = fid_frame_point(source, one->relation.t);
    out.turn = fid_quat_renormalize(fid_quat_mul(out.desired.q, fid_quat_inverse(frame->q)));
    out.to = fid_vec3_sub(out.desired.t, fid_quat_rotate(out.turn, fid_vec3_sub(frame->t, out.from)));
    return out;
}

/// Own space: what the sources depart by, each in its own axes, is added in the follower's own.
static fid_frame follow_own(const fid_pose *pose, const fid_program_follow *follow, float weight,
                            const fid_frame *frame) {
    const fid_follow_source *sources = pose->program->follow_sources + follow->first;
    float gain = fid_input_value(pose, &follow->gain);
    fid_vec3 shift = {0, 0, 0}, turn = {0, 0, 0};
    double log_scale[3] = {0, 0, 0};
    for (int32_t i = 0; i < follow->count; i++) {
        int32_t listened = pose->program->bones[sources[i].source.a].departure;
        const fid_frame *departure = &pose->departures[listened];
        float much = weight * gain * fid_input_value(pose, &sources[i].share);
        const float s[3] = {departure->s.x, departure->s.y, departure->s.z};
        shift = fid_vec3_add(shift, fid_vec3_scale(departure->t, much));
        turn = fid_vec3_add(turn, fid_vec3_scale(pose->departure_turns[listened], much));
        for (int j = 0; j < 3 && follow->channels & FID_MASK_SCALE; j++) {
            log_scale[j] += (double)much * fid_log((double)s[j]);
        }
    }
    fid_frame to = *frame;
    if (follow->channels & FID_MASK_TRANSLATION) {
        to.t = fid_vec3_add(frame->t, fid_quat_rotate(frame->q, shift));
    }
    if (follow->channels & FID_MASK_ROTATION) {
        to.q = fid_quat_renormalize(fid_quat_mul(frame->q, fid_quat_exp(turn)));
    }
    if (follow->channels & FID_MASK_SCALE) {
        to.s = fid_vec3_mul(frame->s, (fid_vec3){(float)fid_exp(log_scale[0]), (float)fid_exp(log_scale[1]),
                                                 (float)fid_exp(log_scale[2])});
    }
    return to;
}

void fid_solve_follow(const fid_pose *pose, const fid_program_follow *follow, fid_order order, fid_frame *frame) {
    const fid_follow_source *sources = pose->program->follow_sources + follow->first;
    float weight = fid_input_value(pose, &follow->weight);
    if (weight <= 0) {
        return;
    }
    if (follow->own) {
        fid_frame to = follow_own(pose, follow, weight, frame);
        keep_axes(&to, follow->channels, order, frame);
        return;
    }
    if (follow->count == 1) {
        float share = weight * fid_input_value(pose, &sources[0].share);
        if (share <= 0) {
            return;
        }
        fid_wish one = wish_of(pose, &sources[0], frame);
        if (share >= 1) {
            keep_axes(&one.desired, follow->channels, order, frame);
            return;
        }
        fid_vec3 from = follow->straight ? frame->t : one.from, aim = follow->straight ? one.desired.t : one.to;
        fid_vec3 shift = fid_vec3_scale(fid_vec3_sub(aim, from), share);
        fid_frame to = fid_turn_about(frame, from, shift, fid_quat_power(one.turn, share));
        to.s = fid_scale_mix(frame->s, one.desired.s, share);
        keep_axes(&to, follow->channels, order, frame);
        return;
    }
    fid_blend blend = {.straight = follow->straight};
    for (int32_t i = 0; i < follow->count; i++) {
        float share = fid_input_value(pose, &sources[i].share);
        if (share > 0) {
            fid_wish one = wish_of(pose, &sources[i], frame);
            fid_blend_add(&blend, frame, &one, share, (follow->channels & FID_MASK_SCALE) != 0);
        }
    }
    if (blend.total > 0) {
        fid_frame to = fid_blend_apply(&blend, frame, weight);
        keep_axes(&to, follow->channels, order, frame);
    }
}
