#ifndef FID_TESTS_FORMAT_SKELETON_H
#define FID_TESTS_FORMAT_SKELETON_H

#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "format/skeleton_read.h"
#include "format/skeleton_write.h"
#include "support/rig.h"

/// A file of the source tree, to be ended with fid_text_clear.
static inline fid_text skeleton_file(const char *path) {
    const char *source = getenv("FID_SOURCE");
    fid_text full = {0}, out = {0};
    fid_error err = {0};
    assert_non_null(source);
    fid_text_addf(&full, "%s/%s", source, path);
    rig_ok(fid_file_read(full.at, 1 << 24, &out, &err));
    fid_text_clear(&full);
    return out;
}

/// The rig of a text that must be sound.
static inline fid_rig *skeleton_rig(const fid_text *text) {
    fid_report report = {0};
    fid_rig *rig = NULL;
    fid_code code = fid_skeleton_read(text->at, (size_t)text->count, "test.json", &rig, &report);
    for (int32_t i = 0; i < report.findings.count; i++) {
        print_error("%s: %s\n", report.findings.at[i].subject, report.findings.at[i].message);
    }
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    assert_int_equal(code, FID_OK);
    assert_non_null(rig);
    return rig;
}

static inline fid_text skeleton_text(const fid_rig *rig) {
    fid_text out = {0};
    fid_error err = {0};
    rig_ok(fid_skeleton_write(rig, &out, &err));
    return out;
}

static inline fid_code skeleton_origin(fid_rig *rig, const char *instance, int32_t line, int32_t used_at) {
    fid_error err = {0};
    fid_origin origin = {.file = used_at < 0 ? "walker.lua" : "fid:modules/leg/module.lua",
                         .line = line,
                         .module = used_at < 0 ? NULL : "leg 1.2.0",
                         .instance = instance,
                         .used_at = used_at};
    int32_t index;
    return fid_rig_add_origin(rig, &origin, &index, &err);
}

/// A slider on a bone, with two choices or a range from 0 up.
static inline fid_channel skeleton_slider(fid_rig *rig, fid_bone_id on, const char *name, bool has_choices) {
    static const char *const choices[] = {"off", "on \"full\""};
    fid_error err = {0};
    fid_slider_id id;
    fid_slider_def def = fid_slider_default();
    def.on = on;
    def.name = name;
    def.doc = has_choices ? NULL : "how far \xc3\xa9 it goes";
    def.max = FID_UNLIMITED;
    def.hidden = has_choices;
    def.choices = (fid_words){choices, has_choices ? 2 : 0};
    rig_ok(fid_rig_add_slider(rig, &def, &id, &err));
    return (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = id.handle};
}

