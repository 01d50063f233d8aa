#include "library/embedded.h"
#include "support/memory_fail.h"

#include <cjson/cJSON.h>
#include <float.h>

static const char arm[] = "tests/golden/skeleton_arm.json";

static void the_library_says_what_it_is(void **state) {
    (void)state;
    assert_int_equal(fid_interface(), FID_INTERFACE);
    assert_string_equal(fid_version(), FID_VERSION);
    assert_string_equal(fid_status_name(FID_STATUS_OK), "ok");
    assert_string_equal(fid_status_name(FID_STATUS_INTERNAL), "internal");
    assert_string_equal(fid_status_name((fid_status)99), "unknown status");
}

static int asked;

static void *count_and_get(size_t size) {
    asked++;
    return malloc(size);
}

static void hooks_that_a_program_gave_to_the_json_reader_stay_its_own(void **state) {
    (void)state;
    cJSON_Hooks hooks = {count_and_get, free};
    cJSON_InitHooks(&hooks);
    fid_skeleton_free(embedded_load(skeleton_file(arm)));
    asked = 0;
    cJSON_Delete(cJSON_CreateNull());
    cJSON_InitHooks(NULL);
    assert_int_equal(asked, 1);
}

static void bones_have_what_the_file_says(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    assert_string_equal(fid_skeleton_name(skeleton), "arm");
    assert_near(fid_skeleton_height(skeleton), 1, 0);
    assert_int_equal(fid_skeleton_placement(skeleton), FID_NO_INDEX);
    assert_int_equal(fid_skeleton_bone_count(skeleton), 3);
    assert_string_equal(fid_skeleton_bone_name(skeleton, 2), "arm_02_helper");
    assert_string_equal(fid_skeleton_bone_address(skeleton, 2), "arm/2/helper");
    assert_int_equal(fid_skeleton_bone_parent(skeleton, 2), 1);
    assert_int_equal(fid_skeleton_bone_parent(skeleton, 1), FID_NO_INDEX);
    assert_int_equal(fid_skeleton_bone_role(skeleton, 0), FID_SKELETON_CONTROL);
    assert_int_equal(fid_skeleton_bone_role(skeleton, 2), FID_SKELETON_HELPER);
    assert_near(fid_skeleton_bone_length(skeleton, 0), 0.1, 1e-8);
    assert_int_equal(fid_skeleton_find_bone(skeleton, "arm_01_helper"), 1);
    assert_int_equal(fid_skeleton_find_bone(skeleton, "arm/2/helper"), 2);
    assert_int_equal(fid_skeleton_find_bone(skeleton, "arm_03_helper"), FID_NO_INDEX);
    assert_int_equal(fid_skeleton_find_bone(skeleton, ""), FID_NO_INDEX);
    fid_skeleton_free(skeleton);
    skeleton = embedded_load(embedded_figure());
    assert_int_equal(fid_skeleton_placement(skeleton), fid_skeleton_find_bone(skeleton, "root_control"));
    assert_int_equal(
        fid_skeleton_bone_role(skeleton, fid_skeleton_find_bone(skeleton, "limb.outer/tip/2.13/right/deform")),
        FID_SKELETON_DEFORM);
    fid_skeleton_free(skeleton);
}

static void a_channel_that_is_listed_is_found_by_its_name(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    int32_t count = fid_skeleton_channel_count(skeleton), bones = fid_skeleton_bone_count(skeleton), placed = 0;
    for (int32_t i = 0; i < count; i++) {
        const char *name = fid_skeleton_channel_name(skeleton, i);
        int32_t bone = fid_skeleton_channel_bone(skeleton, i);
        assert_non_null(name);
        assert_int_equal(embedded_channel(skeleton, name), i);
        assert_int_equal(bone == FID_NO_INDEX, fid_skeleton_channel_kind(skeleton, i) == FID_SKELETON_WEIGHT);
        float rest = fid_skeleton_channel_default(skeleton, i);
        assert_true(fid_skeleton_channel_min(skeleton, i) <= rest && rest <= fid_skeleton_channel_max(skeleton, i));
        if (bone != FID_NO_INDEX && bone == fid_skeleton_placement(skeleton) &&
            fid_skeleton_channel_kind(skeleton, i) <= FID_SKELETON_SCALE) {
            placed++;
        }
        if (i < 9 * bones - 2) {
            assert_int_equal(bone, i < 7 ? 0 : (i + 2) / 9); // the placement is the first bone of this file
        }
    }
    assert_int_equal(placed, 7);
    assert_int_equal(fid_skeleton_channel_kind(skeleton, embedded_channel(skeleton, "root_control.scale")),
                     FID_SKELETON_SCALE);
    fid_skeleton_free(skeleton);
}

