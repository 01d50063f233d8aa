#include "format/svg_write.h"

#include "base/number.h"
#include "format/svg_drawing.h"
#include "format/svg_element.h"

#include <math.h>
#include <stdio.h>

/// Pixels: the sheet at its widest and highest, around the cells and between them, and around what is drawn in a cell.
enum {
    SHEET_WIDTH = 1800,
    SHEET_HEIGHT = 1700,
    BORDER = 24,
    GAP = 10,
    HEADING = 64,
    LEGEND = 100,
    BESIDE = 170,
    ABOVE = 60,
    BELOW = 70,
    LEAST_WIDTH = 880,
    LEAST_HEIGHT = 260,
};

static const char *const black = "#000000", *const gray = "#555555";

/// A sheet while it is drawn: up to two columns and rows.
typedef struct sheet {
    const fid_rig *rig;
    const fid_pose *pose;
    const fid_svg_wishes *wishes;
    fid_text *out;
    fid_drawing drawings[FID_VIEW_COUNT];
    fid_box cells[FID_VIEW_COUNT];
    int32_t count, columns, rows;
    double scale; ///< pixels a metre
    double width, height;
    double beside; ///< pixels
} sheet;

static void add_words(sheet *of, double x, double y, double size, const char *color, const char *words) {
    fid_svg_add_words(of->out, (fid_paper){x, y}, FID_FASTEN_LEFT, size, color, words);
}

/// The largest size of the views in a column (`by` columns apart), or in a row of two.
static double largest(const sheet *of, int32_t first, int32_t by, int32_t count, bool is_width) {
    // What has no extent, as a single point, is drawn as if it had a part of the rig's height.
    double size = 0.05 * (double)of->rig->height;
    for (int32_t i = first, done = 0; i < of->count && done < count; i += by, done++) {
        const fid_box *extent = &of->drawings[i].extent;
        size = fmax(size, is_width ? extent->right - extent->left : extent->bottom - extent->top);
    }
    return size;
}

/// One scale for all views, so that they can be compared; front and side share their heights, front and top their
/// widths.
static void lay_out(sheet *of) {
    double widths[2] = {0, 0}, heights[2] = {0, 0}, across = 0, down = 0;
    of->columns = of->count > 1 ? 2 : 1;
    of->rows = (of->count + of->columns - 1) / of->columns;
    for (int32_t i = 0; i < of->columns; i++) {
        across += widths[i] = largest(of, i, of->columns, of->rows, true);
    }
    for (int32_t i = 0; i < of->rows; i++) {
        down += heights[i] = largest(of, i * of->columns, 1, of->columns, false);
    }
    double most_width = of->wishes->width > 0 ? of->wishes->width : SHEET_WIDTH;
    double most_height = of->wishes->height > 0 ? of->wishes->height : SHEET_HEIGHT;
    of->scale = fmin((most_width - 2 * BORDER - of->columns * 2 * of->beside - GAP) / across,
                     (most_height - HEADING - LEGEND - of->rows * (ABOVE + BELOW) - GAP) / down);
    of->height = HEADING;
    for (int32_t row = 0; row < of->rows; row++) {
        double height = fmax(heights[row] * of->scale + ABOVE + BELOW, LEAST_HEIGHT);
        of->width = BORDER;
        for (int32_t column = 0; column < of->columns; column++) {
            double width = fmax(widths[column] * of->scale + 2 * of->beside, LEAST_WIDTH / of->columns);
            int32_t i = row * of->columns + column;
            if (i < of->count) {
                of->cells[i] = (fid_box){of->width, of->height, of->width + width, of->height + height};
            }
            of->width += width + GAP;
        }
        of->height += height + GAP;
    }
    of->width += BORDER - GAP;
    of->height += LEGEND - GAP;
    for (int32_t i = 0; i < of->count; i++) {
        fid_drawing *drawing = &of->drawings[i];
        const fid_box *cell = &of->cells[i], *extent = &drawing->extent;
        drawing->scale = of->scale;
        drawing->shift.x = 0.5 * (cell->left + cell->right) - 0.5 * (extent->left + extent->right) * of->scale;
        drawing->shift.y =
            0.5 * (cell->top + ABOVE + cell->bottom - BELOW) - 0.5 * (extent->top + extent->bottom) * of->scale;
        drawing->frame = (fid_box){cell->left + 4, cell->top + 4, cell->right - 4, cell->bottom - 4};
    }
}

double fid_svg_bar(double pixels_a_metre) {
    static const double steps[] = {1, 2, 5};
    double bar = 0;
    // Below 1 the steps are quotients, so that each is the number nearest to its text.
    for (double ten = 1e12; ten > 1; ten /= 10) {
        for (int i = 0; i < 3; i++) {
            bar = steps[i] / ten;
            if (bar * pixels_a_metre >= 80) {
                return bar;
            }
        }
    }
    for (double ten = 1; ten < 1e100; ten *= 10) {
        for (int i = 0; i < 3; i++) {
            bar = steps[i] * ten;
            if (bar * pixels_a_metre >= 80) {
                return bar;
            }
        }
    }
    return bar;
}

