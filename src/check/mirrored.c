#include "check/rules.h"
#include "math/scalar.h"
#include "rig/mirror.h"
#include "solve/solve.h"

/// How far bones may be from the images of their counterparts: what the rule allows, and what they differ by at rest.
typedef struct allowance {
    float distance;
    double degrees;
} allowance;

/// Whether a bone rests as the image of its counterpart (of itself, in the center), as near as S207 asks; what it
/// differs by is allowed for.
static bool rests_mirrored(const fid_rig *rig, int32_t bone, int32_t other, allowance *worst) {
    fid_frame image = fid_frame_mirror(rig->bones.at[other].rest);
    const fid_thresholds *limits = &rig->thresholds;
    float distance = fid_vec3_distance(rig->bones.at[bone].rest.t, image.t);
    double degrees = fid_degrees(fid_frame_axis_error(rig->bones.at[bone].rest.q, image.q));
    if (distance > limits->s207_distance * rig->height || degrees > (double)limits->s207_angle) {
        return false;
    }
    worst->distance = fid_max(worst->distance, distance);
    worst->degrees = fmax(worst->degrees, degrees);
    return true;
}

/// Poses the controls moderately: far from where a turn changes its way round, which happens on one side first.
static void pose_moderately(const fid_check *check, fid_pose *pose, const int32_t *other, const bool *sways,
                            int32_t number) {
    const fid_program *program = check->program;
    int32_t first = program->bone_count * FID_AXIS_COUNT;
    fid_pose_reset(pose);
    for (int32_t i = 0; i < program->channel_count; i++) {
        int32_t bone = i / FID_AXIS_COUNT, group = i % FID_AXIS_COUNT / 3;
        bool is_bone = i < program->bone_count * FID_AXIS_COUNT;
        if (!program->animatable[i] || (is_bone && (other[bone] < 0 || bone == program->placement))) {
            continue;
        }
        double wave = fid_sin(1.7 * number + 0.9 * i), low = program->channel_min[i], high = program->channel_max[i];
        bool is_slider = !is_bone && i - first < check->rig->sliders.count;
        const fid_words *choices = is_slider ? &check->rig->sliders.at[i - first].def.choices : NULL;
        if (is_slider && sways[i - first]) {
            continue;
        }
        double value = group == 0 ? 0.03 * wave * (double)program->height : group == 1 ? 20 * wave : 1 + 0.1 * wave;
        if (choices && choices->count > 0) {
            // Every choice in turn, and those of several sliders together in changing ways.
            value = (number + i * (1 + number / choices->count)) % choices->count;
        } else if (!is_bone) {
            // A slider takes up to a third of the way to its ends.
            double rest = program->channel_rest[i];
            value = rest + (wave > 0 ? wave * fmin(high - rest, 1e3) : -wave * fmax(low - rest, -1e3)) / 3;
        }
        // Inside the range nothing is refused.
        fid_code code = fid_pose_set(pose, i, (float)value, NULL, NULL);
        (void)code;
    }
}

/// How far a bone is from the image of its counterpart.
typedef struct gap {
    float distance;
    double degrees;
    float scale;
} gap;

static gap measure(fid_frame here, fid_frame there) {
    fid_frame image = fid_frame_mirror(there);
    fid_vec3 s = fid_vec3_div(here.s, image.s);
    return (gap){fid_vec3_distance(here.t, image.t), fid_degrees(fid_frame_axis_error(here.q, image.q)),
                 fid_max(fid_max(fabsf(s.x - 1), fabsf(s.y - 1)), fabsf(s.z - 1))};
}

static gap find_most(const fid_rig *rig, const allowance *rest) {
    return (gap){rig->thresholds.p410_distance * rig->height + 2 * rest->distance,
                 (double)rig->thresholds.p410_angle + 2 * rest->degrees, rig->thresholds.p410_scale};
}

static bool is_within(gap off, gap most) {
    return off.distance <= most.distance && off.degrees <= most.degrees && off.scale <= most.scale;
}

