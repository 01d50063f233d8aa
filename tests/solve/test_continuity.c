#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "support/rig.h"

/// Goals move in steps of a thousandth of the limb through full extension and full fold: no joint pops, no bone flips.
///
/// The bounds are those of the rules: a joint turns by at most 8 degrees for 1 % of the limb's length that its goal
/// travels, times L / (2 sqrt(l1 l2)) for uneven segments, and no bone by more than 5 degrees in one step of 0.1 %,
/// but where the goal is within 2 % of the base.

enum { MOST = 12, WINDOW = 10 };

typedef struct shape {
    const char *name;
    int count;
    double lengths[MOST];
} shape;

static const shape shapes[] = {
    {"two equal", 2, {1, 1}},
    {"two uneven", 2, {1, 1.5}},
    {"two very uneven", 2, {1.4, 0.6}},
    {"three equal", 3, {1, 1, 1}},
    {"three uneven", 3, {1, 1.6, 0.7}},
    {"four equal", 4, {1, 1, 1, 1}},
    {"four uneven", 4, {1.3, 0.8, 1, 0.6}},
    {"ten equal", 10, {1, 1, 1, 1, 1, 1, 1, 1, 1, 1}},
    {"ten uneven", 10, {1, 0.9, 1.2, 0.7, 1, 0.5, 1.1, 0.8, 0.6, 0.4}},
};

typedef struct options {
    float soft, reach;
    bool linked, mirrored, pole;
} options;

typedef struct limb {
    fid_rig *rig;
    fid_bone_id goal;
    const fid_bone_id *bones;
    solved of;
    int count;
    bool mirrored;
    double whole;
    fid_vec3 base, end, axis, across; ///< at rest; the axis leads from base to end, across stands square to the bend
} limb;

static fid_vec3 reflected(fid_vec3 v, bool mirrored) { return (fid_vec3){mirrored ? -v.x : v.x, v.y, v.z}; }

/// A limb whose joints bend by 60 degrees together (two bones) or 100 at rest, in a plane that leans.
static limb make_limb(const shape *of, options with) {
    limb out = {.rig = rig_make(2), .count = of->count, .mirrored = with.mirrored};
    fid_quat plane = fid_quat_from_euler((fid_vec3){20, 35, -50}, FID_ORDER_XYZ);
    fid_vec3 points[MOST + 1] = {{0.3f, 1, -0.2f}}, across = fid_quat_rotate(plane, (fid_vec3){1, 0, 0});
    double angle = 0;
    for (int i = 0; i < of->count; i++) {
        fid_vec3 way = {0, -(float)(of->lengths[i] * sin(angle)), (float)(of->lengths[i] * cos(angle))};
        points[i + 1] = fid_vec3_add(points[i], fid_quat_rotate(plane, way));
        angle += (of->count == 2 ? 60 : 100.0 / (of->count - 1)) * FID_PI / 180;
        out.whole += of->lengths[i];
    }
    out.base = points[0];
    out.end = points[of->count];
    out.axis = fid_vec3_normalize(fid_vec3_sub(out.end, out.base), across);
    out.across = across;
    for (int i = 0; i <= of->count; i++) {
        points[i] = reflected(points[i], with.mirrored);
    }
    out.goal = rig_control(out.rig, "goal", rig_none, reflected(out.end, with.mirrored), (fid_vec3){0, 0, 0});
    fid_vec3 front = fid_vec3_scale(fid_vec3_cross(across, out.axis), 3 * (float)out.whole);
    fid_bone_id pole = rig_control(out.rig, "pole", rig_none, reflected(fid_vec3_add(out.base, front), with.mirrored),
                                   (fid_vec3){0, 0, 0});
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = rig_chain(out.rig, "limb", rig_none, points, of->count + 1, true, with.linked ? FID_LINKED : FID_FAN);
    def.as.ik.goal = rig_source(out.goal);
    def.as.ik.soft.value = with.soft;
    def.as.ik.reach.value = with.reach;
    if (with.pole) {
        def.as.ik.pole = rig_source(pole);
    }
    rig_constrain(out.rig, &def);
    out.of = rig_compile(out.rig);
    out.bones = fid_rig_chain(out.rig, def.chain, NULL)->bones;
    return out;
}