static fid_box draw_bar(sheet *of, const fid_box *cell) {
    char metres[FID_NUMBER_SIZE], words[FID_NUMBER_SIZE + 4];
    double bar = fid_svg_bar(of->scale), x = cell->left + 16, y = cell->bottom - 16, end = x + bar * of->scale;
    fid_number_write_double(metres, bar, 6);
    snprintf(words, sizeof words, "%s m", metres);
    fid_svg_add_line(of->out, (fid_paper){x, y}, (fid_paper){end, y}, black, 2);
    fid_svg_add_line(of->out, (fid_paper){x, y - 4}, (fid_paper){x, y + 4}, black, 1);
    fid_svg_add_line(of->out, (fid_paper){end, y - 4}, (fid_paper){end, y + 4}, black, 1);
    add_words(of, x + 5, y - 6, 12, black, words);
    return (fid_box){cell->left, y - 22, end + 8, cell->bottom};
}

/// L and R where the character's sides lie. Writes the boxes that they take.
static void draw_sides(sheet *of, fid_view view, const fid_box *cell, fid_box taken[2]) {
    int left = fid_view_left(view);
    double y = 0.5 * (cell->top + cell->bottom);
    const char *const *colors = fid_picture_side_colors;
    fid_paper near = {cell->right - 12, y + 8}, far = {cell->left + 12, y + 8};
    if (left == 0) {
        near.y = cell->top + 28;
        fid_svg_add_words(of->out, near, FID_FASTEN_RIGHT, 20, colors[FID_LEFT], "L near");
        fid_svg_add_words(of->out, (fid_paper){near.x, near.y + 22}, FID_FASTEN_RIGHT, 20, colors[FID_RIGHT], "R far");
        taken[0] = taken[1] = (fid_box){cell->right - 90, cell->top, cell->right, cell->top + 58};
        return;
    }
    fid_svg_add_words(of->out, left > 0 ? near : far, left > 0 ? FID_FASTEN_RIGHT : FID_FASTEN_LEFT, 24,
                      colors[FID_LEFT], "L");
    fid_svg_add_words(of->out, left > 0 ? far : near, left > 0 ? FID_FASTEN_LEFT : FID_FASTEN_RIGHT, 24,
                      colors[FID_RIGHT], "R");
    taken[0] = (fid_box){cell->left, y - 14, cell->left + 34, y + 14};
    taken[1] = (fid_box){cell->right - 34, y - 14, cell->right, y + 14};
}

static fid_code draw_cell(sheet *of, int32_t index, fid_error *err) {
    const fid_box *cell = &of->cells[index];
    fid_box taken[4];
    fid_view view = of->drawings[index].view;
    fid_svg_add_box(of->out, cell, "#CCCCCC");
    add_words(of, cell->left + 14, cell->top + 26, 16, black, fid_view_names[view]);
    taken[0] = (fid_box){cell->left, cell->top, cell->left + 140, cell->top + 34};
    taken[1] = draw_bar(of, cell);
    draw_sides(of, view, cell, &taken[2]);
    return fid_drawing_add(&of->drawings[index], taken, 4, of->out, err);
}

/// "3 names found no place", or "1 name ...".
static void add_count(fid_text *words, int32_t count, const char *what) {
    if (count > 0) {
        fid_text_addf(words, " %d name%s %s.", (int)count, count == 1 ? "" : "s", what);
    }
}

static int32_t crowd_of(const fid_svg_wishes *wishes) { return wishes->crowd > 0 ? wishes->crowd : FID_PICTURE_CROWD; }

static fid_code draw_legend(sheet *of, fid_error *err) {
    const struct {
        const char *words, *color;
    } entries[] = {{"deform bone", fid_picture_deform_color},
                   {"helper bone", fid_picture_helper_color},
                   {"control, left", fid_picture_side_colors[FID_LEFT]},
                   {"control, right", fid_picture_side_colors[FID_RIGHT]},
                   {"control, center", fid_picture_side_colors[FID_CENTER]},
                   {"finding", fid_picture_mark_color},
                   {"at rest", fid_picture_rest_color}};
    const bool is_left_out[] = {[5] = !of->wishes->marks, [6] = !of->wishes->rest};
    double x = BORDER, y = of->height - LEGEND + 30, step = fmin(165, (of->width - BORDER) / 6);
    for (size_t i = 0; i < sizeof entries / sizeof entries[0]; i++) {
        if (is_left_out[i]) {
            continue;
        }
        fid_svg_add_line(of->out, (fid_paper){x + 3, y}, (fid_paper){x + 28, y}, entries[i].color, 2.6);
        fid_svg_add_ring(of->out, (fid_paper){x + 3, y}, 2.6, entries[i].color);
        add_words(of, x + 36, y + 4, 13, black, entries[i].words);
        x += step;
    }
    add_words(of, BORDER, y + 26, 12, gray,
              "Bones: a line from base to tip, a ring at the base, a tick along the up axis. Controls: their outlines, "
              "thin where for detail.");
    int32_t left_out = 0, hidden = 0;
    for (int32_t i = 0; i < of->count; i++) {
        left_out += of->drawings[i].left_out;
        hidden += of->drawings[i].hidden;
    }
    fid_text words = {0};
    fid_text_add(&words, of->rig->bones.count < crowd_of(of->wishes)
                             ? "Named: all bones."
                             : "Named: everyday controls and the first deform bone of each chain.");
    add_count(&words, hidden, "of the right side lie behind those of the left and are left out");
    add_count(&words, left_out, "found no place");
    bool failed = words.failed;
    if (!failed) {
        add_words(of, BORDER, y + 46, 12, gray, words.at);
    }
    fid_text_clear(&words);
    return failed ? fid_no_memory(err) : FID_OK;
}