static inline void skeleton_add_follows(fid_rig *rig, fid_bone_id bone, fid_bone_id a, fid_bone_id b,
                                        fid_channel slider) {
    const fid_share shares[] = {
        {{.kind = FID_SOURCE_POINT, .a = {a, 0.3f}}, {0.25f, {.kind = FID_CHANNEL_NONE}}},
        {{.kind = FID_SOURCE_BETWEEN, .a = {a, 0.0f}, .b = {b, 1.0f}, .f = 0.1f}, {0.0f, slider}},
        {{.kind = FID_SOURCE_RIG}, {0.5f, {.kind = FID_CHANNEL_NONE}}},
    };
    const fid_share whole = {{.kind = FID_SOURCE_WORLD}, {1.0f, {.kind = FID_CHANNEL_NONE}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = bone;
    def.as.follow.sources = (fid_sources){shares, 3};
    def.as.follow.channels = FID_MASK_ROTATION | 1u << FID_TRANSLATION_Y;
    def.weight.channel = slider;
    def.origin = 1;
    (void)rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = bone;
    def.as.follow.sources = (fid_sources){&whole, 1};
    def.as.follow.offset = FID_OFFSET_NONE;
    def.apply = FID_AFTER;
    (void)rig_constrain(rig, &def);
}

static inline void skeleton_add_spaces(fid_rig *rig, fid_bone_id bone, fid_bone_id other, fid_bone_id meet) {
    const fid_space among[] = {
        {.name = "world", .source = {.kind = FID_SOURCE_WORLD}, .at_rest = true, .frame = FID_FRAME_IDENTITY},
        {.name = "hand", .source = rig_source(other), .frame = FID_FRAME_IDENTITY},
        {.name = "grip",
         .source = rig_source(other),
         .has_frame = true,
         .frame = {{0.1f, -2e-7f, 3.0f}, fid_quat_from_euler((fid_vec3){10, 20, 30}, FID_ORDER_XYZ), {1, 1, 1}},
         .meet = meet,
         .is_added = true,
         .origin = 0},
    };
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = bone;
    def.as.spaces.among = (fid_space_list){among, 3};
    def.as.spaces.rest_choice = "hand";
    (void)rig_constrain(rig, &def);
}

static inline void skeleton_add_match(fid_rig *rig, fid_channel slider, fid_bone_id bone, fid_bone_id other) {
    fid_error err = {0};
    const fid_match_step steps[] = {{.bone = bone, .like = other}, {.bone = other, .neutral = true}};
    fid_match_def def = fid_match_default();
    def.slider = slider;
    def.value = 1;
    def.set = (fid_match_steps){steps, 2};
    def.origin = 2;
    rig_ok(fid_rig_add_match(rig, &def, &err));
}

static inline void skeleton_add_spline(fid_rig *rig, fid_bone_id parent, fid_bone_id first, fid_bone_id last,
                                       fid_channel fill) {
    static const fid_vec3 points[] = {{0, 1, 0}, {0, 1.1f, -0.4f}, {0.1f, 1, -0.9f}};
    const fid_bone_id through[] = {first, last};
    fid_error err = {0};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
    fid_chain_def chain = {.bone = fid_bone_default(), .points = points, .count = 3, .parenting = FID_LINKED};
    chain.bone.part = "tail";
    chain.bone.side = FID_CENTER;
    chain.bone.parent = parent;
    rig_ok(fid_rig_add_chain(rig, &chain, &def.chain, &err));
    def.as.spline.through = (fid_bones){through, 2};
    def.as.spline.fill.channel = fill;
    def.as.spline.end_twist.value = 0.5f;
    rig_constrain(rig, &def);
}

static inline void skeleton_add_ik(fid_rig *rig, fid_chain_id chain, fid_bone_id goal, fid_channel reach) {
    static const float shares[] = {1.0f, 0.5f};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = chain;
    def.as.ik.goal = rig_source(goal);
    def.as.ik.swivel = (fid_amount){-12.5f, {.kind = FID_CHANNEL_NONE}};
    def.as.ik.swivel_gain = -1.0f;
    def.as.ik.reach.channel = reach;
    def.as.ik.bend_shares = (fid_numbers){shares, 2};
    def.as.ik.bend_axis = (fid_maybe_vector){true, {1, 0, 0}};
    (void)rig_constrain(rig, &def);
}

static inline void skeleton_add_rest(fid_rig *rig, fid_bone_id bone, fid_bone_id other) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = bone;
    def.as.aim.source = (fid_source){.kind = FID_SOURCE_POINT, .a = {other, 1.0f}};
    def.as.aim.up = other;
    def.as.aim.axis = FID_AIM_MINUS_X;
    (void)rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_SPAN);
    def.bone = bone;
    def.as.span.source = rig_source(other);
    def.as.span.longest = 1.25f;
    (void)rig_constrain(rig, &def);
    def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.bone = other;
    def.as.limit.rotation.lo[0] = -45.5f;
    def.as.limit.rotation.hi[0] = 60.0f;
    def.as.limit.rotation.hi[2] = 0.1f;
    (void)rig_constrain(rig, &def);
}

static inline void skeleton_add_drives(fid_rig *rig, fid_bone_id bone, fid_channel slider) {
    static const float x[] = {0.0f, 0.5f, 1.0f}, y[] = {1.0f, 0.25f, -1e10f};
    fid_error err = {0};
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    rig_ok(fid_rig_find_channel(rig, "upper/control:follow2.weight", &def.to, &err));
    def.from = FID_FACTORS_OF(slider);
    def.curve = (fid_curve){.interpolation = FID_SMOOTH, .x = x, .y = y, .count = 3};
    def.origin = 2;
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    def = fid_drive_default();
    def.to = (fid_channel){FID_CHANNEL_BONE, FID_SCALE_Y, bone.handle};
    def.from = FID_FACTORS_OF(slider);
    def.gain = (fid_amount){0.1f, {.kind = FID_CHANNEL_NONE}};
    def.combine = 1;
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    // Measures of bones whose channel multiplies a scale: nothing that they read hangs from it.
    fid_bone_id far = rig_control(rig, "far", rig_none, (fid_vec3){0, 0, 5}, (fid_vec3){0, 0, 0});
    fid_bone_id near = rig_control(rig, "near", rig_none, (fid_vec3){0, 0, 4}, (fid_vec3){0, 0, 0});
    const fid_factor factors[] = {{.kind = FID_FACTOR_CHANNEL, .channel = slider},
                                  {.kind = FID_FACTOR_DISTANCE,
                                   .a = {.kind = FID_SOURCE_POINT, .a = {far, 0.25f}},
                                   .b = {.kind = FID_SOURCE_BETWEEN, .a = {far, 0}, .b = {near, 1}, .f = 0.5f}},
                                  {.kind = FID_FACTOR_ANGLE,
                                   .a = rig_source(far),
                                   .b = {.kind = FID_SOURCE_WORLD},
                                   .axis_a = FID_AIM_MINUS_X,
                                   .axis_b = FID_AIM_PLUS_Y},
                                  {.kind = FID_FACTOR_TWIST, .a = rig_source(near)}};
    def.combine = FID_ADD;
    for (int i = 1; i < 4; i++) {
        def.from = (fid_factors){factors + i, 1};
        rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
    }
    def.from = (fid_factors){factors, 4};
    def.curve = (fid_curve){.interpolation = FID_POWER, .power = 1.5f, .sign = -1};
    rig_ok(fid_rig_add_drive(rig, &def, &id, &err));
}

