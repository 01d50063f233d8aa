#include "base/map.h"
#include "support/memory_fail.h"

#include <stdio.h>
#include <string.h>

enum { MANY = 5000 };

static char names[MANY][24];

static int make_names(void **state) {
    (void)state;
    for (int i = 0; i < MANY; i++) {
        snprintf(names[i], sizeof names[i], "bone_%d", i);
    }
    return 0;
}

static void an_empty_map_has_nothing(void **state) {
    (void)state;
    fid_map map = {0};
    assert_int_equal(fid_map_find(&map, "shin"), -1);
    assert_int_equal(fid_map_find(&map, ""), -1);
    fid_map_remove(&map, "shin");
    fid_map_clear(&map);
}

static void values_are_found_by_equal_text(void **state) {
    (void)state;
    fid_map map = {0};
    for (int i = 0; i < MANY; i++) {
        assert_true(fid_map_set(&map, names[i], i));
    }
    assert_int_equal(map.count, MANY);
    for (int i = 0; i < MANY; i++) {
        char other[24]; // equal text elsewhere
        snprintf(other, sizeof other, "bone_%d", i);
        assert_int_equal(fid_map_find(&map, other), i);
    }
    assert_int_equal(fid_map_find(&map, "bone_"), -1);
    assert_int_equal(fid_map_find(&map, "bone_5000"), -1);
    fid_map_clear(&map);
    assert_int_equal(fid_map_find(&map, "bone_0"), -1);
}

static void a_second_value_replaces_the_first(void **state) {
    (void)state;
    fid_map map = {0};
    assert_true(fid_map_set(&map, "shin", 3));
    assert_true(fid_map_set(&map, "shin", 8));
    assert_int_equal(map.count, 1);
    assert_int_equal(fid_map_find(&map, "shin"), 8);
    fid_map_clear(&map);
}

static void the_empty_text_is_a_key_too(void **state) {
    (void)state;
    fid_map map = {0};
    assert_true(fid_map_set(&map, "", 4));
    assert_int_equal(fid_map_find(&map, ""), 4);
    fid_map_remove(&map, "");
    assert_int_equal(fid_map_find(&map, ""), -1);
    fid_map_clear(&map);
}

static void removed_keys_are_gone_and_others_stay(void **state) {
    (void)state;
    fid_map map = {0};
    for (int i = 0; i < MANY; i++) {
        assert_true(fid_map_set(&map, names[i], i));
    }
    for (int i = 0; i < MANY; i += 2) {
        fid_map_remove(&map, names[i]);
    }
    assert_int_equal(map.count, MANY / 2);
    for (int i = 0; i < MANY; i++) {
        assert_int_equal(fid_map_find(&map, names[i]), i % 2 == 0 ? -1 : i);
    }
    for (int i = 0; i < MANY; i += 2) {
        assert_true(fid_map_set(&map, names[i], i + 1));
    }
    for (int i = 0; i < MANY; i++) {
        assert_int_equal(fid_map_find(&map, names[i]), i % 2 == 0 ? i + 1 : i);
    }
    fid_map_clear(&map);
}

static void coming_and_going_keys_neither_fill_nor_grow_the_map(void **state) {
    (void)state;
    fid_map map = {0};
    for (int i = 0; i < 100000; i++) {
        assert_true(fid_map_set(&map, names[i % MANY], i));
        fid_map_remove(&map, names[i % MANY]);
    }
    assert_int_equal(map.count, 0);
    assert_true(map.capacity <= 64);
    fid_map_clear(&map);
}

static bool set_many(void *user) {
    (void)user;
    fid_map map = {0};
    bool done = true;
    int set = 0;
    for (; set < 100 && done; set++) {
        done = fid_map_set(&map, names[set], set);
    }
    // What was there before the failure is there still.
    bool kept = true;
    for (int i = 0; i < set - (done ? 0 : 1); i++) {
        kept = kept && fid_map_find(&map, names[i]) == i;
    }
    if (!kept) {
        print_error("a key got lost\n");
        done = !done;
    }
    fid_map_clear(&map);
    return done;
}

static void a_failed_allocation_leaves_the_map_as_it_was(void **state) {
    (void)state;
    memory_fail_every(set_many, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_empty_map_has_nothing),
        cmocka_unit_test(values_are_found_by_equal_text),
        cmocka_unit_test(a_second_value_replaces_the_first),
        cmocka_unit_test(the_empty_text_is_a_key_too),
        cmocka_unit_test(removed_keys_are_gone_and_others_stay),
        cmocka_unit_test(coming_and_going_keys_neither_fill_nor_grow_the_map),
        cmocka_unit_test(a_failed_allocation_leaves_the_map_as_it_was),
    };
    return cmocka_run_group_tests(tests, make_names, NULL);
}