static void channels_have_what_the_file_says(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    int32_t locked = embedded_channel(skeleton, "R_limb-outer-tip_02-13_deform.translation.z");
    assert_int_equal(embedded_channel(skeleton, "limb.outer/tip/2.13/right/deform.translation.z"), locked);
    assert_int_equal(fid_skeleton_channel_kind(skeleton, locked), FID_SKELETON_TRANSLATION);
    assert_near(fid_skeleton_channel_min(skeleton, locked), 0, 0);
    assert_near(fid_skeleton_channel_max(skeleton, locked), 0.1, 1e-8);
    assert_false(fid_skeleton_channel_animatable(skeleton, locked));
    int32_t open = embedded_channel(skeleton, "hand_control.rotation.y");
    assert_int_equal(fid_skeleton_channel_kind(skeleton, open), FID_SKELETON_ROTATION);
    assert_true(fid_skeleton_channel_min(skeleton, open) == -FLT_MAX &&
                fid_skeleton_channel_max(skeleton, open) == FLT_MAX);
    assert_true(fid_skeleton_channel_animatable(skeleton, open));
    assert_int_equal(fid_skeleton_channel_choice_count(skeleton, open), 0);
    assert_null(fid_skeleton_channel_choice(skeleton, open, 0));
    int32_t weight = embedded_channel(skeleton, "upper/control:follow2.weight");
    assert_int_equal(fid_skeleton_channel_kind(skeleton, weight), FID_SKELETON_WEIGHT);
    assert_int_equal(fid_skeleton_channel_bone(skeleton, weight), FID_NO_INDEX);
    int32_t slider = FID_NO_INDEX;
    for (int32_t i = 0; i < fid_skeleton_channel_count(skeleton); i++) {
        if (fid_skeleton_channel_choice_count(skeleton, i) == 3) {
            slider = i;
        }
    }
    assert_int_equal(fid_skeleton_channel_kind(skeleton, slider), FID_SKELETON_SLIDER);
    assert_string_equal(fid_skeleton_channel_choice(skeleton, slider, 0), "world");
    assert_string_equal(fid_skeleton_channel_choice(skeleton, slider, 2), "grip");
    assert_null(fid_skeleton_channel_choice(skeleton, slider, 3));
    assert_null(fid_skeleton_channel_choice(skeleton, slider, -1));
    assert_near(fid_skeleton_channel_max(skeleton, slider), 2, 0);
    fid_skeleton_free(skeleton);
}

static void a_name_that_is_no_channel_gets_the_nearest_right_one(void **state) {
    (void)state;
    static const char *const names[] = {"goal_control.translation.w",
                                        "goal_contrl.rotation.x",
                                        "goal_control",
                                        "",
                                        ".",
                                        "arm:ik.wait",
                                        "arm:aim.weight"};
    static const char *const parts[] = {"did you mean 'translation.x'?",
                                        "did you mean 'goal_control'?",
                                        "is no channel",
                                        "is no channel",
                                        "is no channel",
                                        "CONSTRAINT.weight",
                                        "did you mean 'arm:ik'?"};
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char message[MESSAGE_SIZE];
        int32_t channel = 7;
        assert_int_equal(fid_skeleton_find_channel(skeleton, names[i], &channel, message, sizeof message),
                         FID_STATUS_UNKNOWN);
        assert_int_equal(channel, FID_NO_INDEX);
        assert_text_contains(message, parts[i]);
        assert_text_contains(message, "fid: error: ");
    }
    fid_skeleton_free(skeleton);
}

/// Loads a text that must be refused.
static void refuse(const char *text, size_t size, const char *name, fid_status status, const char *part) {
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = (fid_skeleton *)(void *)message;
    assert_int_equal(fid_skeleton_load_text(text, size, name, &skeleton, message, sizeof message), status);
    assert_null(skeleton);
    assert_text_contains(message, part);
    assert_null(strchr(message, '\n'));
}

static void what_is_wrong_with_a_file_is_said_with_its_place(void **state) {
    (void)state;
    fid_text text = skeleton_file(arm);
    size_t size = (size_t)text.count;
    refuse("", 0, "a.json", FID_STATUS_SYNTAX, "a.json:1: error: ");
    refuse(NULL, 0, NULL, FID_STATUS_SYNTAX, "skeleton:1: error: ");
    refuse(text.at, size / 2, "cut.json", FID_STATUS_SYNTAX, "cut.json:");
    refuse("{}", 2, "b.json", FID_STATUS_INVALID, "b.json: /: error: key 'format' is missing");
    refuse("{}", 2, "a\x1b\xff.json", FID_STATUS_INVALID, "a??.json: ");
    char *parent = strstr(text.at, "\"parent\": \"arm_01_helper\"");
    assert_non_null(parent);
    memcpy(parent + 11, "arm_07", 6);
    refuse(text.at, size, "arm.json", FID_STATUS_UNKNOWN,
           "arm.json: /bones/2/parent: error: no bone 'arm_07_helper'; did you mean 'arm_01_helper'?");
    memcpy(parent + 11, "arm_01", 6);
    fid_text_clear(&text);
}

