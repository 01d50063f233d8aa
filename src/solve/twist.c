#include "solve/context.h"

void fid_solve_twist(const fid_pose *pose, const fid_program_twist *twist, fid_frame *frame) {
    double weight = (double)fid_input_value(pose, &twist->weight), gain = (double)fid_input_value(pose, &twist->gain);
    const fid_frame *departure = &pose->departures[pose->program->bones[twist->source].departure];
    double angle = fid_degrees(fid_quat_twist(departure->q, (fid_vec3){0, 0, 1})), center = (double)twist->center;
    // Read within half a turn of the center: there is where the way round changes.
    angle += angle > center + 180 ? -360 : angle <= center - 180 ? 360 : 0;
    if (weight <= 0 || angle == 0) {
        return;
    }
    fid_quat turn = fid_quat_about((fid_vec3){0, 0, 1}, fid_radians(angle * gain * weight));
    frame->q = fid_quat_renormalize(fid_quat_mul(frame->q, turn));
}
