#include "format/svg_drawing.h"

#include "format/svg_element.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

const char *const fid_picture_side_colors[] = {"#E69F00", "#56B4E9", "#009E73"};
const char *const fid_picture_deform_color = "#0072B2", *const fid_picture_helper_color = "#999999";
const char *const fid_picture_mark_color = "#D55E00", *const fid_picture_rest_color = "#CFC8BF";

static const char *const leader_color = "#777777", *const name_color = "#222222";
static const double name_size = 10, tick_length = 9;
// More names than that have no room in a view: the time that they take stays bounded.
enum { MOST_NAMES = 600 };
enum { OUTLINE_INK = 1, LINK_INK = 2, RING_INK = 5 };

/// A bone and how near it is to the viewer.
typedef struct drawn {
    double depth;
    int32_t index;
} drawn;

static const char *color_of(const fid_bone *bone) {
    return bone->def.role == FID_DEFORM   ? fid_picture_deform_color
           : bone->def.role == FID_HELPER ? fid_picture_helper_color
                                          : fid_picture_side_colors[bone->def.side];
}

static const fid_strokes *strokes_of(const fid_rig *rig, int32_t index) {
    static const fid_strokes none = {NULL, 0};
    int32_t outline = fid_pool_index(&rig->outline_pool, rig->bones.at[index].def.outline.handle);
    return outline < 0 ? &none : &rig->outlines.at[outline].strokes;
}

/// Controls show their outline; what has none shows its link.
static bool has_link(const fid_rig *rig, int32_t index) {
    return rig->bones.at[index].def.role != FID_CONTROL || strokes_of(rig, index)->count == 0;
}

static void widen(fid_drawing *drawing, const fid_pose *pose, int32_t index, fid_vec3 point, bool *any) {
    double at[3];
    fid_pose_world_point(pose, index, point, at);
    fid_paper paper = fid_view_project(drawing->view, at);
    fid_box *extent = &drawing->extent;
    if (!*any) {
        *extent = (fid_box){paper.x, paper.y, paper.x, paper.y};
        *any = true;
    }
    extent->left = fmin(extent->left, paper.x);
    extent->right = fmax(extent->right, paper.x);
    extent->top = fmin(extent->top, paper.y);
    extent->bottom = fmax(extent->bottom, paper.y);
}

static fid_vec3 tip_of(const fid_pose *pose, int32_t index) { return (fid_vec3){0, 0, pose->program->length[index]}; }

static bool is_skipped(const fid_drawing *drawing, int32_t index) { return drawing->skip && drawing->skip[index]; }

static bool shows_links(const fid_drawing *drawing) {
    bool any = false;
    for (int32_t i = 0; i < drawing->rig->bones.count && !any; i++) {
        any = has_link(drawing->rig, i) && !is_skipped(drawing, i);
    }
    return any;
}

void fid_drawing_measure(fid_drawing *drawing) {
    const fid_rig *rig = drawing->rig;
    bool any = false, any_link = shows_links(drawing);
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_strokes *strokes = strokes_of(rig, i);
        const fid_pose *poses[] = {drawing->pose, drawing->rest};
        if (is_skipped(drawing, i)) {
            continue;
        }
        for (int j = 0; j < 2 && poses[j]; j++) {
            widen(drawing, poses[j], i, (fid_vec3){0, 0, 0}, &any);
            if (has_link(rig, i)) {
                widen(drawing, poses[j], i, tip_of(poses[j], i), &any);
            }
        }
        for (int32_t j = 0; j < strokes->count; j++) {
            for (int32_t k = 0; k < strokes->at[j].count; k++) {
                widen(drawing, drawing->pose, i, strokes->at[j].points[k], &any);
                if (drawing->rest && !any_link) {
                    widen(drawing, drawing->rest, i, strokes->at[j].points[k], &any);
                }
            }
        }
    }
}

static fid_paper place(const fid_drawing *drawing, const double point[3]) {
    fid_paper at = fid_view_project(drawing->view, point);
    return (fid_paper){at.x * drawing->scale + drawing->shift.x, at.y * drawing->scale + drawing->shift.y};
}

static fid_paper place_point_of(const fid_drawing *drawing, const fid_pose *pose, int32_t index, fid_vec3 point) {
    double at[3];
    fid_pose_world_point(pose, index, point, at);
    return place(drawing, at);
}

