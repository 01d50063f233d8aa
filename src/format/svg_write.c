#include "format/svg_write.h"

#include "base/number.h"
#include "format/svg_label.h"
#include "math/scalar.h"

#include <stdio.h>
#include <string.h>

enum { CELL_WIDTH = 860, CELL_HEIGHT = 660, MARGIN = 56, LEGEND = 96, TITLE = 44 };

static const double letter_width = 5.3, letter_height = 11;

static const char *const side_colors[] = {"#E69F00", "#56B4E9", "#009E73"};
static const char *const deform_color = "#0072B2", *const helper_color = "#999999";

/// A sheet while it is drawn.
typedef struct sheet {
    const fid_rig *rig;
    const fid_pose *pose;
    fid_text *out;
    double scale;     ///< pixels a metre
    int32_t left_out; ///< names without a place
    bool failed;
} sheet;

/// One view of the sheet and where it lies.
typedef struct cell {
    fid_view view;
    double x, y;      ///< corner, pixels
    fid_paper middle; ///< of what is drawn, metres
} cell;

/// Extent of what is drawn, metres on paper.
typedef struct extent {
    double left, top, right, bottom;
    bool any;
} extent;

static void add_number(sheet *of, double value) {
    char text[FID_NUMBER_SIZE];
    // Hundredths of a pixel: what is finer differs between nothing that one sees.
    double whole = value < 0 ? value * 100 - 0.5 : value * 100 + 0.5;
    fid_number_write_double(text, (double)(int64_t)whole / 100, 9);
    fid_text_add(of->out, text);
}

static void add_attribute(sheet *of, const char *key, double value) {
    fid_text_addf(of->out, " %s=\"", key);
    add_number(of, value);
    fid_text_add(of->out, "\"");
}

static fid_paper place(const sheet *of, const cell *in, const double point[3]) {
    fid_paper at = fid_view_project(in->view, point);
    return (fid_paper){in->x + 0.5 * CELL_WIDTH + (at.x - in->middle.x) * of->scale,
                       in->y + 0.5 * CELL_HEIGHT + (at.y - in->middle.y) * of->scale};
}

static void add_line(sheet *of, fid_paper a, fid_paper b, const char *color, double width) {
    fid_text_add(of->out, "<line");
    add_attribute(of, "x1", a.x);
    add_attribute(of, "y1", a.y);
    add_attribute(of, "x2", b.x);
    add_attribute(of, "y2", b.y);
    fid_text_addf(of->out, " stroke=\"%s\"", color);
    add_attribute(of, "stroke-width", width);
    fid_text_add(of->out, "/>\n");
}

static void add_ring(sheet *of, fid_paper at, double radius, const char *color) {
    fid_text_add(of->out, "<circle");
    add_attribute(of, "cx", at.x);
    add_attribute(of, "cy", at.y);
    add_attribute(of, "r", radius);
    fid_text_addf(of->out, " fill=\"#FFFFFF\" stroke=\"%s\" stroke-width=\"1.4\"/>\n", color);
}

static void add_words(sheet *of, double x, double y, double size, const char *color, const char *words) {
    fid_text_add(of->out, "<text");
    add_attribute(of, "x", x);
    add_attribute(of, "y", y);
    add_attribute(of, "font-size", size);
    // A white rim keeps words readable where they lie on lines.
    fid_text_addf(of->out, " fill=\"%s\" stroke=\"#FFFFFF\" stroke-width=\"2.4\" paint-order=\"stroke\">", color);
    for (const char *at = words; *at; at++) {
        const char *escaped = *at == '<' ? "&lt;" : *at == '>' ? "&gt;" : *at == '&' ? "&amp;" : NULL;
        if (escaped) {
            fid_text_add(of->out, escaped);
        } else {
            fid_text_add_bytes(of->out, at, 1);
        }
    }
    fid_text_add(of->out, "</text>\n");
}

static const char *color_of(const fid_bone *bone) {
    return bone->def.role == FID_DEFORM   ? deform_color
           : bone->def.role == FID_HELPER ? helper_color
                                          : side_colors[bone->def.side];
}

