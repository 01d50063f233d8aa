#include "format/svg_label.h"

bool fid_box_overlaps(const fid_box *a, const fid_box *b) {
    return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

void fid_boxes_take(fid_boxes *boxes, fid_box box) { boxes->failed |= !fid_array_push(&boxes->taken, box); }

static bool is_free(const fid_boxes *boxes, const fid_box *box, const fid_box *frame) {
    if (box->left < frame->left || box->right > frame->right || box->top < frame->top || box->bottom > frame->bottom) {
        return false;
    }
    for (int32_t i = 0; i < boxes->taken.count; i++) {
        if (fid_box_overlaps(box, &boxes->taken.at[i])) {
            return false;
        }
    }
    return true;
}

bool fid_boxes_place(fid_boxes *boxes, fid_paper anchor, double width, double height, const fid_box *frame,
                     fid_box *out) {
    // Right, left, then up and down along both sides, farther out each time.
    static const double distances[] = {8, 20, 36, 56, 80, 110, 150};
    static const double slopes[] = {0, -1, 1, -2, 2, -3.5, 3.5};
    for (size_t i = 0; i < sizeof distances / sizeof distances[0]; i++) {
        for (size_t j = 0; j < sizeof slopes / sizeof slopes[0]; j++) {
            for (int side = 0; side < 2; side++) {
                double y = anchor.y + slopes[j] * (0.5 * height + 0.35 * distances[i]);
                double left = side == 0 ? anchor.x + distances[i] : anchor.x - distances[i] - width;
                fid_box box = {left, y - 0.5 * height, left + width, y + 0.5 * height};
                if (is_free(boxes, &box, frame)) {
                    fid_boxes_take(boxes, box);
                    *out = box;
                    return !boxes->failed;
                }
            }
        }
    }
    return false;
}