static void end_limb(limb *of) { rig_end(of->rig, &of->of); }

static void reach_for(const limb *of, fid_vec3 place) {
    rig_move(&of->of, of->goal, reflected(fid_vec3_sub(place, of->end), of->mirrored), (fid_vec3){0, 0, 0});
    fid_solve(of->of.program, of->of.pose);
}

/// Degrees between the segments that meet at a joint, 1 to count - 1.
static double find_bend(const limb *of, int joint) {
    fid_vec3 at = rig_frame(&of->of, of->bones[joint]).t;
    fid_vec3 before = fid_vec3_sub(at, rig_frame(&of->of, of->bones[joint - 1]).t);
    fid_vec3 after = fid_vec3_sub(rig_frame(&of->of, of->bones[joint + 1]).t, at);
    return fid_degrees(fid_vec3_angle(before, after));
}

/// The bend of equal joints between equal segments of length 1 whose ends are `distance` apart: the chord of n equal
/// turns is sin(n b / 2) / sin(b / 2), which falls from n to 0.
static double bend_of_chord(int count, double distance) {
    double low = 0, high = 2 * FID_PI / count;
    for (int i = 0; i < 200; i++) {
        double bend = (low + high) / 2;
        double chord = bend > 0 ? sin(count * bend / 2) / sin(bend / 2) : count;
        low = chord > distance ? bend : low;
        high = chord > distance ? high : bend;
    }
    return low * 180 / FID_PI;
}

/// Largest turn of a joint in degrees, of equal segments, for 1 % of the length that the goal travels outwards to
/// beyond full length; `calculated` from the chord and the curve of the softening.
static double find_pop(const shape *of, float soft, double *calculated) {
    enum { STEPS = 350 };
    double bends[STEPS + 1], wanted[STEPS + 1], worst = 0, zone = (double)soft * of->count;
    limb at = make_limb(of, (options){.soft = soft, .reach = 1});
    for (int i = 0; i <= STEPS; i++) {
        double distance = (0.85 + 0.001 * i) * at.whole;
        double gap = at.whole - distance;
        reach_for(&at, fid_vec3_add(at.base, fid_vec3_scale(at.axis, (float)distance)));
        bends[i] = find_bend(&at, 1);
        gap = gap >= zone ? gap : zone > 0 ? zone * exp(-(distance - at.whole + zone) / zone) : 0;
        wanted[i] = bend_of_chord(of->count, at.whole - gap);
        assert_near(bends[i], wanted[i], gap > 1e-4 * at.whole ? 0.02 : 0.2);
    }
    *calculated = 0;
    for (int i = 0; i + WINDOW <= STEPS; i++) {
        worst = fmax(worst, fabs(bends[i] - bends[i + WINDOW]));
        *calculated = fmax(*calculated, fabs(wanted[i] - wanted[i + WINDOW]));
    }
    end_limb(&at);
    return worst;
}

static void a_joint_turns_as_fast_as_calculated_and_no_faster(void **state) {
    (void)state;
    // Degrees for 1 % of the limb, as the chord and the softening give them: two equal segments with 0, 1, 2 and 5 %
    // of softening, three and four with 2 %.
    static const struct {
        int shape;
        float soft;
        double degrees;
    } cases[] = {{0, 0, 16.2}, {0, 0.01f, 7.2}, {0, 0.02f, 5.4}, {0, 0.05f, 3.6}, {3, 0.02f, 3.3}, {5, 0.02f, 2.4}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double calculated, pop = find_pop(&shapes[cases[i].shape], cases[i].soft, &calculated);
        assert_near(calculated, cases[i].degrees, 0.06);
        assert_near(pop, calculated, cases[i].soft > 0 ? 0.02 : 0.2);
    }
}

/// A way of the goal, straight, its middle nearest to the base.
typedef struct line {
    double lean, aside; ///< degrees off the rest axis; how far it passes the base, as a part of the length
} line;

