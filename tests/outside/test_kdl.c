#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "math/scalar.h"
#include "outside/kdl.h"
#include "support/rig.h"

/// Our solve beside Orocos KDL 1.5, a library of robot kinematics in double precision that shares nothing with it.

enum { CHAINS = 300, MOST_BONES = 12, VALUES = 6 };

/// From -1 to 1 (xorshift64*, S. Vigna 2016).
static double any(uint64_t *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ull) >> 11) / 4503599627370496.0 - 1;
}

static double between(uint64_t *state, double low, double high) { return low + (high - low) * (any(state) + 1) / 2; }

static fid_quat any_rotation(uint64_t *state) {
    for (;;) {
        fid_quat q = {(float)any(state), (float)any(state), (float)any(state), (float)any(state)};
        float length = q.x * q.x + q.y * q.y + q.z * q.z + q.w * q.w;
        if (length > 0.01f && length < 1) {
            return fid_quat_normalize(q);
        }
    }
}

/// A chain of bones, each a child of the one before, at random places and in random orders of rotation, and the same in
/// KDL: of each bone its frame at rest, three shifts, three turns in its order.
typedef struct pair {
    fid_rig *rig;
    fid_bone_id bones[MOST_BONES];
    int count;
    int behind[MOST_BONES]; ///< elements of the KDL chain up to and with a bone
    double length;          ///< of all translations at rest
    kdl_chain *other;
} pair;