static void draw_outline(sheet *of, const cell *in, int32_t index) {
    const fid_bone *bone = &of->rig->bones.at[index];
    int32_t outline = fid_pool_index(&of->rig->outline_pool, bone->def.outline.handle);
    for (int32_t i = 0; outline >= 0 && i < of->rig->outlines.at[outline].strokes.count; i++) {
        const fid_stroke *stroke = &of->rig->outlines.at[outline].strokes.at[i];
        fid_text_addf(of->out, "<poly%s points=\"", stroke->closed ? "gon" : "line");
        for (int32_t j = 0; j < stroke->count; j++) {
            double point[3];
            fid_pose_world_point(of->pose, index, stroke->points[j], point);
            fid_paper at = place(of, in, point);
            fid_text_add(of->out, j > 0 ? " " : "");
            add_number(of, at.x);
            fid_text_add(of->out, ",");
            add_number(of, at.y);
        }
        fid_text_addf(of->out, "\" fill=\"none\" stroke=\"%s\" stroke-width=\"%s\"/>\n", color_of(bone),
                      bone->def.level == FID_EVERYDAY ? "1.4" : "0.7");
    }
}

static void draw_link(sheet *of, const cell *in, int32_t index) {
    const fid_bone *bone = &of->rig->bones.at[index];
    double base[3], tip[3], up[3], length = (double)of->pose->program->length[index];
    fid_pose_world_point(of->pose, index, (fid_vec3){0, 0, 0}, base);
    fid_pose_world_point(of->pose, index, (fid_vec3){0, 0, (float)length}, tip);
    fid_pose_world_point(of->pose, index, (fid_vec3){0, (float)(0.18 * length), 0}, up);
    fid_paper from = place(of, in, base);
    if (bone->def.role != FID_CONTROL) {
        add_line(of, from, place(of, in, tip), color_of(bone), bone->def.role == FID_DEFORM ? 2.6 : 1.4);
        add_line(of, from, place(of, in, up), color_of(bone), 1);
    }
    add_ring(of, from, bone->def.role == FID_CONTROL ? 1.6 : 2.6, color_of(bone));
}

/// Everyday controls, and of the deform bones the first of each chain.
static bool is_named(const fid_bone *bone) {
    bool first = bone->def.index[0] == 0 || bone->def.index[1] <= 1;
    return bone->def.role == FID_CONTROL ? bone->def.level == FID_EVERYDAY : bone->def.role == FID_DEFORM && first;
}

static void draw_name(sheet *of, const cell *in, int32_t index, fid_boxes *boxes) {
    const fid_box frame = {in->x + 6, in->y + TITLE, in->x + CELL_WIDTH - 6, in->y + CELL_HEIGHT - 6};
    const char *name = of->rig->bones.at[index].name;
    double base[3], width = letter_width * (double)strlen(name) + 4;
    fid_pose_world_point(of->pose, index, (fid_vec3){0, 0, 0}, base);
    fid_paper anchor = place(of, in, base);
    fid_box box;
    if (!fid_boxes_place(boxes, anchor, width, letter_height, &frame, &box)) {
        of->left_out++;
        return;
    }
    bool right = box.left > anchor.x;
    fid_paper end = {right ? box.left : box.right, 0.5 * (box.top + box.bottom)};
    add_line(of, anchor, end, "#BBBBBB", 0.5);
    add_words(of, box.left + 2, box.bottom - 2.5, 9.5, "#333333", name);
}

/// A round number of metres whose bar is 60 to 200 pixels long: 1, 2 or 5 times a power of ten.
static double bar_length(double scale) {
    double unit = 1e-6;
    static const double steps[] = {1, 2, 5};
    for (int power = 0; power < 14; power++, unit *= 10) {
        for (int i = 0; i < 3; i++) {
            if (steps[i] * unit * scale >= 80) {
                return steps[i] * unit;
            }
        }
    }
    return unit;
}