/// The placement bone has one scale for all three axes.
static bool is_told(const fid_program *program, int32_t channel) {
    int32_t first = program->placement * FID_AXIS_COUNT + FID_SCALE_X;
    return program->placement < 0 || (channel != first + 1 && channel != first + 2);
}

/// The channels that are not at rest, the first few by name.
static void add_posed(const fid_rig *rig, const fid_pose *pose, fid_text *out) {
    int32_t told = 0, more = 0;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (pose->posed[i] & FID_POSED_QUATERNION) {
            if (told < 3) {
                fid_text_addf(out, "%s%s.rotation", told++ ? ", " : "posed: ", rig->bones.at[i].name);
            } else {
                more++;
            }
        }
    }
    for (int32_t i = 0; i < pose->program->channel_count; i++) {
        if (pose->value[i] == pose->program->channel_rest[i] || !is_told(pose->program, i)) {
            continue;
        }
        if (told >= 3) {
            more++;
            continue;
        }
        fid_text_add(out, told++ ? ", " : "posed: ");
        fid_rig_add_channel_name(rig, fid_program_channel_of(pose->program, rig, i), out);
        fid_text_add(out, " ");
        fid_text_add_number(out, pose->value[i]);
    }
    fid_text_add(out, told ? "" : "at rest");
    if (more > 0) {
        fid_text_addf(out, " and %d more", (int)more);
    }
}

static fid_code draw_heading(sheet *of, fid_error *err) {
    fid_text words = {0};
    add_posed(of->rig, of->pose, &words);
    bool failed = words.failed;
    if (!failed) {
        add_words(of, BORDER, 32, 22, black, of->rig->name);
        add_words(of, BORDER, 52, 12, gray, words.at);
    }
    fid_text_clear(&words);
    return failed ? fid_no_memory(err) : FID_OK;
}

static void begin_document(sheet *of) {
    fid_text_add(of->out, "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    fid_svg_add_attribute(of->out, "width", of->width);
    fid_svg_add_attribute(of->out, "height", of->height);
    fid_text_add(of->out, " viewBox=\"0 0 ");
    fid_svg_add_number(of->out, of->width);
    fid_text_add(of->out, " ");
    fid_svg_add_number(of->out, of->height);
    fid_text_addf(of->out,
                  "\" font-family=\"sans-serif\">\n<title>%s</title>\n<rect width=\"100%%\" height=\"100%%\" "
                  "fill=\"#FFFFFF\"/>\n",
                  of->rig->name);
}

fid_view fid_svg_straight_view(const fid_rig *rig, const fid_pose *pose, const bool *skip) {
    fid_view best = FID_VIEW_FRONT;
    double longest = -1;
    for (fid_view view = FID_VIEW_FRONT; view <= FID_VIEW_TOP; view++) {
        fid_drawing drawing = {.rig = rig, .pose = pose, .skip = skip, .view = view};
        double length = fid_drawing_length(&drawing);
        // Equal ones differ by the noise of their sums.
        if (length > longest * (1 + 1e-6)) {
            longest = length;
            best = view;
        }
    }
    return best;
}

fid_code fid_svg_write(const fid_rig *rig, const fid_pose *pose, const fid_svg_wishes *wishes, fid_text *out,
                       fid_error *err) {
    sheet of = {.rig = rig, .pose = pose, .wishes = wishes, .out = out};
    of.beside = wishes->width > 0 ? fmin(BESIDE, wishes->width / 11) : BESIDE;
    for (int view = 0; view < FID_VIEW_COUNT; view++) {
        if (wishes->views >> view & 1u) {
            fid_drawing *drawing = &of.drawings[of.count++];
            *drawing = (fid_drawing){.rig = rig,
                                     .pose = pose,
                                     .marks = wishes->marks,
                                     .rest = wishes->rest,
                                     .skip = wishes->skip,
                                     .crowd = crowd_of(wishes),
                                     .view = (fid_view)view};
            fid_drawing_measure(drawing);
        }
    }
    if (of.count == 0) {
        return fid_fail(err, FID_INVALID, "a picture needs a view: front, side, top or three-quarter");
    }
    lay_out(&of);
    begin_document(&of);
    fid_code code = draw_heading(&of, err);
    for (int32_t i = 0; i < of.count && code == FID_OK; i++) {
        code = draw_cell(&of, i, err);
    }
    code = code ? code : draw_legend(&of, err);
    fid_text_add(out, "</svg>\n");
    return code ? code : out->failed ? fid_no_memory(err) : FID_OK;
}
