#include "script/run.h"

#include "script/module_search.h"
#include "support/memory_fail.h"

/// Where modules are found, without running them.

static int enter(void **state) {
    // Outside of the source tree, whose modules would be found in a folder above.
    int result = chdir("/tmp") == 0 ? run_enter(state) : -1;
    if (result == 0) {
        run_put("marsh/rigs/modules/leg/module.lua", "");
        run_put("marsh/rigs/modules/Wing/module.lua", "");
        run_put("marsh/rigs/modules/empty/readme", "");
        run_put("marsh/modules/leg/module.lua", "");
        run_put("marsh/modules/stretch_leg/module.lua", "");
        run_put("shared/eye/module.lua", "");
        run_put("shared/modules/ear/module.lua", "");
        run_put("twice/jaw/module.lua", "");
        run_put("twice/modules/jaw/module.lua", "");
    }
    return result;
}

static void nearest_folder_comes_first_the_program_last(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"leg", "marsh/rigs/modules/leg"}, {"stretch_leg", "marsh/modules/stretch_leg"}, {"eye", "shared/eye"},
        {"ear", "shared/modules/ear"},     {"eye_stalk", "fid:modules/eye_stalk"},
    };
    fid_file_path found;
    fid_error err;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(fid_module_find("marsh/rigs", "nothing:shared", cases[i][0], &found, &err), FID_OK);
        assert_string_equal(found.at, cases[i][1]);
    }
}

static void two_modules_of_one_name_in_one_folder_are_refused(void **state) {
    (void)state;
    fid_file_path found;
    fid_error err;
    assert_int_equal(fid_module_find(".", "shared:twice", "jaw", &found, &err), FID_NAME_TAKEN);
    assert_text_contains(err.message, "there are two modules 'jaw' in one folder of FID_PATH: twice/jaw and "
                                      "twice/modules/jaw; take one of them away");
    // Two folders of the list are two places: the first one is nearer.
    assert_int_equal(fid_module_find(".", "twice/modules:twice/modules/..", "jaw", &found, &err), FID_OK);
    assert_string_equal(found.at, "twice/modules/jaw");
}

static void what_is_not_there_is_refused_with_the_nearest_name(void **state) {
    (void)state;
    fid_file_path found;
    fid_error err;
    assert_int_equal(fid_module_find("marsh/rigs", "shared", "lge", &found, &err), FID_UNKNOWN);
    assert_text_contains(err.message,
                         "there is no module 'lge' (did you mean 'leg'?); looked in modules/ of the folder "
                         "'marsh/rigs'");
    assert_text_contains(err.message, "FID_PATH (shared)");
    assert_int_equal(fid_module_find("marsh/rigs", NULL, "empty", &found, &err), FID_UNKNOWN);
    assert_text_contains(err.message, "FID_PATH (which is empty)");
    assert_int_equal(fid_module_find("marsh/rigs", NULL, "../leg", &found, &err), FID_INVALID);
}

static void list_tells_what_is_hidden_and_by_what(void **state) {
    (void)state;
    fid_module_places places = {0};
    fid_error err;
    assert_int_equal(fid_module_list("marsh/rigs", "shared", &places, &err), FID_OK);
    const char *before = "";
    int32_t legs = 0, hidden = 0;
    for (int32_t i = 0; i < places.list.count; i++) {
        const fid_module_place *place = &places.list.at[i];
        assert_true(strcmp(before, place->name) <= 0);
        before = place->name;
        if (strcmp(place->name, "leg") == 0) {
            assert_string_equal(place->folder, legs == 0 ? "marsh/rigs/modules/leg" : "marsh/modules/leg");
            assert_true(legs == 0 ? place->hidden_by == NULL : strcmp(place->hidden_by, "marsh/rigs/modules/leg") == 0);
            legs++;
        }
        hidden += place->hidden_by != NULL && strcmp(place->hidden_by, "marsh/modules/stretch_leg") == 0;
        assert_string_not_equal(place->name, "Wing");
        assert_string_not_equal(place->name, "empty");
    }
    assert_int_equal(legs, 2);
    assert_int_equal(hidden, 1);
    fid_module_places_clear(&places);
}

static bool list(void *user) {
    (void)user;
    fid_module_places places = {0};
    bool done = fid_module_list("marsh/rigs", "shared", &places, NULL) == FID_OK;
    fid_module_places_clear(&places);
    return done;
}

static void lack_of_memory_leaves_nothing(void **state) {
    (void)state;
    memory_fail_every(list, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nearest_folder_comes_first_the_program_last),
        cmocka_unit_test(two_modules_of_one_name_in_one_folder_are_refused),
        cmocka_unit_test(what_is_not_there_is_refused_with_the_nearest_name),
        cmocka_unit_test(list_tells_what_is_hidden_and_by_what),
        cmocka_unit_test(lack_of_memory_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, enter, run_leave);
}