static void draw_frame(sheet *of, const cell *in) {
    char words[64];
    fid_text_add(of->out, "<rect");
    add_attribute(of, "x", in->x);
    add_attribute(of, "y", in->y);
    add_attribute(of, "width", CELL_WIDTH);
    add_attribute(of, "height", CELL_HEIGHT);
    fid_text_add(of->out, " fill=\"none\" stroke=\"#DDDDDD\"/>\n");
    add_words(of, in->x + 14, in->y + 26, 15, "#000000", fid_view_names[in->view]);
    int left = fid_view_left(in->view);
    if (left == 0) {
        add_words(of, in->x + CELL_WIDTH - 80, in->y + 28, 20, side_colors[FID_LEFT], "L near");
        add_words(of, in->x + CELL_WIDTH - 68, in->y + 46, 12, side_colors[FID_RIGHT], "R far");
    } else {
        double near = in->x + CELL_WIDTH - 30, far = in->x + 14;
        add_words(of, left > 0 ? near : far, in->y + 0.5 * CELL_HEIGHT, 22, side_colors[FID_LEFT], "L");
        add_words(of, left > 0 ? far : near, in->y + 0.5 * CELL_HEIGHT, 22, side_colors[FID_RIGHT], "R");
    }
    double bar = bar_length(of->scale), y = in->y + CELL_HEIGHT - 16, x = in->x + 16;
    char metres[FID_NUMBER_SIZE];
    fid_number_write(metres, (float)bar);
    snprintf(words, sizeof words, "%s m", metres);
    add_line(of, (fid_paper){x, y}, (fid_paper){x + bar * of->scale, y}, "#000000", 2);
    add_line(of, (fid_paper){x, y - 4}, (fid_paper){x, y + 4}, "#000000", 1);
    add_line(of, (fid_paper){x + bar * of->scale, y - 4}, (fid_paper){x + bar * of->scale, y + 4}, "#000000", 1);
    add_words(of, x + 4, y - 6, 11, "#000000", words);
}

static void draw_cell(sheet *of, const cell *in) {
    fid_boxes boxes = {0};
    draw_frame(of, in);
    // Controls lie under the bones, names above all: a fixed order, whatever the depth.
    for (int32_t i = 0; i < of->rig->bones.count; i++) {
        draw_outline(of, in, i);
    }
    for (int32_t i = 0; i < of->rig->bones.count; i++) {
        draw_link(of, in, i);
    }
    fid_boxes_take(&boxes, (fid_box){in->x, in->y + CELL_HEIGHT - 40, in->x + 240, in->y + CELL_HEIGHT});
    for (int32_t i = 0; i < of->rig->bones.count; i++) {
        double base[3];
        fid_pose_world_point(of->pose, i, (fid_vec3){0, 0, 0}, base);
        fid_paper at = place(of, in, base);
        fid_boxes_take(&boxes, (fid_box){at.x - 3, at.y - 3, at.x + 3, at.y + 3});
    }
    for (int32_t i = 0; i < of->rig->bones.count; i++) {
        if (is_named(&of->rig->bones.at[i])) {
            draw_name(of, in, i, &boxes);
        }
    }
    of->failed |= boxes.failed;
    fid_array_clear(&boxes.taken);
}

static void widen(extent *of, fid_paper at) {
    if (!of->any) {
        *of = (extent){at.x, at.y, at.x, at.y, true};
    }
    of->left = fmin(of->left, at.x);
    of->right = fmax(of->right, at.x);
    of->top = fmin(of->top, at.y);
    of->bottom = fmax(of->bottom, at.y);
}

static extent measure(const sheet *of, fid_view view) {
    extent out = {0, 0, 0, 0, false};
    for (int32_t i = 0; i < of->rig->bones.count; i++) {
        double point[3];
        fid_pose_world_point(of->pose, i, (fid_vec3){0, 0, 0}, point);
        widen(&out, fid_view_project(view, point));
        if (of->rig->bones.at[i].def.role != FID_CONTROL) {
            fid_pose_world_point(of->pose, i, (fid_vec3){0, 0, of->pose->program->length[i]}, point);
            widen(&out, fid_view_project(view, point));
        }
        int32_t outline = fid_pool_index(&of->rig->outline_pool, of->rig->bones.at[i].def.outline.handle);
        for (int32_t j = 0; outline >= 0 && j < of->rig->outlines.at[outline].strokes.count; j++) {
            const fid_stroke *stroke = &of->rig->outlines.at[outline].strokes.at[j];
            for (int32_t k = 0; k < stroke->count; k++) {
                fid_pose_world_point(of->pose, i, stroke->points[k], point);
                widen(&out, fid_view_project(view, point));
            }
        }
    }
    return out;
}