static void add_bone(pair *to, uint64_t *state) {
    static const int axes[][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    fid_error err = {0};
    fid_bone_def def = fid_bone_default();
    int order = (int)between(state, 0, 5.999);
    def.part = "link";
    def.index[0] = 1;
    def.index[1] = to->count + 1;
    def.side = FID_CENTER;
    def.role = FID_CONTROL;
    def.length = 0.1f;
    def.channels = FID_MASK_TRANSLATION | FID_MASK_ROTATION;
    def.rotation_order = order;
    def.parent = to->count > 0 ? to->bones[to->count - 1] : rig_none;
    def.rest.t = (fid_vec3){(float)any(state), (float)any(state), (float)any(state)};
    def.rest.q = any_rotation(state);
    rig_ok(fid_rig_add_bone(to->rig, &def, &to->bones[to->count], &err));
    // The rest frame as KDL takes it: its own numbers in double precision.
    const double t[3] = {(double)def.rest.t.x, (double)def.rest.t.y, (double)def.rest.t.z},
                 q[4] = {(double)def.rest.q.x, (double)def.rest.q.y, (double)def.rest.q.z, (double)def.rest.q.w};
    kdl_chain_add_frame(to->other, t, q);
    for (int axis = 0; axis < 3; axis++) {
        kdl_chain_add_shift(to->other, axis);
    }
    for (int i = 0; i < 3; i++) {
        kdl_chain_add_turn(to->other, axes[order][i]);
    }
    to->length += (double)fid_vec3_length(def.rest.t);
    to->behind[to->count++] = kdl_chain_count(to->other);
}

/// Poses both at random; `values` are KDL's, in the order of its joints.
static void pose_both(const pair *at, const solved *of, uint64_t *state, double *values) {
    static const int axes[][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    for (int i = 0; i < at->count; i++) {
        float turn[3];
        const int *order = axes[fid_rig_bone(at->rig, at->bones[i], NULL)->def.rotation_order];
        for (int axis = 0; axis < 3; axis++) {
            float shift = (float)(0.5 * any(state));
            turn[axis] = (float)(360 * any(state));
            rig_set(of, at->bones[i], (fid_axis)axis, shift);
            rig_set(of, at->bones[i], (fid_axis)(FID_ROTATION_X + axis), turn[axis]);
            values[VALUES * i + axis] = (double)shift;
        }
        for (int k = 0; k < 3; k++) {
            values[VALUES * i + 3 + k] = (double)turn[order[k]] * FID_PI / 180;
        }
    }
    fid_solve(of->program, of->pose);
}

static void random_chains_stand_where_forward_kinematics_puts_them(void **state) {
    (void)state;
    uint64_t random = 88172645463325252ull;
    double worst_place = 0, worst_turn = 0;
    for (int chain = 0; chain < CHAINS; chain++) {
        double values[VALUES * MOST_BONES];
        pair at = {.rig = rig_make(1), .other = kdl_chain_new()};
        int count = 1 + chain % MOST_BONES;
        while (at.count < count) {
            add_bone(&at, &random);
        }
        solved of = rig_compile(at.rig);
        pose_both(&at, &of, &random, values);
        for (int i = 0; i < count; i++) {
            double mine[16], theirs[16];
            fid_pose_world(of.pose, (int32_t)at.bones[i].handle.slot, mine);
            kdl_chain_forward(at.other, values, at.behind[i], theirs);
            for (int k = 0; k < 16; k++) {
                double *worst = k < 12 ? &worst_turn : &worst_place;
                *worst = fmax(*worst, fabs(mine[k] - theirs[k]) / (k < 12 ? 1 : at.length));
            }
        }
        kdl_chain_free(at.other);
        rig_end(at.rig, &of);
    }
    // docs/mathematics.md, "Accuracy and range": 1e-5 of the height, here that of the chain, and 0.01 degrees.
    print_message("%d chains: largest differences %.1e of a chain's length, %.1e of an axis\n", (int)CHAINS,
                  worst_place, worst_turn);
    assert_true(worst_place > 0 && worst_place < 1e-5);
    assert_true(worst_turn > 0 && worst_turn < 0.01 * FID_PI / 180);
}

/// A plane chain with an ik, and the same in KDL: three turns at its base, a hinge at every other joint.
typedef struct limb {
    fid_rig *rig;
    fid_bone_id goal;
    fid_chain_id chain;
    solved of;
    kdl_chain *other;
    int count; ///< segments
    double length[MOST_BONES], bend[MOST_BONES], whole, all_bends;
    fid_vec3 base, end; ///< at rest
} limb;

/// In degrees: at rest the joints bend to one side, by no more than 100 degrees together.
static limb make_limb(int count, float soft, bool linked, uint64_t *state) {
    limb out = {.rig = rig_make(2), .count = count, .other = kdl_chain_new()};
    const double nowhere[4] = {0, 0, 0, 1};
    fid_vec3 points[MOST_BONES + 1] = {{(float)any(state), (float)any(state), (float)any(state)}};
    fid_quat plane = any_rotation(state);
    double angle = 0;
    for (int axis = 0; axis < 3; axis++) {
        kdl_chain_add_turn(out.other, axis);
    }
    for (int i = 0; i < count; i++) {
        out.length[i] = between(state, 0.2, 1);
        out.bend[i] = i > 0 ? between(state, 50, 100) / (count - 1) : 0;
        out.whole += out.length[i];
        out.all_bends += out.bend[i];
        angle += out.bend[i] * FID_PI / 180;
        fid_vec3 way = {0, (float)(-out.length[i] * sin(angle)), (float)(out.length[i] * cos(angle))};
        points[i + 1] = fid_vec3_add(points[i], fid_quat_rotate(plane, way));
        const double along[3] = {0, 0, out.length[i]};
        if (i > 0) {
            kdl_chain_add_turn(out.other, 0);
        }
        kdl_chain_add_frame(out.other, along, nowhere);
    }
    out.base = points[0];
    out.end = points[count];
    out.goal = rig_control(out.rig, "goal", rig_none, out.end, (fid_vec3){0, 0, 0});
    out.chain = rig_chain(out.rig, "limb", rig_none, points, count + 1, true, linked ? FID_LINKED : FID_FAN);
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = out.chain;
    def.as.ik.goal = rig_source(out.goal);
    def.as.ik.soft.value = soft;
    rig_constrain(out.rig, &def);
    out.of = rig_compile(out.rig);
    return out;
}

static void end_limb(limb *at) {
    kdl_chain_free(at->other);
    rig_end(at->rig, &at->of);
}

/// How far the end is from the base where every joint bends by so many times its bend at rest: KDL tells.
static double find_distance(const limb *at, double fold) {
    double values[MOST_BONES + 3] = {0}, end[16];
    for (int i = 1; i < at->count; i++) {
        values[2 + i] = fold * at->bend[i] * FID_PI / 180;
    }
    kdl_chain_forward(at->other, values, kdl_chain_count(at->other), end);
    return sqrt(end[12] * end[12] + end[13] * end[13] + end[14] * end[14]);
}

/// Puts the goal there, relative to the base, and tells how far the end is from it, and how far the segments are from
/// their lengths, as parts of the chain's length.
static double miss(const limb *at, fid_vec3 goal, double *lengths) {
    const fid_bone_id *bones = fid_rig_chain(at->rig, at->chain, NULL)->bones;
    fid_vec3 place = fid_vec3_add(at->base, goal), before = at->base;
    rig_move(&at->of, at->goal, fid_vec3_sub(place, at->end), (fid_vec3){0, 0, 0});
    fid_solve(at->of.program, at->of.pose);
    for (int i = 0; i < at->count; i++) {
        fid_vec3 next = rig_frame(&at->of, bones[i + 1]).t;
        double off = fabs((double)fid_vec3_distance(before, next) - at->length[i]);
        *lengths = fmax(*lengths, off / at->whole);
        before = next;
    }
    return (double)fid_vec3_distance(before, place) / at->whole;
}

/// Whether KDL finds the goal, from where the chain rests.
static bool kdl_finds(const limb *at, fid_vec3 goal) {
    const double place[3] = {(double)goal.x, (double)goal.y, (double)goal.z};
    double values[MOST_BONES + 3] = {0};
    for (int i = 1; i < at->count; i++) {
        values[2 + i] = at->bend[i] * FID_PI / 180;
    }
    return kdl_chain_reach(at->other, place, values);
}

static fid_vec3 any_way(uint64_t *state) { return fid_quat_rotate(any_rotation(state), (fid_vec3){0, 0, 1}); }

/// Goals at distances that the chain has at folds from nearly straight to its joints all but half turned together.
static void try_goals(int count, float soft, double most, uint64_t *state) {
    enum { LIMBS = 12, GOALS = 40 };
    int tried = 0, found = 0;
    double worst = 0, lengths = 0;
    for (int i = 0; i < LIMBS; i++) {
        limb at = make_limb(count, soft, i % 2 == 1, state);
        // A chain that bends to one side by no more than half a turn comes nearer all the way.
        double top = 178 / at.all_bends, nearest = find_distance(&at, top);
        for (int k = 0; k < GOALS; k++) {
            double distance = find_distance(&at, between(state, 0.03, top)), zone = (double)soft * at.whole;
            if (distance > at.whole - zone - 1e-4 * at.whole || distance < nearest + zone) {
                continue; // softened, where the end is not to meet the goal; full length has no limit of slope
            }
            fid_vec3 goal = fid_vec3_scale(any_way(state), (float)distance);
            double off = miss(&at, goal, &lengths);
            if (!(off <= most)) {
                fail_msg("%d segments: a goal at %.3g of the length is missed by %.2g of it", count,
                         distance / at.whole, off);
            }
            worst = fmax(worst, off);
            found += kdl_finds(&at, goal);
            tried++;
        }
        end_limb(&at);
    }
    print_message("%d segments, soft %g: %d goals, of which KDL's search finds %d; missed by %.1e at most\n", count,
                  (double)soft, tried, found, worst);
    assert_true(lengths < 1e-5);
    assert_true(tried > LIMBS * GOALS / 2);
    assert_true(found > tried * 9 / 10);
}

static void two_bones_meet_every_goal_within_reach(void **state) {
    (void)state;
    uint64_t random = 6364136223846793005ull;
    try_goals(2, 0, 1e-5, &random);
    try_goals(2, 0.02f, 1e-5, &random);
}

static void longer_chains_meet_every_goal_within_reach(void **state) {
    (void)state;
    uint64_t random = 1442695040888963407ull;
    static const int counts[] = {3, 4, 6, 10};
    for (int i = 0; i < 4; i++) {
        try_goals(counts[i], 0, 1e-4, &random);
        try_goals(counts[i], 0.02f, 1e-4, &random);
    }
}

static void whatever_kdl_reaches_with_two_bones_is_met(void **state) {
    (void)state;
    enum { GOALS = 600 };
    uint64_t random = 3935559000370003845ull;
    int found = 0, beyond = 0;
    for (int i = 0; i < GOALS; i++) {
        double lengths = 0;
        limb at = make_limb(2, 0, i % 2 == 1, &random);
        fid_vec3 goal = fid_vec3_scale(any_way(&random), (float)between(&random, 0.02, 1.2 * at.whole));
        // Where the formulas have no limit of slope nothing is promised: within 1e-4 of full length.
        bool near_full = fabs((double)fid_vec3_length(goal) - at.whole) < 1e-4 * at.whole;
        bool finds = kdl_finds(&at, goal);
        double off = miss(&at, goal, &lengths);
        found += finds;
        beyond += !finds && off > 1e-4;
        if (finds && !near_full && !(off <= 1e-5)) {
            fail_msg("KDL reaches a goal at %.4g m with segments of %.4g and %.4g m; ours misses it by %.2g",
                     (double)fid_vec3_length(goal), at.length[0], at.length[1], off);
        }
        end_limb(&at);
    }
    print_message("two bones: KDL reaches %d of %d goals; %d are beyond both\n", found, (int)GOALS, beyond);
    assert_true(found > GOALS / 2 && beyond > GOALS / 20);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_chains_stand_where_forward_kinematics_puts_them),
        cmocka_unit_test(two_bones_meet_every_goal_within_reach),
        cmocka_unit_test(longer_chains_meet_every_goal_within_reach),
        cmocka_unit_test(whatever_kdl_reaches_with_two_bones_is_met),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
