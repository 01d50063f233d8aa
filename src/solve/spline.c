#include "math/spline.h"
#include "solve/context.h"

/// The frame of an end control as the curve sees it: the direction that lay along the curve at rest, and up.
typedef struct end_view {
    fid_vec3d tangent, up;
} end_view;

static end_view view_from(fid_frame control, fid_vec3d tangent, fid_vec3d up) {
    fid_quatd q = fid_quatd_from(control.q);
    tangent = fid_quatd_rotate(q, tangent);
    up = fid_quatd_rotate(q, up);
    return (end_view){fid_vec3d_normalize(tangent, tangent), fid_vec3d_normalize(up, up)};
}

/// Up of an end control, laid square to the curve by the shortest turn.
static fid_vec3d lay_up(const end_view *view, fid_vec3d tangent) {
    fid_vec3d up = fid_quatd_rotate(fid_quatd_arc(view->tangent, tangent, view->up), view->up);
    return fid_vec3d_normalize(fid_vec3d_off(up, tangent), up);
}

/// Lays the curve through the present controls, relative to `origin`, with its frames; gives the angle that the last
/// control adds at its end, radians.
static double lay_curve(const fid_pose *pose, const fid_program_spline *spline, fid_vec3d origin, fid_spline *curve) {
    const fid_spline_control *controls = pose->program->spline_controls + spline->first_control;
    curve->count = spline->control_count;
    for (int32_t i = 0; i < curve->count; i++) {
        curve->point[i] = fid_vec3d_sub(fid_vec3d_from(pose->frames[controls[i].bone].t), origin);
        curve->width[i] = controls[i].width;
    }
    fid_frame first = pose->frames[controls[0].bone], final = pose->frames[controls[curve->count - 1].bone];
    end_view start = view_from(first, spline->tangent[0], spline->up[0]);
    end_view end = view_from(final, spline->tangent[1], spline->up[1]);
    fid_spline_slopes(curve->count, curve->point, curve->width, curve->slope);
    fid_spline_measure(curve, start.tangent);
    fid_spline_carry(curve, lay_up(&start, curve->tangent[0]));
    int32_t last = fid_spline_last(curve);
    fid_vec3d tangent = curve->tangent[last];
    double twist = fid_vec3d_turn(curve->up[last], lay_up(&end, tangent), tangent) - spline->twist;
    return twist > FID_PI ? twist - 2 * FID_PI : twist <= -FID_PI ? twist + 2 * FID_PI : twist;
}

/// Where the joints come to lie: their own lengths walked along the curve, their shares of it, or between.
static void place_joints(const fid_pose *pose, const fid_program_spline *spline, const fid_spline *curve, double size,
                         double twist, fid_spline_place *out) {
    const fid_spline_joint *joints = pose->program->spline_joints + spline->first_joint;
    double fill = (double)fid_input_value(pose, &spline->fill), length = fid_spline_length(curve);
    double share = length / spline->length;
    fid_spline_spot walked = {0};
    for (int32_t i = 0; i < spline->joint_count; i++) {
        fid_spline_spot spot;
        if (fill < 1) {
            walked = i > 0 ? fid_spline_walk(curve, walked, joints[i].chord * size)
                           : fid_spline_locate(curve, joints[i].arc * size);
        }
        if (fill > 0) {
            double full = joints[i].arc * share;
            spot = fid_spline_locate(curve, fill < 1 ? walked.arc + fill * (full - walked.arc) : full);
        } else {
            spot = walked;
        }
        out[i] = fid_spline_at(curve, spot);
        double along = spot.arc <= 0 ? 0 : spot.arc < length ? spot.arc / length : 1;
        out[i].up = fid_quatd_rotate(fid_quatd_about(out[i].tangent, twist * along), out[i].up);
    }
}

/// Frames K of all bones of the chain at full weight, rigid.
static void solve_frames(const fid_pose *pose, const fid_program_spline *spline, fid_frame first, fid_frame *out) {
    const fid_spline_joint *joints = pose->program->spline_joints + spline->first_joint;
    int32_t count = pose->program->chains[spline->chain].count;
    fid_vec3d origin = fid_vec3d_from(pose->frames[pose->program->spline_controls[spline->first_control].bone].t);
    fid_spline curve;
    fid_spline_place place[FID_BEND_SEGMENTS + 1];
    fid_quatd turn[FID_BEND_SEGMENTS + 1];
    double size = fid_mean_scale(first.s);
    double twist = lay_curve(pose, spline, origin, &curve) * (double)fid_input_value(pose, &spline->end_twist);
    place_joints(pose, spline, &curve, size, twist, place);
    for (int32_t i = 0; i < spline->joint_count; i++) {
        turn[i] = fid_spline_turn(&place[i]);
        fid_vec3d offset = fid_quatd_rotate(turn[i], fid_vec3d_scale(joints[i].offset, size));
        place[i].point = fid_vec3d_add(place[i].point, offset);
    }
    for (int32_t i = 0; i < count; i++) {
        fid_vec3d aim = place[i].tangent;
        if (i + 1 < spline->joint_count) {
            aim = fid_vec3d_normalize(fid_vec3d_sub(place[i + 1].point, place[i].point), aim);
        }
        fid_quatd q = fid_quatd_mul(fid_quatd_arc(place[i].tangent, aim, place[i].up), turn[i]);
        out[i].t = fid_vec3d_round(fid_vec3d_add(origin, place[i].point));
        out[i].q = fid_quat_renormalize(fid_quatd_round(fid_quatd_mul(q, joints[i].rest)));
        out[i].s = (fid_vec3){1, 1, 1};
    }
}

void fid_solve_spline(fid_pose *pose, const fid_program_spline *spline, fid_frame *frame) {
    const fid_program_chain *chain = &pose->program->chains[spline->chain];
    if (fid_input_value(pose, &chain->weight) <= 0) {
        return;
    }
    solve_frames(pose, spline, *frame, pose->chain + chain->first);
    fid_solve_laid(pose, chain, frame);
}