static void compare(fid_check *check, const fid_pose *here, const fid_pose *there, const int32_t *other,
                    const allowance *rest, bool *told) {
    const fid_rig *rig = check->rig;
    gap most = find_most(rig, rest);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (other[i] < 0 || told[i]) {
            continue;
        }
        gap off = measure(here->frames[i], there->frames[other[i]]);
        if (!is_within(off, most)) {
            // What hangs from it differs, too: it is told once for each bone that goes its own way.
            int32_t parent = rig->bones.at[i].parent;
            told[i] = told[other[i]] = true;
            if (parent >= 0 && told[parent]) {
                continue;
            }
            bool apart = !(off.distance <= most.distance), turned = !(off.degrees <= most.degrees);
            fid_check_detail detail = {.severity = FID_WARNING, .has_value = true, .pose = here};
            detail.value = apart ? off.distance : turned ? (float)off.degrees : off.scale;
            detail.threshold = apart ? most.distance : turned ? (float)most.degrees : most.scale;
            fid_check_add_detail(check, "P410", rig->bones.at[i].name, rig->bones.at[i].def.origin, &detail,
                                 "in the mirrored pose bone '%s' is not the image of '%s': %.3g m, %.3g degrees and "
                                 "%.3g %% of scale off",
                                 rig->bones.at[other[i]].name, rig->bones.at[i].name, (double)off.distance, off.degrees,
                                 100 * (double)off.scale);
        }
    }
}

/// Whether the rig at one value of a slider is the image of itself at another.
static bool is_image(fid_check *check, fid_pose *here, fid_pose *there, const int32_t *other, gap most, int32_t channel,
                     float value, float image) {
    fid_pose_reset(here);
    fid_pose_reset(there);
    bool clamped = false, is_set = fid_pose_set(here, channel, value, NULL, NULL) == FID_OK &&
                                   fid_pose_set(there, channel, image, &clamped, NULL) == FID_OK && !clamped;
    fid_solve(check->program, here);
    fid_solve(check->program, there);
    for (int32_t i = 0; i < check->rig->bones.count && is_set; i++) {
        is_set = other[i] < 0 || is_within(measure(here->frames[i], there->frames[other[i]]), most);
    }
    return is_set;
}

/// Whether a slider in the center sways: it is no image of itself, as a mirrored pose has it, but of as much to the
/// other side.
static bool does_sway(fid_check *check, fid_pose *here, fid_pose *there, const int32_t *other, gap most,
                      int32_t slider) {
    const fid_program *program = check->program;
    const fid_slider_def *def = &check->rig->sliders.at[slider].def;
    int32_t channel = program->bone_count * FID_AXIS_COUNT + slider;
    if (def->choices.count > 0 || !program->animatable[channel] ||
        check->rig->bones.at[def->on.handle.slot].def.side != FID_CENTER) {
        return false;
    }
    float rest = program->channel_rest[channel];
    float step = fid_min(program->channel_max[channel] - rest, 1e3f) / 3;
    return !is_image(check, here, there, other, most, channel, rest + step, rest + step) &&
           is_image(check, here, there, other, most, channel, rest + step, rest - step) &&
           is_image(check, here, there, other, most, channel, rest - step, rest + step);
}

void fid_check_mirrored(fid_check *check) {
    const fid_rig *rig = check->rig;
    fid_pose *here = NULL, *there = NULL;
    fid_error err;
    bool sided = false;
    allowance rest = {0, 0};
    int32_t *other = fid_memory_get(((size_t)rig->bones.count + 1) * sizeof *other);
    bool *told = fid_memory_get_zero((size_t)rig->bones.count + 1, sizeof *told);
    bool *sways = fid_memory_get_zero((size_t)rig->sliders.count + 1, sizeof *sways);
    check->failed |= !other || !told || !sways;
    for (int32_t i = 0; i < rig->bones.count && !check->failed; i++) {
        other[i] = (int32_t)fid_mirror_bone(rig, fid_rig_bone_at(rig, i)).handle.slot;
        bool lonely = rig->bones.at[i].def.side != FID_CENTER && other[i] == i;
        sided |= rig->bones.at[i].def.side != FID_CENTER && !lonely;
        other[i] = lonely || !rests_mirrored(rig, i, other[i], &rest) ? -1 : other[i];
    }
    if (!check->failed && sided) {
        check->failed |=
            fid_pose_new(check->program, &here, &err) != FID_OK || fid_pose_new(check->program, &there, &err) != FID_OK;
        gap most = find_most(rig, &rest);
        for (int32_t i = 0; i < rig->sliders.count && !check->failed; i++) {
            sways[i] = does_sway(check, here, there, other, most, i);
        }
        int32_t poses = check->options->poses < 20 ? check->options->poses : 20;
        for (int32_t number = 0; number < poses && !check->failed; number++) {
            pose_moderately(check, here, other, sways, number);
            (void)fid_pose_mirror(rig, here, there);
            fid_solve(check->program, here);
            fid_solve(check->program, there);
            compare(check, here, there, other, &rest, told);
            fid_check_tried(check, number + 1);
        }
    }
    fid_pose_free(here);
    fid_pose_free(there);
    fid_memory_free(other);
    fid_memory_free(told);
    fid_memory_free(sways);
}