static inline fid_outline_id skeleton_outline(fid_rig *rig) {
    static const fid_vec3 square[] = {{-1, 0, -1}, {-1, 0, 1}, {1, 0, 1}, {1, 0, -1}};
    static const fid_vec3 line[] = {{0, 0, 0}, {0, 0.3f, 0}};
    const fid_stroke strokes[] = {{true, square, 4}, {false, line, 2}};
    const fid_outline_def def = {"mark", {strokes, 2}};
    fid_error err = {0};
    fid_outline_id id;
    rig_ok(fid_rig_add_outline(rig, &def, "mark", &id, &err));
    return id;
}

static inline fid_bone_id skeleton_placement(fid_rig *rig) {
    fid_error err = {0};
    fid_bone_id id;
    fid_bone_def def = fid_bone_default();
    def.part = "root";
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.length = 0.8f;
    def.placement = true;
    def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
    def.outline = skeleton_outline(rig);
    def.origin = 0;
    rig_ok(fid_rig_add_bone(rig, &def, &id, &err));
    return id;
}

/// A bone with every field other than usual.
static inline fid_bone_id skeleton_odd_bone(fid_rig *rig, fid_bone_id parent) {
    static const char *const tags[] = {"tongue", "soft part"};
    fid_error err = {0};
    fid_bone_id id;
    fid_bone_def def = fid_bone_default();
    def.id = "limb.outer";
    def.part = "tip";
    def.index[0] = 2;
    def.index[1] = 2;
    def.index[2] = 13;
    def.side = FID_RIGHT;
    def.parent = parent;
    def.rest.t = (fid_vec3){0.1f, -0.25f, 1e-6f};
    def.rest.q = fid_quat_from_euler((fid_vec3){100, -33, 7}, FID_ORDER_XYZ);
    def.length = 0.3f;
    def.takes = FID_MASK_TRANSLATION | FID_MASK_SCALE;
    def.rotation_order = FID_ORDER_ZXY;
    def.level = FID_FINE;
    def.tags = (fid_words){tags, 2};
    def.rotation_range.lo[1] = -90.0f;
    def.translation_range.hi[2] = 0.1f;
    def.translation_range.lo[2] = 0.0f;
    def.origin = 2;
    rig_ok(fid_rig_add_bone(rig, &def, &id, &err));
    return id;
}

/// A rig in which every key of the file has something to say. Not a rig that compiles.
static inline fid_rig *skeleton_whole(void) {
    static const fid_vec3 points[] = {{0, 1, 0}, {0, 0.7f, 0.1f}, {0, 0.3f, 0.1f}, {0, 0.0f, 0}};
    static const fid_module_mark module = {"leg", "1.2.0",
                                           "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"};
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.template_text, sizeof naming.template_text, "%s", "{side}_{id}-{part}_{index}_{role}");
    snprintf(naming.sides[FID_LEFT], sizeof naming.sides[FID_LEFT], "%s", "L");
    snprintf(naming.sides[FID_RIGHT], sizeof naming.sides[FID_RIGHT], "%s", "R");
    fid_rig *rig = NULL;
    rig_ok(fid_rig_new("walker", 1.6f, &naming, &rig, &err));
    rig_ok(skeleton_origin(rig, NULL, 3, -1));
    rig_ok(skeleton_origin(rig, "limb (right)", 48, 0));
    rig_ok(skeleton_origin(rig, "limb (right)", 49, 0));
    rig_ok(fid_rig_add_module(rig, &module, &err));
    fid_bone_id root = skeleton_placement(rig);
    fid_bone_id hand = rig_control(rig, "hand", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id upper = rig_control(rig, "upper", hand, (fid_vec3){0.3f, 0.2f, 0.1f}, (fid_vec3){5, 6, 7});
    fid_bone_id odd = skeleton_odd_bone(rig, upper);
    fid_chain_id chain = rig_chain(rig, "limb", root, points, 4, true, FID_FAN);
    fid_channel amount = skeleton_slider(rig, root, "amount", false);
    fid_channel mode = skeleton_slider(rig, hand, "mode", true);
    skeleton_add_follows(rig, upper, hand, odd, amount);
    skeleton_add_spaces(rig, hand, odd, odd);
    skeleton_add_ik(rig, chain, hand, amount);
    skeleton_add_rest(rig, odd, upper);
    skeleton_add_spline(rig, root, hand, upper, amount);
    skeleton_add_drives(rig, odd, amount);
    skeleton_add_match(rig, mode, upper, odd);
    return rig;
}

#endif
