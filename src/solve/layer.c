#include "math/curve.h"
#include "solve/context.h"

/// The translation between two keys, linear or by the cubic of their slopes.
static fid_vec3 between(const fid_layer_key *a, const fid_layer_key *b, float t, bool smooth) {
    if (!smooth) {
        return fid_vec3_lerp(a->delta.t, b->delta.t, t);
    }
    const float from[3] = {a->delta.t.x, a->delta.t.y, a->delta.t.z},
                to[3] = {b->delta.t.x, b->delta.t.y, b->delta.t.z};
    const float first[3] = {a->slope.x, a->slope.y, a->slope.z}, last[3] = {b->slope.x, b->slope.y, b->slope.z};
    const float x[2] = {a->at, b->at};
    float out[3];
    for (int i = 0; i < 3; i++) {
        const float y[2] = {from[i], to[i]}, slopes[2] = {first[i], last[i]};
        out[i] = fid_curve_at(2, x, y, slopes, a->at + t * (b->at - a->at));
    }
    return (fid_vec3){out[0], out[1], out[2]};
}

void fid_solve_layer(const fid_pose *pose, const fid_program_layer *layer, fid_frame *frame) {
    const fid_layer_key *keys = pose->program->layer_keys + layer->first;
    float at = pose->effective[layer->by];
    // At 0 the layer is exactly the identity.
    if (at == 0) {
        return;
    }
    int32_t next = 0;
    while (next < layer->count && keys[next].at < at) {
        next++;
    }
    fid_frame delta;
    if (next == 0 || next == layer->count) {
        delta = keys[next == 0 ? 0 : layer->count - 1].delta;
    } else {
        const fid_layer_key *a = &keys[next - 1], *b = &keys[next];
        float t = (at - a->at) / (b->at - a->at);
        delta.t = between(a, b, t, layer->smooth);
        delta.q = fid_quat_slerp(a->delta.q, b->delta.q, t);
        delta.s = fid_scale_mix(a->delta.s, b->delta.s, t);
    }
    *frame = fid_frame_compose(*frame, delta);
    frame->q = fid_quat_renormalize(frame->q);
}
