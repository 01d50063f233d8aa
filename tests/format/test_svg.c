#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "format/svg_drawing.h"
#include "format/svg_element.h"
#include "format/svg_write.h"
#include "support/memory_fail.h"
#include "support/rig.h"

enum { EVERY_VIEW = (1 << FID_VIEW_COUNT) - 1 };

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

static void a_line_is_cut_at_a_box_and_lines_cross(void **state) {
    (void)state;
    static const fid_box box = {0, 0, 10, 10};
    fid_paper a = {-5, 5}, b = {15, 5};
    assert_true(fid_box_cut(&box, &a, &b));
    assert_near(a.x, 0, 1e-12);
    assert_near(b.x, 10, 1e-12);
    a = (fid_paper){-5, 12}, b = (fid_paper){15, 12};
    assert_false(fid_box_cut(&box, &a, &b));
    assert_near(a.x, -5, 0);
    // Past a corner: inside the range of x and of y, but never of both at once.
    a = (fid_paper){-8, 4}, b = (fid_paper){4, -8};
    assert_false(fid_box_cut(&box, &a, &b));
    assert_true(fid_paper_crosses((fid_paper){0, 0}, (fid_paper){2, 2}, (fid_paper){0, 2}, (fid_paper){2, 0}));
    assert_false(fid_paper_crosses((fid_paper){0, 0}, (fid_paper){2, 2}, (fid_paper){3, 0}, (fid_paper){3, 9}));
    assert_false(fid_paper_crosses((fid_paper){0, 0}, (fid_paper){2, 2}, (fid_paper){2, 2}, (fid_paper){3, 9}));
}

static void ink_is_counted_square_by_square(void **state) {
    (void)state;
    static const fid_box frame = {100, 100, 180, 140};
    fid_ink ink;
    fid_error err = {0};
    rig_ok(fid_ink_begin(&ink, &frame, &err));
    // Ten squares of weight 2 in a row, and one of them is 5; what lies outside is left out.
    fid_ink_add_line(&ink, (fid_paper){102, 110}, (fid_paper){138, 110}, 2);
    fid_ink_add_line(&ink, (fid_paper){118, 110}, (fid_paper){118, 110}, 5);
    fid_ink_add_line(&ink, (fid_paper){-1e9, 90}, (fid_paper){1e9, 90}, 9);
    fid_ink_sum(&ink);
    assert_int_equal(fid_ink_under(&ink, &frame), 10 * 2 + 3);
    assert_int_equal(fid_ink_under(&ink, &(fid_box){101, 101, 115, 139}), 4 * 2);
    assert_int_equal(fid_ink_under(&ink, &(fid_box){101, 113, 170, 139}), 0);
    fid_ink_clear(&ink);
}

static fid_labels make_labels(const fid_box *frame) {
    fid_error err = {0};
    fid_labels labels = {.frame = *frame, .middle = {200, 150}};
    rig_ok(fid_ink_begin(&labels.ink, frame, &err));
    return labels;
}

static void labels_never_overlap_and_stay_in_their_frame(void **state) {
    (void)state;
    static const fid_box frame = {0, 0, 400, 300}, mark = {0, 130, 30, 160};
    fid_labels labels = make_labels(&frame);
    assert_true(fid_array_push(&labels.taken, mark));
    for (int i = 0; i < 200; i++) {
        fid_label label = {.of = i, .anchor = {(double)(i * 37 % 400), (double)(i * 53 % 300)}, .width = 60};
        assert_true(fid_array_push(&labels.at, label));
    }
    fid_labels_place(&labels);
    int placed = 0;
    for (int i = 0; i < 200; i++) {
        const fid_label *one = &labels.at.at[i];
        if (!one->is_placed) {
            continue;
        }
        placed++;
        assert_true(fid_box_holds(&frame, &one->box));
        assert_false(fid_box_overlaps(&mark, &one->box));
        for (int j = 0; j < 200; j++) {
            const fid_label *other = &labels.at.at[j];
            fid_paper a = other->anchor, b = other->end;
            if (j != i && other->is_placed) {
                assert_false(fid_box_overlaps(&one->box, &other->box));
                assert_false(fid_box_cut(&one->box, &a, &b));
            }
        }
    }
    // There is room for 6 by 25 at the very most.
    assert_in_range(placed, 50, 150);
    fid_labels_clear(&labels);
}

