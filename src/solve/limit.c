#include "solve/context.h"

static float *part(fid_vec3 *v, int axis) { return axis == 0 ? &v->x : axis == 1 ? &v->y : &v->z; }

/// Clamps the axes that have bounds; true where one was outside.
static bool clamp_axes(fid_vec3 *value, const fid_axis_range *range) {
    bool moved = false;
    for (int i = 0; i < 3; i++) {
        float *at = part(value, i), kept = fid_clamp(*at, range->lo[i], range->hi[i]);
        moved |= kept != *at;
        *at = kept;
    }
    return moved;
}

/// Swing about an axis square to the aim axis and twist about it, each brought to its bound.
static bool clamp_swing(fid_quat *q, const fid_program_limit *limit) {
    static const fid_vec3 aim = {0, 0, 1};
    fid_quat swing, twist;
    fid_quat_swing_twist(*q, aim, &swing, &twist);
    double cone = fid_degrees(fid_quat_angle(swing)), turn = fid_degrees(fid_quat_twist(*q, aim));
    double kept = fmin(fmax(turn, (double)limit->twist[0]), (double)limit->twist[1]);
    bool wide = cone > (double)limit->swing;
    if (!wide && kept == turn) {
        return false;
    }
    if (wide) {
        swing = fid_quat_power(swing, (float)((double)limit->swing / cone));
    }
    *q = fid_quat_mul(swing, fid_quat_about(aim, fid_radians(kept)));
    return true;
}

void fid_solve_limit(const fid_program_limit *limit, const fid_frame *offered, fid_order order, fid_frame *frame) {
    fid_frame departure = fid_frame_relation(*offered, *frame);
    // What is inside its bounds stays bit for bit.
    if (limit->channels & FID_MASK_TRANSLATION && clamp_axes(&departure.t, &limit->translation)) {
        frame->t = fid_vec3_add(offered->t, fid_quat_rotate(offered->q, departure.t));
    }
    if (limit->channels & FID_MASK_ROTATION) {
        fid_vec3 angles = fid_quat_to_euler(departure.q, order);
        // Half a turn is +180 wherever rounding left it: outer angles of a middle one beyond 90 lie there.
        for (int i = 0; i < 3; i++) {
            float *angle = part(&angles, i);
            *angle = *angle < -180.0f + 1e-3f ? 180.0f : *angle;
        }
        if (clamp_axes(&angles, &limit->rotation)) {
            frame->q = fid_quat_renormalize(fid_quat_mul(offered->q, fid_quat_from_euler(angles, order)));
        }
    }
    if (limit->swings && clamp_swing(&departure.q, limit)) {
        frame->q = fid_quat_renormalize(fid_quat_mul(offered->q, departure.q));
    }
    if (limit->channels & FID_MASK_SCALE && clamp_axes(&departure.s, &limit->scale)) {
        frame->s = fid_vec3_mul(offered->s, departure.s);
    }
}