static void a_skeleton_that_cannot_be_solved_is_refused_with_the_line_of_its_recipe(void **state) {
    (void)state;
    // In this file a bone needs one that hangs from it.
    fid_text text = skeleton_file("tests/golden/skeleton_whole.json");
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = NULL;
    assert_int_equal(
        fid_skeleton_load_text(text.at, (size_t)text.count, "loop.json", &skeleton, message, sizeof message),
        FID_STATUS_UNSOUND);
    assert_null(skeleton);
    assert_text_contains(message, "fid:modules/leg/module.lua:49: error: a cycle: ");
    assert_text_contains(message, "[C305]\n    in limb (right) of leg 1.2.0, used at walker.lua:3\n    to mend: ");
    assert_int_not_equal(message[strlen(message) - 1], '\n');
    fid_text_clear(&text);
}

static void a_file_that_is_not_there_is_named(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = NULL;
    assert_int_equal(fid_skeleton_load("nowhere.json", &skeleton, message, sizeof message), FID_STATUS_FILE);
    assert_text_contains(message, "nowhere.json");
    assert_null(skeleton);
    assert_int_equal(fid_skeleton_load("/", &skeleton, message, sizeof message), FID_STATUS_FILE);
    assert_text_contains(message, "folder");
    assert_int_equal(fid_skeleton_load(NULL, &skeleton, message, sizeof message), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_load("nowhere.json", NULL, NULL, 0), FID_STATUS_FILE);
}

static void a_message_that_is_too_long_is_cut_between_characters(void **state) {
    (void)state;
    char message[16];
    fid_skeleton *skeleton = NULL;
    // Three bytes a character.
    static const char name[] = "\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac";
    memset(message, 'x', sizeof message);
    assert_int_equal(fid_skeleton_load_text("", 0, name, &skeleton, message, 12), FID_STATUS_SYNTAX);
    assert_int_equal(strlen(message), 9);
    assert_int_equal(message[12], 'x');
    assert_int_equal(fid_skeleton_load_text("", 0, name, &skeleton, message, 1), FID_STATUS_SYNTAX);
    assert_string_equal(message, "");
    memset(message, 'x', sizeof message);
    assert_int_equal(fid_skeleton_load_text("", 0, name, &skeleton, message, 0), FID_STATUS_SYNTAX);
    assert_int_equal(message[0], 'x');
}

static void null_and_numbers_that_are_not_there_do_no_harm(void **state) {
    (void)state;
    char message[MESSAGE_SIZE];
    float matrix[16];
    int32_t channel;
    fid_skeleton *skeleton = embedded_load(skeleton_file(arm));
    fid_skeleton *const both[] = {NULL, skeleton};
    for (int i = 0; i < 2; i++) {
        const fid_skeleton *at = both[i];
        const int32_t numbers[] = {-1, INT32_MIN, INT32_MAX, 1000};
        for (int k = 0; k < 4; k++) {
            int32_t number = numbers[k];
            assert_null(fid_skeleton_bone_name(at, number));
            assert_null(fid_skeleton_bone_address(at, number));
            assert_int_equal(fid_skeleton_bone_parent(at, number), FID_NO_INDEX);
            assert_int_equal(fid_skeleton_bone_role(at, number), FID_SKELETON_HELPER);
            assert_near(fid_skeleton_bone_length(at, number), 0, 0);
            assert_int_equal(fid_skeleton_rest_matrix(at, number, matrix), FID_STATUS_INVALID);
            assert_null(fid_skeleton_channel_name(at, number));
            assert_int_equal(fid_skeleton_channel_kind(at, number), FID_SKELETON_WEIGHT);
            assert_int_equal(fid_skeleton_channel_bone(at, number), FID_NO_INDEX);
            assert_near(fid_skeleton_channel_default(at, number), 0, 0);
            assert_near(fid_skeleton_channel_min(at, number), 0, 0);
            assert_near(fid_skeleton_channel_max(at, number), 0, 0);
            assert_false(fid_skeleton_channel_animatable(at, number));
            assert_int_equal(fid_skeleton_channel_choice_count(at, number), 0);
            assert_null(fid_skeleton_channel_choice(at, number, 0));
        }
        assert_int_equal(fid_skeleton_find_bone(at, NULL), FID_NO_INDEX);
        assert_int_equal(fid_skeleton_find_channel(at, NULL, &channel, message, sizeof message), FID_STATUS_INVALID);
        assert_text_contains(message, "NULL");
        assert_int_equal(fid_skeleton_inverse_rest_matrices(at, NULL, 1000), FID_STATUS_INVALID);
        assert_int_equal(fid_skeleton_inverse_rest_matrices(at, matrix, 16), FID_STATUS_INVALID);
    }
    assert_int_equal(fid_skeleton_find_channel(skeleton, "arm:ik.weight", NULL, NULL, 0), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_rest_matrix(skeleton, 0, NULL), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_load_text(NULL, 3, NULL, &skeleton, NULL, 0), FID_STATUS_INVALID);
    assert_null(skeleton);
    fid_skeleton_free(both[1]);
    fid_skeleton_free(NULL);
    assert_string_equal(fid_skeleton_name(NULL), "");
    assert_int_equal(fid_skeleton_bone_count(NULL) + fid_skeleton_channel_count(NULL), 0);
    assert_near(fid_skeleton_height(NULL), 0, 0);
    assert_int_equal(fid_skeleton_placement(NULL), FID_NO_INDEX);
}

