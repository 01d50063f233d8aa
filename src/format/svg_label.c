#include "format/svg_label.h"

#include <float.h>
#include <math.h>
#include <string.h>

/// Directions on paper (x to the right, y down): unit vectors every 22.5 degrees, and what each costs in pixels: names
/// are read best straight beside their place.
static const struct {
    double x, y, cost;
} directions[] = {
    {1, 0, 0},           {-1, 0, 0},           {0.9239, -0.3827, 3}, {-0.9239, -0.3827, 3},
    {0.9239, 0.3827, 3}, {-0.9239, 0.3827, 3}, {0.7071, -0.7071, 5}, {-0.7071, -0.7071, 5},
    {0.7071, 0.7071, 5}, {-0.7071, 0.7071, 5}, {0.3827, -0.9239, 8}, {-0.3827, -0.9239, 8},
    {0.3827, 0.9239, 8}, {-0.3827, 0.9239, 8}, {0, -1, 10},          {0, 1, 10},
};
static const double distances[] = {7, 15, 26, 40, 56, 76, 100, 130, 165, 205};
static const double inward_cost = 8, ink_cost = 4, line_ink_cost = 0.4, crossing_cost = 40;

enum { DIRECTION_COUNT = sizeof directions / sizeof directions[0] };
enum { DISTANCE_COUNT = sizeof distances / sizeof distances[0], ROUND_COUNT = 2 };

/// The label as it would stand in that direction and distance.
static fid_label try_place(const fid_label *label, double distance, double x, double y) {
    fid_label out = *label;
    fid_paper at = {label->anchor.x + distance * x, label->anchor.y + distance * y};
    double middle = at.y + 0.5 * FID_LABEL_HEIGHT * y;
    double left = x > 0 ? at.x : x < 0 ? at.x - label->width : at.x - 0.5 * label->width;
    out.fastening = x > 0 ? FID_FASTEN_LEFT : x < 0 ? FID_FASTEN_RIGHT : FID_FASTEN_MIDDLE;
    out.box = (fid_box){left, middle - 0.5 * FID_LABEL_HEIGHT, left + label->width, middle + 0.5 * FID_LABEL_HEIGHT};
    out.end = x != 0 ? (fid_paper){at.x, middle} : at;
    out.is_placed = true;
    return out;
}

static bool is_on(const fid_box *box, fid_paper a, fid_paper b) { return fid_box_cut(box, &a, &b); }

static double cost_of_line_ink(const fid_ink *ink, fid_paper a, fid_paper b) {
    double sum = 0;
    for (int i = 1; i <= 8; i++) {
        double t = i / 8.0, x = a.x + t * (b.x - a.x), y = a.y + t * (b.y - a.y);
        sum += fid_ink_under(ink, &(fid_box){x, y, x, y});
    }
    return line_ink_cost * sum;
}

/// Whether the box of a label is free; most places are not, and this tells it at the least expense.
static bool is_free(const fid_labels *labels, int32_t self, const fid_box *box) {
    bool is_free = fid_box_holds(&labels->frame, box);
    for (int32_t i = 0; i < labels->taken.count && is_free; i++) {
        is_free = !fid_box_overlaps(&labels->taken.at[i], box);
    }
    for (int32_t i = 0; i < labels->at.count && is_free; i++) {
        const fid_label *other = &labels->at.at[i];
        is_free = i == self || !other->is_placed || !fid_box_overlaps(&other->box, box);
    }
    return is_free;
}

/// What a place costs in pixels of distance; DBL_MAX where it is not free, or costs `limit` and more.
static double cost_of(const fid_labels *labels, int32_t self, const fid_label *label, double cost, double limit) {
    if (!is_free(labels, self, &label->box)) {
        return DBL_MAX;
    }
    cost += ink_cost * fid_ink_under(&labels->ink, &label->box);
    cost += cost_of_line_ink(&labels->ink, label->anchor, label->end);
    for (int32_t i = 0; i < labels->taken.count && cost < limit; i++) {
        cost = is_on(&labels->taken.at[i], label->anchor, label->end) ? DBL_MAX : cost;
    }
    for (int32_t i = 0; i < labels->at.count && cost < limit; i++) {
        const fid_label *other = &labels->at.at[i];
        if (i == self || !other->is_placed) {
            continue;
        }
        if (is_on(&other->box, label->anchor, label->end) || is_on(&label->box, other->anchor, other->end)) {
            return DBL_MAX;
        }
        cost += fid_paper_crosses(label->anchor, label->end, other->anchor, other->end) ? crossing_cost : 0;
    }
    return cost < limit ? cost : DBL_MAX;
}

static void choose(fid_labels *labels, int32_t index) {
    fid_label *label = &labels->at.at[index], best = *label;
    double least = DBL_MAX, x = label->anchor.x - labels->middle.x, y = label->anchor.y - labels->middle.y;
    double length = sqrt(x * x + y * y);
    best.is_placed = false;
    for (int i = 0; i < DISTANCE_COUNT && distances[i] < least; i++) {
        for (int j = 0; j < DIRECTION_COUNT; j++) {
            double outward = length > 0 ? (x * directions[j].x + y * directions[j].y) / length : 0;
            double cost = distances[i] + directions[j].cost + inward_cost * (1 - outward);
            fid_label trial = try_place(label, distances[i], directions[j].x, directions[j].y);
            cost = cost < least ? cost_of(labels, index, &trial, cost, least) : DBL_MAX;
            if (cost < least) {
                least = cost;
                best = trial;
            }
        }
    }
    *label = best;
}

void fid_labels_place(fid_labels *labels) {
    for (int round = 0; round < ROUND_COUNT; round++) {
        for (int32_t i = 0; i < labels->at.count; i++) {
            choose(labels, i);
        }
    }
}

void fid_labels_clear(fid_labels *labels) {
    fid_ink_clear(&labels->ink);
    fid_array_clear(&labels->taken);
    fid_array_clear(&labels->at);
}

double fid_label_width(const char *name, double size) {
    double width = 0;
    for (; *name; name++) {
        width += strchr("fijlrt-", *name)       ? 0.4
                 : strchr("mwMW", *name)        ? 0.98
                 : strchr("_ acgksvxyz", *name) ? 0.57
                                                : 0.64;
    }
    return width * size;
}