static fid_paper place_point(const fid_drawing *drawing, int32_t index, fid_vec3 point) {
    return place_point_of(drawing, drawing->pose, index, point);
}

double fid_drawing_length(const fid_drawing *drawing) {
    fid_drawing plain = *drawing;
    double length = 0;
    plain.scale = 1;
    plain.shift = (fid_paper){0, 0};
    for (int32_t i = 0; i < plain.rig->bones.count; i++) {
        if (has_link(plain.rig, i) && !is_skipped(drawing, i)) {
            fid_paper base = place_point(&plain, i, (fid_vec3){0, 0, 0});
            fid_paper tip = place_point(&plain, i, tip_of(plain.pose, i));
            length += hypot(tip.x - base.x, tip.y - base.y);
        }
    }
    return length;
}

static fid_paper place_base(const fid_drawing *drawing, int32_t index) {
    return place_point(drawing, index, (fid_vec3){0, 0, 0});
}

static void draw_strokes(const fid_drawing *drawing, const fid_pose *pose, int32_t index, const char *color,
                         fid_ink *ink, fid_text *out) {
    const fid_strokes *strokes = strokes_of(drawing->rig, index);
    bool is_everyday = drawing->rig->bones.at[index].def.level == FID_EVERYDAY;
    for (int32_t i = 0; i < strokes->count; i++) {
        const fid_stroke *stroke = &strokes->at[i];
        fid_vec3 last = stroke->points[stroke->closed ? stroke->count - 1 : 0];
        fid_paper before = place_point_of(drawing, pose, index, last);
        fid_text_addf(out, "<poly%s points=\"", stroke->closed ? "gon" : "line");
        for (int32_t j = 0; j < stroke->count; j++) {
            fid_paper at = place_point_of(drawing, pose, index, stroke->points[j]);
            fid_text_add(out, j > 0 ? " " : "");
            fid_svg_add_number(out, at.x);
            fid_text_add(out, ",");
            fid_svg_add_number(out, at.y);
            fid_ink_add_line(ink, before, at, OUTLINE_INK);
            before = at;
        }
        fid_text_addf(out, "\" fill=\"none\" stroke=\"%s\" stroke-width=\"%s\"/>\n", color,
                      is_everyday ? "1.4" : "0.6");
    }
}

static void draw_outline(const fid_drawing *drawing, int32_t index, fid_ink *ink, fid_text *out) {
    draw_strokes(drawing, drawing->pose, index, color_of(&drawing->rig->bones.at[index]), ink, out);
}

/// A tick of the same length on every bone, foreshortened as the view has it.
static void draw_tick(const fid_drawing *drawing, int32_t index, fid_text *out) {
    double matrix[16], length;
    fid_pose_world(drawing->pose, index, matrix);
    length = sqrt(matrix[4] * matrix[4] + matrix[5] * matrix[5] + matrix[6] * matrix[6]);
    if (length > 0) {
        double way = tick_length / (drawing->scale * length), to[3];
        for (int i = 0; i < 3; i++) {
            to[i] = matrix[12 + i] + way * matrix[4 + i];
        }
        fid_svg_add_line(out, place_base(drawing, index), place(drawing, to), color_of(&drawing->rig->bones.at[index]),
                         1);
    }
}

static void draw_link(const fid_drawing *drawing, int32_t index, fid_ink *ink, fid_text *out) {
    const fid_bone *bone = &drawing->rig->bones.at[index];
    fid_paper base = place_base(drawing, index);
    if (has_link(drawing->rig, index)) {
        fid_paper tip = place_point(drawing, index, tip_of(drawing->pose, index));
        fid_svg_add_line(out, base, tip, color_of(bone), bone->def.role == FID_DEFORM ? 2.6 : 1.2);
        fid_ink_add_line(ink, base, tip, LINK_INK);
        draw_tick(drawing, index, out);
    }
    double radius = bone->def.role == FID_CONTROL ? 1.6 : 2.6;
    fid_svg_add_ring(out, base, radius, color_of(bone));
    fid_ink_add_line(ink, (fid_paper){base.x - radius, base.y}, (fid_paper){base.x + radius, base.y}, RING_INK);
}

