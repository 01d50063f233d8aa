#include "math/frame.h"
#include "math/matrix.h"
#include "math/random.h"
#include "support/assert_frame.h"

static void product_is_row_by_column(void **state) {
    (void)state;
    float a[16], b[16], product[16];
    for (int i = 0; i < 16; ++i) {
        a[i] = (float)(i + 1);
        b[i] = (float)((i * 7) % 5 - 2);
    }
    fid_matrix_mul(a, b, product);
    for (int column = 0; column < 4; ++column) {
        for (int row = 0; row < 4; ++row) {
            float sum = 0.0f;
            for (int k = 0; k < 4; ++k) {
                sum += a[4 * k + row] * b[4 * column + k];
            }
            assert_true(product[4 * column + row] == sum); // small whole numbers: exact
        }
    }
    fid_matrix_mul(a, b, a);
    assert_memory_equal(a, product, sizeof product);
}

static void inverse_brings_points_back(void **state) {
    (void)state;
    random_source source = random_begin(61);
    for (int i = 0; i < 1000; ++i) {
        float m[16], inverse[16];
        fid_vec3 p = random_vec3(&source, 1.0);
        fid_frame_to_matrix(random_frame(&source), m);
        assert_true(fid_matrix_inverse(m, inverse));
        assert_vec3_near(fid_matrix_point(inverse, fid_matrix_point(m, p)), p, 3e-5);
        assert_true(fid_matrix_inverse(m, m));
        assert_memory_equal(m, inverse, sizeof m);
    }
}

static void matrix_without_inverse_is_refused(void **state) {
    (void)state;
    float flat[16] = {1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 3, 4, 5, 1}, nothing[16] = {0}, out[16] = {7, 8, 9};
    float broken[16] = {1, 0, 0, 0, 0, NAN, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1};
    const float before[16] = {7, 8, 9};
    assert_false(fid_matrix_inverse(flat, out));
    assert_false(fid_matrix_inverse(nothing, out));
    assert_false(fid_matrix_inverse(broken, out));
    assert_memory_equal(out, before, sizeof out);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(product_is_row_by_column),
        cmocka_unit_test(inverse_brings_points_back),
        cmocka_unit_test(matrix_without_inverse_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