/// Walks the goal along a line from 1.4 lengths on the one side to as far on the other.
static void walk(const shape *of, options with, line by) {
    enum { STEPS = 2800 };
    static double bends[STEPS + 1][MOST];
    fid_quat turned[MOST] = {FID_QUAT_IDENTITY};
    limb at = make_limb(of, with);
    double uneven = 0;
    for (int joint = 1; joint < of->count; joint++) {
        double a = of->lengths[joint - 1], b = of->lengths[joint];
        uneven = fmax(uneven, (a + b) / (2 * sqrt(a * b)));
    }
    // The line leans out of the plane of the bend, and passes the base on the side of the rest axis.
    fid_quat lean = fid_quat_about(fid_vec3_cross(at.axis, at.across), by.lean * FID_PI / 180);
    fid_vec3 way = fid_quat_rotate(lean, at.axis);
    fid_vec3 side = fid_vec3_sub(at.axis, fid_vec3_scale(way, fid_vec3_dot(at.axis, way)));
    fid_vec3 middle =
        fid_vec3_add(at.base, fid_vec3_scale(fid_vec3_normalize(side, at.across), (float)(by.aside * at.whole)));
    for (int i = 0; i <= STEPS; i++) {
        double along = (0.001 * i - 1.4) * at.whole;
        reach_for(&at, fid_vec3_add(middle, fid_vec3_scale(way, (float)along)));
        bool at_base = hypot(along, by.aside * at.whole) < 0.021 * at.whole;
        for (int bone = 0; bone < at.count; bone++) {
            fid_quat now = rig_frame(&at.of, at.bones[bone]).q;
            double turn = fid_degrees(fid_frame_axis_error(now, turned[bone]));
            if (i > 0 && !at_base && !(turn <= 5)) {
                fail_msg("%s: bone %d turns by %.3g degrees in a step, at %.3g of the length", of->name, bone, turn,
                         along / at.whole);
            }
            turned[bone] = now;
        }
        for (int joint = 1; joint < at.count; joint++) {
            bends[i][joint] = find_bend(&at, joint);
            double pop = i >= WINDOW ? fabs(bends[i][joint] - bends[i - WINDOW][joint]) : 0;
            if (!(pop <= 8 * uneven)) {
                fail_msg("%s (soft %g, reach %g): joint %d turns by %.3g degrees for 1 %%, at %.3g of the length",
                         of->name, (double)with.soft, (double)with.reach, joint, pop, along / at.whole);
            }
        }
    }
    end_limb(&at);
}

static void no_joint_pops_and_no_bone_flips_along_any_line(void **state) {
    (void)state;
    static const line lines[] = {{60, 0}, {60, 0.05}, {85, 0.3}, {30, 0.021}, {45, 0.9}};
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        for (int k = 0; k < 8; k++) {
            options with = {0.02f, k & 1 ? 1.25f : 1, k & 2, k & 4, false};
            walk(&shapes[i], with, lines[k % 5]);
            with.soft = 0.05f;
            with.pole = true;
            walk(&shapes[i], with, lines[(k + 2) % 5]);
        }
    }
}

static void a_mirrored_limb_moves_as_the_mirror_image(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        options with = {0.02f, i % 2 ? 1.25f : 1, i % 3 == 0, false, i % 2 == 0};
        limb left = make_limb(&shapes[i], with);
        with.mirrored = true;
        limb right = make_limb(&shapes[i], with);
        for (int step = 0; step <= 1400; step += 7) {
            fid_vec3 way = fid_quat_rotate(fid_quat_about(left.across, 0.4), left.axis);
            fid_vec3 place =
                fid_vec3_add(left.base, fid_vec3_scale(way, 0.001f * (float)(step + 30) * (float)left.whole));
            reach_for(&left, place);
            reach_for(&right, place);
            for (int bone = 0; bone <= left.count; bone++) {
                assert_vec3_near(reflected(rig_frame(&right.of, right.bones[bone]).t, true),
                                 rig_frame(&left.of, left.bones[bone]).t, 1e-5 * left.whole);
            }
        }
        end_limb(&left);
        end_limb(&right);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_joint_turns_as_fast_as_calculated_and_no_faster),
        cmocka_unit_test(no_joint_pops_and_no_bone_flips_along_any_line),
        cmocka_unit_test(a_mirrored_limb_moves_as_the_mirror_image),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
