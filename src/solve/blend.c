#include "solve/context.h"

fid_frame fid_turn_about(const fid_frame *frame, fid_vec3 center, fid_vec3 shift, fid_quat turn) {
    fid_frame out;
    out.t = fid_vec3_add(fid_vec3_add(center, shift), fid_quat_rotate(turn, fid_vec3_sub(frame->t, center)));
    out.q = fid_quat_renormalize(fid_quat_mul(turn, frame->q));
    out.s = frame->s;
    return out;
}

void fid_blend_add(fid_blend *blend, const fid_frame *frame, const fid_wish *wish, float share, bool scales) {
    fid_vec3 way = blend->straight ? fid_vec3_sub(wish->desired.t, frame->t) : fid_vec3_sub(wish->to, wish->from);
    blend->turn = fid_vec3_add(blend->turn, fid_vec3_scale(fid_quat_log(wish->turn), share));
    blend->shift = fid_vec3_add(blend->shift, fid_vec3_scale(way, share));
    blend->center = fid_vec3_add(blend->center, fid_vec3_scale(wish->from, share));
    if (scales) {
        const float now[3] = {wish->desired.s.x, wish->desired.s.y, wish->desired.s.z};
        const float old[3] = {frame->s.x, frame->s.y, frame->s.z};
        for (int i = 0; i < 3; i++) {
            blend->log_scale[i] += (double)share * fid_log((double)now[i] / (double)old[i]);
        }
    }
    blend->total += share;
}

fid_frame fid_blend_apply(const fid_blend *blend, const fid_frame *frame, float weight) {
    if (blend->total <= 0) {
        return *frame;
    }
    fid_vec3 center = blend->straight ? frame->t : fid_vec3_scale(blend->center, 1.0f / blend->total);
    fid_quat turn = fid_quat_exp(fid_vec3_scale(blend->turn, weight));
    fid_frame out = fid_turn_about(frame, center, fid_vec3_scale(blend->shift, weight), turn);
    const double *scale = blend->log_scale;
    if (scale[0] == 0 && scale[1] == 0 && scale[2] == 0) {
        return out;
    }
    out.s = fid_vec3_mul(frame->s, (fid_vec3){(float)fid_exp((double)weight * scale[0]),
                                              (float)fid_exp((double)weight * scale[1]),
                                              (float)fid_exp((double)weight * scale[2])});
    return out;
}
