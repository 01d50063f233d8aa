#include "format/skeleton.h"

#include "format/difference.h"
#include "format/why_text.h"
#include "solve/solve.h"
#include "support/memory_fail.h"

/// Two skeletons of the golden files.
typedef struct two {
    fid_text before, after;
} two;

static two begin(void) {
    return (two){skeleton_file("tests/golden/skeleton_arm.json"), skeleton_file("tests/golden/skeleton_whole.json")};
}

static void end(two *of) {
    fid_text_clear(&of->before);
    fid_text_clear(&of->after);
}

static void a_skeleton_is_not_different_from_itself(void **state) {
    (void)state;
    two of = begin();
    const fid_text *texts[2] = {&of.before, &of.after};
    for (int i = 0; i < 2; i++) {
        fid_difference difference = {0};
        fid_text text = {0};
        fid_error err = {0};
        rig_ok(fid_difference_find(texts[i]->at, texts[i]->at, 0, &difference, &err));
        assert_int_equal(difference.changes.count, 0);
        fid_difference_add_text(&difference, &text);
        assert_string_equal(text.at, "no difference\n");
        fid_text_clear(&text);
        fid_difference_clear(&difference);
    }
    end(&of);
}

static int32_t count(const fid_difference *of, fid_change_kind kind) {
    int32_t found = 0;
    for (int32_t i = 0; i < of->changes.count; i++) {
        found += of->changes.at[i].kind == kind;
    }
    return found;
}

static void what_is_added_one_way_is_removed_the_other_way(void **state) {
    (void)state;
    two of = begin();
    fid_difference there = {0}, back = {0};
    fid_error err = {0};
    rig_ok(fid_difference_find(of.before.at, of.after.at, 0, &there, &err));
    rig_ok(fid_difference_find(of.after.at, of.before.at, 0, &back, &err));
    assert_true(count(&there, FID_CHANGE_ADDED) > 0 && count(&there, FID_CHANGE_REMOVED) > 0);
    assert_int_equal(count(&there, FID_CHANGE_ADDED), count(&back, FID_CHANGE_REMOVED));
    assert_int_equal(count(&there, FID_CHANGE_REMOVED), count(&back, FID_CHANGE_ADDED));
    assert_int_equal(count(&there, FID_CHANGE_CHANGED), count(&back, FID_CHANGE_CHANGED));
    fid_difference_clear(&there);
    fid_difference_clear(&back);
    end(&of);
}

static void what_is_no_document_is_an_error(void **state) {
    (void)state;
    fid_difference difference = {0};
    fid_error err = {0};
    assert_int_equal(fid_difference_find("{}", "{", 0, &difference, &err), FID_SYNTAX);
    assert_int_equal(difference.changes.count, 0);
    fid_difference_clear(&difference);
}

static bool find_and_write(void *user) {
    const two *of = user;
    fid_difference difference = {0};
    fid_text text = {0}, json = {0};
    fid_error err = {0};
    fid_code code = fid_difference_find(of->before.at, of->after.at, 0, &difference, &err);
    if (code == FID_OK) {
        fid_difference_add_text(&difference, &text);
        fid_difference_add_json(&difference, &json);
    }
    bool done = code == FID_OK && !text.failed && !json.failed;
    fid_text_clear(&text);
    fid_text_clear(&json);
    fid_difference_clear(&difference);
    return done;
}

static void every_allocation_of_a_comparison_may_fail(void **state) {
    (void)state;
    two of = begin();
    memory_fail_every(find_and_write, &of);
    end(&of);
}

/// A rig that is posed and solved.
typedef struct posed {
    fid_rig *rig;
    solved of;
} posed;

static bool tell_all(void *user) {
    const posed *at = user;
    const fid_origin_style style = {NULL, NULL};
    fid_text text = {0};
    for (int32_t i = 0; i < at->rig->bones.count; i++) {
        fid_why_add(at->rig, at->of.pose, i, &style, &text);
    }
    bool done = !text.failed;
    fid_text_clear(&text);
    return done;
}

static void every_allocation_of_what_made_a_bone_may_fail(void **state) {
    (void)state;
    fid_text text = skeleton_file("tests/golden/skeleton_arm.json");
    posed at = {.rig = skeleton_rig(&text)};
    fid_text_clear(&text);
    at.of = rig_compile(at.rig);
    fid_solve(at.of.program, at.of.pose);
    memory_fail_every(tell_all, &at);
    rig_end(at.rig, &at.of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_skeleton_is_not_different_from_itself),
        cmocka_unit_test(what_is_added_one_way_is_removed_the_other_way),
        cmocka_unit_test(what_is_no_document_is_an_error),
        cmocka_unit_test(every_allocation_of_a_comparison_may_fail),
        cmocka_unit_test(every_allocation_of_what_made_a_bone_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
