#include "solve/reach.h"

#include "solve/context.h"

/// What is beyond these is refused at the door (program/pose.c).
static const float most_translation = 1e4f, least_scale = 1e-3f, most_scale = 1e3f;

/// Differences that are rounding: of the height, degrees, ratio.
static const float least_way = 1e-6f, least_turn = 1e-3f, least_ratio = 1e-5f;

static bool is_free(const fid_program *program, int32_t channel) {
    for (int32_t i = 0; i < program->driven_count; i++) {
        if (program->driven[i].channel == channel) {
            return false;
        }
    }
    return program->animatable[channel];
}

/// A reach under way: the axes of one bone.
typedef struct reaching {
    fid_pose *pose;
    int32_t bone;
    uint32_t axes;
    fid_reached out;
} reaching;

static int32_t channel_of(const reaching *r, int axis) { return r->bone * FID_AXIS_COUNT + axis; }

static bool may_pose(const reaching *r, int axis) {
    return (r->axes >> axis & 1u) != 0 && is_free(r->pose->program, channel_of(r, axis));
}

/// Sets an axis that is free within lo to hi, or notes that it is not. Where nothing differs it is left alone: a pose
/// gathers no dust.
static void set_axis(reaching *r, int axis, float value, float lo, float hi, bool differs) {
    const fid_program *program = r->pose->program;
    int32_t channel = channel_of(r, axis);
    if ((r->axes >> axis & 1u) == 0 || !differs) {
        return;
    }
    if (!may_pose(r, axis)) {
        r->out.locked |= 1u << axis;
        return;
    }
    float kept = fid_clamp(fid_clamp(value, lo, hi), program->channel_min[channel], program->channel_max[channel]);
    r->out.held |= kept != value ? 1u << axis : 0;
    // Within the door and the range nothing is refused.
    fid_code code = fid_pose_set(r->pose, channel, kept, NULL, NULL);
    (void)code;
}

static void reach_translation(reaching *r, fid_vec3 way) {
    const float *now = r->pose->effective + channel_of(r, FID_TRANSLATION_X), height = r->pose->program->height;
    const float wanted[3] = {way.x, way.y, way.z};
    for (int i = 0; i < 3; i++) {
        set_axis(r, FID_TRANSLATION_X + i, wanted[i], -most_translation * height, most_translation * height,
                 fabsf(wanted[i] - now[i]) > least_way * height);
    }
}

static void reach_scale(reaching *r, fid_vec3 scale) {
    const float *now = r->pose->effective + channel_of(r, FID_SCALE_X);
    const float wanted[3] = {scale.x, scale.y, scale.z};
    for (int i = 0; i < 3; i++) {
        set_axis(r, FID_SCALE_X + i, wanted[i], least_scale, most_scale, fabsf(wanted[i] / now[i] - 1) > least_ratio);
    }
}

/// The angle that differs from `angle` by whole turns and lies nearest to `now`.
static float wound(float angle, float now) {
    double turns = floor(((double)now - (double)angle) / 360 + 0.5);
    return (float)((double)angle + 360 * turns);
}

/// Of the angles that mean the same rotation, those that leave the axes that may not be posed most alone, keep to the
/// ranges, and lie nearest to the present ones.
static void choose_angles(const reaching *r, fid_quat turn, const float *now, float out[3]) {
    const fid_program *program = r->pose->program;
    fid_order order = (fid_order)program->bones[r->bone].order;
    fid_vec3 angles = fid_quat_to_euler(turn, order);
    int middle = fid_order_names[order][1] - 'x';
    double least = HUGE_VAL;
    for (int other = 0; other < 2; other++) {
        const float first[3] = {angles.x, angles.y, angles.z};
        float candidate[3];
        double cost = 0;
        for (int i = 0; i < 3; i++) {
            float angle = !other ? first[i] : i == middle ? 180 - first[i] : first[i] + 180;
            int32_t channel = channel_of(r, FID_ROTATION_X + i);
            candidate[i] = wound(angle, now[i]);
            float kept = fid_clamp(candidate[i], program->channel_min[channel], program->channel_max[channel]);
            cost += fabs((double)candidate[i] - (double)now[i]) * (may_pose(r, FID_ROTATION_X + i) ? 1 : 1e6);
            cost += fabs((double)candidate[i] - (double)kept) * 1e3;
        }
        for (int i = 0; i < 3 && cost < least; i++) {
            out[i] = candidate[i];
        }
        least = cost < least ? cost : least;
    }
}

