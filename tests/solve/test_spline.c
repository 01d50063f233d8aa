#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/random.h"
#include "math/scalar.h"
#include "math/spline.h"
#include "support/rig.h"

enum { SEGMENTS = 6, MOST_CONTROLS = 5 };

/// A tail that hangs from a body and lies along a curve through controls, all of them under the body.
typedef struct tail {
    fid_rig *rig;
    fid_bone_id body, controls[MOST_CONTROLS];
    fid_vec3 rest[MOST_CONTROLS]; ///< where the controls rest
    int32_t count;                ///< of controls
    fid_chain_id chain;
    fid_constraint_id spline;
    solved of;
} tail;

typedef struct options {
    int32_t controls;
    bool linked, with_end;
    float fill, end_twist;
    bool straight; ///< along -Z; else bent and wound
    bool on_curve; ///< the joints rest on the curve; else beside it
    float size;    ///< 0: 1
    bool mirrored, takes_scale;
} options;

/// Points of the curve, -Z first.
static fid_vec3 curve_point(const options *with, double t) {
    float size = with->size > 0 ? with->size : 1;
    fid_vec3 p = {0, 1, (float)(-1.2 * t)};
    if (!with->straight) {
        p.x = (float)(0.25 * fid_sin(4 * t));
        p.y = (float)(1 + 0.3 * fid_cos(3 * t) + 0.1 * t);
    }
    p.x = with->mirrored ? -p.x : p.x;
    return fid_vec3_scale(p, size);
}

/// Joints of the chain: on the curve that goes through the controls, evenly, or up to 0.05 beside it.
static void find_joints(const tail *of, const options *with, fid_vec3 *out) {
    fid_spline curve = {.count = of->count};
    float size = with->size > 0 ? with->size : 1;
    for (int32_t i = 0; i < of->count; i++) {
        curve.point[i] = fid_vec3d_from(of->rest[i]);
        curve.width[i] = i + 1 < of->count ? (double)fid_vec3_distance(of->rest[i], of->rest[i + 1]) : 0;
    }
    fid_spline_slopes(curve.count, curve.point, curve.width, curve.slope);
    fid_spline_measure(&curve, (fid_vec3d){0, 0, 1});
    for (int32_t i = 0; i <= SEGMENTS; i++) {
        double arc = fid_spline_length(&curve) * i / SEGMENTS;
        out[i] = fid_vec3d_round(fid_spline_at(&curve, fid_spline_locate(&curve, arc)).point);
        if (!with->on_curve) {
            fid_vec3 off = {0.04f * size * (with->mirrored ? -1.0f : 1.0f), i % 2 ? -0.03f * size : 0.01f * size, 0};
            out[i] = fid_vec3_add(out[i], off);
        }
    }
}