static void a_label_keeps_off_ink_and_away_from_the_middle(void **state) {
    (void)state;
    static const fid_box frame = {0, 0, 400, 300};
    for (int inked = 0; inked < 2; inked++) {
        fid_labels labels = make_labels(&frame);
        for (int y = 90; inked && y < 110; y += 2) {
            fid_ink_add_line(&labels.ink, (fid_paper){305, y}, (fid_paper){400, y}, 2);
        }
        fid_ink_sum(&labels.ink);
        fid_label label = {.anchor = {300, 100}, .width = 60};
        assert_true(fid_array_push(&labels.at, label));
        fid_labels_place(&labels);
        assert_true(labels.at.at[0].is_placed);
        if (inked) {
            assert_int_equal(fid_ink_under(&labels.ink, &labels.at.at[0].box), 0);
        } else {
            assert_true(labels.at.at[0].box.left > 300);
            assert_int_equal(labels.at.at[0].fastening, FID_FASTEN_LEFT);
        }
        fid_labels_clear(&labels);
    }
}

static void numbers_have_hundredths_and_no_negative_zero_and_words_are_escaped(void **state) {
    (void)state;
    fid_text out = {0};
    static const double values[] = {-0.001, 1.005001, -2.5, 1234.999};
    for (int i = 0; i < 4; i++) {
        fid_svg_add_number(&out, values[i]);
        fid_text_add(&out, " ");
    }
    assert_string_equal(out.at, "0 1.01 -2.5 1235 ");
    fid_svg_add_words(&out, (fid_paper){0, 0}, FID_FASTEN_RIGHT, 9, "#000000", "a<b & c>d");
    assert_text_contains(out.at, ">a&lt;b &amp; c&gt;d</text>");
    assert_text_contains(out.at, "text-anchor=\"end\"");
    fid_text_clear(&out);
}

static fid_text draw(const fid_rig *rig, const solved *of, uint32_t views) {
    fid_text out = {0};
    fid_error err = {0};
    rig_ok(fid_svg_write(rig, of->pose, &(fid_svg_wishes){.views = views}, &out, &err));
    return out;
}

static int count_of(const char *text, const char *part) {
    int count = 0;
    for (const char *at = strstr(text, part); at; at = strstr(at + 1, part)) {
        count++;
    }
    return count;
}

/// The number after the next `key` from `*at` on, which moves behind it.
static double next_number(const char **at, const char *key) {
    const char *found = strstr(*at, key);
    assert_non_null(found);
    *at = found + strlen(key);
    return strtod(*at, NULL);
}

/// The x of the words that are `words` as a whole.
static double x_of_words(const char *text, const char *words) {
    char part[64] = ">";
    strcat(strcat(part, words), "</text>");
    const char *found = strstr(text, part);
    assert_non_null(found);
    while (strncmp(found, "<text", 5) != 0) {
        found--;
    }
    return next_number(&found, " x=\"");
}

static fid_bone_id add_sided(fid_rig *rig, const char *part, fid_side side, fid_vec3 at) {
    fid_error err = {0};
    fid_bone_id out;
    fid_bone_def def = fid_bone_default();
    def.part = part;
    def.side = (int32_t)side;
    def.role = FID_CONTROL;
    def.rest = (fid_frame){at, {0, 0, 0, 1}, {1, 1, 1}};
    def.length = 0.1f;
    def.channels = FID_MASK_ALL;
    rig_ok(fid_rig_add_bone(rig, &def, &out, &err));
    return out;
}