/// Where a bone is at rest, if it is elsewhere now. Outlines of controls only where there is no link to see.
static void draw_rest(const fid_drawing *drawing, int32_t index, bool any_link, fid_ink *ink, fid_text *out) {
    const fid_pose *rest = drawing->rest;
    bool is_link = has_link(drawing->rig, index);
    if (!is_link && any_link) {
        return;
    }
    fid_paper base = place_point_of(drawing, rest, index, (fid_vec3){0, 0, 0}), now = place_base(drawing, index);
    fid_paper tip = place_point_of(drawing, rest, index, tip_of(rest, index));
    fid_paper tip_now = place_point(drawing, index, tip_of(drawing->pose, index));
    if (hypot(base.x - now.x, base.y - now.y) < 1 && hypot(tip.x - tip_now.x, tip.y - tip_now.y) < 1) {
        return;
    }
    if (!is_link) {
        draw_strokes(drawing, rest, index, fid_picture_rest_color, ink, out);
        return;
    }
    fid_svg_add_line(out, base, tip, fid_picture_rest_color,
                     drawing->rig->bones.at[index].def.role == FID_DEFORM ? 2.6 : 1.2);
    fid_svg_add_ring(out, base, 2.6, fid_picture_rest_color);
    fid_ink_add_line(ink, base, tip, OUTLINE_INK);
}

static const char *mark_of(const fid_drawing *drawing, int32_t index) {
    return drawing->marks ? drawing->marks[index] : NULL;
}

/// A wide ring around the base of a bone that is marked.
static void draw_mark(const fid_drawing *drawing, int32_t index, fid_ink *ink, fid_text *out) {
    static const double radius = 9;
    if (mark_of(drawing, index)) {
        fid_paper base = place_base(drawing, index);
        fid_text_add(out, "<circle");
        fid_svg_add_attribute(out, "cx", base.x);
        fid_svg_add_attribute(out, "cy", base.y);
        fid_svg_add_attribute(out, "r", radius);
        fid_text_addf(out, " fill=\"none\" stroke=\"%s\" stroke-width=\"2.4\"/>\n", fid_picture_mark_color);
        fid_ink_add_line(ink, (fid_paper){base.x - radius, base.y}, (fid_paper){base.x + radius, base.y}, RING_INK);
    }
}

/// True where the view looks along a bone of the far side at its counterpart of the near side.
static bool is_hidden(const fid_drawing *drawing, int32_t index) {
    const fid_bone *bone = &drawing->rig->bones.at[index];
    char address[FID_ADDRESS_SIZE];
    if (fid_view_left(drawing->view) != 0 || bone->def.side != FID_RIGHT) {
        return false;
    }
    fid_name_fields fields = fid_bone_fields(&bone->def);
    fields.side = FID_LEFT;
    fid_address_render(&fields, address);
    int32_t near = fid_rig_bone_index(drawing->rig, fid_rig_find_bone(drawing->rig, address));
    if (near < 0) {
        return false;
    }
    fid_paper a = place_base(drawing, index), b = place_base(drawing, near);
    return fabs(a.x - b.x) < 3 && fabs(a.y - b.y) < 3;
}

/// 0 for what is marked, 1 for everyday controls, 2 for the first deform bones of chains, 3 for all else.
static int rank_of(const fid_drawing *drawing, int32_t index) {
    const fid_bone *bone = &drawing->rig->bones.at[index];
    if (mark_of(drawing, index)) {
        return 0;
    }
    bool is_first = bone->def.index[0] == 0 || bone->def.index[1] <= 1;
    return bone->def.role == FID_CONTROL && bone->def.level == FID_EVERYDAY ? 1
           : bone->def.role == FID_DEFORM && is_first                       ? 2
                                                                            : 3;
}

/// "NAME", or "NAME CODE" of a bone that is marked.
static void add_label_text(const fid_drawing *drawing, int32_t index, char out[128]) {
    const char *mark = mark_of(drawing, index);
    snprintf(out, 128, "%s%s%s", drawing->rig->bones.at[index].name, mark ? " " : "", mark ? mark : "");
}

static double label_width(const fid_drawing *drawing, int32_t index) {
    char text[128];
    add_label_text(drawing, index, text);
    return fid_label_width(text, name_size);
}