static void reach_rotation(reaching *r, fid_quat turn) {
    static const fid_vec3 axis_vectors[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    const fid_program *program = r->pose->program;
    int free_axes = 0, last = 0;
    for (int i = 0; i < 3; i++) {
        if (may_pose(r, FID_ROTATION_X + i)) {
            free_axes++;
            last = i;
        }
    }
    bool as_angles = (program->bones[r->bone].flags & (FID_EULER | FID_DRIVEN_ROTATION)) != 0;
    if (free_axes == 3 && !as_angles && r->pose->posed[r->bone] & FID_POSED_QUATERNION) {
        fid_code code = fid_pose_set_rotation(r->pose, r->bone, turn, NULL, NULL);
        (void)code;
        return;
    }
    const float *value = r->pose->effective + channel_of(r, FID_ROTATION_X);
    fid_vec3 posed = fid_pose_angles(r->pose, r->bone);
    float now[3] = {posed.x, posed.y, posed.z}, wanted[3];
    for (int i = 0; i < 3 && as_angles; i++) {
        now[i] = value[i];
    }
    choose_angles(r, turn, now, wanted);
    bool differs[3];
    for (int i = 0; i < 3; i++) {
        differs[i] = fabsf(wanted[i] - now[i]) > least_turn;
    }
    // Of turns about one axis alone the nearest is known.
    if (free_axes == 1 && now[(last + 1) % 3] == 0 && now[(last + 2) % 3] == 0) {
        wanted[last] = wound((float)fid_degrees(fid_quat_twist(turn, axis_vectors[last])), now[last]);
        differs[last] = fabsf(wanted[last] - now[last]) > least_turn;
    }
    for (int i = 0; i < 3; i++) {
        set_axis(r, FID_ROTATION_X + i, wanted[i], -1e5f, 1e5f, differs[i]);
    }
}

fid_reached fid_reached_between(fid_frame now, fid_frame wanted) {
    fid_vec3 s = fid_vec3_div(now.s, wanted.s);
    return (fid_reached){.distance = fid_vec3_distance(now.t, wanted.t),
                         .degrees = (float)fid_degrees(fid_frame_axis_error(now.q, wanted.q)),
                         .scale = fid_max(fid_max(fabsf(s.x - 1), fabsf(s.y - 1)), fabsf(s.z - 1))};
}

fid_reached fid_pose_reach(const fid_program *program, fid_pose *pose, int32_t bone, fid_frame frame, uint32_t axes) {
    reaching r = {.pose = pose, .bone = bone, .axes = bone == program->placement ? 0 : axes};
    fid_solve(program, pose);
    fid_frame offered = fid_solve_offered(program, pose, bone);
    fid_frame way = fid_frame_relation(offered, frame);
    reach_translation(&r, way.t);
    reach_rotation(&r, fid_quat_renormalize(way.q));
    reach_scale(&r, way.s);
    fid_solve(program, pose);
    fid_reached off = fid_reached_between(pose->frames[bone], frame);
    fid_frame posed = fid_solve_posed(pose, bone, fid_solve_offered(program, pose, bone));
    fid_reached after = fid_reached_between(pose->frames[bone], posed);
    r.out.moved = bone != program->placement && (after.distance > least_way * program->height ||
                                                 after.degrees > least_turn || after.scale > least_ratio);
    // What is not asked for at all is no concern.
    r.out.distance = axes & FID_MASK_TRANSLATION ? off.distance : 0;
    r.out.degrees = axes & FID_MASK_ROTATION ? off.degrees : 0;
    r.out.scale = axes & FID_MASK_SCALE ? off.scale : 0;
    return r.out;
}
