#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "format/svg_label.h"
#include "format/svg_write.h"
#include "support/memory_fail.h"
#include "support/rig.h"

static void views_lay_the_axes_as_documented(void **state) {
    (void)state;
    static const double x[3] = {1, 0, 0}, y[3] = {0, 1, 0}, z[3] = {0, 0, 1};
    // Front: left to the right hand, up upwards (paper counts down), forward towards the viewer.
    assert_near(fid_view_project(FID_VIEW_FRONT, x).x, 1, 0);
    assert_near(fid_view_project(FID_VIEW_FRONT, y).y, -1, 0);
    assert_near(fid_view_depth(FID_VIEW_FRONT, z), 1, 0);
    assert_near(fid_view_project(FID_VIEW_SIDE, z).x, -1, 0);
    assert_near(fid_view_depth(FID_VIEW_SIDE, x), 1, 0);
    assert_near(fid_view_project(FID_VIEW_TOP, z).y, 1, 0);
    assert_near(fid_view_depth(FID_VIEW_TOP, y), 1, 0);
    // Each view is a turn: a unit of every axis keeps its length over paper and depth.
    for (int view = 0; view < FID_VIEW_COUNT; view++) {
        const double *axes[3] = {x, y, z};
        for (int i = 0; i < 3; i++) {
            fid_paper at = fid_view_project((fid_view)view, axes[i]);
            double depth = fid_view_depth((fid_view)view, axes[i]);
            assert_near(at.x * at.x + at.y * at.y + depth * depth, 1, 1e-8);
        }
    }
    assert_int_equal(fid_view_left(FID_VIEW_FRONT), 1);
    assert_int_equal(fid_view_left(FID_VIEW_SIDE), 0);
}

static void labels_never_overlap_and_stay_in_their_frame(void **state) {
    (void)state;
    static const fid_box frame = {0, 0, 400, 300};
    fid_boxes boxes = {0};
    fid_box placed[200];
    int count = 0, refused = 0;
    for (int i = 0; i < 200; i++) {
        fid_paper anchor = {(double)(i * 37 % 400), (double)(i * 53 % 300)};
        if (fid_boxes_place(&boxes, anchor, 60, 11, &frame, &placed[count])) {
            count++;
        } else {
            refused++;
        }
    }
    assert_true(count > 60 && refused > 0);
    for (int i = 0; i < count; i++) {
        assert_true(placed[i].left >= 0 && placed[i].right <= 400 && placed[i].top >= 0 && placed[i].bottom <= 300);
        for (int j = 0; j < i; j++) {
            assert_false(fid_box_overlaps(&placed[i], &placed[j]));
        }
    }
    fid_array_clear(&boxes.taken);
}

static fid_text draw(const fid_rig *rig, const solved *of, uint32_t views) {
    fid_text out = {0};
    fid_error err = {0};
    rig_ok(fid_svg_write(rig, of->pose, views, &out, &err));
    return out;
}

static void rigs_of_every_size_are_drawn(void **state) {
    (void)state;
    static const float heights[] = {1e-3f, 1, 1e4f};
    for (int i = 0; i < 3; i++) {
        fid_rig *rig = rig_make(heights[i]);
        rig_control(rig, "one", rig_none, (fid_vec3){0, heights[i], 0}, (fid_vec3){0, 0, 0});
        rig_control(rig, "two", rig_none, (fid_vec3){heights[i], 0, 0}, (fid_vec3){0, 0, 0});
        solved of = rig_compile(rig);
        fid_text text = draw(rig, &of, 15);
        assert_text_contains(text.at, "one_control");
        assert_null(strstr(text.at, "nan"));
        assert_null(strstr(text.at, "-0\""));
        fid_text_clear(&text);
        rig_end(rig, &of);
    }
}

static void empty_rigs_and_single_bones_are_drawn_and_no_view_is_refused(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    solved of = rig_compile(rig);
    fid_text text = draw(rig, &of, 1);
    assert_text_contains(text.at, "</svg>");
    fid_error err = {0};
    assert_int_equal(fid_svg_write(rig, of.pose, 0, &text, &err), FID_INVALID);
    fid_text_clear(&text);
    rig_end(rig, &of);
    rig = rig_make(1);
    rig_control(rig, "one", rig_none, (fid_vec3){5, 5, 5}, (fid_vec3){0, 0, 0});
    of = rig_compile(rig);
    text = draw(rig, &of, 2);
    assert_text_contains(text.at, "L near");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

typedef struct drawing {
    const fid_rig *rig;
    const solved *of;
} drawing;

static bool draw_once(void *user) {
    const drawing *at = user;
    fid_text out = {0};
    fid_error err = {0};
    bool done = fid_svg_write(at->rig, at->of->pose, 15, &out, &err) == FID_OK;
    fid_text_clear(&out);
    return done;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    rig_control(rig, "one", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    drawing at = {rig, &of};
    memory_fail_every(draw_once, &at);
    rig_end(rig, &of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(views_lay_the_axes_as_documented),
        cmocka_unit_test(labels_never_overlap_and_stay_in_their_frame),
        cmocka_unit_test(rigs_of_every_size_are_drawn),
        cmocka_unit_test(empty_rigs_and_single_bones_are_drawn_and_no_view_is_refused),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