static bool add_labels(fid_drawing *drawing, fid_labels *labels) {
    int ranks = drawing->rig->bones.count < drawing->crowd ? 4 : 3;
    bool is_added = true;
    for (int rank = 0; rank < ranks; rank++) {
        for (int32_t i = 0; i < drawing->rig->bones.count && is_added; i++) {
            if (rank_of(drawing, i) != rank || is_skipped(drawing, i)) {
                continue;
            }
            if (rank > 0 && is_hidden(drawing, i)) {
                drawing->hidden++;
                continue;
            }
            if (labels->at.count >= MOST_NAMES) {
                drawing->left_out++;
                continue;
            }
            fid_label label = {.of = i, .anchor = place_base(drawing, i), .width = label_width(drawing, i)};
            is_added = fid_array_push(&labels->at, label);
        }
    }
    return is_added;
}

static void draw_names(fid_drawing *drawing, const fid_labels *labels, fid_text *out) {
    for (int32_t i = 0; i < labels->at.count; i++) {
        const fid_label *label = &labels->at.at[i];
        if (label->is_placed) {
            fid_svg_add_line(out, label->anchor, label->end, leader_color, 0.6);
        } else {
            drawing->left_out++;
        }
    }
    for (int32_t i = 0; i < labels->at.count; i++) {
        const fid_label *label = &labels->at.at[i];
        if (label->is_placed) {
            double x = label->fastening == FID_FASTEN_LEFT    ? label->box.left + 1
                       : label->fastening == FID_FASTEN_RIGHT ? label->box.right - 1
                                                              : 0.5 * (label->box.left + label->box.right);
            char text[128];
            add_label_text(drawing, label->of, text);
            fid_svg_add_words(out, (fid_paper){x, label->box.bottom - 3}, label->fastening, name_size,
                              mark_of(drawing, label->of) ? fid_picture_mark_color : name_color, text);
        }
    }
}

static int compare_depth(const void *a, const void *b) {
    const drawn *one = a, *other = b;
    return one->depth < other->depth ? -1 : one->depth > other->depth ? 1 : one->index < other->index ? -1 : 1;
}

static void draw_bones(const fid_drawing *drawing, drawn *order, fid_ink *ink, fid_text *out) {
    int32_t count = 0;
    for (int32_t i = 0; i < drawing->rig->bones.count; i++) {
        if (!is_skipped(drawing, i)) {
            double base[3];
            fid_pose_world_point(drawing->pose, i, (fid_vec3){0, 0, 0}, base);
            order[count++] = (drawn){fid_view_depth(drawing->view, base), i};
        }
    }
    qsort(order, (size_t)count, sizeof *order, compare_depth);
    bool any_link = shows_links(drawing);
    for (int32_t i = 0; i < count && drawing->rest; i++) {
        draw_rest(drawing, order[i].index, any_link, ink, out);
    }
    for (int32_t i = 0; i < count; i++) {
        draw_outline(drawing, order[i].index, ink, out);
    }
    for (int32_t i = 0; i < count; i++) {
        draw_link(drawing, order[i].index, ink, out);
    }
    for (int32_t i = 0; i < count; i++) {
        draw_mark(drawing, order[i].index, ink, out);
    }
}

fid_code fid_drawing_add(fid_drawing *drawing, const fid_box *taken, int32_t taken_count, fid_text *out,
                         fid_error *err) {
    const fid_box *extent = &drawing->extent;
    fid_labels labels = {.frame = drawing->frame};
    labels.middle = (fid_paper){0.5 * (extent->left + extent->right) * drawing->scale + drawing->shift.x,
                                0.5 * (extent->top + extent->bottom) * drawing->scale + drawing->shift.y};
    drawn *order = fid_memory_get((size_t)drawing->rig->bones.count * sizeof *order + sizeof *order);
    fid_code code = order ? fid_ink_begin(&labels.ink, &drawing->frame, err) : fid_no_memory(err);
    if (code == FID_OK) {
        draw_bones(drawing, order, &labels.ink, out);
        fid_ink_sum(&labels.ink);
        bool is_added = add_labels(drawing, &labels);
        for (int32_t i = 0; i < taken_count && is_added; i++) {
            is_added = fid_array_push(&labels.taken, taken[i]);
        }
        if (is_added) {
            fid_labels_place(&labels);
            draw_names(drawing, &labels, out);
        }
        code = is_added && !out->failed ? FID_OK : fid_no_memory(err);
    }
    fid_memory_free(order);
    fid_labels_clear(&labels);
    return code;
}
