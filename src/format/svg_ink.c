#include "format/svg_ink.h"

fid_code fid_ink_begin(fid_ink *ink, const fid_box *frame, fid_error *err) {
    *ink = (fid_ink){.frame = *frame};
    ink->columns = (int32_t)((frame->right - frame->left) / FID_INK_SQUARE) + 1;
    ink->rows = (int32_t)((frame->bottom - frame->top) / FID_INK_SQUARE) + 1;
    ink->weights = fid_memory_get_zero((size_t)ink->columns * (size_t)ink->rows, 1);
    ink->sums = fid_memory_get_zero(((size_t)ink->columns + 1) * ((size_t)ink->rows + 1), sizeof *ink->sums);
    return ink->weights && ink->sums ? FID_OK : fid_no_memory(err);
}

static int32_t find_square(double at, double begin, int32_t count) {
    double square = (at - begin) / FID_INK_SQUARE;
    return square <= 0 ? 0 : square >= count ? count - 1 : (int32_t)square;
}

void fid_ink_add_line(fid_ink *ink, fid_paper a, fid_paper b, uint8_t weight) {
    if (!fid_box_cut(&ink->frame, &a, &b)) {
        return;
    }
    double x = b.x - a.x, y = b.y - a.y, far = x * x > y * y ? x : y;
    // Two steps a square: none is jumped over along the longer way.
    int32_t steps = (int32_t)((far < 0 ? -far : far) * 2 / FID_INK_SQUARE) + 1;
    for (int32_t i = 0; i <= steps; i++) {
        double t = (double)i / steps;
        int32_t column = find_square(a.x + t * x, ink->frame.left, ink->columns);
        int32_t row = find_square(a.y + t * y, ink->frame.top, ink->rows);
        uint8_t *square = &ink->weights[(size_t)row * (size_t)ink->columns + (size_t)column];
        *square = *square > weight ? *square : weight;
    }
}

void fid_ink_sum(fid_ink *ink) {
    size_t columns = (size_t)ink->columns, across = columns + 1;
    for (size_t row = 0; row < (size_t)ink->rows; row++) {
        int32_t sum = 0;
        for (size_t column = 0; column < columns; column++) {
            sum += ink->weights[row * columns + column];
            ink->sums[(row + 1) * across + column + 1] = ink->sums[row * across + column + 1] + sum;
        }
    }
}

int32_t fid_ink_under(const fid_ink *ink, const fid_box *box) {
    size_t across = (size_t)ink->columns + 1;
    size_t left = (size_t)find_square(box->left, ink->frame.left, ink->columns);
    size_t right = (size_t)find_square(box->right, ink->frame.left, ink->columns) + 1;
    size_t top = (size_t)find_square(box->top, ink->frame.top, ink->rows) * across;
    size_t bottom = ((size_t)find_square(box->bottom, ink->frame.top, ink->rows) + 1) * across;
    return ink->sums[bottom + right] - ink->sums[bottom + left] - ink->sums[top + right] + ink->sums[top + left];
}

void fid_ink_clear(fid_ink *ink) {
    fid_memory_free(ink->weights);
    fid_memory_free(ink->sums);
    *ink = (fid_ink){0};
}