static void rest_times_its_inverse_is_the_identity(void **state) {
    (void)state;
    fid_skeleton *skeleton = embedded_load(embedded_figure());
    size_t bones = (size_t)fid_skeleton_bone_count(skeleton);
    float *inverse = malloc(bones * 16 * sizeof *inverse);
    assert_non_null(inverse);
    assert_int_equal(fid_skeleton_inverse_rest_matrices(skeleton, inverse, bones * 16 - 1), FID_STATUS_INVALID);
    assert_int_equal(fid_skeleton_inverse_rest_matrices(skeleton, inverse, bones * 16), FID_STATUS_OK);
    for (size_t bone = 0; bone < bones; bone++) {
        float rest[16];
        assert_int_equal(fid_skeleton_rest_matrix(skeleton, (int32_t)bone, rest), FID_STATUS_OK);
        for (int i = 0; i < 16; i++) {
            double sum = 0;
            for (int k = 0; k < 4; k++) {
                sum += (double)rest[4 * k + i % 4] * (double)inverse[16 * bone + (size_t)(4 * (i / 4) + k)];
            }
            assert_near(sum, i % 5 == 0 ? 1 : 0, 1e-6);
        }
    }
    free(inverse);
    fid_skeleton_free(skeleton);
}

static bool load_and_free(void *user) {
    const fid_text *text = user;
    char message[MESSAGE_SIZE];
    fid_skeleton *skeleton = NULL;
    fid_status status =
        fid_skeleton_load_text(text->at, (size_t)text->count, "test.json", &skeleton, message, sizeof message);
    bool sound = (status == FID_STATUS_OK) == (skeleton != NULL) && (status == FID_STATUS_OK) == (message[0] == '\0') &&
                 (status == FID_STATUS_OK || status == FID_STATUS_NO_MEMORY);
    fid_skeleton_free(skeleton);
    return sound && status == FID_STATUS_OK;
}

static void every_allocation_of_loading_may_fail(void **state) {
    (void)state;
    fid_text text = embedded_figure();
    memory_fail_every(load_and_free, &text);
    fid_text_clear(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_library_says_what_it_is),
        // Before any test whose allocations fail: those take the hooks of the process.
        cmocka_unit_test(hooks_that_a_program_gave_to_the_json_reader_stay_its_own),
        cmocka_unit_test(bones_have_what_the_file_says),
        cmocka_unit_test(a_channel_that_is_listed_is_found_by_its_name),
        cmocka_unit_test(channels_have_what_the_file_says),
        cmocka_unit_test(a_name_that_is_no_channel_gets_the_nearest_right_one),
        cmocka_unit_test(what_is_wrong_with_a_file_is_said_with_its_place),
        cmocka_unit_test(a_skeleton_that_cannot_be_solved_is_refused_with_the_line_of_its_recipe),
        cmocka_unit_test(a_file_that_is_not_there_is_named),
        cmocka_unit_test(a_message_that_is_too_long_is_cut_between_characters),
        cmocka_unit_test(null_and_numbers_that_are_not_there_do_no_harm),
        cmocka_unit_test(rest_times_its_inverse_is_the_identity),
        cmocka_unit_test(every_allocation_of_loading_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
