#include "solve/context.h"

/// The shortest turn of a bone that stands as `q` from its direction to `way`, which is `distance` long. Opposed as
/// nearly as positions are kept, rounding would choose the axis: there it is half a turn about the bone's up axis,
/// about across where up is what aims, and then what is left.
static fid_quat turn_to(const fid_pose *pose, fid_quat q, fid_vec3 direction, fid_vec3 way, float distance) {
    fid_vec3 now = fid_quat_rotate(q, direction);
    if (fid_vec3_dot(now, way) > -0.5f * distance) {
        return fid_quat_arc(now, way, (fid_vec3){0, 0, 0});
    }
    fid_vec3 spare = direction.y * direction.y > 0.999f ? fid_quat_x(q) : fid_quat_y(q);
    float opposed = fid_clamp(1e-5f * pose->program->height / distance, 1e-5f, 0.1f);
    if (fid_vec3_length(fid_vec3_add(now, fid_vec3_scale(way, 1.0f / distance))) > opposed) {
        return fid_quat_arc(now, way, spare);
    }
    fid_vec3 back = fid_vec3_scale(now, -1.0f);
    return fid_quat_renormalize(fid_quat_mul(fid_quat_arc(back, way, spare), fid_quat_arc(now, back, spare)));
}

void fid_solve_aim(const fid_pose *pose, const fid_program_aim *aim, fid_frame *frame) {
    float weight = fid_input_value(pose, &aim->weight);
    fid_vec3 way = fid_vec3_sub(fid_source_point(pose, &aim->source), frame->t);
    float distance = fid_vec3_length(way);
    if (weight <= 0 || distance < 1e-6f * pose->program->height) {
        return;
    }
    fid_quat aimed;
    if (aim->has_up) {
        fid_vec3 up = aim->up_bone >= 0 ? fid_vec3_sub(pose->frames[aim->up_bone].t, frame->t) : aim->up_vector;
        if (fid_vec3_length(up) > 0 && fid_frame_aim(way, FID_HINT_UP, up, &aimed)) {
            aimed = fid_quat_renormalize(fid_quat_mul(aimed, aim->relation));
            frame->q = weight >= 1 ? aimed : fid_quat_slerp(frame->q, aimed, weight);
            return;
        }
    }
    fid_quat arc = turn_to(pose, frame->q, aim->direction, way, distance);
    arc = weight >= 1 ? arc : fid_quat_power(arc, weight);
    frame->q = fid_quat_renormalize(fid_quat_mul(arc, frame->q));
}

void fid_solve_span(const fid_pose *pose, const fid_program_span *span, fid_frame *frame) {
    float weight = fid_input_value(pose, &span->weight);
    fid_vec3 way = fid_vec3_sub(fid_source_point(pose, &span->source), frame->t);
    float distance = fid_vec3_length(way);
    if (weight <= 0 || distance < 1e-6f * pose->program->height) {
        return;
    }
    fid_quat arc = turn_to(pose, frame->q, span->direction, way, distance);
    arc = weight >= 1 ? arc : fid_quat_power(arc, weight);
    frame->q = fid_quat_renormalize(fid_quat_mul(arc, frame->q));
    float taken = fid_is_unit_scale(frame->s) ? 1 : fid_vec3_length(fid_vec3_mul(frame->s, span->direction));
    float ratio = fid_clamp(distance / (span->distance * taken), span->shortest, span->longest);
    if (weight < 1) {
        ratio = (float)fid_pow((double)ratio, (double)weight);
    }
    float keep = fid_input_value(pose, &span->keep_volume);
    // The exponent of every day, without a logarithm.
    float thin = keep == 1 ? (float)(1.0 / sqrt((double)ratio)) : (float)fid_pow((double)ratio, -0.5 * (double)keep);
    frame->s = fid_vec3_mul(frame->s, (fid_vec3){thin, thin, ratio});
}
