#include "format/svg_box.h"

bool fid_box_overlaps(const fid_box *a, const fid_box *b) {
    return a->left < b->right && b->left < a->right && a->top < b->bottom && b->top < a->bottom;
}

bool fid_box_holds(const fid_box *outer, const fid_box *inner) {
    return inner->left >= outer->left && inner->right <= outer->right && inner->top >= outer->top &&
           inner->bottom <= outer->bottom;
}

/// Narrows the range of a line's parameter to where `from + t * way` lies between `low` and `high`.
static bool narrow(double from, double way, double low, double high, double range[2]) {
    if (way == 0) {
        return from > low && from < high;
    }
    double enter = ((way > 0 ? low : high) - from) / way, leave = ((way > 0 ? high : low) - from) / way;
    range[0] = enter > range[0] ? enter : range[0];
    range[1] = leave < range[1] ? leave : range[1];
    return range[0] < range[1];
}

bool fid_box_cut(const fid_box *box, fid_paper *a, fid_paper *b) {
    double range[2] = {0, 1}, x = b->x - a->x, y = b->y - a->y;
    if (!narrow(a->x, x, box->left, box->right, range) || !narrow(a->y, y, box->top, box->bottom, range)) {
        return false;
    }
    *b = (fid_paper){a->x + range[1] * x, a->y + range[1] * y};
    *a = (fid_paper){a->x + range[0] * x, a->y + range[0] * y};
    return true;
}

/// Twice the area of a triangle; its sign tells on which side of the line from `a` to `b` the point lies.
static double turn(fid_paper a, fid_paper b, fid_paper c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

bool fid_paper_crosses(fid_paper a, fid_paper b, fid_paper c, fid_paper d) {
    return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}
