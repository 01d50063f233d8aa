#include "check/reached.h"
#include "check/rules.h"
#include "solve/keep.h"

#include <string.h>

enum { SWITCH_POSES = 100 };

/// A pose that switches are tried in, and its frames before.
typedef struct trying {
    fid_check *check;
    fid_pose *pose;
    fid_pose *shown; ///< what is told of a match: the pose before it
    fid_frame *before;
    int32_t slider; ///< of the rig
    int32_t bone;   ///< the worst of those that it switches, or -1
    fid_reached worst;
} trying;

/// What cannot be posed at all, as a pole is not turned, is no concern of the one who switches.
static fid_reached posable(const fid_program *program, int32_t bone, fid_reached reached) {
    const bool *animatable = program->animatable + (size_t)bone * FID_AXIS_COUNT;
    bool free_group[3] = {false, false, false};
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        free_group[i / 3] |= animatable[i];
    }
    reached.distance = free_group[0] ? reached.distance : 0;
    reached.degrees = free_group[1] ? reached.degrees : 0;
    reached.scale = free_group[2] ? reached.scale : 0;
    return reached;
}

static void note(void *user, int32_t bone, const fid_reached *reached) {
    trying *to = user;
    fid_reached of = posable(to->check->program, bone, *reached);
    to->worst.locked |= fid_reached_is_off(to->check->rig, reached) ? reached->locked : 0;
    if (to->bone < 0 && fid_reached_is_off(to->check->rig, &of)) {
        to->bone = bone;
        to->worst = of;
    }
}

/// The value that a pose of that number switches to: of the choices one after the other; a share all or nothing.
static float next_value(const fid_slider_def *slider, float now, int32_t number) {
    if (slider->choices.count < 2) {
        return now < 0.5f ? slider->max : slider->min;
    }
    int32_t others = slider->choices.count - 1;
    return (float)(((int32_t)now + 1 + number % others) % slider->choices.count);
}

/// Tells of a jump, with the pose that was switched.
static void tell(trying *to, float value, int32_t origin, const fid_pose *shown) {
    fid_check *check = to->check;
    const fid_thresholds *limits = &check->rig->thresholds;
    const fid_slider_def *slider = &check->rig->sliders.at[to->slider].def;
    const char *on = check->rig->bones.at[fid_rig_bone_index(check->rig, slider->on)].name;
    bool far = !(to->worst.distance <= limits->p411_distance * check->rig->height);
    bool explained = to->worst.locked != 0 || to->worst.held != 0 || to->worst.moved;
    fid_check_detail detail = {.severity = explained ? FID_WARNING : FID_ERROR,
                               .has_value = true,
                               .value = far ? to->worst.distance : to->worst.degrees,
                               .threshold = far ? limits->p411_distance * check->rig->height : limits->p411_angle,
                               .pose = shown};
    fid_text text = {0};
    fid_text_addf(&text, "switching '%s.%s' to ", on, slider->name);
    if (slider->choices.count > 0) {
        fid_text_addf(&text, "'%s'", slider->choices.at[(int32_t)value]);
    } else {
        fid_text_addf(&text, "%g", (double)value);
    }
    fid_text_add(&text, ": ");
    fid_reached_add(check->rig, to->bone, &to->worst, &text);
    check->failed |= text.failed;
    if (!check->failed) {
        fid_check_add_detail(check, "P411", check->rig->bones.at[to->bone].name, origin, &detail, "%s", text.at);
    }
    fid_text_clear(&text);
}

/// Sets the slider and makes up for it; false where it may not be set, or switches nothing.
static bool do_switch(trying *to, float value, fid_keep_visit visit) {
    const fid_program *program = to->check->program;
    int32_t channel = program->bone_count * FID_AXIS_COUNT + to->slider;
    to->bone = -1;
    return fid_pose_switch(program, to->pose, channel, value, to->before, visit, to, NULL) == FID_OK;
}

/// Whether a match poses a bone. One that cannot be posed jumps, though it is named.
static bool is_set(const fid_program *program, const fid_program_match *match, int32_t bone) {
    bool named = false, free = false;
    for (int32_t i = 0; i < match->count; i++) {
        named |= program->match_steps[match->first + i].bone == bone;
    }
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        free |= program->animatable[bone * FID_AXIS_COUNT + i];
    }
    return named && free;
}

/// The first bone that a match (where one is given) does not set and that jumps: of the deform bones, which are what is
/// seen, or, of a match in a rig without any, of all.
static void find_jump(trying *to, const fid_program_match *match) {
    const fid_rig *rig = to->check->rig;
    bool has_deform = match == NULL;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        has_deform |= rig->bones.at[i].def.role == FID_DEFORM;
    }
    for (int32_t i = 0; i < rig->bones.count && to->bone < 0; i++) {
        fid_reached off = fid_reached_between(to->pose->frames[i], to->before[i]);
        bool seen = !has_deform || rig->bones.at[i].def.role == FID_DEFORM;
        if (seen && !(match && is_set(to->check->program, match, i)) && fid_reached_is_off(rig, &off)) {
            to->bone = i;
            to->worst.distance = off.distance;
            to->worst.degrees = off.degrees;
            to->worst.scale = off.scale;
        }
    }
}

