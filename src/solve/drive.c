#include "math/curve.h"
#include "solve/context.h"
#include "solve/trace.h"

static fid_vec3 axis_of(const fid_pose *pose, const fid_program_source *source, fid_vec3 axis) {
    return fid_quat_rotate(fid_source_frame(pose, source).q, axis);
}

static double factor_value(const fid_pose *pose, const fid_program_factor *factor) {
    switch (factor->kind) {
    case FID_FACTOR_CHANNEL:
        return (double)pose->effective[factor->channel];
    case FID_FACTOR_DISTANCE: {
        fid_vec3d a = fid_vec3d_from(fid_source_point(pose, &factor->a));
        return fid_vec3d_length(fid_vec3d_sub(fid_vec3d_from(fid_source_point(pose, &factor->b)), a));
    }
    case FID_FACTOR_ANGLE: {
        // By both sine and cosine: near 0 and 180 degrees the cosine alone loses half of the digits.
        fid_vec3d a = fid_vec3d_from(axis_of(pose, &factor->a, factor->axis_a));
        fid_vec3d b = fid_vec3d_from(axis_of(pose, &factor->b, factor->axis_b));
        return fid_degrees(fid_atan2(fid_vec3d_length(fid_vec3d_cross(a, b)), fid_vec3d_dot(a, b)));
    }
    case FID_FACTOR_TWIST: {
        const fid_frame *departure = &pose->departures[pose->program->bones[factor->a.a].departure];
        return fid_degrees(fid_quat_twist(departure->q, (fid_vec3){0, 0, 1}));
    }
    }
    return 0;
}

/// Largest size of a product on the way: it fits single precision, and so does what the next factor makes of it.
static const double most_product = 1e30;

static float drive_value(const fid_program *program, const fid_pose *pose, const fid_program_drive *drive) {
    double product = factor_value(pose, &program->factors[drive->factor_first]);
    for (int32_t i = 1; i < drive->factor_count; i++) {
        product *= factor_value(pose, &program->factors[drive->factor_first + i]);
        product = fmin(fmax(product, -most_product), most_product);
    }
    float value = (float)product;
    if (drive->power > 0) {
        value = drive->sign * fid_curve_power(drive->power, value);
    } else if (drive->curve_count > 0) {
        const float *slopes = drive->smooth ? program->curve_slope + drive->curve_first : NULL;
        value = fid_curve_at(drive->curve_count, program->curve_x + drive->curve_first,
                             program->curve_y + drive->curve_first, slopes, value);
    }
    return value * fid_input_value(pose, &drive->gain);
}

/// Largest size of any channel: products of drives stay finite.
static const float most_value = 1e7f;

/// What a drive makes of the value of its channel.
static float drive_from(const fid_program *program, const fid_pose *pose, const fid_program_drive *drive, float value) {
    float by = drive_value(program, pose, drive);
    value = drive->combine == FID_REPLACE ? by : drive->combine == FID_ADD ? value + by : value * by;
    return fid_clamp(value, -most_value, most_value);
}

void fid_solve_driven(const fid_program *program, fid_pose *pose, const fid_driven *driven) {
    float value = pose->value[driven->channel];
    for (int32_t i = 0; i < driven->count; i++) {
        value = drive_from(program, pose, &program->drives[driven->first + i], value);
    }
    value = fid_clamp(value, program->channel_min[driven->channel], program->channel_max[driven->channel]);
    if (driven->channel < program->bone_count * FID_AXIS_COUNT && driven->channel % FID_AXIS_COUNT >= FID_SCALE_X) {
        value = fid_clamp(value, 1e-3f, 1e3f);
    }
    pose->effective[driven->channel] = value + 0.0f;
}

int32_t fid_solve_trace_drives(const fid_program *program, const fid_pose *pose, int32_t channel, float *after,
                               int32_t size) {
    for (int32_t i = 0; i < program->driven_count; i++) {
        const fid_driven *driven = &program->driven[i];
        float value = pose->value[channel];
        for (int32_t j = 0; driven->channel == channel && j < driven->count && j < size; j++) {
            value = drive_from(program, pose, &program->drives[driven->first + j], value);
            after[j] = value;
        }
        if (driven->channel == channel) {
            return driven->count;
        }
    }
    return 0;
}