static void draw_legend(sheet *of, double y) {
    static const struct {
        const char *words, *const *color;
    } entries[] = {{"deform bone", &deform_color},
                   {"helper bone", &helper_color},
                   {"control, left", &side_colors[0]},
                   {"control, right", &side_colors[1]},
                   {"control, center", &side_colors[2]}};
    double x = MARGIN;
    for (size_t i = 0; i < sizeof entries / sizeof entries[0]; i++, x += 150) {
        add_line(of, (fid_paper){x, y}, (fid_paper){x + 26, y}, *entries[i].color, 2.6);
        add_ring(of, (fid_paper){x, y}, 2.6, *entries[i].color);
        add_words(of, x + 34, y + 4, 12, "#000000", entries[i].words);
    }
    add_words(of, MARGIN, y + 26, 12, "#000000",
              "A line from base to tip, a ring at the base, a tick along the up axis; controls by their outlines.");
    if (of->left_out > 0) {
        char words[64];
        snprintf(words, sizeof words, "%d names found no place.", (int)of->left_out);
        add_words(of, MARGIN + 600, y + 26, 12, "#000000", words);
    }
}

/// One scale for all views, so that they can be compared.
static int32_t lay_out(sheet *of, uint32_t views, cell cells[FID_VIEW_COUNT]) {
    int32_t count = 0;
    of->scale = 1e9;
    for (int view = 0; view < FID_VIEW_COUNT; view++) {
        if (!(views >> view & 1u)) {
            continue;
        }
        extent size = measure(of, (fid_view)view);
        double width = fmax(size.right - size.left, 1e-6), height = fmax(size.bottom - size.top, 1e-6);
        of->scale = fmin(of->scale, fmin((CELL_WIDTH - 3.2 * MARGIN) / width, (CELL_HEIGHT - 2.4 * MARGIN) / height));
        cells[count] = (cell){(fid_view)view, 0, 0, {0.5 * (size.left + size.right), 0.5 * (size.top + size.bottom)}};
        count++;
    }
    int32_t columns = count > 1 ? 2 : 1;
    for (int32_t i = 0; i < count; i++) {
        cells[i].x = MARGIN / 2 + i % columns * (CELL_WIDTH + 12);
        cells[i].y = TITLE + i / columns * (CELL_HEIGHT + 12);
    }
    return count;
}

fid_code fid_svg_write(const fid_rig *rig, const fid_pose *pose, uint32_t views, fid_text *out, fid_error *err) {
    sheet of = {.rig = rig, .pose = pose, .out = out};
    cell cells[FID_VIEW_COUNT];
    int32_t count = lay_out(&of, views, cells), columns = count > 1 ? 2 : 1, rows = (count + columns - 1) / columns;
    if (count == 0) {
        return fid_fail(err, FID_INVALID, "a picture needs a view: front, side, top or three-quarter");
    }
    double width = MARGIN + columns * (CELL_WIDTH + 12) - 12, height = TITLE + rows * (CELL_HEIGHT + 12) + LEGEND - 20;
    fid_text_add(out, "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    add_attribute(&of, "width", width);
    add_attribute(&of, "height", height);
    fid_text_add(out, " viewBox=\"0 0 ");
    add_number(&of, width);
    fid_text_add(out, " ");
    add_number(&of, height);
    fid_text_addf(out,
                  "\" font-family=\"sans-serif\">\n<title>%s</title>\n<rect width=\"100%%\" height=\"100%%\" "
                  "fill=\"#FFFFFF\"/>\n",
                  rig->name);
    add_words(&of, MARGIN / 2, 30, 20, "#000000", rig->name);
    for (int32_t i = 0; i < count; i++) {
        draw_cell(&of, &cells[i]);
    }
    draw_legend(&of, TITLE + rows * (CELL_HEIGHT + 12) + 16);
    fid_text_add(out, "</svg>\n");
    return of.failed || out->failed ? fid_no_memory(err) : FID_OK;
}