static void l_and_r_stand_where_the_sides_are(void **state) {
    (void)state;
    static const fid_view views[] = {FID_VIEW_FRONT, FID_VIEW_TOP, FID_VIEW_THREE_QUARTER};
    fid_rig *rig = rig_make(1);
    add_sided(rig, "hand", FID_LEFT, (fid_vec3){1, 0.5f, 0});
    add_sided(rig, "hand", FID_RIGHT, (fid_vec3){-1, 0.5f, 0});
    solved of = rig_compile(rig);
    for (int i = 0; i < 3; i++) {
        fid_text text = draw(rig, &of, 1u << views[i]);
        // The ring of either color tells the side.
        double x[2] = {0, 0};
        static const char *const colors[] = {"#E69F00", "#56B4E9"};
        const char *legend = strstr(text.at, ">deform bone<");
        for (const char *at = strstr(text.at, "<circle"); at && at < legend; at = strstr(at + 1, "<circle")) {
            for (int j = 0; j < 2; j++) {
                const char *here = at, *color = strstr(at, colors[j]);
                x[j] = color && color < strstr(at, "/>") ? next_number(&here, "cx=\"") : x[j];
            }
        }
        assert_true(x[0] > 0 && x[1] > 0);
        assert_true((x[0] > x[1]) == (x_of_words(text.at, "L") > x_of_words(text.at, "R")));
        assert_int_equal(count_of(text.at, ">L</text>"), 1);
        fid_text_clear(&text);
    }
    fid_text text = draw(rig, &of, 1u << FID_VIEW_SIDE);
    assert_text_contains(text.at, "L near");
    // From the side the right hand lies behind the left one, which alone is named.
    assert_text_contains(text.at, ">hand_left_control<");
    assert_null(strstr(text.at, ">hand_right_control<"));
    assert_text_contains(text.at, "1 name of the right side");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void the_bar_has_a_round_length_of_80_to_200_pixels(void **state) {
    (void)state;
    assert_near(fid_svg_bar(80), 1, 1e-12);
    assert_near(fid_svg_bar(79), 2, 1e-12);
    assert_near(fid_svg_bar(39), 5, 1e-12);
    assert_near(fid_svg_bar(15), 10, 1e-12);
    assert_near(fid_svg_bar(900), 0.1, 1e-12);
    for (double scale = 1e-9; scale < 1e9; scale *= 1.37) {
        double pixels = fid_svg_bar(scale) * scale;
        assert_true(pixels > 79.999 && pixels < 200.001);
    }
}

static void the_bar_measures_what_is_drawn(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    rig_control(rig, "low", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    rig_control(rig, "high", rig_none, (fid_vec3){0, 3, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    fid_text text = draw(rig, &of, 1u << FID_VIEW_FRONT);
    const char *ring = strstr(text.at, "<circle"), *bar = text.at;
    double first = next_number(&ring, "cy=\""), second = next_number(&ring, "cy=\""), metre = (first - second) / 3;
    metre = metre < 0 ? -metre : metre;
    // The bar is the first line of the document; its words say how many metres it is long.
    double begin = next_number(&bar, "<line x1=\""), end = next_number(&bar, "x2=\"");
    const char *words = strstr(text.at, " m</text>");
    assert_non_null(words);
    while (words[-1] != '>') {
        words--;
    }
    assert_near(end - begin, strtod(words, NULL) * metre, 0.05);
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void every_bone_is_drawn_in_every_view(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    static const fid_vec3 points[] = {{0, 0, 0}, {0, 1, 0.1f}, {0, 2, 0}, {0, 3, 0.1f}};
    rig_chain(rig, "arm", rig_none, points, 4, true, FID_LINKED);
    solved of = rig_compile(rig);
    fid_text text = draw(rig, &of, EVERY_VIEW);
    // Five rings are in the legend.
    assert_int_equal(count_of(text.at, "<circle"), 4 * 4 + 5);
    for (int i = 1; i <= 4; i++) {
        char name[] = ">arm_00_control<";
        name[6] = (char)('0' + i);
        assert_int_equal(count_of(text.at, name), 4);
    }
    assert_text_contains(text.at, "Named: all bones.");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void the_heading_tells_what_is_posed(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id one = rig_control(rig, "one", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    fid_text text = draw(rig, &of, EVERY_VIEW), again = draw(rig, &of, EVERY_VIEW);
    assert_text_contains(text.at, ">at rest<");
    assert_string_equal(text.at, again.at);
    fid_text_clear(&again);
    fid_text_clear(&text);
    rig_set(&of, one, FID_TRANSLATION_Y, 0.25f);
    fid_solve(of.program, of.pose);
    text = draw(rig, &of, EVERY_VIEW);
    assert_text_contains(text.at, ">posed: one_control.translation.y 0.25<");
    fid_text_clear(&text);
    rig_move(&of, one, (fid_vec3){1, 2, 3}, (fid_vec3){10, 20, 0});
    fid_solve(of.program, of.pose);
    text = draw(rig, &of, EVERY_VIEW);
    assert_text_contains(text.at, "one_control.translation.z 3 and 2 more<");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void rigs_of_every_size_are_drawn(void **state) {
    (void)state;
    static const float heights[] = {1e-3f, 1, 1e4f};
    for (int i = 0; i < 3; i++) {
        fid_rig *rig = rig_make(heights[i]);
        rig_control(rig, "one", rig_none, (fid_vec3){0, heights[i], 0}, (fid_vec3){0, 0, 0});
        rig_control(rig, "two", rig_none, (fid_vec3){heights[i], 0, 0}, (fid_vec3){0, 0, 0});
        solved of = rig_compile(rig);
        fid_text text = draw(rig, &of, EVERY_VIEW);
        assert_int_equal(count_of(text.at, ">one_control<"), 4);
        assert_null(strstr(text.at, "nan"));
        assert_null(strstr(text.at, "inf"));
        assert_null(strstr(text.at, "-0\""));
        fid_text_clear(&text);
        rig_end(rig, &of);
    }
}

static void empty_rigs_and_single_bones_are_drawn_and_no_view_is_refused(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    solved of = rig_compile(rig);
    fid_text text = draw(rig, &of, EVERY_VIEW);
    assert_text_contains(text.at, "</svg>");
    fid_text_clear(&text);
    fid_error err = {0};
    assert_int_equal(fid_svg_write(rig, of.pose, &(fid_svg_wishes){0}, &text, &err), FID_INVALID);
    fid_text_clear(&text);
    rig_end(rig, &of);
    rig = rig_make(1);
    rig_control(rig, "one", rig_none, (fid_vec3){5, 5, 5}, (fid_vec3){0, 0, 0});
    of = rig_compile(rig);
    text = draw(rig, &of, 1u << FID_VIEW_SIDE);
    assert_text_contains(text.at, ">one_control<");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void poses_at_the_ends_of_all_scales_are_drawn(void **state) {
    (void)state;
    static const float scales[] = {1e-3f, 1e3f};
    for (int end = 0; end < 2; end++) {
        fid_rig *rig = rig_make(1);
        fid_error err = {0};
        fid_bone_id bones[16];
        for (int i = 0; i < 16; i++) {
            char part[] = "a";
            part[0] = (char)('a' + i);
            fid_bone_def def = fid_bone_default();
            def.part = part;
            def.side = FID_CENTER;
            def.role = FID_CONTROL;
            def.parent = i > 0 ? bones[i - 1] : rig_none;
            def.rest = (fid_frame){{0, 1, 0}, {0, 0, 0, 1}, {1, 1, 1}};
            def.length = 0.1f;
            def.channels = def.takes = FID_MASK_ALL;
            rig_ok(fid_rig_add_bone(rig, &def, &bones[i], &err));
        }
        solved of = rig_compile(rig);
        for (int i = 0; i < 16; i++) {
            rig_scale(&of, bones[i], (fid_vec3){scales[end], scales[end], scales[end]});
        }
        fid_solve(of.program, of.pose);
        fid_text text = draw(rig, &of, EVERY_VIEW);
        assert_int_equal(count_of(text.at, "<circle"), 4 * 16 + 5);
        assert_null(strstr(text.at, "nan"));
        assert_null(strstr(text.at, "inf"));
        fid_text_clear(&text);
        rig_end(rig, &of);
    }
}

static void bones_at_rest_are_drawn_below_where_they_have_moved(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id one = rig_control(rig, "one", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    rig_control(rig, "two", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    fid_pose *rest = NULL;
    fid_error err = {0};
    rig_ok(fid_pose_new(of.program, &rest, &err));
    fid_solve(rest->program, rest);
    fid_text text = {0};
    fid_svg_wishes wishes = {.views = 1u << FID_VIEW_SIDE, .rest = rest};
    rig_ok(fid_svg_write(rig, of.pose, &wishes, &text, &err));
    // In the legend alone: its line and its ring.
    assert_int_equal(count_of(text.at, fid_picture_rest_color), 2);
    fid_text_clear(&text);
    rig_move(&of, one, (fid_vec3){0, 0.5f, 0}, (fid_vec3){0, 0, 0});
    fid_solve(of.program, of.pose);
    rig_ok(fid_svg_write(rig, of.pose, &wishes, &text, &err));
    assert_int_equal(count_of(text.at, fid_picture_rest_color), 4);
    assert_text_contains(text.at, ">at rest<");
    fid_text_clear(&text);
    fid_pose_free(rest);
    rig_end(rig, &of);
}

static void where_controls_are_all_there_is_their_outlines_at_rest_are_drawn(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id one = rig_control(rig, "one", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    fid_vec3 points[] = {{0, 0, 0}, {0, 0.1f, 0}, {0, 0.1f, 0.1f}};
    fid_stroke stroke = {.closed = true, .points = points, .count = 3};
    fid_outline_def drawn = fid_outline_default();
    drawn.strokes = (fid_strokes){&stroke, 1};
    fid_outline_id outline;
    fid_error err = {0};
    rig_ok(fid_rig_add_outline(rig, &drawn, "outline", &outline, &err));
    rig->bones.at[one.handle.slot].def.outline = outline;
    solved of = rig_compile(rig);
    fid_pose *rest = NULL;
    rig_ok(fid_pose_new(of.program, &rest, &err));
    fid_solve(rest->program, rest);
    rig_move(&of, one, (fid_vec3){0, 0.5f, 0}, (fid_vec3){0, 0, 0});
    fid_solve(of.program, of.pose);
    fid_text text = {0};
    fid_svg_wishes wishes = {.views = 1u << FID_VIEW_SIDE, .rest = rest};
    rig_ok(fid_svg_write(rig, of.pose, &wishes, &text, &err));
    assert_int_equal(count_of(text.at, "<polygon"), 2);
    assert_int_equal(count_of(text.at, fid_picture_rest_color), 3);
    fid_text_clear(&text);
    fid_pose_free(rest);
    rig_end(rig, &of);
}

static void bones_that_are_skipped_neither_show_nor_widen_a_picture(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    rig_control(rig, "near", rig_none, (fid_vec3){0, 0, 0}, (fid_vec3){0, 0, 0});
    rig_control(rig, "far", rig_none, (fid_vec3){0, 500, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    const bool skip[] = {false, true};
    fid_text text = {0};
    fid_error err = {0};
    fid_svg_wishes wishes = {.views = 1u << FID_VIEW_SIDE, .skip = skip};
    rig_ok(fid_svg_write(rig, of.pose, &wishes, &text, &err));
    assert_text_contains(text.at, ">near_control<");
    assert_null(strstr(text.at, ">far_control<"));
    // A bone of a tenth of a metre fills the sheet: the bar is shorter than it.
    assert_text_contains(text.at, ">0.01 m<");
    fid_text_clear(&text);
    rig_end(rig, &of);
}

static void the_straight_view_is_the_one_in_which_bones_look_longest(void **state) {
    (void)state;
    // Bones lie along +Z of their frames: turned by 90 degrees about Y they lie across.
    static const struct {
        fid_vec3 turn;
        fid_view view;
    } cases[] = {{{0, 90, 0}, FID_VIEW_FRONT}, {{-30, 0, 0}, FID_VIEW_SIDE}, {{0, 45, 0}, FID_VIEW_TOP}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_rig *rig = rig_make(1);
        rig_control(rig, "one", rig_none, (fid_vec3){0, 0, 0}, cases[i].turn);
        solved of = rig_compile(rig);
        assert_int_equal(fid_svg_straight_view(rig, of.pose, NULL), cases[i].view);
        rig_end(rig, &of);
    }
}

typedef struct drawing {
    const fid_rig *rig;
    const solved *of;
} drawing;

static bool draw_once(void *user) {
    const drawing *at = user;
    fid_text out = {0};
    fid_error err = {0};
    bool done = fid_svg_write(at->rig, at->of->pose, &(fid_svg_wishes){.views = EVERY_VIEW}, &out, &err) == FID_OK;
    fid_text_clear(&out);
    return done;
}

static void every_failing_allocation_is_told(void **state) {
    (void)state;
    fid_rig *rig = rig_make(1);
    fid_bone_id one = rig_control(rig, "one", rig_none, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    rig_control(rig, "two", one, (fid_vec3){0, 1, 0}, (fid_vec3){0, 0, 0});
    solved of = rig_compile(rig);
    rig_move(&of, one, (fid_vec3){1, 2, 3}, (fid_vec3){10, 20, 0});
    fid_solve(of.program, of.pose);
    drawing at = {rig, &of};
    memory_fail_every(draw_once, &at);
    rig_end(rig, &of);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(views_lay_the_axes_as_documented),
        cmocka_unit_test(a_line_is_cut_at_a_box_and_lines_cross),
        cmocka_unit_test(ink_is_counted_square_by_square),
        cmocka_unit_test(labels_never_overlap_and_stay_in_their_frame),
        cmocka_unit_test(a_label_keeps_off_ink_and_away_from_the_middle),
        cmocka_unit_test(numbers_have_hundredths_and_no_negative_zero_and_words_are_escaped),
        cmocka_unit_test(l_and_r_stand_where_the_sides_are),
        cmocka_unit_test(the_bar_has_a_round_length_of_80_to_200_pixels),
        cmocka_unit_test(the_bar_measures_what_is_drawn),
        cmocka_unit_test(every_bone_is_drawn_in_every_view),
        cmocka_unit_test(the_heading_tells_what_is_posed),
        cmocka_unit_test(rigs_of_every_size_are_drawn),
        cmocka_unit_test(empty_rigs_and_single_bones_are_drawn_and_no_view_is_refused),
        cmocka_unit_test(poses_at_the_ends_of_all_scales_are_drawn),
        cmocka_unit_test(bones_at_rest_are_drawn_below_where_they_have_moved),
        cmocka_unit_test(where_controls_are_all_there_is_their_outlines_at_rest_are_drawn),
        cmocka_unit_test(bones_that_are_skipped_neither_show_nor_widen_a_picture),
        cmocka_unit_test(the_straight_view_is_the_one_in_which_bones_look_longest),
        cmocka_unit_test(every_failing_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