static void make_tail(tail *out, options with) {
    float size = with.size > 0 ? with.size : 1;
    fid_vec3 joints[SEGMENTS + 1];
    out->rig = rig_make(1.6f * size);
    out->count = with.controls;
    out->body = rig_control(out->rig, "body", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    for (int32_t i = 0; i < with.controls; i++) {
        static const char *const parts[] = {"ca", "cb", "cc", "cd", "ce"};
        out->rest[i] = curve_point(&with, (double)i / (with.controls - 1));
        // The ends stand turned to the curve in their own ways.
        fid_vec3 degrees = i == 0 ? (fid_vec3){20, 0, 10} : (fid_vec3){0, 30.0f * (float)i, -15};
        degrees.y = with.mirrored ? -degrees.y : degrees.y;
        degrees.z = with.mirrored ? -degrees.z : degrees.z;
        out->controls[i] =
            rig_control(out->rig, parts[i], out->body, out->rest[i], with.straight ? (fid_vec3){0, 0, 0} : degrees);
    }
    find_joints(out, &with, joints);
    fid_error err = {0};
    fid_chain_def chain = {.bone = fid_bone_default(),
                           .points = joints,
                           .count = SEGMENTS + 1,
                           .with_end = with.with_end,
                           .parenting = with.linked ? FID_LINKED : FID_FAN,
                           .hint = FID_HINT_UP,
                           .hint_vector = {0, 1, 0.3f}};
    chain.bone.part = "tail";
    chain.bone.side = FID_CENTER;
    chain.bone.role = FID_CONTROL;
    chain.bone.parent = out->body;
    chain.bone.channels = FID_MASK_ALL;
    chain.bone.takes = with.takes_scale ? FID_MASK_ALL : FID_MASK_TRANSLATION | FID_MASK_ROTATION;
    rig_ok(fid_rig_add_chain(out->rig, &chain, &out->chain, &err));
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
    def.chain = out->chain;
    def.as.spline.through = (fid_bones){out->controls, with.controls};
    def.as.spline.fill.value = with.fill;
    def.as.spline.end_twist.value = with.end_twist;
    out->spline = rig_constrain(out->rig, &def);
    out->of = rig_compile(out->rig);
}

static void end_tail(tail *of) { rig_end(of->rig, &of->of); }

static int32_t bones_of(const tail *of) { return of->rig->chains.at[0].count; }
static fid_bone_id joint(const tail *of, int32_t i) { return of->rig->chains.at[0].bones[i]; }
static fid_frame at(const tail *of, int32_t i) { return rig_frame(&of->of, joint(of, i)); }

/// Base of joint i, or the tip of the last bone.
static fid_vec3 point(const tail *of, int32_t i) {
    int32_t count = bones_of(of);
    return i < count ? at(of, i).t
                     : fid_frame_point(at(of, count - 1),
                                       (fid_vec3){0, 0, of->of.program->length[joint(of, count - 1).handle.slot]});
}

static void solve(const tail *of) { fid_solve(of->of.program, of->of.pose); }

static void set_place(const tail *of, int32_t control, fid_vec3 place) {
    rig_move(&of->of, of->controls[control], fid_vec3_sub(place, of->rest[control]), (fid_vec3){0, 0, 0});
}

static fid_vec3 turned_by(random_source *random, double degrees) {
    fid_vec3 v = random_vec3(random, 1);
    return fid_vec3_scale(v, (float)degrees);
}

/// Every combination of what a spline offers, one after the other; false behind the last.
static bool next_options(int number, options *out) {
    static const int32_t controls[] = {2, 3, 5};
    static const float fills[] = {0, 0.5f, 1};
    *out = (options){.controls = controls[number % 3],
                     .linked = number / 3 % 2,
                     .with_end = number / 6 % 2,
                     .fill = fills[number / 12 % 3],
                     .end_twist = (float)(number / 36 % 2),
                     .on_curve = number / 72 % 2};
    return number < 144;
}

static void rest_is_rest_in_every_setting(void **state) {
    (void)state;
    options with;
    for (int number = 0; next_options(number, &with); number++) {
        tail one;
        make_tail(&one, with);
        for (int32_t i = 0; i < bones_of(&one); i++) {
            fid_frame rest = one.rig->bones.at[joint(&one, i).handle.slot].rest;
            assert_frame_near(at(&one, i), rest, 1.6e-5, 0.01);
        }
        end_tail(&one);
    }
}

static void segments_keep_their_lengths_at_fill_0(void **state) {
    (void)state;
    random_source random = random_begin(3);
    for (int end = 0; end < 2; end++) {
        tail one;
        make_tail(&one, (options){.controls = 3, .linked = end, .with_end = end, .end_twist = 1, .on_curve = true});
        double rest[SEGMENTS];
        for (int32_t i = 0; i < SEGMENTS; i++) {
            rest[i] = (double)fid_vec3_distance(point(&one, i), point(&one, i + 1));
        }
        for (int pose = 0; pose < 100; pose++) {
            for (int32_t i = 0; i < one.count; i++) {
                rig_move(&one.of, one.controls[i], random_vec3(&random, 0.4), turned_by(&random, 60));
            }
            solve(&one);
            for (int32_t i = 0; i < SEGMENTS; i++) {
                assert_near((double)fid_vec3_distance(point(&one, i), point(&one, i + 1)), rest[i], 2e-6);
            }
            assert_vec3_near(point(&one, 0), rig_frame(&one.of, one.controls[0]).t, 1e-6);
        }
        end_tail(&one);
    }
}

static void fill_1_reaches_the_last_control_and_lets_the_joints_share_the_curve(void **state) {
    (void)state;
    random_source random = random_begin(4);
    tail one;
    make_tail(&one, (options){.controls = 5, .with_end = true, .fill = 1, .end_twist = 1, .on_curve = true});
    for (int pose = 0; pose < 50; pose++) {
        for (int32_t i = 0; i < one.count; i++) {
            rig_move(&one.of, one.controls[i], random_vec3(&random, 0.4), turned_by(&random, 60));
        }
        solve(&one);
        assert_vec3_near(point(&one, 0), rig_frame(&one.of, one.controls[0]).t, 2e-6);
        assert_vec3_near(point(&one, SEGMENTS), rig_frame(&one.of, one.controls[4]).t, 2e-6);
    }
    end_tail(&one);
    // On a line that is pulled to twice its length, or pushed to half of it, six joints stand evenly.
    make_tail(&one, (options){.controls = 3, .fill = 1, .end_twist = 1, .straight = true, .on_curve = true});
    for (int k = 0; k < 2; k++) {
        float length = k ? 2.4f : 0.6f;
        set_place(&one, 1, (fid_vec3){0, 1, -length / 2});
        set_place(&one, 2, (fid_vec3){0, 1, -length});
        solve(&one);
        for (int32_t i = 0; i < SEGMENTS; i++) {
            assert_vec3_near(point(&one, i), ((fid_vec3){0, 1, -length * (float)i / SEGMENTS}), 1e-6);
        }
    }
    end_tail(&one);
}

static void places_mix_between_fill_0_and_1(void **state) {
    (void)state;
    tail one;
    make_tail(&one, (options){.controls = 2, .fill = 0.25f, .end_twist = 1, .straight = true, .on_curve = true});
    set_place(&one, 1, (fid_vec3){0, 1, -2.4f});
    solve(&one);
    for (int32_t i = 0; i < SEGMENTS; i++) {
        float kept = 0.2f * (float)i, filled = 0.4f * (float)i;
        assert_vec3_near(point(&one, i), ((fid_vec3){0, 1, -(kept + 0.25f * (filled - kept))}), 1e-6);
    }
    end_tail(&one);
}

static void a_chain_that_is_longer_goes_straight_on_along_the_end(void **state) {
    (void)state;
    tail one;
    make_tail(&one, (options){.controls = 3, .end_twist = 1, .straight = true, .on_curve = true});
    // The curve turns down over 0.2 m; its end points straight down.
    set_place(&one, 1, (fid_vec3){0, 1, -0.1f});
    set_place(&one, 2, (fid_vec3){0, 0.9f, -0.1f});
    solve(&one);
    fid_vec3 last = fid_vec3_sub(point(&one, SEGMENTS), point(&one, SEGMENTS - 1));
    for (int32_t i = 2; i < SEGMENTS; i++) {
        fid_vec3 way = fid_vec3_sub(point(&one, i + 1), point(&one, i));
        assert_near((double)fid_vec3_angle(way, last), 0, 1e-4);
        assert_near((double)fid_vec3_length(way), 0.2, 1e-6);
    }
    // A natural end: along 3 (way to the end) - (slope at the middle), here 3 (0, -0.1, 0) - (0, -0.1, -0.1) / 2.
    assert_near((double)fid_vec3_angle(last, (fid_vec3){0, -0.25f, 0.05f}), 0, 1e-4);
    end_tail(&one);
}

/// Turn of bone i about its own aim axis from rest, degrees.
static double roll(const tail *of, int32_t i) {
    fid_quat rest = of->rig->bones.at[joint(of, i).handle.slot].rest.q;
    return fid_degrees(fid_quat_twist(fid_quat_mul(fid_quat_inverse(rest), at(of, i).q), (fid_vec3){0, 0, 1}));
}

static void the_turn_of_the_last_control_is_spread_along_the_curve(void **state) {
    (void)state;
    for (int half = 0; half < 3; half++) {
        tail one;
        float end_twist = 0.5f * (float)half;
        make_tail(&one, (options){.controls = 3, .end_twist = end_twist, .straight = true, .on_curve = true});
        const float turns[] = {90, 170, 190, -60};
        for (int k = 0; k < 4; k++) {
            // Turned about +Z, against the bones, which aim along -Z; read within half a turn.
            rig_move(&one.of, one.controls[2], (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, turns[k]});
            solve(&one);
            double whole = turns[k] > 180 ? 360 - (double)turns[k] : -(double)turns[k];
            for (int32_t i = 0; i < SEGMENTS; i++) {
                assert_near(roll(&one, i), (double)end_twist * whole * i / SEGMENTS, 0.01);
                assert_vec3_near(point(&one, i), ((fid_vec3){0, 1, -0.2f * (float)i}), 1e-6);
            }
        }
        end_tail(&one);
    }
}

static void the_turn_of_the_first_control_turns_the_whole_chain_as_long_as_the_last_goes_along(void **state) {
    (void)state;
    tail one;
    make_tail(&one, (options){.controls = 3, .end_twist = 1, .straight = true, .on_curve = true, .with_end = true});
    rig_move(&one.of, one.controls[0], (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 80});
    rig_move(&one.of, one.controls[2], (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 80});
    solve(&one);
    for (int32_t i = 0; i <= SEGMENTS; i++) {
        assert_near(roll(&one, i), -80, 0.01);
    }
    rig_move(&one.of, one.controls[2], (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    solve(&one);
    for (int32_t i = 0; i <= SEGMENTS; i++) {
        assert_near(roll(&one, i), -80.0 * (SEGMENTS - i) / SEGMENTS, 0.01);
    }
    end_tail(&one);
}

static void bones_of_a_tail_that_rises_in_a_plane_do_not_roll(void **state) {
    (void)state;
    tail one;
    make_tail(&one, (options){.controls = 3, .end_twist = 1, .straight = true, .on_curve = true});
    for (int i = 0; i <= 32; i++) {
        // Up, over the first control and forward, in the plane x = 0; the tail passes its own up axis on the way.
        double angle = fid_radians(5.0 * i);
        for (int32_t k = 1; k < 3; k++) {
            double far = 0.6 * k;
            set_place(&one, k, (fid_vec3){0, 1 + (float)(far * fid_sin(angle)), -(float)(far * fid_cos(angle))});
        }
        solve(&one);
        for (int32_t k = 0; k < SEGMENTS; k++) {
            assert_vec3_near(fid_quat_x(at(&one, k).q), ((fid_vec3){-1, 0, 0}), 1e-4);
        }
    }
    end_tail(&one);
}

static void linked_and_fan_chains_lie_alike_at_full_weight(void **state) {
    (void)state;
    random_source random = random_begin(5);
    for (int fill = 0; fill < 3; fill++) {
        tail fan, linked;
        options with = {.controls = 5, .with_end = true, .fill = 0.5f * (float)fill, .end_twist = 1};
        make_tail(&fan, with);
        with.linked = true;
        make_tail(&linked, with);
        for (int pose = 0; pose < 20; pose++) {
            for (int32_t i = 0; i < fan.count; i++) {
                fid_vec3 t = random_vec3(&random, 0.3), r = turned_by(&random, 50);
                rig_move(&fan.of, fan.controls[i], t, r);
                rig_move(&linked.of, linked.controls[i], t, r);
            }
            solve(&fan);
            solve(&linked);
            for (int32_t i = 0; i <= SEGMENTS; i++) {
                assert_frame_near(at(&linked, i), at(&fan, i), 1e-5, 0.01);
            }
        }
        end_tail(&fan);
        end_tail(&linked);
    }
}

static void weight_0_changes_nothing_bit_for_bit_and_part_weights_lead_over(void **state) {
    (void)state;
    for (int linked = 0; linked < 2; linked++) {
        tail one;
        make_tail(&one, (options){.controls = 3, .linked = linked, .with_end = true, .end_twist = 1});
        rig_set_weight(&one.of, one.spline, 0);
        set_place(&one, 2, (fid_vec3){0.6f, 1.3f, -0.7f});
        solve(&one);
        for (int32_t i = 0; i <= SEGMENTS; i++) {
            int32_t slot = (int32_t)joint(&one, i).handle.slot, parent = one.of.program->bones[slot].parent;
            // What the parent alone carries: its frame times the rest relation.
            fid_frame from = one.of.pose->frames[parent], local = one.of.program->local[slot];
            fid_frame carried = fid_frame_compose(from, local);
            carried.q = fid_quat_renormalize(carried.q);
            assert_memory_equal(&one.of.pose->frames[slot].t, &carried.t, sizeof carried.t);
            assert_memory_equal(&one.of.pose->frames[slot].q, &carried.q, sizeof carried.q);
        }
        fid_vec3 before = point(&one, SEGMENTS);
        for (int i = 1; i <= 200; i++) {
            rig_set_weight(&one.of, one.spline, 0.005f * (float)i);
            solve(&one);
            assert_true(fid_vec3_distance(point(&one, SEGMENTS), before) < 0.03f);
            before = point(&one, SEGMENTS);
        }
        end_tail(&one);
    }
}

static void a_pose_on_a_joint_stays_on_top_and_carries_the_rest_of_a_linked_chain(void **state) {
    (void)state;
    for (int linked = 0; linked < 2; linked++) {
        tail one;
        make_tail(&one, (options){.controls = 3, .linked = linked, .end_twist = 1});
        set_place(&one, 2, (fid_vec3){0.4f, 1.2f, -0.9f});
        solve(&one);
        fid_frame before = at(&one, 2), next = at(&one, 3);
        rig_move(&one.of, joint(&one, 2), (fid_vec3){0, 0, 0}, (fid_vec3){0, 25, 0});
        solve(&one);
        fid_frame want = before;
        want.q = fid_quat_mul(before.q, fid_quat_about((fid_vec3){0, 1, 0}, fid_radians(25)));
        assert_frame_near(at(&one, 2), want, 1e-6, 0.001);
        fid_frame carried = linked ? fid_frame_compose(want, fid_frame_relation(before, next)) : next;
        assert_frame_near(at(&one, 3), carried, 2e-6, 0.01);
        end_tail(&one);
    }
}

static void a_rig_of_another_size_has_the_same_shape(void **state) {
    (void)state;
    const float sizes[] = {0.5f, 2, 10};
    for (int k = 0; k < 3; k++) {
        random_source random = random_begin(6);
        for (int fill = 0; fill < 3; fill++) {
            options with = {.controls = 5, .linked = fill == 1, .fill = 0.5f * (float)fill, .end_twist = 1};
            tail one, other;
            make_tail(&one, with);
            with.size = sizes[k];
            make_tail(&other, with);
            for (int pose = 0; pose < 10; pose++) {
                for (int32_t i = 0; i < one.count; i++) {
                    fid_vec3 t = random_vec3(&random, 0.3), r = turned_by(&random, 50);
                    rig_move(&one.of, one.controls[i], t, r);
                    rig_move(&other.of, other.controls[i], fid_vec3_scale(t, sizes[k]), r);
                }
                solve(&one);
                solve(&other);
                for (int32_t i = 0; i < SEGMENTS; i++) {
                    fid_frame want = at(&one, i);
                    want.t = fid_vec3_scale(want.t, sizes[k]);
                    assert_frame_near(at(&other, i), want, 1.6e-5 * (double)sizes[k], 0.01);
                }
            }
            end_tail(&one);
            end_tail(&other);
        }
    }
}

static void a_chain_that_takes_scale_grows_with_its_body(void **state) {
    (void)state;
    tail one;
    make_tail(&one, (options){.controls = 3, .end_twist = 1, .takes_scale = true});
    fid_vec3 rest[SEGMENTS + 1];
    for (int32_t i = 0; i <= SEGMENTS; i++) {
        rest[i] = point(&one, i);
    }
    // The controls ride on the scaled body: curve and chain grow alike.
    rig_scale(&one.of, one.body, (fid_vec3){2, 2, 2});
    solve(&one);
    for (int32_t i = 0; i <= SEGMENTS; i++) {
        assert_vec3_near(point(&one, i), fid_vec3_scale(rest[i], 2), 1e-5);
    }
    end_tail(&one);
}

static void a_mirrored_tail_lies_as_the_mirror_image(void **state) {
    (void)state;
    random_source random = random_begin(8);
    for (int fill = 0; fill < 3; fill++) {
        options with = {
            .controls = 5, .linked = fill == 1, .with_end = true, .fill = 0.5f * (float)fill, .end_twist = 1};
        tail one, image;
        make_tail(&one, with);
        with.mirrored = true;
        make_tail(&image, with);
        for (int pose = 0; pose < 20; pose++) {
            for (int32_t i = 0; i < one.count; i++) {
                fid_vec3 t = random_vec3(&random, 0.3), r = turned_by(&random, 50);
                rig_move(&one.of, one.controls[i], t, r);
                rig_move(&image.of, image.controls[i], fid_vec3_mirror(t), (fid_vec3){r.x, -r.y, -r.z});
            }
            solve(&one);
            solve(&image);
            for (int32_t i = 0; i <= SEGMENTS; i++) {
                assert_frame_near(at(&image, i), fid_frame_mirror(at(&one, i)), 1.6e-5, 0.01);
            }
        }
        end_tail(&one);
        end_tail(&image);
    }
}

/// The direction from a control to a neighbour: the next for even lines, the one before for odd ones.
static fid_vec3 to_neighbour(const tail *of, int32_t control, int line) {
    int32_t other = control + (line % 2 ? -1 : 1);
    other = other < 0 ? 1 : other >= of->count ? control - 1 : other;
    return fid_vec3_normalize(fid_vec3_sub(of->rest[other], of->rest[control]), (fid_vec3){1, 0, 0});
}

/// How controls are led: up to which part of the distance to their neighbour; straight to it, or along lines in any
/// direction and turned by up to 90 degrees on the way.
typedef struct leading {
    float far;
    bool to_neighbour, straight;
} leading;

/// Leads each control in steps of 0.1 % of the length of the tail along lines through its rest; the most degrees by
/// which a bone turns in a step.
static double lead_controls(leading by) {
    enum { LINES = 8 };
    random_source random = random_begin(9);
    double most = 0;
    for (int number = 0; number < 24; number++) {
        options with = {.controls = number % 2 ? 3 : 5,
                        .linked = number / 2 % 2,
                        .with_end = true,
                        .fill = 0.5f * (float)(number / 4 % 3),
                        .end_twist = number < 12,
                        .straight = by.straight};
        tail one;
        make_tail(&one, with);
        float far = by.far * fid_vec3_distance(one.rest[0], one.rest[1]), step = 0.0014f;
        for (int line = 0; line < (by.to_neighbour ? 2 : LINES) * one.count; line++) {
            fid_bone_id control = one.controls[line % one.count];
            fid_vec3 way = fid_vec3_normalize(random_vec3(&random, 1), (fid_vec3){1, 0, 0});
            way = by.to_neighbour ? to_neighbour(&one, line % one.count, line / one.count) : way;
            fid_vec3 turn = fid_vec3_scale(random_vec3(&random, 50), by.to_neighbour ? 0 : 1 / far);
            fid_quat before[SEGMENTS + 1];
            for (float along = -far; along < far; along += step) {
                rig_move(&one.of, control, fid_vec3_scale(way, along), fid_vec3_scale(turn, along));
                solve(&one);
                for (int32_t i = 0; i <= SEGMENTS; i++) {
                    fid_quat now = at(&one, i).q;
                    if (along > -far) {
                        most = fmax(most, fid_degrees(fid_quat_angle_between(before[i], now)));
                    }
                    before[i] = now;
                }
            }
            rig_move(&one.of, control, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
        }
        end_tail(&one);
    }
    return most;
}

static void small_steps_of_a_control_turn_no_bone_far(void **state) {
    (void)state;
    // 5 degrees for 0.1 % is what P402 calls a flip.
    static const leading cases[] = {
        {0.6f, false, false}, {0.9f, false, false}, {0.9f, false, true}, {0.95f, true, false}, {0.99f, true, true}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double most = lead_controls(cases[i]);
        print_message("up to %g of the way%s, %s: at most %.2f degrees a step\n", (double)cases[i].far,
                      cases[i].to_neighbour ? " to a neighbour" : "", cases[i].straight ? "straight" : "bent", most);
        assert_true(most > 0 && most < 5);
    }
}

static void controls_in_impossible_places_give_frames(void **state) {
    (void)state;
    const fid_vec3 places[][MOST_CONTROLS] = {
        {{0, 1, 0}, {0, 1, 0}, {0, 1, 0}, {0, 1, 0}, {0, 1, 0}},                 // all on one point
        {{0, 1, 0}, {0, 1, 0}, {0, 1, -1}, {0, 1, -1}, {0, 1, -2}},              // neighbours on one point
        {{0, 1, -1.2f}, {0, 1, -0.9f}, {0, 1, -0.6f}, {0, 1, -0.3f}, {0, 1, 0}}, // reversed
        {{0, 1, 0}, {0, 1, -1}, {0, 1, 0}, {0, 1, -1}, {0, 1, 0}},               // to and fro
        {{0, 1, 0}, {1e-7f, 1, 0}, {0, 1, 1e-7f}, {0, 1, 0}, {1e-7f, 1, 0}},     // all but one point
        {{1e4f, 0, 0}, {-1e4f, 0, 0}, {0, 1e4f, 0}, {0, 0, 1e4f}, {1e4f, 0, 0}}, // as far as can be
    };
    for (size_t k = 0; k < sizeof places / sizeof places[0]; k++) {
        for (int number = 0; number < 12; number++) {
            options with = {.controls = number < 6 ? 5 : 3,
                            .linked = number / 3 % 2,
                            .with_end = true,
                            .fill = 0.5f * (float)(number % 3),
                            .end_twist = 1,
                            .on_curve = true};
            tail one;
            make_tail(&one, with);
            float far = 0;
            for (int32_t i = 0; i < one.count; i++) {
                fid_vec3 t = fid_vec3_sub(places[k][i], one.rest[i]);
                rig_set(&one.of, one.controls[i], FID_TRANSLATION_X, t.x);
                rig_set(&one.of, one.controls[i], FID_TRANSLATION_Y, t.y);
                rig_set(&one.of, one.controls[i], FID_TRANSLATION_Z, t.z);
                far = fid_max(far, fid_vec3_length(places[k][i]));
            }
            solve(&one);
            for (int32_t i = 0; i <= SEGMENTS; i++) {
                fid_frame frame = at(&one, i);
                assert_true(fid_frame_is_finite(frame));
                assert_near(sqrt((double)fid_quat_dot(frame.q, frame.q)), 1, 1e-5);
                // The curve stays near its controls, the chain near the curve.
                assert_true(fid_vec3_length(frame.t) < 4 * far + 2);
            }
            end_tail(&one);
        }
    }
}

/// Random settings and poses up to the limits of what may be set.
static void no_setting_gives_what_is_no_number(void **state) {
    (void)state;
    random_source random = random_begin(10);
    options with;
    for (int number = 0; next_options(number, &with); number++) {
        tail one;
        with.takes_scale = number % 5 == 0;
        make_tail(&one, with);
        for (int pose = 0; pose < 40; pose++) {
            fid_pose_reset(one.of.pose);
            for (int32_t i = -1; i < one.count; i++) {
                fid_bone_id bone = i < 0 ? one.body : one.controls[i];
                bool wild = random_between(&random, 0, 1) < 0.2;
                rig_move(&one.of, bone, random_vec3(&random, wild ? 1.6e4 : 1), turned_by(&random, wild ? 1e5 : 90));
                float s = (float)(wild ? random_between(&random, 1e-3, 1e3) : random_between(&random, 0.5, 2));
                rig_scale(&one.of, bone, (fid_vec3){s, 1, s * 0.5f + 0.5f});
            }
            rig_set_weight(&one.of, one.spline, (float)random_between(&random, 0, 1));
            solve(&one);
            for (int32_t i = 0; i < bones_of(&one); i++) {
                assert_true(fid_frame_is_finite(at(&one, i)));
            }
        }
        end_tail(&one);
    }
}

/// The finding of a rig that does not compile.
static void assert_unsound(fid_rig *rig, const char *code, const char *message) {
    fid_error err = {0};
    fid_report report = {0};
    fid_program *program = NULL;
    assert_int_equal(fid_program_compile(rig, &report, &program, &err), FID_UNSOUND);
    assert_null(program);
    assert_int_equal(report.findings.count, 1);
    assert_string_equal(report.findings.at[0].code, code);
    assert_text_contains(report.findings.at[0].message, message);
    fid_report_clear(&report);
    fid_rig_free(rig);
}

static fid_chain_id add_line(fid_rig *rig) {
    static const fid_vec3 line[] = {{0, 1, 0}, {0, 1, -0.5f}, {0, 1, -1}};
    return rig_chain(rig, "tail", rig_none, line, 3, false, FID_LINKED);
}

static void constrain_through(fid_rig *rig, fid_chain_id chain, fid_bone_id a, fid_bone_id b) {
    fid_bone_id controls[] = {a, b};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
    def.chain = chain;
    def.as.spline.through = (fid_bones){controls, 2};
    rig_constrain(rig, &def);
}

static void controls_in_the_chain_or_below_it_are_a_cycle(void **state) {
    (void)state;
    for (int where = 0; where < 3; where++) {
        fid_rig *rig = rig_make(1.6f);
        fid_bone_id free = rig_control(rig, "free", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
        fid_chain_id chain = add_line(rig);
        fid_bone_id bone = rig->chains.at[0].bones[where < 2 ? where : 1];
        if (where == 2) {
            bone = rig_control(rig, "below", bone, (fid_vec3){0, 0, 0.3f}, (fid_vec3){0, 0, 0});
        }
        constrain_through(rig, chain, free, bone);
        // A bone that rests where a control does is no matter of the cycle.
        if (where == 0) {
            rig->bones.at[free.handle.slot].rest.t.x = 0.5f;
        }
        assert_unsound(rig, "S201", "for 'tail:spline'");
    }
}

static void controls_on_one_point_have_no_curve(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1.6f);
    fid_bone_id a = rig_control(rig, "ca", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    fid_bone_id b = rig_control(rig, "cb", rig_none, (fid_vec3){0, 1.00001f, 0}, (fid_vec3){0, 0, 0});
    constrain_through(rig, add_line(rig), a, b);
    assert_unsound(rig, "S202", "'ca_control' and 'cb_control' of 'tail:spline' rest on one point");
}

static void a_curve_that_turns_back_within_a_segment_rests_all_the_same(void **state) {
    (void)state;
    const fid_vec3 hairpin[] = {{0, 1, 0}, {0, 1.02f, -0.5f}, {0, 1.04f, 0}};
    const fid_vec3 joints[2][5] = {{{0, 1, 0}, {0, 1, -0.25f}, {0, 1.03f, -0.49f}, {0, 1.04f, -0.25f}, {0, 1.04f, 0}},
                                   {{0, 1, 0}, {0, 1.04f, -0.45f}, {0, 1.04f, 0}}};
    for (int k = 0; k < 2; k++) {
        fid_rig *rig = rig_make(1.6f);
        fid_bone_id controls[3];
        static const char *const parts[] = {"ca", "cb", "cc"};
        for (int i = 0; i < 3; i++) {
            controls[i] = rig_control(rig, parts[i], rig_none, hairpin[i], (fid_vec3){0, 0, 0});
        }
        fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
        def.chain = rig_chain(rig, "tail", rig_none, joints[k], k ? 3 : 5, false, FID_FAN);
        def.as.spline.through = (fid_bones){controls, 3};
        rig_constrain(rig, &def);
        solved of = rig_compile(rig);
        for (int32_t i = 0; i < rig->bones.count; i++) {
            assert_frame_near(of.pose->frames[i], rig->bones.at[i].rest, 1.6e-5, 0.01);
        }
        rig_end(rig, &of);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rest_is_rest_in_every_setting),
        cmocka_unit_test(a_curve_that_turns_back_within_a_segment_rests_all_the_same),
        cmocka_unit_test(segments_keep_their_lengths_at_fill_0),
        cmocka_unit_test(fill_1_reaches_the_last_control_and_lets_the_joints_share_the_curve),
        cmocka_unit_test(places_mix_between_fill_0_and_1),
        cmocka_unit_test(a_chain_that_is_longer_goes_straight_on_along_the_end),
        cmocka_unit_test(the_turn_of_the_last_control_is_spread_along_the_curve),
        cmocka_unit_test(the_turn_of_the_first_control_turns_the_whole_chain_as_long_as_the_last_goes_along),
        cmocka_unit_test(bones_of_a_tail_that_rises_in_a_plane_do_not_roll),
        cmocka_unit_test(linked_and_fan_chains_lie_alike_at_full_weight),
        cmocka_unit_test(weight_0_changes_nothing_bit_for_bit_and_part_weights_lead_over),
        cmocka_unit_test(a_pose_on_a_joint_stays_on_top_and_carries_the_rest_of_a_linked_chain),
        cmocka_unit_test(a_rig_of_another_size_has_the_same_shape),
        cmocka_unit_test(a_chain_that_takes_scale_grows_with_its_body),
        cmocka_unit_test(a_mirrored_tail_lies_as_the_mirror_image),
        cmocka_unit_test(small_steps_of_a_control_turn_no_bone_far),
        cmocka_unit_test(controls_in_impossible_places_give_frames),
        cmocka_unit_test(no_setting_gives_what_is_no_number),
        cmocka_unit_test(controls_in_the_chain_or_below_it_are_a_cycle),
        cmocka_unit_test(controls_on_one_point_have_no_curve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
