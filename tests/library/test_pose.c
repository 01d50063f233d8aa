#include "library/attack.h"
#include "library/embedded.h"
#include "support/memory_fail.h"

#include <pthread.h>

static const char arm[] = "tests/golden/skeleton_arm.json";

/// Sets every channel that may be posed to a value from `random`.
static void set_all(const fid_skeleton *skeleton, fid_skeleton_pose *pose, uint32_t *random) {
    for (int32_t i = 0; i < fid_skeleton_channel_count(skeleton); i++) {
        double unit = (double)attack_random(random) / 2147483648.0 - 1.0;
        fid_skeleton_channel kind = fid_skeleton_channel_kind(skeleton, i);
        double value = kind == FID_SKELETON_ROTATION ? 90 * unit : kind == FID_SKELETON_SCALE ? 1 + 0.5 * unit : unit;
        if (fid_skeleton_channel_animatable(skeleton, i)) {
            assert_int_equal(fid_skeleton_pose_set(pose, i, (float)value, NULL, NULL, 0), FID_STATUS_OK);
        }
    }
}

static void at_rest_the_matrices_are_those_of_rest(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    for (int round = 0; round < 2; round++) {
        for (int32_t bone = 0; bone < fid_skeleton_bone_count(skeleton); bone++) {
            float rest[16], posed[16];
            double world[16];
            assert_int_equal(fid_skeleton_rest_matrix(skeleton, bone, rest), FID_STATUS_OK);
            assert_int_equal(fid_skeleton_pose_matrix(pose, bone, posed), FID_STATUS_OK);
            assert_int_equal(fid_skeleton_pose_world_matrix(pose, bone, world), FID_STATUS_OK);
            for (int i = 0; i < 16; i++) {
                assert_near(posed[i], rest[i], round == 0 ? 0 : 1e-6);
                assert_near(world[i], rest[i], 1e-6);
            }
        }
        fid_skeleton_pose_solve(pose);
    }
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void an_arm_reaches_for_its_goal(void **state) {
    (void)state;
    // The law of cosines: two segments of length 1, goal at distance 1, hence an angle of 60 degrees at the base.
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    float base[16], elbow[16];
    embedded_set(skeleton, pose, "goal_control.translation.z", -0.8f);
    fid_skeleton_pose_solve(pose);
    assert_int_equal(fid_skeleton_pose_matrix(pose, 1, base), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_matrix(pose, 2, elbow), FID_STATUS_OK);
    assert_near(base[10], 0.5, 1e-5);
    assert_near(elbow[14], 0.5, 1e-5);
    assert_near(elbow[13], 0.8660254, 1e-5);
    assert_near(elbow[14] + elbow[10], 1, 1e-5);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void the_placement_is_in_the_world_alone(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    int32_t bone = fid_skeleton_find_bone(skeleton, "limb_01_control");
    float before[16], after[16];
    double still[16], moved[16];
    fid_skeleton_pose_solve(pose);
    assert_int_equal(fid_skeleton_pose_matrix(pose, bone, before), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_world_matrix(pose, bone, still), FID_STATUS_OK);
    embedded_set(skeleton, pose, "root_control.translation.x", 1000);
    fid_skeleton_pose_solve(pose);
    assert_int_equal(fid_skeleton_pose_matrix(pose, bone, after), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_world_matrix(pose, bone, moved), FID_STATUS_OK);
    assert_memory_equal(before, after, sizeof before);
    assert_near(moved[12] - still[12], 1000, 1e-9);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void all_matrices_are_those_of_each_bone(void **state) {
    (void)state;
    uint32_t random = 11;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    size_t count = 16 * (size_t)fid_skeleton_bone_count(skeleton);
    float *rig = malloc(count * sizeof *rig), one[16];
    double *world = malloc(count * sizeof *world), other[16];
    assert_non_null(rig);
    assert_non_null(world);
    set_all(skeleton, pose, &random);
    fid_skeleton_pose_solve(pose);
    assert_int_equal(fid_skeleton_pose_matrices(pose, rig, count - 1), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_pose_world_matrices(pose, world, count - 1), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_pose_matrices(pose, rig, count), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_world_matrices(pose, world, count), FID_STATUS_OK);
    for (size_t i = 0; i < count; i += 16) {
        assert_int_equal(fid_skeleton_pose_matrix(pose, (int32_t)(i / 16), one), FID_STATUS_OK);
        assert_int_equal(fid_skeleton_pose_world_matrix(pose, (int32_t)(i / 16), other), FID_STATUS_OK);
        assert_memory_equal(rig + i, one, sizeof one);
        assert_memory_equal(world + i, other, sizeof other);
    }
    free(rig);
    free(world);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void values_are_clamped_and_read_back(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    bool clamped = false;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    int32_t amount = embedded_channel(skeleton, "root_control.amount"), driven;
    embedded_ok(fid_skeleton_pose_set(pose, amount, -3, &clamped, message, sizeof message));
    assert_true(clamped);
    assert_near(fid_skeleton_pose_value(pose, amount), 0, 0);
    embedded_ok(fid_skeleton_pose_set(pose, amount, 0.5f, &clamped, message, sizeof message));
    assert_false(clamped);
    assert_near(fid_skeleton_pose_value(pose, amount), 0.5, 0);
    // The file adds to this scale a tenth of the amount, of a distance of 0.475 m (from z = 5.025 to halfway between 5
    // and 4.1) and of an angle of 90 degrees; a twist of 0, and what is multiplied with it, adds nothing.
    driven = embedded_channel(skeleton, "R_limb-outer-tip_02-13_deform.scale.y");
    fid_skeleton_pose_solve(pose);
    assert_near(fid_skeleton_pose_value(pose, driven), 1, 0);
    assert_near(fid_skeleton_pose_effective(pose, driven), 1 + 0.1 * (0.5 + 0.475 + 90), 1e-5);
    fid_skeleton_pose_reset(pose);
    assert_near(fid_skeleton_pose_value(pose, amount), fid_skeleton_channel_default(skeleton, amount), 0);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void a_quaternion_turns_as_its_angles_do(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *by_angle = embedded_pose(skeleton), *by_turn = embedded_pose(skeleton);
    // 60 degrees about y; twice as long as a unit quaternion.
    const float turn[4] = {0, 1, 0, 1.7320508f};
    float a[16], b[16];
    embedded_set(skeleton, by_angle, "goal_control.rotation.y", 60);
    embedded_ok(fid_skeleton_pose_set_rotation(by_turn, 0, turn, NULL, message, sizeof message));
    assert_near(fid_skeleton_pose_value(by_turn, embedded_channel(skeleton, "goal_control.rotation.y")), 60, 1e-4);
    fid_skeleton_pose_solve(by_angle);
    fid_skeleton_pose_solve(by_turn);
    assert_near(fid_skeleton_pose_effective(by_turn, embedded_channel(skeleton, "goal_control.rotation.y")), 60, 1e-4);
    assert_int_equal(fid_skeleton_pose_matrix(by_angle, 0, a), FID_STATUS_OK);
    assert_int_equal(fid_skeleton_pose_matrix(by_turn, 0, b), FID_STATUS_OK);
    for (int i = 0; i < 16; i++) {
        assert_near(a[i], b[i], 1e-6);
    }
    fid_skeleton_pose_free(by_angle);
    fid_skeleton_pose_free(by_turn);
    fid_skeleton_free(skeleton);
}

static void what_was_solved_before_makes_no_difference(void **state) {
    (void)state;
    uint32_t random = 321;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *moving = embedded_pose(skeleton), *fresh = embedded_pose(skeleton);
    int32_t channels = fid_skeleton_channel_count(skeleton);
    for (int round = 0; round < 400; round++) {
        // A few channels at a time, those that may not be posed with what they rest at.
        for (int i = 0; i < 3; i++) {
            int32_t channel = (int32_t)(attack_random(&random) % (uint32_t)channels);
            float value = fid_skeleton_channel_default(skeleton, channel);
            if (fid_skeleton_channel_animatable(skeleton, channel) && attack_random(&random) % 4 != 0) {
                value += (float)(attack_random(&random) % 100) / 200.0f;
            }
            assert_int_equal(fid_skeleton_pose_set(moving, channel, value, NULL, NULL, 0), FID_STATUS_OK);
        }
        fid_skeleton_pose_solve(moving);
        fid_skeleton_pose_reset(fresh);
        for (int32_t i = 0; i < channels; i++) {
            float value = fid_skeleton_pose_value(moving, i);
            assert_int_equal(fid_skeleton_pose_set(fresh, i, value, NULL, NULL, 0), FID_STATUS_OK);
        }
        fid_skeleton_pose_solve(fresh);
        embedded_state a = embedded_read(skeleton, moving), b = embedded_read(skeleton, fresh);
        assert_true(embedded_is_same(a, b));
        free(a.bytes);
        free(b.bytes);
    }
    fid_skeleton_pose_free(moving);
    fid_skeleton_pose_free(fresh);
    fid_skeleton_free(skeleton);
}

/// One attempt on a pose that must fail.
typedef struct attempt {
    fid_status status;
    const char *channel; ///< or NULL: a pose file, or a quaternion
    float value;
    const char *file;
    float turn[4];
    const char *part; ///< of the message
} attempt;

#define POSE_HEAD "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {"

static const attempt attempts[] = {
    {FID_STATUS_RANGE, "hand_control.translation.x", NAN, NULL, {0}, "hand_control.translation.x: the value is not"},
    {FID_STATUS_RANGE, "hand_control.rotation.y", INFINITY, NULL, {0}, "not a finite number"},
    {FID_STATUS_RANGE, "hand_control.translation.x", 1e9f, NULL, {0}, "beyond"},
    {FID_STATUS_RANGE, "hand_control.scale.z", 0, NULL, {0}, "hand_control.scale.z: scale 0 is not within"},
    {FID_STATUS_RANGE, "hand_control.rotation.y", -1e6f, NULL, {0}, "degrees"},
    {FID_STATUS_LOCKED, "R_limb-outer-tip_02-13_deform.translation.z", 0.05f, NULL, {0}, "is not animatable"},
    {FID_STATUS_RANGE, NULL, 0, NULL, {NAN, 0, 0, 1}, "hand_control: the quaternion is not finite"},
    {FID_STATUS_RANGE, NULL, 0, NULL, {0, 0, 0, 0}, "no length"},
    {FID_STATUS_SYNTAX, NULL, 0, POSE_HEAD, {0}, "p.json:1: error: "},
    {FID_STATUS_UNKNOWN, NULL, 0, POSE_HEAD "\"hand_contrl\": {}}}", {0}, "p.json: /values/hand_contrl: error: "},
    {FID_STATUS_LOCKED,
     NULL,
     0,
     POSE_HEAD "\"hand_control\": {\"translation\": [1, 2, 3]}, \"R_limb-outer-tip_02-13_deform\": "
               "{\"translation\": [0, 0, 0.05]}}}",
     {0},
     "/values/R_limb-outer-tip_02-13_deform/translation/2: error: "},
};

static void what_fails_leaves_the_pose_as_it_was(void **state) {
    (void)state;
    uint32_t random = 5;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    int32_t bone = fid_skeleton_find_bone(skeleton, "hand_control");
    set_all(skeleton, pose, &random);
    fid_skeleton_pose_solve(pose);
    embedded_state before = embedded_read(skeleton, pose);
    for (size_t i = 0; i < sizeof attempts / sizeof attempts[0]; i++) {
        const attempt *at = &attempts[i];
        char message[MESSAGE_SIZE];
        bool clamped = true;
        fid_status status;
        if (at->channel != NULL) {
            status = fid_skeleton_pose_set(pose, embedded_channel(skeleton, at->channel), at->value, &clamped, message,
                                           sizeof message);
            assert_false(clamped);
        } else if (at->file != NULL) {
            status = fid_skeleton_pose_load_text(pose, at->file, strlen(at->file), "p.json", message, sizeof message);
        } else {
            status = fid_skeleton_pose_set_rotation(pose, bone, at->turn, &clamped, message, sizeof message);
            assert_false(clamped);
        }
        assert_int_equal(status, at->status);
        assert_text_contains(message, at->part);
        for (int round = 0; round < 2; round++) {
            embedded_state after = embedded_read(skeleton, pose);
            assert_true(embedded_is_same(before, after));
            free(after.bytes);
            fid_skeleton_pose_solve(pose);
        }
    }
    free(before.bytes);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void a_bone_whose_rotation_is_locked_takes_no_quaternion(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    const float turn[4] = {1, 0, 0, 0}, none[4] = {0, 0, 0, 1};
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    assert_int_equal(fid_skeleton_pose_set_rotation(pose, 1, turn, NULL, message, sizeof message), FID_STATUS_LOCKED);
    assert_text_contains(message, "arm_01_helper: ");
    embedded_ok(fid_skeleton_pose_set_rotation(pose, 1, none, NULL, message, sizeof message));
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void a_pose_file_poses_and_says_what_was_clamped(void **state) {
    (void)state;
    static const char text[] = POSE_HEAD "\"root_control\": {\"amount\": -1, \"translation\": [0, 0, 2]}}}";
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton), *by_hand = embedded_pose(skeleton);
    embedded_set(skeleton, pose, "hand_control.translation.x", 3); // goes back to rest
    embedded_ok(fid_skeleton_pose_load_text(pose, text, strlen(text), NULL, message, sizeof message));
    assert_text_contains(message, "pose: /values/root_control/amount: note: ");
    embedded_set(skeleton, by_hand, "root_control.amount", 0);
    embedded_set(skeleton, by_hand, "root_control.translation.z", 2);
    fid_skeleton_pose_solve(pose);
    fid_skeleton_pose_solve(by_hand);
    embedded_state a = embedded_read(skeleton, pose), b = embedded_read(skeleton, by_hand);
    assert_true(embedded_is_same(a, b));
    assert_int_equal(fid_skeleton_pose_load(pose, "nowhere.json", message, sizeof message), FID_STATUS_FILE);
    assert_text_contains(message, "nowhere.json");
    embedded_state after = embedded_read(skeleton, pose);
    assert_true(embedded_is_same(a, after));
    free(a.bytes);
    free(b.bytes);
    free(after.bytes);
    fid_skeleton_pose_free(pose);
    fid_skeleton_pose_free(by_hand);
    fid_skeleton_free(skeleton);
}

static void null_and_numbers_that_are_not_there_do_no_harm(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    const float none[4] = {0, 0, 0, 1};
    float matrix[16];
    double world[16];
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *pose = embedded_pose(skeleton), *nothing = pose;
    fid_skeleton_pose *const both[] = {NULL, pose};
    for (int i = 0; i < 2; i++) {
        static const int32_t numbers[] = {-1, INT32_MIN, INT32_MAX, 1000};
        fid_skeleton_pose *at = both[i];
        for (int k = 0; k < 4; k++) {
            int32_t number = numbers[k];
            assert_int_equal(fid_skeleton_pose_set(at, number, 0, NULL, message, sizeof message), FID_STATUS_INVALID);
            assert_text_contains(message, i == 0 ? "the pose is NULL" : "there is no channel");
            assert_int_equal(fid_skeleton_pose_set_rotation(at, number, none, NULL, message, sizeof message),
                             FID_STATUS_INVALID);
            assert_text_contains(message, i == 0 ? "the pose is NULL" : "there is no bone");
            assert_near(fid_skeleton_pose_value(at, number), 0, 0);
            assert_near(fid_skeleton_pose_effective(at, number), 0, 0);
            assert_int_equal(fid_skeleton_pose_matrix(at, number, matrix), FID_STATUS_INVALID);
            assert_int_equal(fid_skeleton_pose_world_matrix(at, number, world), FID_STATUS_INVALID);
        }
        assert_int_equal(fid_skeleton_pose_set_rotation(at, 0, NULL, NULL, NULL, 0), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_load(at, NULL, message, sizeof message), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_load_text(at, NULL, 1, NULL, message, sizeof message), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_matrix(at, 0, NULL), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_matrices(at, NULL, 1000), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_world_matrix(at, 0, NULL), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_pose_world_matrices(at, NULL, 1000), FID_STATUS_INVALID);
    }
    assert_int_equal(fid_skeleton_pose_new(NULL, &nothing), FID_STATUS_INVALID);
    assert_null(nothing);
    assert_int_equal(fid_skeleton_pose_new(skeleton, NULL), FID_STATUS_INVALID);
    fid_skeleton_pose_solve(NULL);
    fid_skeleton_pose_reset(NULL);
    fid_skeleton_pose_free(NULL);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

enum { ROUNDS = 60 };

/// A thread with a pose of its own.
typedef struct work {
    const fid_skeleton *skeleton;
    uint32_t seed;
    embedded_state states[ROUNDS];
} work;

static void *pose_and_solve(void *user) {
    work *at = user;
    uint32_t random = at->seed;
    fid_skeleton_pose *pose = embedded_pose(at->skeleton);
    for (int i = 0; i < ROUNDS; i++) {
        int32_t channel = 0;
        char message[MESSAGE_SIZE];
        // Failures in one thread are not seen in another.
        assert_int_equal(fid_skeleton_find_channel(at->skeleton, "nobody.scale.x", &channel, message, sizeof message),
                         FID_STATUS_UNKNOWN);
        set_all(at->skeleton, pose, &random);
        fid_skeleton_pose_solve(pose);
        at->states[i] = embedded_read(at->skeleton, pose);
    }
    fid_skeleton_pose_free(pose);
    return NULL;
}

static void threads_with_a_pose_each_share_a_skeleton(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    work together[2] = {{skeleton, 3, {{0}}}, {skeleton, 77, {{0}}}},
         alone[2] = {{skeleton, 3, {{0}}}, {skeleton, 77, {{0}}}};
    pthread_t threads[2];
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_create(&threads[i], NULL, pose_and_solve, &together[i]), 0);
    }
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pthread_join(threads[i], NULL), 0);
        (void)pose_and_solve(&alone[i]);
    }
    for (int i = 0; i < 2; i++) {
        for (int k = 0; k < ROUNDS; k++) {
            assert_true(embedded_is_same(together[i].states[k], alone[i].states[k]));
            free(together[i].states[k].bytes);
            free(alone[i].states[k].bytes);
        }
    }
    fid_skeleton_free(skeleton);
}

enum { CROWD = 40 };

/// A crowd of two skeletons in turn, posed at random, with all but a few channels as they were solved before.
static void pose_crowd(const fid_skeleton *const *skeletons, fid_skeleton_pose **poses) {
    uint32_t random = 4711;
    for (int i = 0; i < CROWD; i++) {
        const fid_skeleton *skeleton = skeletons[i % 2];
        int32_t goal = embedded_channel(skeleton, i % 2 ? "hand_control.translation.x" : "goal_control.translation.z");
        poses[i] = embedded_pose(skeleton);
        set_all(skeleton, poses[i], &random);
        fid_skeleton_pose_solve(poses[i]);
        assert_int_equal(fid_skeleton_pose_set(poses[i], goal, (float)i / -50, NULL, NULL, 0), FID_STATUS_OK);
    }
}

static void poses_that_are_solved_together_have_the_bits_of_each_alone(void **state) {
    (void)state;
    fid_skeleton *arms = embedded_load(skeleton_file(arm)), *figures = embedded_load(embedded_figure());
    const fid_skeleton *const skeletons[] = {arms, figures};
    static const int32_t threads[] = {1, 2, 3, 1000, 0, INT32_MIN};
    fid_skeleton_pose *alone[CROWD], *together[CROWD];
    pose_crowd(skeletons, alone);
    for (int i = 0; i < CROWD; i++) {
        fid_skeleton_pose_solve(alone[i]);
    }
    for (size_t k = 0; k < sizeof threads / sizeof threads[0]; k++) {
        pose_crowd(skeletons, together);
        assert_int_equal(fid_skeleton_poses_solve(together, CROWD, threads[k]), FID_STATUS_OK);
        for (int i = 0; i < CROWD; i++) {
            embedded_state a = embedded_read(skeletons[i % 2], alone[i]);
            embedded_state b = embedded_read(skeletons[i % 2], together[i]);
            assert_true(embedded_is_same(a, b));
            free(a.bytes);
            free(b.bytes);
            fid_skeleton_pose_free(together[i]);
        }
    }
    for (int i = 0; i < CROWD; i++) {
        fid_skeleton_pose_free(alone[i]);
    }
    fid_skeleton_free(arms);
    fid_skeleton_free(figures);
}

static void poses_that_cannot_be_solved_together_are_left_as_they_were(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton_pose *one = embedded_pose(skeleton), *other = embedded_pose(skeleton);
    fid_skeleton_pose *const twice[] = {one, other, one}, *const gap[] = {one, NULL, other};
    embedded_set(skeleton, one, "goal_control.translation.z", -0.8f);
    embedded_state before = embedded_read(skeleton, one);
    assert_int_equal(fid_skeleton_poses_solve(twice, 3, 2), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_poses_solve(gap, 3, 2), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_poses_solve(NULL, 1, 2), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_poses_solve(NULL, 0, 2), FID_STATUS_OK);
    embedded_state after = embedded_read(skeleton, one);
    assert_true(embedded_is_same(before, after));
    free(after.bytes);
    // What was refused together is not refused afterwards.
    assert_int_equal(fid_skeleton_poses_solve(twice, 2, 2), FID_STATUS_OK);
    after = embedded_read(skeleton, one);
    assert_false(embedded_is_same(before, after));
    free(before.bytes);
    free(after.bytes);
    fid_skeleton_pose_free(one);
    fid_skeleton_pose_free(other);
    fid_skeleton_free(skeleton);
}

static bool make_and_load(void *user) {
    static const char text[] = POSE_HEAD "\"root_control\": {\"amount\": -1, \"translation\": [0, 0, 2]}}}";
    char message[MESSAGE_SIZE];
    fid_skeleton_pose *pose = NULL;
    fid_status status = fid_skeleton_pose_new(user, &pose);
    bool sound = (pose != NULL) == (status == FID_STATUS_OK);
    if (status == FID_STATUS_OK) {
        status = fid_skeleton_pose_load_text(pose, text, strlen(text), "p.json", message, sizeof message);
        float value = fid_skeleton_pose_value(pose, 2);
        sound = (value == 2) == (status == FID_STATUS_OK);
    }
    fid_skeleton_pose_free(pose);
    return sound && status == FID_STATUS_OK;
}

static void every_allocation_of_posing_may_fail(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    memory_fail_every(make_and_load, skeleton);
    fid_skeleton_free(skeleton);
}

static void setting_solving_and_reading_allocate_nothing(void **state) {
    (void)state;
    uint32_t random = 9;
    memory_fail fail;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    fid_skeleton_pose *pose = embedded_pose(skeleton);
    memory_fail_begin(&fail, 0);
    set_all(skeleton, pose, &random);
    fid_skeleton_pose_solve(pose);
    embedded_state read = embedded_read(skeleton, pose);
    memory_fail_end();
    assert_int_equal(fail.asked, 0);
    free(read.bytes);
    fid_skeleton_pose_free(pose);
    fid_skeleton_free(skeleton);
}

static void any_text_is_loaded_or_refused(void **state) {
    (void)state;
    uint32_t random = 20240301;
    for (int k = 0; k < 2; k++) {
        fid_text text = k == 0 ? skeleton_file(arm) : embedded_figure();
        size_t size = (size_t)text.count, step = size / 400 + 1;
        for (size_t cut = 0; cut < size; cut += step) {
            const char *wrong = attack_library(text.at, cut, &random);
            assert_string_equal(wrong ? wrong : "", "");
        }
        for (int i = 0; i < 1500; i++) {
            size_t at = attack_random(&random) % (uint32_t)size;
            char old = text.at[at];
            text.at[at] =
                (char)(i % 3 == 0 ? '0' + (int)(attack_random(&random) % 10) : old ^ (1 << attack_random(&random) % 8));
            const char *wrong = attack_library(text.at, size, &random);
            text.at[at] = old;
            assert_string_equal(wrong ? wrong : "", "");
        }
        fid_text_clear(&text);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(at_rest_the_matrices_are_those_of_rest),
        cmocka_unit_test(an_arm_reaches_for_its_goal),
        cmocka_unit_test(the_placement_is_in_the_world_alone),
        cmocka_unit_test(all_matrices_are_those_of_each_bone),
        cmocka_unit_test(values_are_clamped_and_read_back),
        cmocka_unit_test(a_quaternion_turns_as_its_angles_do),
        cmocka_unit_test(what_was_solved_before_makes_no_difference),
        cmocka_unit_test(what_fails_leaves_the_pose_as_it_was),
        cmocka_unit_test(a_bone_whose_rotation_is_locked_takes_no_quaternion),
        cmocka_unit_test(a_pose_file_poses_and_says_what_was_clamped),
        cmocka_unit_test(null_and_numbers_that_are_not_there_do_no_harm),
        cmocka_unit_test(threads_with_a_pose_each_share_a_skeleton),
        cmocka_unit_test(poses_that_are_solved_together_have_the_bits_of_each_alone),
        cmocka_unit_test(poses_that_cannot_be_solved_together_are_left_as_they_were),
        cmocka_unit_test(every_allocation_of_posing_may_fail),
        cmocka_unit_test(setting_solving_and_reading_allocate_nothing),
        cmocka_unit_test(any_text_is_loaded_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