/// One switch of spaces in one random pose; true where it jumps.
static bool try_spaces(trying *to, int32_t number) {
    fid_check *check = to->check;
    const fid_program *program = check->program;
    const fid_slider_def *slider = &check->rig->sliders.at[to->slider].def;
    int32_t channel = program->bone_count * FID_AXIS_COUNT + to->slider;
    fid_pose_randomly(to->pose, check->options->seed, number, false);
    // A choice is a whole number, whatever a random value is.
    float now = slider->choices.count > 0 ? floorf(to->pose->value[channel] + 0.5f) : to->pose->value[channel];
    float value = next_value(slider, now, number);
    to->worst = (fid_reached){0};
    if (fid_pose_find_match(program, channel, value) != NULL || !do_switch(to, value, note)) {
        return false;
    }
    // What may not be posed is left out above, but not what it carries along.
    if (to->bone < 0 && to->worst.locked != 0) {
        find_jump(to, NULL);
    }
    if (to->bone >= 0) {
        fid_pose_randomly(to->pose, check->options->seed, number, false);
        tell(to, value, slider->origin, to->pose);
    }
    return to->bone >= 0;
}

/// What a step of a match could not do, and why.
static void note_step(void *user, int32_t bone, const fid_reached *reached) {
    trying *to = user;
    (void)bone;
    if (fid_reached_is_off(to->check->rig, reached)) {
        to->worst.locked |= reached->locked;
        to->worst.held |= reached->held;
        to->worst.moved |= reached->moved;
    }
}

/// The match that switches back: the first other one of the slider, or NULL.
static const fid_program_match *find_partner(const fid_program *program, const fid_program_match *match) {
    for (int32_t i = 0; i < program->match_count; i++) {
        if (program->matches[i].slider == match->slider && &program->matches[i] != match) {
            return &program->matches[i];
        }
    }
    return NULL;
}

/// One match in one random pose. Not every pose of the one side can be had on the other: it starts from one that came
/// over by the match that switches back, where there is one.
static bool try_match(trying *to, int32_t index, int32_t number) {
    fid_check *check = to->check;
    const fid_program *program = check->program;
    const fid_program_match *match = &program->matches[index], *partner = find_partner(program, match);
    const fid_slider_def *slider = &check->rig->sliders.at[to->slider].def;
    float rest = program->channel_rest[match->slider];
    float other = rest != match->value ? rest : match->value < slider->max ? slider->max : slider->min;
    fid_pose_randomly(to->pose, check->options->seed, number, false);
    if (fid_pose_set(to->pose, match->slider, partner ? match->value : other, NULL, NULL) != FID_OK) {
        return true;
    }
    if (partner && !do_switch(to, partner->value, NULL)) {
        return true;
    }
    memcpy(to->shown->value, to->pose->value, (size_t)program->channel_count * sizeof *to->pose->value);
    memcpy(to->shown->rotation, to->pose->rotation, (size_t)program->bone_count * sizeof *to->pose->rotation);
    memcpy(to->shown->posed, to->pose->posed, (size_t)program->bone_count);
    to->worst = (fid_reached){0};
    if (do_switch(to, match->value, note_step)) {
        find_jump(to, match);
    }
    if (to->bone >= 0) {
        tell(to, match->value, check->rig->matches.at[index].origin, to->shown);
    }
    return to->bone >= 0;
}

void fid_check_switches(fid_check *check) {
    const fid_program *program = check->program;
    trying to = {.check = check};
    fid_error err;
    to.before = fid_memory_get(((size_t)program->bone_count + 1) * sizeof *to.before);
    if (!to.before || fid_pose_new(program, &to.pose, &err) != FID_OK ||
        fid_pose_new(program, &to.shown, &err) != FID_OK) {
        check->failed = true;
    }
    int32_t first = program->bone_count * FID_AXIS_COUNT;
    int32_t poses = check->options->poses < SWITCH_POSES ? check->options->poses : SWITCH_POSES;
    for (to.slider = 0; to.slider < program->slider_count && !check->failed; to.slider++) {
        bool done = !program->animatable[first + to.slider] || !fid_pose_rides(program, first + to.slider);
        for (int32_t i = 0; i < poses && !check->failed && !done; i++) {
            done = try_spaces(&to, i);
            fid_check_tried(check, i + 1);
        }
    }
    for (int32_t match = 0; match < program->match_count && !check->failed; match++) {
        to.slider = program->matches[match].slider - first;
        bool done = !program->animatable[program->matches[match].slider];
        for (int32_t i = 0; i < poses && !check->failed && !done; i++) {
            done = try_match(&to, match, i);
            fid_check_tried(check, i + 1);
        }
    }
    fid_memory_free(to.before);
    fid_pose_free(to.pose);
    fid_pose_free(to.shown);
}
