#include "rig/build.h"

#include <string.h>

static void sets_have_names_of_their_own(void **state) {
    (void)state;
    fid_error err;
    fid_rig *rig = build_rig();
    fid_set_id id;
    fid_set_def def = fid_set_default();
    build_refused(fid_rig_add_set(rig, &def, &id, &err), FID_INVALID, "'name' is missing");
    def.name = "Hands";
    build_refused(fid_rig_add_set(rig, &def, &id, &err), FID_INVALID, "small letters");
    def.name = "hands";
    def.color = NULL;
    def.origin = build_origin(rig, "a.lua", 8);
    build_ok(fid_rig_add_set(rig, &def, &id, &err));
    assert_string_equal(rig->sets.at[0].color, "#999999");
    assert_int_equal(fid_rig_find_set(rig, "hands").handle.slot, 0);
    assert_false(fid_handle_is_null(fid_rig_find_set(rig, "hands").handle));
    assert_true(fid_handle_is_null(fid_rig_find_set(rig, "feet").handle));
    build_refused(fid_rig_add_set(rig, &def, &id, &err), FID_NAME_TAKEN, "a.lua:8");
    fid_rig_free(rig);
}

static void shapes_have_the_extent_that_is_asked_for(void **state) {
    (void)state;
    for (int shape = 0; fid_shape_names[shape] != NULL; shape++) {
        fid_error err = {0};
        fid_arena arena = {0};
        fid_strokes strokes = {0};
        build_ok(fid_shape_strokes((fid_shape)shape, 3.0f, &arena, &strokes, &err));
        float lo[3] = {9, 9, 9}, hi[3] = {-9, -9, -9};
        assert_true(strokes.count > 0);
        for (int32_t i = 0; i < strokes.count; i++) {
            for (int32_t k = 0; k < strokes.at[i].count; k++) {
                const float p[3] = {strokes.at[i].points[k].x, strokes.at[i].points[k].y, strokes.at[i].points[k].z};
                for (int c = 0; c < 3; c++) {
                    lo[c] = p[c] < lo[c] ? p[c] : lo[c];
                    hi[c] = p[c] > hi[c] ? p[c] : hi[c];
                }
                if (shape == FID_CIRCLE) {
                    assert_near(sqrt((double)p[0] * p[0] + (double)p[2] * p[2]), 1.5, 1e-6);
                }
            }
        }
        assert_near(hi[2] - lo[2], 3, 1e-6);
        assert_true(hi[0] - lo[0] <= 3.0f + 1e-6f);
        assert_near(hi[1] - lo[1], shape == FID_BOX ? 3 : 0, 1e-6); // flat ones are square to +Y
        fid_arena_clear(&arena);
    }
    fid_error err = {0};
    fid_arena arena = {0};
    fid_strokes arrow = {0};
    build_ok(fid_shape_strokes(FID_ARROW, 2.0f, &arena, &arrow, &err));
    int32_t tip = 0;
    for (int32_t k = 0; k < arrow.at[0].count; k++) {
        tip = arrow.at[0].points[k].z > arrow.at[0].points[tip].z ? k : tip;
    }
    assert_near(arrow.at[0].points[tip].x, 0, 0);
    assert_near(arrow.at[0].points[tip].z, 1, 0);
    fid_arena_clear(&arena);
}

static void equal_outlines_without_a_name_are_kept_once(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_arena arena = {0};
    fid_outline_id ids[4];
    const float sizes[] = {1.0f, 2.0f, 1.0f, 3.0f};
    for (int i = 0; i < 4; i++) {
        fid_outline_def def = fid_outline_default();
        build_ok(fid_shape_strokes(FID_CIRCLE, sizes[i], &arena, &def.strokes, &err));
        build_ok(fid_rig_add_outline(rig, &def, "circle", &ids[i], &err));
    }
    assert_int_equal(rig->outlines.count, 3);
    assert_memory_equal(&ids[0], &ids[2], sizeof ids[0]);
    assert_string_equal(rig->outlines.at[0].name, "circle1");
    assert_string_equal(rig->outlines.at[1].name, "circle2");
    assert_string_equal(rig->outlines.at[2].name, "circle3");
    fid_outline_id found = fid_rig_find_outline(rig, "circle2");
    assert_memory_equal(&found, &ids[1], sizeof found);
    assert_true(fid_handle_is_null(fid_rig_find_outline(rig, "circle").handle));
    fid_arena_clear(&arena);
    fid_rig_free(rig);
}

static void outlines_with_names_are_as_they_are_called(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_arena arena = {0};
    fid_outline_id id;
    fid_outline_def def = {.name = "ring"};
    build_ok(fid_shape_strokes(FID_CIRCLE, 1.0f, &arena, &def.strokes, &err));
    build_ok(fid_rig_add_outline(rig, &def, "circle", &id, &err));
    def.name = "halo";
    build_ok(fid_rig_add_outline(rig, &def, "circle", &id, &err));
    assert_int_equal(rig->outlines.count, 2);
    build_refused(fid_rig_add_outline(rig, &def, "circle", &id, &err), FID_NAME_TAKEN, "'halo'");
    def.name = "Halo";
    build_refused(fid_rig_add_outline(rig, &def, "circle", &id, &err), FID_INVALID, "small letters");
    def.name = NULL;
    build_ok(fid_rig_add_outline(rig, &def, NULL, &id, &err));
    assert_int_equal(id.handle.slot, 0); // the ring is equal
    build_ok(fid_shape_strokes(FID_CIRCLE, 2.0f, &arena, &def.strokes, &err));
    build_refused(fid_rig_add_outline(rig, &def, NULL, &id, &err), FID_INVALID, "'name' is missing");
    def.strokes.count = 0;
    build_refused(fid_rig_add_outline(rig, &def, "circle", &id, &err), FID_INVALID, "'strokes' is missing");
    fid_arena_clear(&arena);
    fid_rig_free(rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sets_have_names_of_their_own),
        cmocka_unit_test(shapes_have_the_extent_that_is_asked_for),
        cmocka_unit_test(equal_outlines_without_a_name_are_kept_once),
        cmocka_unit_test(outlines_with_names_are_as_they_are_called),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
